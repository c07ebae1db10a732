package retest

import (
	"cmp"
	"slices"

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
	say := func(what string, args ...statement.Argument) {
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
	limit := func(what string, r *Row, l *OriginalLimit) {
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
func first(rows []*Row, of func(*Row) *OriginalLimit) (*Row, *OriginalLimit) {
	if len(rows) == 0 {
		return nil, nil
	}
	r := slices.MinFunc(rows, func(a, b *Row) int { return of(a).Margin.Cmp(of(b).Margin) })
	return r, of(r)
}

// missed is the limit that the earlier reading did not meet, of several the one
// that the new reading is nearest to; nil if there is none.
func (r *Row) missed() *OriginalLimit {
	var m *OriginalLimit
	for i := range r.Limits {
		if l := &r.Limits[i]; !l.Met && (m == nil || l.Margin.Less(m.Margin)) {
			m = l
		}
	}
	return m
}

// allowed is what a limit allows.
func (l *OriginalLimit) allowed(places int, unit quantity.Unit) statement.Statement {
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

// otherwise says in what the link is described otherwise now.
func otherwise(then, now *record.Link) (list statement.List) {
	if then == nil || now == nil {
		return nil
	}
	differ := func(what string, differs bool, was, is statement.Argument) {
		if differs {
			list = append(list, statement.New("retest.described."+what, was, is))
		}
	}
	differ("fibre", then.Fibre != now.Fibre, statement.Name(cmp.Or(then.Fibre, "–")), statement.Name(cmp.Or(now.Fibre, "–")))
	differ("length", !then.Length.Equal(now.Length), statement.Short(then.Length), statement.Short(now.Length))
	differ("mated-pairs", then.MatedPairs != now.MatedPairs, statement.Count(then.MatedPairs), statement.Count(now.MatedPairs))
	differ("splices", then.AllSplices() != now.AllSplices(), statement.Count(then.AllSplices()), statement.Count(now.AllSplices()))
	return list
}
