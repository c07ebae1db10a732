package retest

import (
	"cmp"
	"slices"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// standing is how the new readings of a link stand to those of then, by what is said
// of them.
type standing struct {
	compared   []*Row
	larger     []*Row // changed by more than measuring explains
	beyond     []*Row // changed by more than the tolerance
	out        []*Row // beyond a limit of then
	met        []*Row // within every limit, of which one was missed then
	withheld   int    // rows that are not compared
	bound      int    // rows that have a limit
	losses     int
	undecided  int // rows of which nobody knows what measuring explains
	lossesOpen int // losses among them
}

func standingOf(rows []Row) *standing {
	s := new(standing)
	for i := range rows {
		r := &rows[i]
		if !r.NotCompared.IsZero() {
			s.withheld++
			continue
		}
		s.compared = append(s.compared, r)
		if len(r.Limits) > 0 {
			s.bound++
		}
		if r.Larger {
			s.larger = append(s.larger, r)
		}
		switch {
		case !r.Within():
			s.out = append(s.out, r)
		case r.missed() != nil:
			s.met = append(s.met, r)
		}
		if r.BeyondTolerance {
			s.beyond = append(s.beyond, r)
		}
		if isLoss(r.Quantity) {
			s.losses++
		}
		if r.Explained == nil {
			s.undecided++
			if isLoss(r.Quantity) {
				s.lossesOpen++
			}
		}
	}
	return s
}

func (s *standing) outcome() Outcome {
	switch {
	case len(s.compared) == 0:
		return NotCompared
	case len(s.out) > 0:
		return OverLimit
	case len(s.larger) > 0 || len(s.beyond) > 0:
		return Changed
	case s.lossesOpen > 0 || s.undecided == len(s.compared):
		return Undecided
	default:
		return NoChange
	}
}

// conclude says what the numbers show, and what they do not.
func (c *Comparison) conclude() {
	s := standingOf(c.Rows)
	c.Outcome = s.outcome()
	if c.Outcome == NotCompared {
		c.say("nothing-compared")
		return
	}
	c.concludeChange(s)
	c.concludeTolerance(s)
	c.concludeLimits(s)
	if !c.Verdict.Certifiable() {
		c.say("certifies-nothing")
	}
	if s.withheld > 0 {
		c.say("withheld", statement.Count(s.withheld))
	}
	if changes := otherwise(c.Then.Link, c.Now.Link); len(changes) > 0 {
		c.say("description", changes)
	}
	c.say("no-cause")
	c.Advice = c.advise(s.compared)
}

// say adds a sentence to the conclusion.
func (c *Comparison) say(what string, args ...statement.Argument) {
	c.Conclusion = append(c.Conclusion, statement.New("retest."+what, args...))
}

// concludeChange names the largest change that measuring does not explain.
func (c *Comparison) concludeChange(s *standing) {
	if r := largest(s.larger); r != nil {
		change := "higher"
		if r.Change.Sign() < 0 {
			change = "lower"
		}
		p, by := r.Places(), r.Change.Abs()
		tell := min(max(r.UncertaintyPlaces(), quantity.PlacesToTell(by, *r.Explained)), printed)
		c.say(change, r.Subject(), statement.Rounded(*r.Now, p), statement.Rounded(*r.Then, p), statement.Rounded(by, p), statement.Rounded(*r.Explained, tell))
		if n := len(s.larger) - 1; n > 0 {
			c.say("further", statement.Count(n))
		}
	} else if s.undecided < len(s.compared) {
		c.say("none-larger")
	}
	if s.undecided > 0 {
		c.say("undecided", statement.Count(s.undecided))
	}
}

// concludeTolerance says whether the losses keep the change that was agreed, if one was.
func (c *Comparison) concludeTolerance(s *standing) {
	t := c.Tolerance
	if t == nil || s.losses == 0 {
		return
	}
	if r := largest(s.beyond); r != nil {
		by := r.Change.Abs()
		c.say("tolerance.exceeded", statement.Number{Decimal: *t}, r.Subject(), statement.Rounded(by, max(r.Places(), quantity.PlacesToTell(by, *t))))
	} else {
		c.say("tolerance.kept", statement.Number{Decimal: *t})
	}
}

// concludeLimits says how the new readings stand to the limits of then.
func (c *Comparison) concludeLimits(s *standing) {
	limit := func(what string, r *Row, l *OriginalLimit) {
		p := r.LimitPlaces(l)
		c.say(what, r.Subject(), statement.Rounded(*r.Now, p), statement.Name(r.Unit), l.allowed(p, r.Unit), statement.Standard{Name: l.Standard, Edition: l.Edition})
	}
	if r, l := first(s.out, (*Row).Tightest); r != nil {
		what := "limit.lost"
		if !l.Met {
			what = "limit.still-missed"
		}
		limit(what, r, l)
		if n := len(s.out) - 1; n > 0 {
			c.say("limit.also-missed", statement.Count(n))
		}
	}
	if r, l := first(s.met, (*Row).missed); r != nil {
		limit("limit.met-now", r, l)
		if n := len(s.met) - 1; n > 0 {
			c.say("limit.also-met", statement.Count(n))
		}
	}
	if len(s.out) == 0 && s.bound > 0 {
		c.say("limit.all-met")
	}
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
