package arrange_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"spanseal/internal/arrange"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

func at(hour int) time.Time { return time.Date(2026, 11, 18, hour, 0, 0, 0, time.UTC) }

// schedule is a job of two links, B-2 before A-1.
func schedule(readings ...record.Reading) *record.Facts {
	return &record.Facts{Links: []record.Link{{ID: "B-2"}, {ID: "A-1"}}, Readings: readings}
}

// reading is a loss of A-1, named by its note, and whatever makes it another.
func reading(name string, change func(*record.Reading)) record.Reading {
	r := record.Reading{Link: "A-1", Quantity: record.InsertionLoss, WavelengthNM: 1310, Direction: record.AB, Time: at(9), Value: quantity.Must("0.4"), Note: name}
	if change != nil {
		change(&r)
	}
	return r
}

func names(all []record.Reading) string {
	var out []string
	for i := range all {
		out = append(out, all[i].Note)
	}
	return strings.Join(out, " ")
}

// inOrder are readings as they are to stand, each after the one before for one reason.
func inOrder() []record.Reading {
	stage := func(s record.Stage, change func(*record.Reading)) func(*record.Reading) {
		return func(r *record.Reading) {
			r.Method = &record.Method{Stage: s}
			if change != nil {
				change(r)
			}
		}
	}
	return []record.Reading{
		reading("first-of-schedule", func(r *record.Reading) { r.Link = "B-2"; r.WavelengthNM, r.Time = 1625, at(20) }),
		reading("loss", func(r *record.Reading) { r.Time = at(20) }), // an earlier hour comes last among reasons
		reading("same-but-later", func(r *record.Reading) { r.Time = at(21) }),
		reading("other-way", func(r *record.Reading) { r.Direction = record.BA; r.Time = at(8) }),
		reading("two-way", func(r *record.Reading) {
			r.Quantity, r.Direction, r.Time = record.TwoWayAverage, record.TwoWay, at(7)
		}),
		reading("longer-wave", func(r *record.Reading) { r.WavelengthNM = 1550; r.Time = at(8) }),
		reading("splice-2", func(r *record.Reading) { r.Quantity, r.Event = record.SpliceLoss, "2" }),
		reading("splice-3", func(r *record.Reading) { r.Quantity, r.Event, r.WavelengthNM = record.SpliceLoss, "3", 850 }),
		reading("reflectance", func(r *record.Reading) { r.Quantity = record.Reflectance }),
		reading("orl", func(r *record.Reading) { r.Quantity = record.OpticalReturnLoss }),
		reading("length", func(r *record.Reading) {
			r.Quantity, r.WavelengthNM, r.Direction = record.Length, 0, record.NoWay
		}),
		reading("estimate", func(r *record.Reading) { r.Quantity = record.SplicerEstimate; r.WavelengthNM = 0 }),
		reading("on-the-reel", stage(record.OnReel, func(r *record.Reading) { r.WavelengthNM = 1550; r.Time = at(1) })),
		reading("reel-superseded", stage(record.OnReel, func(r *record.Reading) {
			r.Fate, r.WavelengthNM, r.Time = record.Superseded, 1625, at(0)
		})),
		reading("placed", stage(record.Placed, func(r *record.Reading) { r.Time = at(0) })),
		reading("replaced-first", func(r *record.Reading) { r.Fate, r.Time, r.WavelengthNM = record.Superseded, at(5), 1625 }),
		reading("replaced-later", func(r *record.Reading) { r.Fate, r.Time = record.Superseded, at(6) }),
		reading("of-no-link", func(r *record.Reading) { r.Link = "C-9"; r.Time = at(0) }),
	}
}

// TestSort: whatever the order of rows, readings come to stand in one order.
func TestSort(t *testing.T) {
	want := names(inOrder())
	rapid.Check(t, func(t *rapid.T) {
		f := schedule(rapid.Permutation(inOrder()).Draw(t, "rows")...)
		arrange.Sort(f)
		if got := names(f.Readings); got != want {
			t.Fatalf("got  %s\nwant %s", got, want)
		}
	})
}

// TestEarlier: readings that differ in nothing else are put in order by where they
// were read, then by their values, so that two runs tell them in one order.
func TestEarlier(t *testing.T) {
	for _, c := range []struct {
		name         string
		first, later func(*record.Reading)
	}{
		{"the file", func(r *record.Reading) { r.Origin = record.Origin{File: "a.csv", Row: 9, Column: 9} }, func(r *record.Reading) { r.Origin = record.Origin{File: "b.csv", Row: 1} }},
		{"the row", func(r *record.Reading) { r.Origin = record.Origin{Row: 2, Column: 9} }, func(r *record.Reading) { r.Origin = record.Origin{Row: 10, Column: 1} }},
		{"the column", func(r *record.Reading) { r.Origin.Column = 2; r.Value = quantity.Must("0.9") }, func(r *record.Reading) { r.Origin.Column = 10 }},
		{"the value", func(r *record.Reading) { r.Value = quantity.Must("0.9") }, func(r *record.Reading) { r.Value = quantity.Must("1.0") }},
	} {
		for _, fate := range []record.Fate{"", record.Superseded} {
			x, y := reading("x", c.first), reading("y", c.later)
			x.Fate, y.Fate = fate, fate
			f := schedule(y, x)
			if arrange.Sort(f); names(f.Readings) != "x y" {
				t.Errorf("%s, %q: the order of rows decides", c.name, fate)
			}
		}
	}
}

// TestOrder: order tells where each reading goes, and moves nothing.
func TestOrder(t *testing.T) {
	all := inOrder()
	slices.Reverse(all)
	f := schedule(all...)
	var want []int
	for i := range all {
		want = append(want, len(all)-1-i)
	}
	if diff := cmp.Diff(want, arrange.Order(f)); diff != "" || names(f.Readings) != names(all) {
		t.Errorf("- want + got\n%s", diff)
	}
	if got := arrange.Order(schedule()); len(got) != 0 {
		t.Errorf("of no readings: %v", got)
	}
}

// TestMove: each reading gets to its place, over whatever cycles.
func TestMove(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		to := rapid.Permutation([]int{0, 1, 2, 3, 4, 5, 6}).Draw(t, "to")
		all := make([]record.Reading, len(to))
		for i := range all {
			all[i].WavelengthNM = to[i]
		}
		arrange.Move(all, slices.Clone(to))
		for i := range all {
			if all[i].WavelengthNM != i {
				t.Fatalf("%d stands at %d", all[i].WavelengthNM, i)
			}
		}
	})
}

func TestPlace(t *testing.T) {
	for _, c := range []struct {
		name string
		of   record.Reading
		want int
	}{
		{"a final reading", record.Reading{}, arrange.Counts},
		{"one whose method names no stage", record.Reading{Method: &record.Method{Software: "4.2"}}, arrange.Counts},
		{"one that was replaced", record.Reading{Fate: record.Superseded}, arrange.Replaced},
		{"one on the reel", record.Reading{Method: &record.Method{Stage: record.OnReel}}, arrange.OtherStage},
		{"one on the reel that was replaced", record.Reading{Method: &record.Method{Stage: record.OnReel}, Fate: record.Superseded}, arrange.OtherStage},
	} {
		if got := arrange.Place(&c.of); got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
	}
}
