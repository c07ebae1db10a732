package quantity

import (
	"fmt"

	"github.com/cockroachdb/apd/v3"
)

// Unit is a unit that a column, a mapping or a limit value may carry.
type Unit string

// The units of the trade. Length is kept in metres, ratios in dB, absolute
// power in dBm, wavelength in nm.
const (
	DB        Unit = "dB"
	DBm       Unit = "dBm"
	Milliwatt Unit = "mW"
	DBPerKm   Unit = "dB/km"
	Metre     Unit = "m"
	Kilometre Unit = "km"
	Foot      Unit = "ft"
	Kilofoot  Unit = "kft"
	Nanometre Unit = "nm"
	// Micrometre is written with the micro sign.
	Micrometre Unit = "µm"
	One        Unit = ""
)

// metres holds how many metres a unit of length is. The international foot is
// 0.3048 m exactly (NIST SP 811, appendix B.6, from memory).
var metres = map[Unit]Decimal{
	Metre:     Int(1),
	Kilometre: Int(1000),
	Foot:      Scaled(3048, 4),
	Kilofoot:  Scaled(3048, 1),
}

// Metres turns an amount of a unit of length into metres, exactly.
func Metres(amount Decimal, u Unit) (Decimal, error) {
	f, ok := metres[u]
	if !ok {
		return Decimal{}, fmt.Errorf("%q is not a unit of length", u)
	}
	return amount.Mul(f), nil
}

// MilliwattsInDBm turns an absolute power in mW, which must be more than none,
// into dBm, 10·log10 of it, rounded to four places: a thousandth of what
// instruments of the trade show.
func MilliwattsInDBm(mw Decimal) (Decimal, error) {
	if mw.Sign() <= 0 {
		return Decimal{}, fmt.Errorf("a power of %s mW has no level in dBm", mw)
	}
	var log Decimal
	if _, err := apd.BaseContext.WithPrecision(30).Log10(&log.v, &mw.v); err != nil {
		return Decimal{}, err
	}
	return log.Mul(Int(10)).Round(4), nil
}

// feetPerMetre is 1/0.3048 to ten places.
var feetPerMetre = Scaled(32_808_398_950, 10)

// Feet turns metres into whole feet, for print.
func Feet(m Decimal) Decimal { return m.Mul(feetPerMetre).Round(0) }

// Kilometres turns metres into kilometres, exactly.
func Kilometres(m Decimal) Decimal { return m.Mul(Scaled(1, 3)) }
