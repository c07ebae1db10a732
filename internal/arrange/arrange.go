// Package arrange puts the readings of a job in the order in which they are judged,
// told and compared, whatever the order of rows.
package arrange

import (
	"cmp"
	"slices"
	"strings"

	"spanseal/internal/record"
)

// Sort puts the readings of a job link by link, as the schedule has them, and those
// of a link in an order that does not depend on that of the rows: those that count by
// quantity, event, wavelength and direction, then those of other stages, then the ones
// that were replaced, by time. Package judge takes a job in any order, but copies readings
// that are not arranged.
func Sort(facts *record.Facts) { Move(facts.Readings, Order(facts)) }

// Order tells where each reading of a job stands once they are arranged. Those of no
// link of the schedule stand last.
func Order(facts *record.Facts) []int {
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

// Move puts every reading into its place.
func Move(readings []record.Reading, to []int) {
	for i := range to {
		for k := to[i]; k != i; k = to[i] {
			readings[i], readings[k] = readings[k], readings[i]
			to[i], to[k] = to[k], k
		}
	}
}

// inOrder sorts the readings of a link: those that count by quantity, event,
// wavelength and direction, those of other stages by stage and then alike, then the
// others by time.
func inOrder(x, y *record.Reading) int {
	p := Place(x)
	if c := cmp.Compare(p, Place(y)); c != 0 {
		return c
	}
	switch p {
	case Replaced:
		return earlier(x, y)
	case OtherStage:
		if c := cmp.Compare(slices.Index(record.Stages, x.Method.Stage), slices.Index(record.Stages, y.Method.Stage)); c != 0 {
			return c
		}
	}
	return cmp.Or(
		cmp.Compare(Quantity(x.Quantity), Quantity(y.Quantity)),
		strings.Compare(x.Event, y.Event),
		cmp.Compare(x.WavelengthNM, y.WavelengthNM),
		cmp.Compare(Direction(x.Direction), Direction(y.Direction)),
		earlier(x, y),
	)
}

// Places of a reading among those of its link.
const (
	Counts = iota
	OtherStage
	Replaced
)

// Place tells where a reading stands: of another stage it is no earlier one of those
// that count, even where it was replaced at its own.
func Place(r *record.Reading) int {
	switch {
	case r.Method != nil && r.Method.Stage != "":
		return OtherStage
	case r.Fate == record.Superseded:
		return Replaced
	}
	return Counts
}

// earlier orders readings by time, and by place and value where that is not
// enough, so that the order of rows in memory never matters.
func earlier(x, y *record.Reading) int {
	return cmp.Or(x.Time.Compare(y.Time), strings.Compare(x.Origin.File, y.Origin.File),
		cmp.Compare(x.Origin.Row, y.Origin.Row), cmp.Compare(x.Origin.Column, y.Origin.Column), x.Value.Cmp(y.Value))
}

// Quantity and Direction tell which comes first.
func Quantity(q record.Quantity) int   { return quantities[q] }
func Direction(d record.Direction) int { return directions[d] }

var (
	quantities = map[record.Quantity]int{
		record.InsertionLoss: 0, record.TwoWayAverage: 0, record.SpliceLoss: 1, record.Reflectance: 2,
		record.ReturnLoss: 2, record.OpticalReturnLoss: 3, record.Length: 4, record.SplicerEstimate: 5,
	}
	directions = map[record.Direction]int{record.AB: 0, record.BA: 1, record.TwoWay: 2, record.NoWay: 3}
)
