package optics_test

import (
	"math"
	"testing"

	"spanseal/internal/optics"
)

func TestOptics(t *testing.T) {
	for _, c := range []struct {
		name      string
		got, want float64
		within    float64
	}{
		{"Senior, Optical Fiber Communications, example 5.1, p. 220: n = 1.5, two faces, 0.35 dB", optics.FresnelLoss(1.5), 0.35, 0.006},
		{"Senior, example 5.6, p. 232: mode fields 5.6 and 4.2 µm, 0.35 dB", optics.ModeFieldLoss(5.6, 4.2), 0.35, 0.006},
		{"our own calculation: 9.2 to 8.6 µm, 0.020 dB", optics.ModeFieldLoss(9.2, 8.6), 0.020, 0.0005},
		{"our own calculation: 9.2 to 10.4 µm, 0.065 dB", optics.ModeFieldLoss(9.2, 10.4), 0.065, 0.0005},
		{"our own calculation: apparent step 9.2 to 8.6 µm, a gain", optics.ApparentStep(9.2, 8.6), -0.293, 0.0005},
		{"our own calculation: apparent step 9.2 to 10.4 µm", optics.ApparentStep(9.2, 10.4), 0.532, 0.0005},
		{"the average of both ways is true", optics.ApparentStep(9.2, 10.4) + optics.ApparentStep(10.4, 9.2), 0, 1e-12},
	} {
		if math.Abs(c.got-c.want) > c.within {
			t.Errorf("%s: %.4f", c.name, c.got)
		}
	}
}

// TestReturnLoss: an optical return loss is 10·log10 of the light sent over the
// light that comes back. Printed: a tenth is 10 dB, a twentieth 13 dB (archived
// network-engineering note); 200 µW in and 6.3 nW back are 45 dB (Keiser,
// Optical Fiber Communications, example 10.3, p. 348). No worked sum of several
// reflections was found in print: those figures are our own calculation.
func TestReturnLoss(t *testing.T) {
	none := math.NaN()
	for _, c := range []struct {
		name string
		got  float64
		want float64
	}{
		{"a tenth", optics.ReturnLoss(none, optics.Reflection{DB: 10 * math.Log10(0.10)}), 10},
		{"a twentieth", optics.ReturnLoss(none, optics.Reflection{DB: 10 * math.Log10(0.05)}), 13},
		{"Keiser 10.3", optics.ReturnLoss(none, optics.Reflection{DB: 10 * math.Log10(6.3e-9/200e-6)}), 45},
		{"ours: two of -40 dB, 1 dB apart", optics.ReturnLoss(none, optics.Reflection{DB: -40}, optics.Reflection{DB: -40, Away: 1}), 37.9},
		{"ours: -50 dB, and -45 dB behind 2 dB", optics.ReturnLoss(none, optics.Reflection{DB: -50}, optics.Reflection{DB: -45, Away: 2}), 46.5},
		{"ours: the same with 10 km of glass", optics.ReturnLoss(optics.Backscatter(-82, 0.20, 1.468, 10), optics.Reflection{DB: -50}, optics.Reflection{DB: -45, Away: 2}), 33.7},
		{"ours: glass, 10 km at 1550 nm", -optics.Backscatter(-82, 0.20, 1.468, 10), 33.9},
		{"ours: glass without end at 1550 nm", -optics.Backscatter(-82, 0.20, 1.468, 1e6), 31.7},
		{"ours: glass, 10 km at 1310 nm", -optics.Backscatter(-79, 0.35, 1.468, 10), 32.1},
		{"ours: glass without end at 1310 nm", -optics.Backscatter(-79, 0.35, 1.468, 1e6), 31.2},
	} {
		if math.Abs(c.got-c.want) > 0.055 {
			t.Errorf("%s: %.3f dB, want %.1f", c.name, c.got, c.want)
		}
	}
}
