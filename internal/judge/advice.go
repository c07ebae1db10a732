package judge

import (
	"math"

	"spanseal/internal/chance"
	"spanseal/internal/limits"
	"spanseal/internal/optics"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// glassIndex is the refractive index of silica, rounded.
const glassIndex = 1.47

// advice says what usually causes a limit to be missed and what to try first.
// It is advice: only a new measurement shows what it was.
func (j *linkJudge) advice(f *Finding, l *limits.Limit) (all []statement.Statement) {
	say := func(code string, args ...statement.Argument) { all = append(all, statement.New(code, args...)) }
	if f.Margin.Sign() >= 0 {
		say("advice.guard", statement.Short(*f.Guard))
	} else {
		over := f.Margin.Neg()
		for _, band := range l.Over {
			if band.Below == nil || over.Less(*band.Below) {
				say("advice.owner", statement.Name(band.Say))
				break
			}
		}
	}
	switch f.Quantity {
	case record.InsertionLoss, record.TwoWayAverage:
		if f.AtLeast() {
			if f.Margin.Sign() < 0 {
				say("advice.attenuator")
			}
			return all
		}
		if j.bent(f) {
			say("advice.bend")
		}
		say("advice.clean")
		if j.link.MatedPairs > 0 {
			say("advice.seat", statement.Number{Decimal: chance.Decimal(optics.FresnelLoss(glassIndex), 1)})
		}
		if j.link.AllSplices() > 0 {
			say("advice.rework")
		}
		say("advice.reference")
	case record.SpliceLoss:
		say("advice.splice")
		if len(f.Readings) == 2 {
			// Both ways differ by twice the apparent step, which gives the ratio
			// of the mode fields and so what no splicer can better.
			step := chance.Float(f.Readings[0].Value.Sub(f.Readings[1].Value)) / 2
			if least := optics.ModeFieldLoss(1, math.Pow(10, step/10)); least >= 0.01 {
				say("advice.mode-field", statement.Number{Decimal: f.Readings[0].Value.Sub(f.Readings[1].Value).Abs()}, statement.Number{Decimal: chance.Decimal(least, 2)})
			}
		}
	case record.Reflectance, record.ReturnLoss:
		say("advice.face", statement.Name(f.End))
		say("advice.polish")
	case record.OpticalReturnLoss:
		say("advice.reflection")
	case record.Length:
		say("advice.length")
	}
	return all
}

// bent reports whether the finding's loss is more than glass and a reading of a
// shorter wavelength in its direction explain, by what the question of bends allows.
func (j *linkJudge) bent(f *Finding) bool {
	if j.link.Mode != record.Singlemode {
		return false
	}
	most := j.asks["bend"].Threshold
	long := record.Reading{WavelengthNM: f.WavelengthNM, Value: *f.Measured}
	for i := range j.out.Readings {
		r := &j.out.Readings[i]
		if r.Quantity != record.InsertionLoss || r.WavelengthNM >= f.WavelengthNM || r.Direction != f.Direction && f.Direction != record.TwoWay {
			continue
		}
		if excess, ok := j.excess(r, &long); ok && most.Less(excess) {
			return true
		}
	}
	return false
}
