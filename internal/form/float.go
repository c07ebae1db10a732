package form

import (
	"strconv"
	"strings"

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

// Decimals prints a float of drawing or statistics; what rounds to nothing has no sign.
func Decimals(v float64, places int) string {
	text := strconv.FormatFloat(v, 'f', places, 64)
	if unsigned, ok := strings.CutPrefix(text, "-"); ok && strings.Trim(unsigned, "0.") == "" {
		return unsigned
	}
	return text
}

// Statistic is what was worked out as a decimal, with more places than are ever
// printed, so that half a unit is rounded up as on paper and nothing is rounded
// twice.
func Statistic(v float64) quantity.Decimal { return quantity.Must(Decimals(v, 9)) }
