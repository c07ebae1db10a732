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
func (d *linkJudge) terminations() {
	seen := d.out.Inspections
	for _, open := range inspection.Open(d.link, seen, d.out.Terminations, d.policy.Require.Inspection == "required") {
		d.askEnd(open.Asks, &record.Termination{End: open.End})
	}
	d.unrecorded()
	for i := range d.out.Terminations {
		t := &d.out.Terminations[i]
		if most := d.policy.EstimateAtMost; most != nil && t.Estimate != nil {
			d.estimate(t, *most)
		}
		if d.passedLater(t) || inspection.Since(seen, t) {
			continue
		}
		switch t.EndFace {
		case record.EndFaceFail:
			d.askEnd(statement.New("end-face.failed", statement.End(t.End)), t)
		case record.EndFaceNotInspected, "":
			if t.End != "" && d.faceWanted(t.End) {
				d.askEnd(statement.New("end-face.not-inspected", statement.End(t.End)), t)
			}
		}
	}
}

// passedLater reports whether a later record of the same end says that the face
// passed: what was cleaned or made again is not as it was.
func (d *linkJudge) passedLater(t *record.Termination) bool {
	return t.End != "" && slices.ContainsFunc(d.out.Terminations, func(o record.Termination) bool {
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
func (d *linkJudge) faceWanted(end string) bool {
	return d.policy.EndFaceRequired && d.policy.Require.Inspection != "required" && !inspection.Known(d.out.Inspections, d.out.Terminations, end)
}

// unrecorded asks about ends that were made on the job and have no record,
// where the job judges such records.
func (d *linkJudge) unrecorded() {
	for _, end := range []struct {
		name string
		*record.End
	}{{"A", &d.link.EndA}, {"B", &d.link.EndB}} {
		if slices.ContainsFunc(d.out.Terminations, func(t record.Termination) bool { return t.End == end.name }) {
			continue
		}
		made := &record.Termination{Link: d.link.ID, End: end.name}
		switch {
		case d.faceWanted(end.name) && end.Connector != "":
			d.askEnd(statement.New("end-face.unrecorded", statement.Name(end.name)), made)
		case d.policy.EstimateAtMost != nil && end.SplicedOn:
			d.askEnd(statement.New("no-termination", statement.Name(end.name)), made)
		}
	}
}

func (d *linkJudge) estimate(t *record.Termination, most quantity.Decimal) {
	margin := most.Sub(*t.Estimate)
	f := Finding{
		Matter:   &Matter{Kind: KindEstimate, Code: "splicer-estimate", Quantity: record.SplicerEstimate, End: t.End, Unit: quantity.DB},
		Measured: t.Estimate, Limit: &most, Margin: &margin, Probability: -1,
	}
	if margin.Sign() < 0 {
		f.Verdict = Fail
		f.ask(statement.Statement{}, statement.New("advice.splice-again"))
	}
	d.out.Findings = append(d.out.Findings, f)
}

func (d *linkJudge) askEnd(question statement.Statement, t *record.Termination) {
	if f, ok := d.raise(question); ok {
		f.Kind, f.End = KindEstimate, t.End
		d.out.Findings = append(d.out.Findings, f)
	}
}
