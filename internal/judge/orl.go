package judge

import (
	"math"

	"spanseal/internal/chance"
	"spanseal/internal/optics"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// expectORL works out what optical return loss the reflectances and the glass
// allow, where one of the link's sets gives the constants of the glass
// (backscatter, fibre_attenuation and group_index), and asks about readings
// that are better than that.
func (j *linkJudge) expectORL() {
	for i := range j.out.Readings {
		r := &j.out.Readings[i]
		if r.Quantity != record.OpticalReturnLoss {
			continue
		}
		at := j.situation(nil, r.WavelengthNM, "", wayOf(j.policy.MethodOf(r)))
		for _, s := range j.sets {
			k, alpha, n := s.Value("backscatter", &at), s.Value("fibre_attenuation", &at), s.Value("group_index", &at)
			if k == nil || alpha == nil || n == nil {
				continue
			}
			glass := optics.Backscatter(chance.Float(k.Number), chance.Float(alpha.Number), chance.Float(n.Number), chance.Float(j.link.Length)/1000)
			expected := optics.ReturnLoss(glass, j.seen(r)...)
			j.out.ExpectedORL = append(j.out.ExpectedORL, ExpectedORL{WavelengthNM: r.WavelengthNM, Direction: r.Direction, DB: expected})
			if q := j.asks["expected-orl"]; chance.Float(r.Value) > expected+chance.Float(q.Threshold) {
				j.ask(statement.New("expected-orl", statement.Number{Decimal: r.Value}, statement.NM(r.WavelengthNM), statement.Number{Decimal: chance.Decimal(expected, 1)}), *r)
			}
			break
		}
	}
}

// seen lists the measured end reflections as seen by a reading of the whole
// link: the near one at once, the far one behind the link's loss.
func (j *linkJudge) seen(r *record.Reading) []optics.Reflection {
	var loss float64
	for i := range j.out.Readings {
		if o := &j.out.Readings[i]; o.Quantity == record.InsertionLoss && o.WavelengthNM == r.WavelengthNM {
			loss = chance.Float(o.Value)
		}
	}
	var out []optics.Reflection
	for i := range j.out.Readings {
		o := &j.out.Readings[i]
		if o.WavelengthNM != r.WavelengthNM || o.Quantity != record.Reflectance && o.Quantity != record.ReturnLoss {
			continue
		}
		x := optics.Reflection{DB: -math.Abs(chance.Float(o.Value))}
		if o.Direction != r.Direction && r.Direction != record.NoWay {
			x.Away = loss
		}
		out = append(out, x)
	}
	return out
}
