package judge

import (
	"slices"

	"spanseal/internal/inspection"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// terminations holds the splicer's estimates against the job's own limit and
// asks about end faces. An estimate is never a measurement: its findings are of
// a kind of their own and take no part in the loss.
func (j *linkJudge) terminations() {
	seen := j.out.Inspections
	for _, open := range inspection.Open(j.link, seen, j.out.Terminations, j.policy.Require.Inspection == "required") {
		j.askEnd(open.Asks, &record.Termination{End: open.End})
	}
	j.unrecorded()
	for i := range j.out.Terminations {
		t := &j.out.Terminations[i]
		if most := j.policy.EstimateAtMost; most != nil && t.Estimate != nil {
			j.estimate(t, *most)
		}
		if j.passedLater(t) || inspection.Since(seen, t) {
			continue
		}
		switch t.EndFace {
		case record.EndFaceFail:
			j.askEnd(statement.New("end-face.failed", statement.End(t.End)), t)
		case record.EndFaceNotInspected, "":
			if t.End != "" && j.faceWanted(t.End) {
				j.askEnd(statement.New("end-face.not-inspected", statement.End(t.End)), t)
			}
		}
	}
}

// passedLater reports whether a later record of the same end says that the face
// passed: what was cleaned or made again is not as it was.
func (j *linkJudge) passedLater(t *record.Termination) bool {
	return t.End != "" && slices.ContainsFunc(j.out.Terminations, func(o record.Termination) bool {
		return o.End == t.End && o.EndFace == record.EndFacePass && later(&o, t)
	})
}

// later tells the order of two records: by when the work was finished, and by their
// rows where that does not tell.
func later(x, y *record.Termination) bool {
	if known := !x.Finished.IsZero() && !y.Finished.IsZero(); known && !x.Finished.Equal(y.Finished) {
		return x.Finished.After(y.Finished)
	}
	return x.Origin.Row > y.Origin.Row
}

// faceWanted reports whether the record of a termination must tell of the end face:
// no inspection of it is on record, and its absence is not asked about already.
func (j *linkJudge) faceWanted(end string) bool {
	return j.policy.EndFaceRequired && j.policy.Require.Inspection != "required" && !inspection.Known(j.out.Inspections, j.out.Terminations, end)
}

// unrecorded asks about ends that were made on the job and have no record,
// where the job judges such records.
func (j *linkJudge) unrecorded() {
	for _, end := range []struct {
		name string
		*record.End
	}{{"A", &j.link.EndA}, {"B", &j.link.EndB}} {
		if slices.ContainsFunc(j.out.Terminations, func(t record.Termination) bool { return t.End == end.name }) {
			continue
		}
		made := &record.Termination{Link: j.link.ID, End: end.name}
		switch {
		case j.faceWanted(end.name) && end.Connector != "":
			j.askEnd(statement.New("end-face.unrecorded", statement.Name(end.name)), made)
		case j.policy.EstimateAtMost != nil && end.SplicedOn:
			j.askEnd(statement.New("no-termination", statement.Name(end.name)), made)
		}
	}
}

func (j *linkJudge) estimate(t *record.Termination, most quantity.Decimal) {
	margin := most.Sub(*t.Estimate)
	f := Finding{
		Matter:   &Matter{Kind: KindEstimate, Code: "splicer-estimate", Quantity: record.SplicerEstimate, End: t.End, Unit: quantity.DB},
		Measured: t.Estimate, Limit: &most, Margin: &margin, Probability: -1,
	}
	if margin.Sign() < 0 {
		f.Verdict = Fail
		f.ask(statement.Statement{}, statement.New("advice.splice-again"))
	}
	j.out.Findings = append(j.out.Findings, f)
}

func (j *linkJudge) askEnd(question statement.Statement, t *record.Termination) {
	if f, ok := j.raise(question); ok {
		f.Kind, f.End = KindEstimate, t.End
		j.out.Findings = append(j.out.Findings, f)
	}
}
