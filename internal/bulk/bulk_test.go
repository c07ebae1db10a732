package bulk

import "testing"

func TestNoTwoLinksHaveTheSameLosses(t *testing.T) {
	seen := map[[4]int]int{}
	for i := range 100_000 {
		l := losses(i)
		if first, ok := seen[l]; ok {
			t.Fatalf("links %d and %d both have %v", first, i, l)
		}
		seen[l] = i
	}
}
