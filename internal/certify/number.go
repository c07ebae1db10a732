package certify

import (
	"slices"
	"strconv"

	"spanseal/internal/judge"
	"spanseal/internal/quantity"
)

// mostPlaces bounds the digits after the mark on paper.
const mostPlaces = 4

// places is how many digits a finding is printed with: two, unless two would
// hide which side of the limit the reading lies on, or whether the margin is
// less than the uncertainty, or whoever subtracts on paper would not find the
// margin that stands there, as with the mean of two readings.
func places(f judge.Finding) int { return placesFrom(f, 2) }

// placesFrom is places, or more where others beside it are printed with more.
func placesFrom(f judge.Finding, least int) int {
	p := max(least, placesToTell(f))
	if f.Measured == nil || f.Limit == nil || f.Margin == nil {
		return p
	}
	for all := max(f.Measured.Places(), f.Limit.Places()); p < all; p++ {
		m, l := f.Measured.Round(p), f.Limit.Round(p)
		told := p >= mostPlaces || m.Cmp(l) == f.Measured.Cmp(*f.Limit) // more digits may make them alike again
		if told && m.Sub(l).Abs().Equal(f.Margin.Abs().Round(p)) {
			break
		}
	}
	return p
}

// placesToTell is how many digits show the verdict of a finding.
func placesToTell(f judge.Finding) int {
	if f.Measured == nil || f.Limit == nil {
		return 2
	}
	p := quantity.PlacesToTell(*f.Measured, *f.Limit)
	if f.Margin != nil && f.Uncertainty != nil {
		p = max(p, quantity.PlacesToTell(*f.Margin, *f.Uncertainty))
	}
	return min(p, mostPlaces)
}

// placesOf is how many digits the losses of one paper are printed with at least.
func placesOf(findings []judge.Finding) int {
	p := 2
	for _, f := range findings {
		p = max(p, placesToTell(f))
	}
	return p
}

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
