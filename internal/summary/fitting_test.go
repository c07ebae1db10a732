package summary

import (
	"slices"
	"strings"
	"testing"
)

// TestFitting: names are taken while their characters, and those between them, are at most
// 480; the first whatever its length.
func TestFitting(t *testing.T) {
	ten := slices.Repeat([]string{"0123456789"}, 60)
	for _, c := range []struct {
		name    string
		names   []string
		between int
		want    int
	}{
		{"none", nil, 0, 0},
		{"48 of ten", ten, 0, 48},
		{"40 of ten and a comma with a blank", ten, 2, 40},
		{"all that there are", ten[:3], 2, 3},
		{"one of any length", []string{strings.Repeat("x", 1000), "y"}, 0, 1},
		{"characters, not bytes", []string{strings.Repeat("é", 240), strings.Repeat("é", 240), "e"}, 0, 2},
	} {
		if got := fitting(c.names, c.between); got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
	}
}
