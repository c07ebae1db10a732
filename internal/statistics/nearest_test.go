package statistics

import "testing"

// TestNearest: a percentile is the smallest loss that at least that share does not
// exceed, by nearest rank; where that is the largest, the sample shows none.
func TestNearest(t *testing.T) {
	sorted := make([]float64, 100)
	for i := range sorted {
		sorted[i] = float64(i + 1)
	}
	for _, c := range []struct {
		percentile, of int
		want           float64 // 0: none
	}{{95, 100, 95}, {97, 100, 97}, {99, 100, 99}, {97, 33, 0}, {97, 34, 33}, {95, 19, 0}, {95, 20, 19}, {50, 1, 0}} {
		got := nearest(c.percentile, sorted[:c.of])
		if (got == nil) != (c.want == 0) || got != nil && *got != c.want {
			t.Errorf("%d %% of %d: %v, want %v", c.percentile, c.of, got, c.want)
		}
	}
	for n, want := range map[int]float64{1: 1, 2: 1.5, 3: 2, 4: 2.5} {
		if got := median(sorted[:n]); got != want {
			t.Errorf("the median of %d: %v, want %v", n, got, want)
		}
	}
}
