package limittest_test

import (
	"math"
	"os"
	"strconv"
	"testing"

	"spanseal/internal/limits"
	"spanseal/internal/source"
)

// TestSplittersAgainstIdeal: no splitter loses less than dividing the light does,
// 10·lg N (arithmetic), and the figures of the example follow 0.8 dB + 3.4 dB for each
// halving (Telcordia GR-1209, recalled).
func TestSplittersAgainstIdeal(t *testing.T) {
	raw, err := os.ReadFile("../../templates/limits/example-passive-splitters.yaml")
	if err != nil {
		t.Fatal(err)
	}
	s, problems := limits.Parse(source.New("example-passive-splitters.yaml", raw))
	if problems.Errors() > 0 {
		t.Fatal(problems)
	}
	g, _ := s.Group("splitter")
	for i, v := range g.Rows {
		ratio := 2 << i
		got, err := strconv.ParseFloat(v.Number.String(), 64)
		if err != nil || len(v.Where.Ratio) != 1 || v.Where.Ratio[0].Min != ratio {
			t.Fatalf("row %d: %v %v", i, v, err)
		}
		ideal, formula := 10*math.Log10(float64(ratio)), 0.8+3.4*float64(i+1)
		if got < ideal || math.Abs(got-formula) > 1e-9 {
			t.Errorf("1:%d loses %v dB: ideal %.1f, by the formula %.1f", ratio, got, ideal, formula)
		}
	}
	if len(g.Rows) != 7 {
		t.Errorf("%d ratios", len(g.Rows))
	}
}
