package retest

import (
	"slices"

	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// conclude says what the numbers show, and what they do not.
func (c *Comparison) conclude() {
	var compared, larger, out, met, beyond []*Row
	withheld, bound, undecided, losses, unclear := 0, 0, 0, 0, 0
	for i := range c.Rows {
		r := &c.Rows[i]
		if !r.NotCompared.IsZero() {
			withheld++
			continue
		}
		compared = append(compared, r)
		if len(r.Limits) > 0 {
			bound++
		}
		if r.Larger {
			larger = append(larger, r)
		}
		switch {
		case !r.Within():
			out = append(out, r)
		case r.missed() != nil:
			met = append(met, r)
		}
		if r.BeyondTolerance {
			beyond = append(beyond, r)
		}
		if isLoss(r.Quantity) {
			losses++
		}
		if r.Explained == nil {
			undecided++
			if isLoss(r.Quantity) {
				unclear++
			}
		}
	}
	say := func(what string, args ...statement.Value) {
		c.Conclusion = append(c.Conclusion, statement.New("retest."+what, args...))
	}
	switch {
	case len(compared) == 0:
		c.Outcome = NotCompared
		say("nothing-compared")
		return
	case len(out) > 0:
		c.Outcome = OverLimit
	case len(larger) > 0 || len(beyond) > 0:
		c.Outcome = Changed
	case unclear > 0 || undecided == len(compared):
		c.Outcome = Undecided
	default:
		c.Outcome = NoChange
	}

	if r := largest(larger); r != nil {
		change := "higher"
		if r.Change.Sign() < 0 {
			change = "lower"
		}
		p, by := r.Places(), r.Change.Abs()
		tell := min(max(r.UncertaintyPlaces(), quantity.PlacesToTell(by, *r.Explained)), printed)
		say(change, r.Subject(), statement.Rounded(*r.Now, p), statement.Rounded(*r.Then, p), statement.Rounded(by, p), statement.Rounded(*r.Explained, tell))
		if n := len(larger) - 1; n > 0 {
			say("further", statement.Count(n))
		}
	} else if undecided < len(compared) {
		say("none-larger")
	}
	if undecided > 0 {
		say("undecided", statement.Count(undecided))
	}
	if t := c.Tolerance; t != nil && losses > 0 {
		if r := largest(beyond); r != nil {
			by := r.Change.Abs()
			say("tolerance.exceeded", statement.Number{Decimal: *t}, r.Subject(), statement.Rounded(by, max(r.Places(), quantity.PlacesToTell(by, *t))))
		} else {
			say("tolerance.kept", statement.Number{Decimal: *t})
		}
	}
	// limit says how a new reading stands to a limit of then.
	limit := func(what string, r *Row, l *Limit) {
		p := r.LimitPlaces(l)
		say(what, r.Subject(), statement.Rounded(*r.Now, p), statement.Name(r.Unit), l.allowed(p, r.Unit), statement.Standard{Name: l.Standard, Edition: l.Edition})
	}
	if r, l := first(out, (*Row).Tightest); r != nil {
		what := "limit.lost"
		if !l.Met {
			what = "limit.still-missed"
		}
		limit(what, r, l)
		if n := len(out) - 1; n > 0 {
			say("limit.also-missed", statement.Count(n))
		}
	}
	if r, l := first(met, (*Row).missed); r != nil {
		limit("limit.met-now", r, l)
		if n := len(met) - 1; n > 0 {
			say("limit.also-met", statement.Count(n))
		}
	}
	if len(out) == 0 && bound > 0 {
		say("limit.all-met")
	}
	if !c.Verdict.Certifiable() {
		say("certifies-nothing")
	}
	if withheld > 0 {
		say("withheld", statement.Count(withheld))
	}
	if changes := otherwise(c.Then.Link, c.Now.Link); len(changes) > 0 {
		say("description", changes)
	}
	say("no-cause")
	c.Advice = c.advise(compared)
}

// first is the row whose limit has the smallest margin, with that limit; nil of
// no rows.
func first(rows []*Row, of func(*Row) *Limit) (*Row, *Limit) {
	if len(rows) == 0 {
		return nil, nil
	}
	r := slices.MinFunc(rows, func(a, b *Row) int { return of(a).Margin.Cmp(of(b).Margin) })
	return r, of(r)
}

// missed is the limit that the earlier reading did not meet, of several the one
// that the new reading is nearest to; nil if there is none.
func (r *Row) missed() *Limit {
	var m *Limit
	for i := range r.Limits {
		if l := &r.Limits[i]; !l.Met && (m == nil || l.Margin.Less(m.Margin)) {
			m = l
		}
	}
	return m
}

// allowed is what a limit allows.
func (l *Limit) allowed(places int, unit quantity.Unit) statement.Statement {
	of, limit := statement.Name(unit), statement.Rounded(l.Limit, places)
	switch {
	case l.Bound == "at_least":
		return statement.New("retest.allowed.at-least", limit, of)
	case l.Lower != nil:
		return statement.New("retest.allowed.between", statement.Rounded(*l.Lower, places), limit, of)
	}
	return statement.New("retest.allowed.at-most", limit, of)
}

// largest is the row with the largest normalised error, else the largest
// change; nil of none.
func largest(rows []*Row) *Row {
	if len(rows) == 0 {
		return nil
	}
	return slices.MaxFunc(rows, func(a, b *Row) int {
		if a.NormalisedError != nil && b.NormalisedError != nil {
			return a.NormalisedError.Cmp(*b.NormalisedError)
		}
		return a.Change.Abs().Cmp(b.Change.Abs())
	})
}

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
func (r *Row) LimitPlaces(l *Limit) int {
	p := max(r.Places(), min(l.Limit.Places(), 3))
	if isLoss(r.Quantity) {
		p = max(r.Places(), quantity.PlacesToTell(*r.Now, l.Limit))
	}
	return p
}

// advise tells patterns of changes apart. A loss that rose shows the same both
// ways and, where a face or a splice is the cause, alike at every wavelength; a
// bend shows most at the longest (IEC 61280-4-2 and texts of the trade, from
// memory). It is advice: only work on the link shows what it was.
func (c *Comparison) advise(rows []*Row) []statement.Statement {
	var losses []*Row
	for _, r := range rows {
		if r.Quantity == record.InsertionLoss && r.Explained != nil {
			losses = append(losses, r)
		}
	}
	say := func(what string, args ...statement.Value) []statement.Statement {
		return []statement.Statement{statement.New("retest.advice."+what, args...)}
	}
	rose := func(r *Row) bool { return r.Larger && r.Change.Sign() > 0 }
	fell := func(r *Row) bool { return r.Larger && r.Change.Sign() < 0 }
	slopes := slopesOf(losses)
	bend := func(what string) []statement.Statement {
		s := slices.MaxFunc(slopes, func(a, b slope) int { return a.rise().Cmp(b.rise()) })
		p := max(s.long.Places(), s.short.Places())
		return say(what, s.long.Subject(), statement.Rounded(*s.long.Change, p), s.short.Subject(), statement.Rounded(*s.short.Change, p))
	}
	switch way := oneWay(losses, rose); {
	case len(losses) < 2:
		return nil
	case !slices.ContainsFunc(losses, rose):
		switch {
		case !slices.ContainsFunc(losses, fell):
			return nil
		case c.Verdict.Certifiable():
			return say("lower")
		}
		return say("lower-sheet")
	case c.Link.Mode == record.Singlemode && everyWay(slopes, func(s slope) bool { return rose(s.long) && apart(s.long, s.short) }):
		return bend("bend")
	case way != "":
		return say("one-way", statement.Way(way))
	case c.Link.Mode == record.Singlemode && everyWay(slopes, func(s slope) bool { return rose(s.long) && s.steep() }):
		return bend("bend-likely")
	case alike(losses, rose):
		return say("alike")
	}
	return say("no-pattern")
}

// apart reports whether two changes differ by more than their four
// uncertainties explain, the first being the higher.
func apart(a, b *Row) bool {
	d := a.Change.Sub(*b.Change)
	squares := quantity.Sum(square(a.UncertaintyThen), square(a.UncertaintyNow), square(b.UncertaintyThen), square(b.UncertaintyNow))
	return d.Sign() > 0 && squares.Less(d.Mul(d))
}

func square(d *quantity.Decimal) quantity.Decimal { return d.Mul(*d) }

// slope is what one direction shows at its shortest and longest wavelength, which
// are one where no other was measured.
type slope struct{ short, long *Row }

// slopesOf are those of every direction, in the order of the rows.
func slopesOf(losses []*Row) (list []slope) {
	for _, r := range losses {
		i := slices.IndexFunc(list, func(s slope) bool { return s.long.Direction == r.Direction })
		if i < 0 {
			list = append(list, slope{r, r})
			continue
		}
		if s := &list[i]; r.WavelengthNM > s.long.WavelengthNM {
			s.long = r
		} else if r.WavelengthNM < s.short.WavelengthNM {
			s.short = r
		}
	}
	return list
}

// rise is by how much more the loss rose at the longest wavelength.
func (s slope) rise() quantity.Decimal { return s.long.Change.Sub(*s.short.Change) }

// steep reports whether the loss rose by at least half as much again at the
// longest wavelength. What is off at both alike, such as the reference, is part of
// all four uncertainties and of no difference, so that such a slope shows sooner
// than they admit; a connection or a splice loses about as much at both
// wavelengths (common practice).
func (s slope) steep() bool {
	twice := func(d *quantity.Decimal) quantity.Decimal { return d.Add(*d) }
	return !twice(s.long.Change).Less(twice(s.short.Change).Add(*s.short.Change))
}

// everyWay reports whether every direction was measured at two wavelengths or
// more, and passes.
func everyWay(slopes []slope, passes func(slope) bool) bool {
	return !slices.ContainsFunc(slopes, func(s slope) bool { return s.short == s.long || !passes(s) })
}

// oneWay is the direction that rose at every wavelength where the other did not,
// or "".
func oneWay(losses []*Row, rose func(*Row) bool) record.Direction {
	var way record.Direction
	for _, r := range losses {
		if !rose(r) {
			continue
		}
		if way != "" && way != r.Direction {
			return ""
		}
		way = r.Direction
		other := slices.IndexFunc(losses, func(o *Row) bool { return o.WavelengthNM == r.WavelengthNM && o.Direction != r.Direction })
		if other < 0 || !apart(r, losses[other]) {
			return ""
		}
	}
	if slices.ContainsFunc(losses, func(r *Row) bool { return r.Direction == way && !rose(r) }) {
		return ""
	}
	return way
}

// alike: all rose, and none differs from another.
func alike(losses []*Row, rose func(*Row) bool) bool {
	for i, a := range losses {
		if !rose(a) {
			return false
		}
		for _, b := range losses[:i] {
			if apart(a, b) || apart(b, a) {
				return false
			}
		}
	}
	return true
}
