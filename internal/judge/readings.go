package judge

import (
	"iter"
	"slices"

	"spanseal/internal/arrange"
	"spanseal/internal/record"
)

// unjudged lists the links of the schedule with what was read of each.
func unjudged(facts *record.Facts) []LinkResult {
	readings, made, inspected, files := facts.Readings, facts.Made(), facts.Inspected(), facts.OfInstruments()
	if to := arrange.Order(facts); !slices.IsSorted(to) {
		readings = slices.Clone(readings)
		arrange.Move(readings, to)
	}
	out := make([]LinkResult, len(facts.Links))
	for i := range out {
		l := &facts.Links[i]
		r := &out[i]
		r.Link, r.Terminations, r.Inspections, r.InstrumentFiles = l, made[l.ID], inspected[l.ID], files[l.ID]
		used, staged, all := 0, 0, 0
		for all < len(readings) && readings[all].Link == l.ID {
			switch all++; arrange.Place(&readings[all-1]) {
			case arrange.Counts:
				used, staged = all, all
			case arrange.OtherStage:
				staged = all
			}
		}
		if r.Measured = used > 0; r.Measured {
			r.Readings = readings[:used:used]
		}
		r.Stages, r.Superseded = readings[used:staged:staged], readings[staged:all:all]
		readings = readings[all:]
	}
	return out
}

// everyReading goes through the readings that count, those of other stages, and those
// that were replaced.
func (l *LinkResult) everyReading() iter.Seq[*record.Reading] {
	return func(yield func(*record.Reading) bool) {
		for _, rs := range [][]record.Reading{l.Readings, l.Stages, l.Superseded} {
			for i := range rs {
				if !yield(&rs[i]) {
					return
				}
			}
		}
	}
}
