package judge

import (
	"math"
	"strconv"
)

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

// colours are those of TIA-598, in order, for strands and for tubes.
var colours = [...]string{"blue", "orange", "green", "brown", "slate", "white", "red", "black", "yellow", "violet", "rose", "aqua"}

// Colour returns the TIA-598 colour of strand or tube n, from one. Above twelve
// the order repeats with a stripe a dozen; it is "" for n below one. Not every
// maker keeps to it.
func Colour(n int) string {
	if n < 1 {
		return ""
	}
	c := colours[(n-1)%len(colours)]
	switch stripes := (n - 1) / len(colours); stripes {
	case 0:
		return c
	case 1:
		return c + ", one stripe"
	default:
		return c + ", " + strconv.Itoa(stripes) + " stripes"
	}
}

// Strand returns the tube and the place in it of strand n of a cable with
// twelve strands a tube, all from one.
func Strand(n int) (tube, place int) { return (n-1)/12 + 1, (n-1)%12 + 1 }
