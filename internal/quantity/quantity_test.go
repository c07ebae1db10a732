package quantity

import (
	"encoding/json"
	"errors"
	"math/big"
	"strings"
	"testing"

	"github.com/cockroachdb/apd/v3"
	"pgregory.net/rapid"
)

func TestParse(t *testing.T) {
	tests := []struct {
		name, text string
		mark       rune
		want       string // as printed
		err        error
	}{
		{"whole", "312", '.', "312", nil},
		{"zeros are kept", "0.10", '.', "0.10", nil},
		{"comma", "0,35", ',', "0.35", nil},
		{"plus", "+1.5", '.', "1.5", nil},
		{"minus", "-4.02", '.', "-4.02", nil},
		{"U+2212", "\u22124.02", '.', "-4.02", nil},
		{"no digit before the mark", ".5", '.', "0.5", nil},
		{"no digit behind the mark", "5.", '.', "5", nil},
		{"minus zero", "-0.00", '.', "0.00", nil},
		{"eighteen and eighteen", "123456789012345678.123456789012345678", '.', "123456789012345678.123456789012345678", nil},
		{"nineteen", "1234567890123456789", '.', "", ErrTooLong},
		{"nineteen behind", "0.1234567890123456789", '.', "", ErrTooLong},
		{"very long", strings.Repeat("9", 1_000_000), '.', "", ErrTooLong},
		{"empty", "", '.', "", ErrNotNumber},
		{"sign only", "-", '.', "", ErrNotNumber},
		{"mark only", ".", '.', "", ErrNotNumber},
		{"two marks", "1.2.3", '.', "", ErrNotNumber},
		{"wrong mark", "0,35", '.', "", ErrNotNumber},
		{"letter", "0.3S", '.', "", ErrNotNumber},
		{"exponent", "1e3", '.', "", ErrNotNumber},
		{"space", " 1", '.', "", ErrNotNumber},
		{"Arabic digits", "١", '.', "", ErrNotNumber},
		{"not a number", "NaN", '.', "", ErrNotNumber},
		{"endless", "Infinity", '.', "", ErrNotNumber},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, err := ParseMark(tt.text, tt.mark)
			if !errors.Is(err, tt.err) || err == nil && d.String() != tt.want {
				t.Errorf("got %s, %v; want %s, %v", d, err, tt.want, tt.err)
			}
		})
	}
}

func TestParseStored(t *testing.T) {
	tests := map[string]string{
		"0.34999999999999998":   "0.35",
		"0.55000000000000004":   "0.55",
		"-4.8300000000000001":   "-4.83",
		"46344.437499999898":    "46344.4374999999", // fifteen digits, no more
		"3.5E-2":                "0.035",
		"1.5e3":                 "1500",
		"2":                     "2",
		"0.10":                  "0.10",
		"9.99999999999999999":   "10",
		"12345678901234567":     "12345678901234600",
		"1E18":                  "1000000000000000000",
		"0":                     "0",
		"-1.0000000000000001":   "-1",
		"1E+2":                  "100",
		"5.0000000000000003E-2": "0.05",
	}
	for text, want := range tests {
		if d, err := ParseStored(text); err != nil || d.String() != want {
			t.Errorf("ParseStored(%q) = %s, %v; want %s", text, d, err, want)
		}
	}
	for _, text := range []string{"", "E5", "1E", "1E99", "1E-99", "0x1", "#N/A", "1E1.5"} {
		if d, err := ParseStored(text); err == nil {
			t.Errorf("ParseStored(%q) = %s, want an error", text, d)
		}
	}
}

