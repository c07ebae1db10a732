// Package optics works out what glass and gaps do to light: where it is lost, and how
// much of it comes back.
//
// Losses are positive and reflections negative, in dB. The figures explain readings;
// none of them is a limit.
package optics

import "math"

// FresnelLoss is the loss in dB of light that passes an air gap between two
// faces of glass with index n: two reflections of ((n−1)/(n+1))².
func FresnelLoss(n float64) float64 {
	r := (n - 1) / (n + 1)
	return -20 * math.Log10(1-r*r)
}

// ModeFieldLoss is the loss in dB where singlemode fibres with mode fields w1
// and w2 (radii or diameters) meet without offset or tilt, in either direction.
func ModeFieldLoss(w1, w2 float64) float64 {
	return -20 * math.Log10(2*w1*w2/(w1*w1+w2*w2))
}

// ApparentStep is what a trace adds to the true loss of a splice seen from
// fibre A to fibre B with mode fields wA and wB, dB: the light that B scatters
// back and captures differs. From B it is the same with its sign turned, so
// that the average of both ways is the true loss.
func ApparentStep(wA, wB float64) float64 { return 10 * math.Log10(wB/wA) }

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
