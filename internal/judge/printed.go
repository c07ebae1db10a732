package judge

import "spanseal/internal/quantity"

// mostPlaces bounds the digits after the mark that tell two numbers apart.
const mostPlaces = 4

// Places is how many digits after the mark a finding is printed with: at least
// so many, and more where those would hide which side of the limit the reading
// lies on, or whether the margin is less than the uncertainty, or whoever
// subtracts on paper would not find the margin that stands there, as with the
// mean of two readings.
func (f *Finding) Places(least int) int {
	p := max(least, f.placesToTell())
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
func (f *Finding) placesToTell() int {
	if f.Measured == nil || f.Limit == nil {
		return 2
	}
	p := quantity.PlacesToTell(*f.Measured, *f.Limit)
	if f.Margin != nil && f.Uncertainty != nil {
		p = max(p, quantity.PlacesToTell(*f.Margin, *f.Uncertainty))
	}
	return min(p, mostPlaces)
}

// PlacesOf is how many digits the losses of one paper are printed with: those of
// the finding that needs most, so that one limit reads the same everywhere on it.
func PlacesOf(losses []Finding) int {
	for p := 2; ; {
		finest := p
		for i := range losses {
			finest = max(finest, losses[i].Places(p))
		}
		if finest == p { // none needs more than all have
			return p
		}
		p = finest
	}
}

// Shown is what the instrument showed where the finding's number only stands for
// it, or "".
func (f *Finding) Shown() string {
	if len(f.Readings) != 1 {
		return ""
	}
	return f.Readings[0].Shown
}

// AtLeast reports whether a finding's limit is one that the reading must reach: a
// return loss, or the least loss that an application needs.
func (f *Finding) AtLeast() bool {
	if f.Working == nil || f.Limit == nil {
		return false
	}
	w := f.Working
	return w.Bound == "at_least" || w.Bound == "between" && w.Lower != nil && f.Limit.Equal(*w.Lower)
}
