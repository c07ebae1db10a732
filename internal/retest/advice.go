package retest

import (
	"slices"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

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
	say := func(what string, args ...statement.Argument) []statement.Statement {
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
