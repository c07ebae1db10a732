package form

import (
	"strconv"

	"spanseal/internal/quantity"
)

// Float is a decimal for drawing only; nothing is judged with it.
func Float(d quantity.Decimal) float64 {
	v, err := strconv.ParseFloat(d.String(), 64)
	if err != nil {
		panic(err) // a decimal always prints as a number
	}
	return v
}

// Decimals prints a float of drawing or statistics.
func Decimals(v float64, places int) string { return strconv.FormatFloat(v, 'f', places, 64) }

// Statistic is what was worked out as a decimal, with more places than are ever
// printed, so that half a unit is rounded up as on paper and nothing is rounded
// twice.
func Statistic(v float64) quantity.Decimal { return quantity.Must(Decimals(v, 9)) }
