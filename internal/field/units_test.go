package field

import "testing"

// TestUnitText takes what a heading says of its unit from brackets or from its
// last word.
func TestUnitText(t *testing.T) {
	for name, want := range map[string]string{
		"Loss (dB)": "dB", "Power [mW]": "mW", "Loss mdB": "mdB", "power_mw": "mw", "Loss in %": "%",
		"Loss": "", "(dB)": "", "Loss A-B": "", "Loss dB": "", "How": "", "Loss (A to B) avg": "",
	} {
		if got := UnitText(name); got != want {
			t.Errorf("%q: %q, want %q", name, got, want)
		}
	}
}
