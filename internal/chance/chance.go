// Package chance tells what chance explains of readings: whether several links have
// the very same losses, whether one direction or wavelength was copied from another,
// how many losses show a share.
//
// It counts and asks nothing. The bounds are ours; each says so where it stands.
package chance

import (
	"math"
	"strconv"

	"spanseal/internal/quantity"
)

// Float is a decimal as a binary float: for statistics, never for what is compared
// with a limit.
func Float(d quantity.Decimal) float64 {
	v, _ := strconv.ParseFloat(d.String(), 64) // a Decimal always prints as a number
	return v
}

// Decimal is a number that was worked out, with so many places after the mark.
func Decimal(v float64, places int) quantity.Decimal {
	return quantity.Must(strconv.FormatFloat(v, 'f', places, 64)) // not a limit: worked out from readings
}

// thousandths is a loss in thousandths of a decibel, rounded: for statistics.
func thousandths(d quantity.Decimal) int32 {
	return int32(math.Round(max(-1e6, min(1e6, Float(d)*1000))))
}