// TestRoundHalvesAwayFromZero holds rounding as a person does it on paper:
// halves away from zero (rounding rule B of ISO 80000-1:2009, annex B, from
// memory, for positive numbers, and its mirror for negative ones).
func TestRoundHalvesAwayFromZero(t *testing.T) {
	tests := []struct {
		in     string
		places int
		want   string
	}{
		{"0.125", 2, "0.13"}, {"-0.125", 2, "-0.13"}, {"0.135", 2, "0.14"}, {"2.5", 0, "3"}, {"-2.5", 0, "-3"}, {"0.5", 0, "1"},
		{"0.1249999999", 2, "0.12"}, {"2.605", 2, "2.61"}, {"2.604999", 2, "2.60"}, {"9.995", 2, "10.00"}, {"-0.004", 2, "0.00"},
		{"3", 2, "3.00"}, {"0.1", 3, "0.100"},
	}
	for _, tt := range tests {
		if got := Must(tt.in).Fixed(tt.places); got != tt.want {
			t.Errorf("%s to %d places is %s, want %s", tt.in, tt.places, got, tt.want)
		}
	}
}

// TestTwoWayAverage checks the two-way average of 0.20 and 0.10 dB, 0.15 dB (a
// worked example of the trade's textbooks, common practice).
func TestTwoWayAverage(t *testing.T) {
	if got := Must("0.20").Add(Must("0.10")).Half(); got.Fixed(2) != "0.15" {
		t.Errorf("got %s", got)
	}
}

// The foot is exact in metres, so the nearest whole foot is found by turning
// both its neighbours back.
func TestFeet(t *testing.T) {
	for _, m := range []string{"0", "0.1523", "0.1525", "1", "312", "1609.344", "41892.6", "999999.9"} {
		length := Must(m)
		miss := func(feet Decimal) Decimal {
			back, err := Metres(feet, Foot)
			if err != nil {
				t.Fatal(err)
			}
			return back.Sub(length).Abs()
		}
		got := Feet(length)
		if got.Places() != 0 || miss(got.Add(Int(1))).Less(miss(got)) || miss(got.Sub(Int(1))).Less(miss(got)) {
			t.Errorf("%s m is %s ft", m, got)
		}
	}
	if mile := Feet(Must("1609.344")).String(); mile != "5280" { // NIST SP 811, appendix B.6, from memory
		t.Errorf("a mile is %s ft", mile)
	}
}

func TestMetres(t *testing.T) {
	// The international foot is 0.3048 m exactly (NIST SP 811, appendix B.6, from
	// memory).
	tests := []struct {
		amount string
		unit   Unit
		want   string
	}{
		{"312", Metre, "312"}, {"1.25", Kilometre, "1250"}, {"1000", Foot, "304.8"}, {"1.5", Kilofoot, "457.2"}, {"0.001", Foot, "0.0003048"},
	}
	for _, tt := range tests {
		got, err := Metres(Must(tt.amount), tt.unit)
		if err != nil || !got.Equal(Must(tt.want)) {
			t.Errorf("%s %s = %s m, %v; want %s", tt.amount, tt.unit, got, err, tt.want)
		}
	}
	if _, err := Metres(Int(1), DB); err == nil {
		t.Error("dB passes as a length")
	}
	if got := Kilometres(Int(312)).String(); got != "0.312" {
		t.Errorf("312 m = %s km", got)
	}
}

func TestPlacesToTell(t *testing.T) {
	tests := []struct {
		a, b string
		want int
	}{
		{"2.60", "2.61", 2}, {"2.60", "2.6", 2}, {"2.601", "2.60", 3}, {"2.6001", "2.60", 4}, {"2.604", "2.605", 2}, {"2.604", "2.603", 3},
		{"1", "1.0000001", 7}, {"0", "0", 2}, {"-0.001", "0", 3},
	}
	for _, tt := range tests {
		if got := PlacesToTell(Must(tt.a), Must(tt.b)); got != tt.want {
			t.Errorf("%s and %s need %d places, want %d", tt.a, tt.b, got, tt.want)
		}
	}
}

// number draws decimals of up to 18 digits on either side.
var number = rapid.Custom(func(t *rapid.T) Decimal {
	return Must(rapid.StringMatching(`-?[0-9]{1,18}(\.[0-9]{1,18})?`).Draw(t, "digits"))
})

