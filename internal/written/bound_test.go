package written

import "testing"

// TestTexts tells bounds from texts beyond the range and from others.
func TestTexts(t *testing.T) {
	for _, c := range []struct {
		text          string
		bound, beyond bool
	}{
		{"<0.05", true, false}, {"≤ 0,05", true, false}, {">40", true, true}, {"> 40 dB", true, true}, {"OL", false, true}, {"O.L.", false, true},
		{"over range", false, true}, {"LO", false, true}, {"---", false, false}, {"n/a", false, false}, {"<none>", false, false}, {"low light", false, false},
	} {
		if IsBound(c.text) != c.bound || OverRange.MatchString(c.text) != c.beyond {
			t.Errorf("%q: bound %t, beyond the range %t", c.text, IsBound(c.text), OverRange.MatchString(c.text))
		}
	}
}
