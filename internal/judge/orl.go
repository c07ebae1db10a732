package judge

import (
	"math"

	"spanseal/internal/chance"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// Reflection is one reflection seen from where the light enters.
type Reflection struct {
	DB   float64 // reflectance, negative dB
	Away float64 // one-way loss up to it, dB
}

// speed of light in vacuum, km/s (exact, SI).
const lightKmPerS = 299792.458

// Backscatter returns the part of the light that a uniform fibre scatters back,
// in dB (negative): k is its backscatter coefficient for a pulse of 1 ns in dB,
// alpha its attenuation in dB/km, length in km.
//
// R = k + 10·log10((1 − e^(−2aL)) / (2a·Δz)), a = α/4.343 per km and
// Δz = c·1 ns/(2n) (trade formula, from memory).
func Backscatter(k, alpha, index, length float64) float64 {
	a := alpha * math.Ln10 / 10
	dz := lightKmPerS * 1e-9 / (2 * index)
	return k + 10*math.Log10(-math.Expm1(-2*a*length)/(2*a*dz))
}

// ReturnLoss returns the optical return loss, positive dB, of reflections and
// of backscatter in dB; NaN stands for no backscatter.
func ReturnLoss(backscatter float64, reflections ...Reflection) float64 {
	var back float64
	if !math.IsNaN(backscatter) {
		back = math.Pow(10, backscatter/10)
	}
	for _, r := range reflections {
		back += math.Pow(10, (r.DB-2*r.Away)/10)
	}
	return -10 * math.Log10(back)
}

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
		at := d.at
		at.WavelengthNM = r.WavelengthNM
		for _, s := range d.sets {
			k, alpha, n := s.Value("backscatter", &at), s.Value("fibre_attenuation", &at), s.Value("group_index", &at)
			if k == nil || alpha == nil || n == nil {
				continue
			}
			glass := Backscatter(chance.Float(k.Number), chance.Float(alpha.Number), chance.Float(n.Number), chance.Float(d.link.Length)/1000)
			expected := ReturnLoss(glass, d.seen(r)...)
			d.out.ExpectedORL = append(d.out.ExpectedORL, ExpectedORL{WavelengthNM: r.WavelengthNM, Direction: r.Direction, DB: expected})
			if q := d.asks["expected-orl"]; chance.Float(r.Value) > expected+chance.Float(q.Threshold) {
				d.ask(statement.New("expected-orl", statement.Number{Decimal: r.Value}, statement.NM(r.WavelengthNM), rounded(expected, 1)), *r)
			}
			break
		}
	}
}

// seen lists the measured end reflections as seen by a reading of the whole
// link: the near one at once, the far one behind the link's loss.
func (d *linkJudge) seen(r *record.Reading) []Reflection {
	var loss float64
	for i := range d.out.Readings {
		if o := &d.out.Readings[i]; o.Quantity == record.InsertionLoss && o.WavelengthNM == r.WavelengthNM {
			loss = chance.Float(o.Value)
		}
	}
	var out []Reflection
	for i := range d.out.Readings {
		o := &d.out.Readings[i]
		if o.WavelengthNM != r.WavelengthNM || o.Quantity != record.Reflectance && o.Quantity != record.ReturnLoss {
			continue
		}
		x := Reflection{DB: -math.Abs(chance.Float(o.Value))}
		if o.Direction != r.Direction && r.Direction != record.NoWay {
			x.Away = loss
		}
		out = append(out, x)
	}
	return out
}
