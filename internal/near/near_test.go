package near

import (
	"testing"

	"pgregory.net/rapid"
)

// TestNear holds which near misses are named, and that neighbours are none: a
// suggestion to take A-13 for A-12 would do harm.
func TestNear(t *testing.T) {
	n := New([]string{"A-11", "A-12", "B-01", "RR-C1/24", "Lesesaal 3", "loss_db", "wavelength_nm"})
	for name, want := range map[string]string{
		"a-11": "A-11", "A11": "A-11", "A 11": "A-11", "A-011": "A-11", "A–11": "A-11", "A-1l": "A-11", "B-O1": "B-01", "B-1": "B-01",
		"rr c1 24": "RR-C1/24", "RR-C1/024": "RR-C1/24", "Lesesal 3": "Lesesaal 3", "Leseasal 3": "Lesesaal 3", "los_db": "loss_db", "wavelenght_nm": "wavelength_nm",
		"A-13": "", "A-21": "", "A-111": "", "C-11": "A-11", "Lesesaal 4": "", "": "", "zebra": "", "A-11-A-12": "",
	} {
		if got := n.To(name); got != want {
			t.Errorf("near(%q) = %q, want %q", name, got, want)
		}
	}
	n.Add("Z-99")
	if got := n.To("z99"); got != "Z-99" {
		t.Errorf("a name added later is not found: %q", got)
	}
}

// TestSlips holds that slips are a distance: none from a name to itself, the
// same both ways, and no more than the letters there are.
func TestSlips(t *testing.T) {
	for _, tt := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"a", "", 1}, {"abc", "abc", 0}, {"abc", "acb", 1}, {"abc", "ab", 1}, {"kitten", "sitting", 3}} {
		if got := slips([]rune(tt.a), []rune(tt.b)); got != tt.want {
			t.Errorf("%q to %q are %d slips, want %d", tt.a, tt.b, got, tt.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.SliceOfN(rapid.SampledFrom([]rune("abc-1")), 0, 12)
		a, b := word.Draw(t, "a"), word.Draw(t, "b")
		d := slips(a, b)
		if slips(a, a) != 0 || d != slips(b, a) || d > max(len(a), len(b)) || (d == 0) != (string(a) == string(b)) {
			t.Fatalf("%q and %q: %d", string(a), string(b), d)
		}
	})
}
