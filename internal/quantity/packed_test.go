package quantity

import (
	"testing"

	"pgregory.net/rapid"
)

func TestPack(t *testing.T) {
	for _, c := range []struct {
		text string
		fits bool
	}{
		{"0", true}, {"0.00", true}, {"-0.30", true}, {"100", true}, {"-2147483648", true}, {"2.147483647", true},
		{"2147483648", false}, {"0.000000000000000001", true}, {"123456789012345678.123456789012345678", false},
	} {
		d := Must(c.text)
		p, fits := Pack(&d)
		if fits != c.fits {
			t.Errorf("%s: fits %v, want %v", c.text, fits, c.fits)
		}
		if got := p.Unpack(); fits && got.String() != c.text {
			t.Errorf("%s comes back as %s", c.text, got)
		}
	}
	large := Scaled(1, 200) // not a limit: more places than a byte tells
	if _, fits := Pack(&large); fits {
		t.Error("200 places fit")
	}
	if p, fits := Pack(nil); !fits || p != (Packed{}) || p.Unpack() != nil {
		t.Error("none does not come back as none")
	}
}

func TestPackComesBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Scaled(rapid.Int64().Draw(t, "n"), rapid.IntRange(-300, 300).Draw(t, "places"))
		if p, fits := Pack(&d); fits && (p.Unpack().String() != d.String() || p.Unpack().Places() != d.Places()) {
			t.Fatalf("%s comes back as %s", d, p.Unpack())
		}
	})
}
