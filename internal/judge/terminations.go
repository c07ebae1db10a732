package judge

import (
	"fmt"
	"slices"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// terminations holds the splicer's estimates against the job's own limit and
// asks about end faces. An estimate is never a measurement: its findings are of
// a kind of their own and take no part in the loss.
func (d *docket) terminations() {
	d.unrecorded()
	for i := range d.out.Terminations {
		t := &d.out.Terminations[i]
		if most := d.policy.EstimateAtMost; most != nil && t.Estimate != nil {
			d.estimate(t, *most)
		}
		switch t.EndFace {
		case record.EndFaceFail:
			d.askEnd("end-face", t, fmt.Sprintf("The end face at %s did not pass inspection: has it been cleaned and inspected again?", endName(t.End)))
		case record.EndFaceNotInspected, "":
			if d.policy.EndFaceRequired && t.End != "" {
				d.askEnd("end-face", t, fmt.Sprintf("The end face at %s was not inspected: when will it be?", endName(t.End)))
			}
		}
	}
}

// unrecorded asks about ends that were made on the job and have no record,
// where the job judges such records.
func (d *docket) unrecorded() {
	for _, end := range []struct {
		name string
		*record.End
	}{{"A", &d.link.EndA}, {"B", &d.link.EndB}} {
		if slices.ContainsFunc(d.out.Terminations, func(t record.Termination) bool { return t.End == end.name }) {
			continue
		}
		made := &record.Termination{Link: d.link.ID, End: end.name}
		switch {
		case d.policy.EndFaceRequired && end.Connector != "":
			d.askEnd("end-face", made, fmt.Sprintf("The end face at end %s has no record of inspection: when will it be inspected?", end.name))
		case d.policy.EstimateAtMost != nil && end.SplicedOn:
			d.askEnd("no-termination", made, fmt.Sprintf("End %s is spliced on and has no record: what did the splicer estimate?", end.name))
		}
	}
}

func (d *docket) estimate(t *record.Termination, most quantity.Decimal) {
	margin := most.Sub(*t.Estimate)
	f := Finding{
		Matter:   &Matter{Kind: KindEstimate, Code: "splicer-estimate", Quantity: record.SplicerEstimate, End: t.End, Unit: quantity.DB},
		Measured: t.Estimate, Limit: &most, Margin: &margin, Probability: -1,
	}
	if margin.Sign() < 0 {
		f.Verdict = Fail
		f.ask("", "Cleave and splice again; keep the estimate and the number of attempts.")
	}
	d.out.Findings = append(d.out.Findings, f)
}

func (d *docket) askEnd(code string, t *record.Termination, text string) {
	if f, ok := d.raise(code, text); ok {
		f.Kind, f.End = KindEstimate, t.End
		d.out.Findings = append(d.out.Findings, f)
	}
}

func endName(end string) string {
	if end == "" {
		return "the splice"
	}
	return "end " + end
}
