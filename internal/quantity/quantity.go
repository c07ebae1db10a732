// Package quantity alone parses, compares, rounds and prints numbers and units.
//
// A number of a reading or a limit is a [Decimal]: the digits that were
// written, with an exponent of ten, never a binary float. Sums, differences and
// products of decimals are exact, so a reading that equals its limit compares
// as equal. Rounding happens only in [Decimal.Fixed], for print, and rounds
// halves away from zero, as a person does on paper.
//
// Numbers are bounded: at most [MaxDigits] digits on either side of the mark.
// Longer ones are refused by [Parse], which keeps foreign input from buying
// unbounded work.
package quantity

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"github.com/cockroachdb/apd/v3"
)

// MaxDigits is the longest run of digits that Parse accepts before or after
// the decimal mark.
const MaxDigits = 18

// Decimal is an exact decimal number. The zero value is 0. A Decimal is
// immutable and may be copied; compare with Cmp or Equal, never with ==.
type Decimal struct{ v apd.Decimal }

// exact is wide enough that no sum or product of bounded numbers is rounded:
// two factors of 36 digits need 72.
var exact = apd.BaseContext.WithPrecision(400)

// ErrNotNumber reports text that is not a plain decimal number.
var ErrNotNumber = errors.New("not a number")

// ErrTooLong reports a number with more digits than MaxDigits on one side.
var ErrTooLong = errors.New("too many digits")

// Parse reads a plain decimal number with a point: an optional sign ("+", "-"
// or U+2212), digits, and at most one point with digits on at least one side.
// No exponent, no thousands marks, no spaces: those are a mapping's to remove.
func Parse(text string) (Decimal, error) { return ParseMark(text, '.') }

// ParseMark is Parse with the given decimal mark, '.' or ','.
func ParseMark(text string, mark rune) (Decimal, error) {
	body, negative := text, false
	switch {
	case strings.HasPrefix(body, "+"):
		body = body[1:]
	case strings.HasPrefix(body, "-"):
		body, negative = body[1:], true
	case strings.HasPrefix(body, "\u2212"):
		body, negative = body[len("\u2212"):], true
	}
	var digits [2 * MaxDigits]byte
	whole, places, seen := 0, 0, false
	for _, r := range body {
		switch {
		case r >= '0' && r <= '9':
			if n := whole + places; n < len(digits) {
				digits[n] = byte(r)
			}
			if seen {
				places++
			} else {
				whole++
			}
		case r == mark && !seen:
			seen = true
		default:
			return Decimal{}, ErrNotNumber
		}
	}
	n := whole + places
	if n == 0 {
		return Decimal{}, ErrNotNumber
	}
	if whole > MaxDigits || places > MaxDigits {
		return Decimal{}, ErrTooLong
	}
	var d Decimal
	if n <= MaxDigits { // fits an int64: nearly every number there is
		var v int64
		for _, c := range digits[:n] {
			v = v*10 + int64(c-'0')
		}
		d.v.Coeff.SetInt64(v)
	} else {
		d.v.Coeff.SetString(string(digits[:n]), 10)
	}
	d.v.Exponent = int32(-places)
	d.v.Negative = negative && d.v.Coeff.Sign() != 0
	return d, nil
}

// Must is Parse for constants and tests; it panics on an error.
func Must(text string) Decimal {
	d, err := Parse(text)
	if err != nil {
		panic(fmt.Sprintf("quantity.Must(%q): %v", text, err))
	}
	return d
}

// Int returns n as a decimal.
func Int(n int) Decimal {
	var d Decimal
	d.v.SetInt64(int64(n))
	return d
}

// Scaled returns n × 10^-places, such as Scaled(312, 3) for 0.312.
func Scaled(n int64, places int) Decimal {
	var d Decimal
	d.v.SetFinite(n, int32(-places))
	return d
}

// Add returns d + e, exactly.
func (d Decimal) Add(e Decimal) (r Decimal) {
	_, err := exact.Add(&r.v, &d.v, &e.v)
	return r.settled(err)
}

// Sub returns d − e, exactly.
func (d Decimal) Sub(e Decimal) (r Decimal) {
	_, err := exact.Sub(&r.v, &d.v, &e.v)
	return r.settled(err)
}

// Mul returns d × e, exactly.
func (d Decimal) Mul(e Decimal) (r Decimal) {
	_, err := exact.Mul(&r.v, &d.v, &e.v)
	return r.settled(err)
}

// settled takes the sign off a zero. The operations call the context by name
// rather than through a function value, so that their operands stay off the
// heap.
func (d Decimal) settled(err error) Decimal {
	if err != nil { // the context traps nothing that bounded operands can raise
		panic(fmt.Sprintf("quantity: %v", err))
	}
	if d.v.Coeff.Sign() == 0 {
		d.v.Negative = false
	}
	return d
}

// Neg returns −d.
func (d Decimal) Neg() Decimal { return Decimal{}.Sub(d) }

// Abs returns |d|.
func (d Decimal) Abs() Decimal {
	if d.Sign() < 0 {
		return d.Neg()
	}
	return d
}

// Half returns d/2, exactly.
func (d Decimal) Half() Decimal { return d.Mul(Scaled(5, 1)) }

// Cmp returns −1, 0 or +1 as d is less than, equal to or greater than e.
func (d Decimal) Cmp(e Decimal) int { return d.v.Cmp(&e.v) }

// Equal reports whether d and e are the same number: 0.10 equals 0.1.
func (d Decimal) Equal(e Decimal) bool { return d.Cmp(e) == 0 }

// Less reports d < e.
func (d Decimal) Less(e Decimal) bool { return d.Cmp(e) < 0 }

// Sign returns −1, 0 or +1.
func (d Decimal) Sign() int { return d.v.Sign() }

