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
func (d *linkJudge) expectORL() {
	for i := range d.out.Readings {
		r := &d.out.Readings[i]
		if r.Quantity != record.OpticalReturnLoss {
			continue
		}
		at := d.situation(nil, r.WavelengthNM, "", wayOf(d.policy.MethodOf(r)))
		for _, s := range d.sets {
			k, alpha, n := s.Value("backscatter", &at), s.Value("fibre_attenuation", &at), s.Value("group_index", &at)
			if k == nil || alpha == nil || n == nil {
				continue
			}
			glass := optics.Backscatter(chance.Float(k.Number), chance.Float(alpha.Number), chance.Float(n.Number), chance.Float(d.link.Length)/1000)
			expected := optics.ReturnLoss(glass, d.seen(r)...)
			d.out.ExpectedORL = append(d.out.ExpectedORL, ExpectedORL{WavelengthNM: r.WavelengthNM, Direction: r.Direction, DB: expected})
			if q := d.asks["expected-orl"]; chance.Float(r.Value) > expected+chance.Float(q.Threshold) {
				d.ask(statement.New("expected-orl", statement.Number{Decimal: r.Value}, statement.NM(r.WavelengthNM), statement.Number{Decimal: chance.Decimal(expected, 1)}), *r)
			}
			break
		}
	}
}

// seen lists the measured end reflections as seen by a reading of the whole
// link: the near one at once, the far one behind the link's loss.
func (d *linkJudge) seen(r *record.Reading) []optics.Reflection {
	var loss float64
	for i := range d.out.Readings {
		if o := &d.out.Readings[i]; o.Quantity == record.InsertionLoss && o.WavelengthNM == r.WavelengthNM {
			loss = chance.Float(o.Value)
		}
	}
	var out []optics.Reflection
	for i := range d.out.Readings {
		o := &d.out.Readings[i]
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
