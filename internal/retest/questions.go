package retest

import (
	"slices"

	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// questions are what a careful reader asks about the new measurement.
func (c *Comparison) questions() []statement.Statement {
	then, now := &c.Then, &c.Now
	var list []statement.Statement
	ask := func(code string, args ...statement.Argument) {
		q := statement.New(code, args...)
		if key := q.Key(); !slices.ContainsFunc(list, func(s statement.Statement) bool { return s.Key() == key }) {
			list = append(list, q)
		}
	}
	if c.copied() && !c.Repeated() {
		ask("retest.question.copied")
	}
	for i := range now.Readings {
		for j := range then.Readings {
			if r, was := &now.Readings[i], &then.Readings[j]; altered(was, r) {
				about := statement.Subject{Quantity: r.Quantity, NM: r.WavelengthNM, Way: r.Direction, Event: r.Event}
				ask("retest.question.altered", about, statement.Number{Decimal: was.Value}, statement.Number{Decimal: r.Value}, statement.Name(r.Quantity.Unit()))
			}
		}
	}
	was, is := record.Last(then.Readings).Time, record.Last(now.Readings).Time
	switch {
	case is.IsZero():
		ask("retest.question.no-time")
	case record.Latest(is).Before(was):
		ask("retest.question.earlier", statement.Day(record.DateOf(is)), statement.Day(record.DateOf(was)))
	}
	for _, r := range now.Readings {
		day := record.DateOf(r.Time)
		if r.Instrument == "" {
			ask("retest.question.no-instrument")
		}
		for _, i := range now.Instruments {
			if (i.ID == r.Instrument || i.ID == r.Source) && !i.Due.IsZero() && day.After(i.Due) {
				ask("calibration.overdue", statement.Name(i.ID), statement.Day(day), statement.Day(i.Due))
			}
		}
	}
	return list
}