// rational is the second opinion: math/big's exact fractions.
func rational(t interface{ Fatalf(string, ...any) }, d Decimal) *big.Rat {
	r, ok := new(big.Rat).SetString(d.String())
	if !ok {
		t.Fatalf("math/big does not read %s", d)
	}
	return r
}

func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := number.Draw(t, "d")
		for _, text := range []string{d.String(), d.Short()} {
			back, err := Parse(text)
			if err != nil || !back.Equal(d) {
				t.Fatalf("%s printed as %q reads as %s, %v", d, text, back, err)
			}
		}
		if comma, err := ParseMark(strings.ReplaceAll(d.String(), ".", ","), ','); err != nil || comma.String() != d.String() {
			t.Fatalf("with a comma %s reads as %s, %v", d, comma, err)
		}
		data, err := json.Marshal(struct{ D Decimal }{d})
		if err != nil {
			t.Fatal(err)
		}
		var back struct{ D Decimal }
		if err := json.Unmarshal(data, &back); err != nil || back.D.String() != d.String() {
			t.Fatalf("%s as JSON %s reads as %s, %v", d, data, back.D, err)
		}
	})
}

// TestExact holds sums, differences, products and order against math/big.
func TestExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := number.Draw(t, "a"), number.Draw(t, "b")
		ra, rb := rational(t, a), rational(t, b)
		for _, c := range []struct {
			name string
			got  Decimal
			want *big.Rat
		}{
			{"+", a.Add(b), new(big.Rat).Add(ra, rb)},
			{"-", a.Sub(b), new(big.Rat).Sub(ra, rb)},
			{"x", a.Mul(b), new(big.Rat).Mul(ra, rb)},
			{"half", a.Half(), new(big.Rat).Quo(ra, big.NewRat(2, 1))},
			{"neg", a.Neg(), new(big.Rat).Neg(ra)},
			{"abs", a.Abs(), new(big.Rat).Abs(ra)},
		} {
			if rational(t, c.got).Cmp(c.want) != 0 {
				t.Fatalf("%s %s %s = %s, want %s", a, c.name, b, c.got, c.want.FloatString(40))
			}
		}
		if a.Cmp(b) != ra.Cmp(rb) || a.Less(b) != (ra.Cmp(rb) < 0) || a.Equal(b) != (ra.Cmp(rb) == 0) || a.Sign() != ra.Sign() {
			t.Fatalf("order of %s and %s", a, b)
		}
	})
}

// TestSumOrder holds that the order of the addends never matters.
func TestSumOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ds := rapid.SliceOfN(number, 0, 20).Draw(t, "ds")
		shuffled := rapid.Permutation(ds).Draw(t, "shuffled")
		if a, b := Sum(ds...), Sum(shuffled...); !a.Equal(b) {
			t.Fatalf("%s and %s", a, b)
		}
	})
}

// TestRound holds rounding against a second way: scale, add a half, cut off.
func TestRound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, places := number.Draw(t, "d"), rapid.IntRange(0, 18).Draw(t, "places")
		scale := new(big.Rat).SetInt(new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(places)), nil))
		r := new(big.Rat).Mul(rational(t, d.Abs()), scale)
		r.Add(r, big.NewRat(1, 2))
		whole := new(big.Int).Quo(r.Num(), r.Denom())
		want := new(big.Rat).Quo(new(big.Rat).SetInt(whole), scale)
		if d.Sign() < 0 {
			want.Neg(want)
		}
		got := d.Round(places)
		if rational(t, got).Cmp(want) != 0 || got.Places() != places {
			t.Fatalf("%s to %d places is %s, want %s", d, places, got, want.FloatString(places))
		}
	})
}

// TestPlacesTell holds that numbers that differ by what an instrument resolves
// never print alike, and print in their order.
func TestPlacesTell(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := Scaled(rapid.Int64Range(-100_000, 100_000).Draw(t, "a"), 4)
		b := Scaled(rapid.Int64Range(-100_000, 100_000).Draw(t, "b"), 4)
		p := PlacesToTell(a, b)
		x, y := Must(a.Fixed(p)), Must(b.Fixed(p))
		if x.Cmp(y) != a.Cmp(b) || p < 2 {
			t.Fatalf("%s and %s print as %s and %s", a, b, x, y)
		}
	})
}

