package retest

import (
	"slices"

	"spanseal/internal/record"
)

// same reports whether two readings are one: of the same row of the same file,
// or of the same moment and value. A copy that was saved again has another
// digest, and keeps its times.
func same(a, b *record.Reading) bool {
	x, y := a.Origin, b.Origin
	row := x.SHA256 != "" && x.SHA256 == y.SHA256 && x.Row == y.Row && x.Cell == y.Cell
	return keyOf(a) == keyOf(b) && (row || sameMoment(a, b) && a.Value.Equal(b.Value))
}

// altered reports whether the two are one reading with two values.
func altered(a, b *record.Reading) bool {
	return keyOf(a) == keyOf(b) && sameMoment(a, b) && a.Instrument == b.Instrument && !a.Value.Equal(b.Value)
}

// sameMoment needs an hour: on one day a link may be measured more than once.
func sameMoment(a, b *record.Reading) bool {
	return !a.Time.IsZero() && a.Time.Equal(b.Time) && !record.DayOnly(a.Time)
}

// shared counts the readings behind the new result that are behind the earlier
// one as well.
func shared(then, now measurement) int {
	n := 0
	for _, r := range now.of {
		if slices.ContainsFunc(then.of, func(was *record.Reading) bool { return same(was, r) }) {
			n++
		}
	}
	return n
}

// Repeated reports whether there is no new reading: each is one of those that
// the record holds.
func (c *Comparison) Repeated() bool {
	for i := range c.Now.Readings {
		r := &c.Now.Readings[i]
		if !slices.ContainsFunc(c.Then.Readings, func(was record.Reading) bool { return same(&was, r) }) {
			return false
		}
	}
	return true
}

// copied reports whether at least three losses were read again and each shows
// its earlier value to the digit. One that does is chance; all are a copy.
func (c *Comparison) copied() bool {
	n := 0
	for i := range c.Rows {
		r := &c.Rows[i]
		if r.Quantity != record.InsertionLoss || r.Then == nil || r.Now == nil {
			continue
		}
		if !r.Then.Equal(*r.Now) {
			return false
		}
		n++
	}
	return n >= 3
}
