package judge

import (
	"cmp"
	"iter"
	"slices"
	"strings"

	"spanseal/internal/record"
)

// Arrange sorts the readings of a job link by link, as the schedule has them, and those
// of a link in an order that does not depend on that of the rows: those that count by
// quantity, event, wavelength and direction, then the others by time. [Judge] takes a
// job in any order, but copies readings that are not arranged.
func Arrange(facts *record.Facts) { move(facts.Readings, order(facts)) }

// order tells where each reading of a job stands once they are arranged. Those of no
// link of the schedule stand last.
func order(facts *record.Facts) []int {
	at := make(map[string]int, len(facts.Links))
	for i := range facts.Links {
		at[facts.Links[i].ID] = i
	}
	rows := make([][]int32, len(facts.Links)+1)
	for i := range facts.Readings {
		k, ok := at[facts.Readings[i].Link]
		if !ok {
			k = len(facts.Links)
		}
		rows[k] = append(rows[k], int32(i))
	}
	to, n := make([]int, len(facts.Readings)), 0
	for _, of := range rows {
		slices.SortStableFunc(of, func(x, y int32) int { return inOrder(&facts.Readings[x], &facts.Readings[y]) })
		for _, i := range of {
			to[i] = n
			n++
		}
	}
	return to
}

// move puts every reading into its place.
func move(readings []record.Reading, to []int) {
	for i := range to {
		for k := to[i]; k != i; k = to[i] {
			readings[i], readings[k] = readings[k], readings[i]
			to[i], to[k] = to[k], k
		}
	}
}

// unjudged lists the links of the schedule with what was read of each.
func unjudged(facts *record.Facts) []LinkResult {
	readings, made, inspected, files := facts.Readings, facts.Made(), facts.Inspected(), facts.OfInstruments()
	if to := order(facts); !slices.IsSorted(to) {
		readings = slices.Clone(readings)
		move(readings, to)
	}
	out := make([]LinkResult, len(facts.Links))
	for i := range out {
		l := &facts.Links[i]
		r := &out[i]
		r.Link, r.Terminations, r.Inspections, r.InstrumentFiles = l, made[l.ID], inspected[l.ID], files[l.ID]
		used, all := 0, 0
		for all < len(readings) && readings[all].Link == l.ID {
			if all++; readings[all-1].Fate != record.Superseded {
				used = all
			}
		}
		if r.Measured = used > 0; r.Measured {
			r.Readings = readings[:used:used]
		}
		if used < all {
			r.Superseded = readings[used:all:all]
		}
		readings = readings[all:]
	}
	return out
}

// everyReading goes through the readings that count and those that they replaced.
func (l *LinkResult) everyReading() iter.Seq[*record.Reading] {
	return func(yield func(*record.Reading) bool) {
		for _, rs := range [][]record.Reading{l.Readings, l.Superseded} {
			for i := range rs {
				if !yield(&rs[i]) {
					return
				}
			}
		}
	}
}

// inOrder sorts the readings of a link: those that count by quantity, event,
// wavelength and direction, then the others by time.
func inOrder(x, y *record.Reading) int {
	switch late := x.Fate == record.Superseded; {
	case late != (y.Fate == record.Superseded):
		if late {
			return 1
		}
		return -1
	case late:
		return earlier(x, y)
	}
	return cmp.Or(
		cmp.Compare(quantityRank[x.Quantity], quantityRank[y.Quantity]),
		strings.Compare(x.Event, y.Event),
		cmp.Compare(x.WavelengthNM, y.WavelengthNM),
		cmp.Compare(directionRank[x.Direction], directionRank[y.Direction]),
		earlier(x, y),
	)
}

// earlier orders readings by time, and by place and value where that is not
// enough, so that the order of rows in memory never matters.
func earlier(x, y *record.Reading) int {
	return cmp.Or(x.Time.Compare(y.Time), strings.Compare(x.Origin.File, y.Origin.File),
		cmp.Compare(x.Origin.Row, y.Origin.Row), cmp.Compare(x.Origin.Column, y.Origin.Column), x.Value.Cmp(y.Value))
}