// TestPlacesAgree holds that whoever subtracts what is printed finds what is
// printed, whatever the numbers.
func TestPlacesAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := number.Draw(t, "a"), number.Draw(t, "b")
		p := PlacesToAgree(a, b)
		if got, want := Must(a.Fixed(p)).Sub(Must(b.Fixed(p))).Fixed(p), a.Sub(b).Fixed(p); got != want {
			t.Fatalf("%s − %s prints as %s − %s = %s, not %s", a, b, a.Fixed(p), b.Fixed(p), got, want)
		}
	})
}

// FuzzParse holds that whatever Parse accepts is what math/big reads, and that
// nothing makes it panic.
func FuzzParse(f *testing.F) {
	for _, s := range []string{"0.35", "-4,02", "\u22121", "1e5", ".", "999999999999999999.999999999999999999", "0x1p-2", "1_000"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		d, err := Parse(s)
		if err != nil {
			return
		}
		text := strings.Replace(s, "\u2212", "-", 1)
		want, ok := new(big.Rat).SetString(text)
		if !ok {
			t.Fatalf("Parse(%q) = %s, and math/big refuses it", s, d)
		}
		if rational(t, d).Cmp(want) != 0 {
			t.Fatalf("Parse(%q) = %s", s, d)
		}
	})
}

func BenchmarkParse(b *testing.B) {
	for b.Loop() {
		if _, err := Parse("-12.345"); err != nil {
			b.Fatal(err)
		}
	}
}

// TestStep: a number is told to one in its last place.
func TestStep(t *testing.T) {
	for text, want := range map[string]string{"312": "1", "0.31": "0.01", "1.0": "0.1", "-2.50": "0.01"} {
		if got := Must(text).Step(); got.String() != want {
			t.Errorf("%s: %s, want %s", text, got, want)
		}
	}
}

// TestRoundSmall holds the quick way of rounding against that of the library.
func TestRoundSmall(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := Scaled(rapid.Int64Range(-2_000_000_000, 2_000_000_000).Draw(t, "n"), rapid.IntRange(-3, 12).Draw(t, "places"))
		places := rapid.IntRange(0, 12).Draw(t, "to")
		n, ok := d.roundSmall(places)
		if !ok {
			return
		}
		c := apd.BaseContext.WithPrecision(400)
		c.Rounding = apd.RoundHalfUp
		var want Decimal
		if _, err := c.Quantize(&want.v, &d.v, int32(-places)); err != nil {
			t.Fatal(err)
		}
		if want.IsZero() {
			want.v.Negative = false
		}
		if got := Scaled(n, places); got.String() != want.String() || got.Places() != places {
			t.Fatalf("%s to %d places is %s, want %s", d, places, got, want)
		}
	})
}

// TestMilliwattsInDBm: 10·log10 of a power in mW. 200 µW and 12.6 µW are -7.0 and
// -19.0 dBm in Keiser, Optical Fiber Communications, example 3.2, p. 91; the
// others are whole by definition, or twice and ten times them.
func TestMilliwattsInDBm(t *testing.T) {
	for mw, want := range map[string]string{"1": "0.0000", "10": "10.0000", "0.001": "-30.0000", "2": "3.0103", "0.2": "-6.9897", "0.0126": "-18.9963", "100000000000000000": "170.0000"} {
		if got, err := MilliwattsInDBm(Must(mw)); err != nil || got.String() != want {
			t.Errorf("%s mW: %s dBm, %v, want %s", mw, got, err, want)
		}
	}
	for _, mw := range []string{"0", "-1"} {
		if got, err := MilliwattsInDBm(Must(mw)); err == nil {
			t.Errorf("%s mW: %s dBm", mw, got)
		}
	}
}
