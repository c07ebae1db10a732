package retest

import (
	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// Error prints the normalised error with as many digits as show on which side
// of 1 it lies, "" without one.
func (r *Row) Error() string {
	switch {
	case r.NormalisedError == nil && r.Larger: // of two certain values
		return "> 1"
	case r.NormalisedError == nil:
		return ""
	}
	one := quantity.Int(1)
	text := r.NormalisedError.Fixed(quantity.PlacesToTell(*r.NormalisedError, one))
	if r.Larger && !one.Less(quantity.Must(text)) { // nearer to 1 than any digit kept
		return "> 1"
	}
	return text
}

// settle finds how many digits each quantity is printed with: as many as its row
// that needs most, so that one number reads the same everywhere on the sheet. Losses
// have at least so many.
func (c *Comparison) settle(findings []judge.Finding, least int) {
	for p := least; ; {
		finest := p
		for i := range c.Rows {
			if r := &c.Rows[i]; ofLink(r.Quantity) {
				r.settle(findings, p)
				finest = max(finest, r.places)
			}
		}
		if finest == p { // none needs more than all have
			break
		}
		p = finest
	}
	most, finest := map[record.Quantity]int{}, map[record.Quantity]int{}
	for i := range c.Rows {
		r := &c.Rows[i]
		most[r.Quantity] = max(most[r.Quantity], r.Places())
	}
	for i := range c.Rows {
		r := &c.Rows[i]
		r.places = most[r.Quantity]
		finest[r.Quantity] = max(finest[r.Quantity], r.UncertaintyPlaces())
	}
	for i := range c.Rows {
		r := &c.Rows[i]
		r.uncertainty = finest[r.Quantity]
	}
}

// settle finds how many digits a loss is printed with: as many as on the
// certificate, whose losses have at least so many, and more where otherwise the
// change, or the new margin, would not be the difference of what is printed.
func (r *Row) settle(findings []judge.Finding, least int) {
	var shown []judge.Finding
	differ := func(a, b, difference *quantity.Decimal) {
		if a.Sub(*b).Abs().Equal(difference.Abs()) { // not of a limit's other bound
			shown = append(shown, judge.Finding{Measured: a, Limit: b, Margin: difference})
		}
	}
	for _, f := range findings {
		if r.judgedBy(&f) {
			shown = append(shown, f)
		}
	}
	if r.Change != nil {
		differ(r.Now, r.Then, r.Change)
	}
	for i := range r.Limits {
		l := &r.Limits[i]
		differ(r.Now, &l.Limit, &l.Margin)
	}
	r.places = least
	for before := 0; before != r.places; { // more digits for one may be too few for another
		before = r.places
		for i := range shown {
			r.places = shown[i].Places(r.places)
		}
	}
}

// Places is how many digits a row is printed with: a loss of the link as on the
// certificate, anything else with as many as were read, at most three, and a
// loss at least two.
func (r *Row) Places() int {
	if r.places > 0 {
		return r.places
	}
	p := 0
	if isLoss(r.Quantity) {
		p = 2
	}
	for _, d := range []*quantity.Decimal{r.Then, r.Now} {
		if d != nil {
			p = max(p, min(d.Places(), 3))
		}
	}
	return p
}

// UncertaintyPlaces is how many digits the uncertainties of a row, and what they
// explain, are printed with: as many as they were given with, at least two.
func (r *Row) UncertaintyPlaces() int {
	if r.uncertainty > 0 {
		return r.uncertainty
	}
	p := 2
	for _, u := range []*quantity.Decimal{r.UncertaintyThen, r.UncertaintyNow} {
		if u != nil {
			p = max(p, u.Places())
		}
	}
	return min(p, r.Places())
}

// LimitPlaces is how many digits a limit and its margin are printed with: enough
// to tell the reading from the limit.
func (r *Row) LimitPlaces(l *OriginalLimit) int {
	p := max(r.Places(), min(l.Limit.Places(), 3))
	if isLoss(r.Quantity) {
		p = max(r.Places(), quantity.PlacesToTell(*r.Now, l.Limit))
	}
	return p
}

// printed is how many digits of a root or a ratio are kept. They are for print
// and judge nothing.
const printed = 4
