package issue

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"spanseal/internal/certify"
	"spanseal/internal/change"
	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/seal"
	"spanseal/internal/statement"
)

// readResults reads the results.json of an earlier revision, as far as it is held in
// memory: links are read from the file again while they are compared, so close it then.
func readResults(name string) (old *change.Old, done func() error, err error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, nil, err
	}
	about, err := f.Stat()
	if err == nil {
		old, err = change.Read(f, about.Size())
	}
	if err != nil {
		return nil, nil, errors.Join(fmt.Errorf("%s: %w", name, err), f.Close())
	}
	return old, f.Close, nil
}

// compare tells a set what differs from the results.json of the revision before,
// the verdicts of that one, and what was paid.
func compare(before string, revision int, set *certify.PaperSet) error {
	old, done, err := readResults(before)
	if err != nil {
		return err
	}
	defer done()
	set.Before = map[string]judge.Verdict{}
	for link, was := range old.Verdicts() {
		for _, v := range []judge.Verdict{judge.Pass, judge.Marginal, judge.Incomplete, judge.Fail} {
			if v.String() == was {
				set.Before[link] = v
			}
		}
	}
	if set.Facts.Job.Pay.Billed == nil {
		if set.Earlier, err = old.Paid(revision); err != nil {
			return fmt.Errorf("%s: %w", before, err)
		}
	}
	head, err := json.Marshal(set.ResultsHead())
	if err != nil {
		return err
	}
	if set.Changes, err = old.Compare(head, set.ResultLinksJSON()); err != nil {
		return fmt.Errorf("%s: %w", before, err)
	}
	return nil
}

// billed reads what the revision states that job.yaml says was billed last. It is held
// against its manifest, which was held against the chain.
func (r *Request) billed(p *past) error {
	n := r.Set.Facts.Job.Pay.Billed
	if n == nil || *n == 0 {
		return nil
	}
	if *n > len(p.manifests) {
		return &BilledError{*n, len(p.manifests)}
	}
	m := p.manifests[*n-1]
	dir, err := r.disk().folder(r.Folder)
	if err != nil {
		return err
	}
	defer dir.Close()
	if err := r.checkListed(dir, m, resultsName); err != nil {
		return err
	}
	name := filepath.Join(r.Folder, seal.RevisionFolder(*n), resultsName)
	old, done, err := readResults(name)
	if err != nil {
		return err
	}
	defer done()
	if r.Set.Earlier, err = old.Paid(*n); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return r.checkListed(dir, m, resultsName) // what was read is what was checked
}

// BilledError reports that job.yaml names a revision as billed that was never issued.
type BilledError struct{ Billed, Issued int }

func (e *BilledError) Error() string {
	return fmt.Sprintf("pay.billed names r%d, and %d were issued", e.Billed, e.Issued)
}

// TermsError reports terms of payment that the statement which was billed last rules
// out. Package load says where they stand.
type TermsError struct{ Code, Message string }

func (e *TermsError) Error() string { return fmt.Sprintf("pay: %s [%s]", e.Message, e.Code) }

// Stated reads what a revision in a folder states of pay items, for whoever asks before
// anything is issued: nothing is held against a signature. Nil: it states nothing.
func Stated(folder string, revision int) (*form.Earlier, error) {
	old, done, err := readResults(filepath.Join(folder, seal.RevisionFolder(revision), resultsName))
	if err != nil {
		return nil, err
	}
	defer done()
	return old.Paid(revision)
}

// noChange reports whether nothing differs from the revision before.
func noChange(changes []statement.Statement) bool {
	return len(changes) > 0 && changes[0].Code == "change.none"
}

// said are statements as a manifest has them, with their English text.
func said(set *certify.PaperSet, changes []statement.Statement) ([]json.RawMessage, error) {
	var out []json.RawMessage
	for _, c := range set.InEnglish(changes...) {
		b, err := c.MarshalJSON()
		if err != nil {
			return nil, err
		}
		out = append(out, b)
	}
	return out, nil
}

// read are the changes of a manifest: those of earlier programs are plain texts.
func read(changes []json.RawMessage) ([]statement.Statement, error) {
	out := make([]statement.Statement, len(changes))
	for i, c := range changes {
		if err := out[i].UnmarshalJSON(c); err != nil {
			return nil, err
		}
	}
	return out, nil
}
