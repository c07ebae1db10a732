package judge_test

import (
	"math"
	"testing"

	"spanseal/internal/judge"
)

func TestOptics(t *testing.T) {
	for _, c := range []struct {
		name      string
		got, want float64
		within    float64
	}{
		{"Senior, Optical Fiber Communications, example 5.1, p. 220: n = 1.5, two faces, 0.35 dB", judge.FresnelLoss(1.5), 0.35, 0.006},
		{"Senior, example 5.6, p. 232: mode fields 5.6 and 4.2 µm, 0.35 dB", judge.ModeFieldLoss(5.6, 4.2), 0.35, 0.006},
		{"our own calculation: 9.2 to 8.6 µm, 0.020 dB", judge.ModeFieldLoss(9.2, 8.6), 0.020, 0.0005},
		{"our own calculation: 9.2 to 10.4 µm, 0.065 dB", judge.ModeFieldLoss(9.2, 10.4), 0.065, 0.0005},
		{"our own calculation: apparent step 9.2 to 8.6 µm, a gain", judge.ApparentStep(9.2, 8.6), -0.293, 0.0005},
		{"our own calculation: apparent step 9.2 to 10.4 µm", judge.ApparentStep(9.2, 10.4), 0.532, 0.0005},
		{"the average of both ways is true", judge.ApparentStep(9.2, 10.4) + judge.ApparentStep(10.4, 9.2), 0, 1e-12},
	} {
		if math.Abs(c.got-c.want) > c.within {
			t.Errorf("%s: %.4f", c.name, c.got)
		}
	}
}

// TestColours: TIA-598 as tabled in an open encyclopedia; fibre 34 lies in tube
// 3 (green) and is its tenth (violet).
func TestColours(t *testing.T) {
	for n, want := range map[int]string{0: "", 1: "blue", 2: "orange", 3: "green", 4: "brown", 5: "slate", 6: "white", 7: "red",
		8: "black", 9: "yellow", 10: "violet", 11: "rose", 12: "aqua", 13: "blue, one stripe", 25: "blue, 2 stripes"} {
		if got := judge.Colour(n); got != want {
			t.Errorf("%d: %q, want %q", n, got, want)
		}
	}
	tube, place := judge.Strand(34)
	if tube != 3 || place != 10 || judge.Colour(tube) != "green" || judge.Colour(place) != "violet" {
		t.Errorf("fibre 34: tube %d, strand %d", tube, place)
	}
}
