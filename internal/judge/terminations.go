package judge

import (
	"fmt"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// terminations holds the splicer's estimates against the job's own limit and
// asks about end faces. An estimate is never a measurement: its findings are of
// a kind of their own and take no part in the loss.
func (d *docket) terminations() {
	for i := range d.out.Terminations {
		t := &d.out.Terminations[i]
		if most := d.policy.EstimateAtMost; most != nil && t.Estimate != nil {
			d.estimate(t, *most)
		}
		switch t.EndFace {
		case record.EndFaceFail:
			d.askEnd(t, fmt.Sprintf("The end face at %s did not pass inspection: has it been cleaned and inspected again?", endName(t.End)))
		case record.EndFaceNotInspected, "":
			if d.policy.EndFaceRequired && t.End != "" {
				d.askEnd(t, fmt.Sprintf("The end face at %s was not inspected: when will it be?", endName(t.End)))
			}
		}
	}
}

func (d *docket) estimate(t *record.Termination, most quantity.Decimal) {
	margin := most.Sub(*t.Estimate)
	f := Finding{
		Kind: KindEstimate, Code: "splicer-estimate", Quantity: record.SplicerEstimate, End: t.End,
		Measured: t.Estimate, Limit: &most, Margin: &margin, Unit: quantity.DB, Probability: -1,
	}
	if margin.Sign() < 0 {
		f.Verdict = Fail
		f.Advice = []string{"Cleave and splice again; keep the estimate and the number of attempts."}
	}
	d.out.Findings = append(d.out.Findings, f)
}

func (d *docket) askEnd(t *record.Termination, text string) {
	if f, ok := d.raise("end-face", text); ok {
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
