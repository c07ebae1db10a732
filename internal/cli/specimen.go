package cli

import (
	"cmp"
	"context"
	"fmt"
	"time"

	"spanseal/internal/certify"
	"spanseal/internal/diag"
	"spanseal/internal/evidence"
	"spanseal/internal/form"
	"spanseal/internal/issue"
	"spanseal/internal/load"
	"spanseal/internal/record"
	"spanseal/internal/specimen"
)

// writeSpecimen prints the papers of a job with invented readings.
func (a *app) writeSpecimen(ctx context.Context, j *load.JudgedJob, at time.Time, f issueFlags) error {
	j.Facts = specimen.Facts(j.Facts, at)
	// Nothing is asked about invented readings: they are evidence of nothing.
	j.Facts.Job.Policy.Questions = map[string]record.Question{}
	for _, c := range evidence.Checks() {
		j.Facts.Job.Policy.Questions[c.Code] = record.Question{Weight: string(evidence.Off)}
	}
	j.Facts.Job.Answers = nil
	if err := j.Judge(); err != nil {
		return err
	}
	specimen.Forms(j.Facts, j.Judged)
	if err := j.Judge(); err != nil {
		return err
	}
	signs, _ := j.Facts.Job.Person(j.Facts.Job.Sign.As)
	signer := form.Signatory{Name: cmp.Or(signs.Name, j.Facts.Job.Contractor.Name)}
	set, err := a.set(j, form.Writer{Issued: at, Specimen: true, Signer: signer}, certify.Options{Reason: f.reason})
	if err != nil {
		return err
	}
	line := a.progress("documents")
	defer line.Clear()
	var over oversize
	dir, err := issue.Specimen(ctx, issue.Request{
		Folder: f.out, Set: set, Holder: a.holder(), Progress: line.Report,
		Bundle: f.bundle || f.maxSize > 0, MaxSize: int(f.maxSize), Larger: over.add,
	})
	if err != nil {
		return notIssued(err)
	}
	line.Clear()
	a.tooLarge(over, f.maxSize)
	fmt.Fprintf(a.out, "wrote %s: %s with invented values, unsigned, for approval of their form\n", dir, diag.Plural(len(set.Judgement.Links), "paper"))
	return nil
}