// IsZero reports whether d is 0. It also serves the omitzero tag of JSON.
func (d Decimal) IsZero() bool { return d.Sign() == 0 }

// Places returns how many digits stand after the point as written: 2 for 0.10.
func (d Decimal) Places() int {
	if d.v.Exponent >= 0 {
		return 0
	}
	return int(-d.v.Exponent)
}

// Step is one in the last place: what the number was told to.
func (d Decimal) Step() Decimal { return Scaled(1, d.Places()) }

// String prints every digit as written, with a point and an ASCII minus.
func (d Decimal) String() string { return d.v.Text('f') }

// Short is String without trailing zeros after the point: 0.40 becomes 0.4.
func (d Decimal) Short() string {
	s := d.String()
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// Round returns d rounded to places digits after the point, halves away from
// zero.
func (d Decimal) Round(places int) Decimal {
	if int(d.v.Exponent) == -places && d.v.Coeff.Sign() != 0 {
		return d
	}
	if n, ok := d.roundSmall(places); ok { // nearly all
		return Scaled(n, places)
	}
	c := apd.BaseContext.WithPrecision(400)
	c.Rounding = apd.RoundHalfUp // apd's half-up is away from zero: -0.125 gives -0.13
	var r Decimal
	if _, err := c.Quantize(&r.v, &d.v, int32(-places)); err != nil {
		panic(fmt.Sprintf("quantity: %v", err))
	}
	if r.v.Coeff.Sign() == 0 {
		r.v.Negative = false
	}
	return r
}

// roundSmall is Round for numbers of few digits, as whole steps of the last place.
func (d Decimal) roundSmall(places int) (steps int64, ok bool) {
	const most = 1_000_000_000 // so that no product leaves 64 bits
	shift := places + int(d.v.Exponent)
	if !d.v.Coeff.IsInt64() || shift < -9 || shift > 9 {
		return 0, false
	}
	n := d.v.Coeff.Int64() // never negative
	if n > most {
		return 0, false
	}
	for ; shift > 0; shift-- {
		n *= 10
	}
	if shift < 0 {
		step := int64(1)
		for ; shift < 0; shift++ {
			step *= 10
		}
		n = (n + step/2) / step
	}
	if d.v.Negative {
		n = -n
	}
	return n, true
}

// Fixed prints d rounded to places digits after the point, with an ASCII minus.
func (d Decimal) Fixed(places int) string { return d.Round(places).String() }

// MarshalText writes the digits as written; a JSON document holds numbers of
// readings and limits as strings so that no reader turns them into floats.
func (d Decimal) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText is Parse.
func (d *Decimal) UnmarshalText(text []byte) error {
	v, err := Parse(string(text))
	if err != nil {
		return fmt.Errorf("%q: %w", text, err)
	}
	*d = v
	return nil
}

// Sum adds up decimals exactly; of none it is 0.
func Sum(ds ...Decimal) Decimal {
	var s Decimal
	for _, d := range ds {
		s = s.Add(d)
	}
	return s
}

var hundredth = Scaled(1, 2)

// PlacesToTell returns how many digits after the point, at least two, print a
// and b so that their order stays visible: numbers that differ never print
// alike.
func PlacesToTell(a, b Decimal) int {
	if !a.Sub(b).Abs().Less(hundredth) { // no rounding to hundredths hides that
		return 2
	}
	for p, all := 2, max(a.Places(), b.Places()); ; p++ {
		if p >= all || a.Round(p).Cmp(b.Round(p)) == a.Cmp(b) {
			return p
		}
	}
}

// PlacesToAgree is PlacesToTell, or more where otherwise the difference of the
// printed numbers would not be the printed difference: whoever subtracts on
// paper finds the margin that stands there.
func PlacesToAgree(a, b Decimal) int {
	for p, all := PlacesToTell(a, b), max(a.Places(), b.Places()); ; p++ {
		if p >= all || a.Round(p).Sub(b.Round(p)).Equal(a.Sub(b).Round(p)) {
			return p
		}
	}
}

// storedDigits is how many significant digits a spreadsheet's number holds; the
// digits behind them come from its binary form.
const storedDigits = 15

// ParseStored reads a number as spreadsheets store it in a file: an xsd:double
// with a point and perhaps an exponent (ECMA-376 part 1, 18.3.1.96), such as
// 0.34999999999999998 for the 0.35 that was typed or -3.5E-2. It is rounded to
// the 15 significant digits that a spreadsheet shows.
func ParseStored(text string) (Decimal, error) {
	mantissa, exponent := text, 0
	if i := strings.IndexAny(text, "eE"); i >= 0 {
		e, err := strconv.Atoi(text[i+1:])
		if err != nil || e < -MaxDigits || e > MaxDigits {
			return Decimal{}, ErrNotNumber
		}
		mantissa, exponent = text[:i], e
	}
	d, err := Parse(mantissa)
	if err != nil {
		return Decimal{}, err
	}
	d.v.Exponent += int32(exponent)
	if over := d.v.NumDigits() - storedDigits; over > 0 {
		d = d.Round(int(-d.v.Exponent - int32(over)))
		d.v.Reduce(&d.v)
	}
	if d.v.Exponent > 0 { // whole numbers keep no exponent, so that Places and String agree
		d = d.Round(0)
	}
	return d, nil
}

// Whole reads a run of one to nine ASCII digits.
func Whole(s string) (int, bool) {
	if s == "" || len(s) > 9 {
		return 0, false
	}
	v := 0
	for i := 0; i < len(s); i++ {
		if s[i] < '0' || s[i] > '9' {
			return 0, false
		}
		v = v*10 + int(s[i]-'0')
	}
	return v, true
}
