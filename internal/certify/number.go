package certify

import (
	"slices"
	"strconv"

	"spanseal/internal/judge"
	"spanseal/internal/quantity"
)

// places is how many digits a finding that stands alone is printed with.
func places(f judge.Finding) int { return f.Places(2) }

// atLeast reports whether a finding's limit is one that the reading must reach:
// of return loss, or the least loss that an application needs.
func atLeast(f judge.Finding) bool {
	if f.Working == nil || f.Limit == nil {
		return false
	}
	w := f.Working
	return w.Bound == "at_least" || w.Bound == "between" && w.Lower != nil && f.Limit.Equal(*w.Lower)
}

// upper is a finding as held against the most that is allowed, for drawings of
// losses: of a limit between two, the upper one.
func upper(f judge.Finding) judge.Finding {
	if atLeast(f) && f.Working.Bound == "between" {
		f.Limit = &f.Working.Limit
	}
	return f
}

// float is a decimal for drawing only; nothing is judged with it.
func float(d quantity.Decimal) float64 {
	v, err := strconv.ParseFloat(d.String(), 64)
	if err != nil {
		panic(err) // a decimal always prints as a number
	}
	return v
}

// placesToAgree is how many digits findings in one column are printed with, so
// that of each the order shows and measured, limit and margin subtract as they
// are printed.
func placesToAgree(findings []judge.Finding) int {
	all := 0
	for _, f := range findings {
		all = max(all, f.Measured.Places(), f.Limit.Places())
	}
	p := 2
	for _, f := range findings {
		p = max(p, quantity.PlacesToTell(*f.Measured, *f.Limit))
	}
	for ; p < all; p++ {
		if !slices.ContainsFunc(findings, func(f judge.Finding) bool {
			difference := f.Measured.Round(p).Sub(f.Limit.Round(p)).Abs()
			return !difference.Equal(f.Margin.Abs().Round(p))
		}) {
			break
		}
	}
	return p
}
