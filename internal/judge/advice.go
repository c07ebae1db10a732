package judge

import (
	"fmt"
	"math"

	"spanseal/internal/limits"
	"spanseal/internal/record"
)

// glassIndex is the refractive index of silica, rounded.
const glassIndex = 1.47

// advice says what usually causes a limit to be missed and what to try first.
// It is advice: only a new measurement shows what it was.
func (d *docket) advice(f *Finding, l *limits.Limit) (all []string) {
	say := func(sentences ...string) { all = append(all, sentences...) }
	if f.Margin.Sign() >= 0 {
		say(fmt.Sprintf("The reading is within the limit, but not by the %s dB that was agreed as a guard: a smaller uncertainty or a lower loss would settle it.", f.Guard.Short()))
	} else {
		over := f.Margin.Neg()
		for _, band := range l.Over {
			if band.Below == nil || over.Less(*band.Below) {
				say(band.Say)
				break
			}
		}
	}
	switch f.Quantity {
	case record.InsertionLoss, record.TwoWayAverage:
		if f.Working.Bound == "between" && f.Limit.Equal(*f.Working.Lower) {
			say("The loss is below what the application needs: an attenuator may be called for.")
			return all
		}
		if d.bent(f) {
			say("The loss is higher at the longer wavelength: look for a tight bend in trays, panels and closures first.")
		}
		say("Clean and inspect the connections and the test cords, then measure again.")
		if d.link.MatedPairs > 0 {
			say(fmt.Sprintf("Check that every plug is fully home: an air gap alone loses about %.1f dB.", FresnelLoss(glassIndex)))
		}
		if d.link.AllSplices() > 0 {
			say("If it stays high, find the splice or connection that loses most from both ends and make it again.")
		}
		say("If other links are high by the same amount, take a new reference.")
	case record.SpliceLoss:
		say("Look for a bend beside the splice, then cleave and splice again.")
		if len(f.Readings) == 2 {
			// Both ways differ by twice the apparent step, which gives the ratio
			// of the mode fields and so what no splicer can better.
			step := float(f.Readings[0].Value.Sub(f.Readings[1].Value)) / 2
			if least := ModeFieldLoss(1, math.Pow(10, step/10)); least >= 0.01 {
				say(fmt.Sprintf("The two ways differ by %.2f dB, as where the mode fields of the two fibres differ: such a splice loses at least %.2f dB.", math.Abs(2*step), least))
			}
		}
	case record.Reflectance, record.ReturnLoss:
		say("Clean and inspect the face at end "+f.End+" and that of the cord, then measure again.",
			"Check that both plugs have the same polish: angled and straight faces do not mate.")
	case record.OpticalReturnLoss:
		say("Clean and inspect the connections, the strongest reflection first; check for an open end.")
	case record.Length:
		say("Check the length in the schedule, and the group index that the instrument was set to.")
	}
	return all
}

// bent reports whether the readings of the finding's direction rise with the
// wavelength by more than the question of bends allows.
func (d *docket) bent(f *Finding) bool {
	if d.link.Mode != record.Singlemode {
		return false
	}
	most := d.question("bend").threshold
	for i := range d.out.Readings {
		r := &d.out.Readings[i]
		if r.Quantity == record.InsertionLoss && r.WavelengthNM < f.WavelengthNM && (r.Direction == f.Direction || f.Direction == record.TwoWay) &&
			most.Less(f.Measured.Sub(r.Value)) {
			return true
		}
	}
	return false
}
