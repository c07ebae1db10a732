package layout

import "math"

// Scale turns values into millimetres of the drawing.
type Scale struct {
	X0, Width, Top float64 // Top is the value at X0+Width
}

// At is where a value lies; one beyond the scale lies at its end.
func (s Scale) At(v float64) float64 { return s.X0 + max(0, min(v, s.Top))/s.Top*s.Width }

// NiceStep is a round step, 1, 2 or 5 times a power of ten, that makes at most
// so many steps to the top.
func NiceStep(top float64, most int) float64 {
	step := math.Pow(10, math.Floor(math.Log10(top/float64(most))))
	for _, m := range []float64{1, 2, 5, 10} {
		if top/(step*m) <= float64(most) {
			return step * m
		}
	}
	return step * 10
}
