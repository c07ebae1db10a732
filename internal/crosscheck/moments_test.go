package crosscheck

import (
	"fmt"
	"iter"
	"testing"
	"time"

	"spanseal/internal/evidence"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// TestPace: an instrument that was at more than ten links in less time than anybody
// needs is asked about; strands that the schedule pairs, measured at one moment, are one.
func TestPace(t *testing.T) {
	noon := time.Date(2026, 11, 18, 12, 0, 1, 0, time.UTC)
	links := make([]record.Link, 12)
	for i := range links {
		links[i].ID = string(rune('a' + i))
	}
	links[1].Pair = "a"
	at := func(link, seconds int) visit {
		return visit{noon.Add(time.Duration(seconds) * time.Second), link, "PM-9"}
	}
	// row visits links from first on, a second apart.
	row := func(first, last int) (vs []visit) {
		for i := first; i <= last; i++ {
			vs = append(vs, at(i, i))
		}
		return vs
	}
	for _, c := range []struct {
		name   string
		visits []visit
		want   string // the argument of seconds, or ""
	}{
		{"ten links", row(2, 11), ""},
		{"eleven", row(1, 11), "10"},
		{"eleven strands, two of them one pair at one moment", append([]visit{at(0, 0), at(1, 0)}, row(2, 10)...), ""},
		{"the same strands one after the other", row(0, 10), "10"},
		{"two at one moment that are no pair", append([]visit{at(0, 0), at(2, 0)}, row(3, 11)...), "11"},
		{"one link twice and nine more", append([]visit{at(2, 0)}, row(2, 10)...), ""},
		{"the first left long before", append([]visit{at(0, -900)}, row(2, 11)...), ""},
		{"the first left long before, read twice", append([]visit{at(1, -900), at(1, -800)}, row(2, 11)...), ""},
		{"eleven at two full minutes, which may be a hundred seconds apart", append([]visit{at(1, -1), at(2, -1), at(3, -1), at(4, -1), at(5, -1)}, at(6, 59), at(7, 59), at(8, 59), at(9, 59), at(10, 59), at(11, 59)), ""},
		{"eleven within one minute", append([]visit{at(1, -1), at(2, -1), at(3, -1), at(4, -1), at(5, -1)}, at(6, -1), at(7, -1), at(8, -1), at(9, -1), at(10, -1), at(11, -1)), "0"},
		{"the first left before and come back to", append([]visit{at(1, -900)}, row(1, 11)...), "10"},
		{"eleven in a hundred seconds", append(row(2, 11), at(1, 102)), ""},
		{"and in one less", append(row(2, 11), at(1, 101)), "99"},
	} {
		b := &check{Input: Input{Facts: &record.Facts{Links: links}, Settings: map[string]evidence.Setting{"pace": {Threshold: quantity.Must("10")}}}}
		got := ""
		if s := b.pace("PM-9", c.visits); !s.IsZero() {
			got = fmt.Sprint(s.Args[3])
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// TestAtTwo: somebody who reads two instruments at two links at one time is asked about,
// with the later of the two beginnings; what another read, what has no hour and what is
// one pair of strands is no such thing.
func TestAtTwo(t *testing.T) {
	noon := time.Date(2026, 11, 18, 12, 0, 0, 0, time.UTC)
	read := func(instrument string, seconds int) record.Reading {
		return record.Reading{Person: "mo", Instrument: instrument, Time: noon.Add(time.Duration(seconds) * time.Second)}
	}
	with := func(r record.Reading, change func(*record.Reading)) record.Reading {
		change(&r)
		return r
	}
	nine := []record.Reading{read("PM-9", 1), read("PM-9", 9)}
	of := func(facts *record.Facts, readings ...[]record.Reading) Input {
		return Input{Facts: facts, All: func(link int) iter.Seq[*record.Reading] {
			return func(yield func(*record.Reading) bool) {
				for i := range readings[link] {
					if !yield(&readings[link][i]) {
						return
					}
				}
			}
		}}
	}
	for _, c := range []struct {
		name string
		pair string
		one  []record.Reading // at link A-1
		two  []record.Reading // at link A-2
		want string
	}{
		{"the second begins later", "", nine, []record.Reading{read("PM-8", 3), read("PM-8", 5)}, "M. Okafor PM-8 A-2 PM-9 A-1 12:00:03"},
		{"the second begins before", "", []record.Reading{read("PM-9", 3), read("PM-9", 5)}, []record.Reading{read("PM-8", 2), read("PM-8", 9)}, "M. Okafor PM-8 A-2 PM-9 A-1 12:00:03"},
		{"one moment within", "", nine, []record.Reading{read("PM-8", 9)}, "M. Okafor PM-8 A-2 PM-9 A-1 12:00:09"},
		{"one after the other", "", nine, []record.Reading{read("PM-8", 10)}, ""},
		{"between two stays, ten minutes and a second apart", "", []record.Reading{read("PM-9", 1), read("PM-9", 602)}, []record.Reading{read("PM-8", 300)}, ""},
		{"within one, of ten minutes", "", []record.Reading{read("PM-9", 1), read("PM-9", 601)}, []record.Reading{read("PM-8", 301)}, "M. Okafor PM-8 A-2 PM-9 A-1 12:05:01"},
		// To the minute, two stays that share one minute alone may be one after the other.
		{"to the minute, for more than one", "", []record.Reading{read("PM-9", 60), read("PM-9", 300)}, []record.Reading{read("PM-8", 180), read("PM-8", 240)}, "M. Okafor PM-8 A-2 PM-9 A-1 12:03:00"},
		{"to the minute, the second begins in that in which the first ends", "", []record.Reading{read("PM-9", 60), read("PM-9", 300)}, []record.Reading{read("PM-8", 300), read("PM-8", 540)}, ""},
		{"to the minute, that and a stay within another", "", []record.Reading{read("PM-9", 60), read("PM-9", 300), read("PM-9", 6000), read("PM-9", 6300)},
			[]record.Reading{read("PM-8", 300), read("PM-8", 540), read("PM-8", 6060), read("PM-8", 6120)}, "M. Okafor PM-8 A-2 PM-9 A-1 13:41:00"},
		{"to the minute, both begin in one, and one goes on", "", []record.Reading{read("PM-9", 60)}, []record.Reading{read("PM-8", 60), read("PM-8", 240)}, ""},
		{"to the minute, two times in one minute", "", []record.Reading{read("PM-9", 60), read("PM-9", 1260)}, []record.Reading{read("PM-8", 60), read("PM-8", 1260)}, ""},
		{"to the minute, three times in one minute", "", []record.Reading{read("PM-9", 60), read("PM-9", 1260), read("PM-9", 2460)}, []record.Reading{read("PM-8", 60), read("PM-8", 1260), read("PM-8", 2460)}, "M. Okafor PM-8 A-2 PM-9 A-1 12:01:00"},
		{"one instrument", "", nine, []record.Reading{read("PM-9", 10), read("PM-9", 12)}, ""},
		{"a pair of strands", "A-2", nine, []record.Reading{read("PM-8", 3), read("PM-8", 5)}, ""},
		{"one link", "", append(nine[:2:2], read("PM-8", 3)), nil, ""},
		{"read by another", "", nine, []record.Reading{with(read("PM-8", 3), func(r *record.Reading) { r.Person = "jl" })}, ""},
		{"with no instrument", "", nine, []record.Reading{read("", 3)}, ""},
		{"at no time", "", []record.Reading{with(read("PM-9", 0), func(r *record.Reading) { r.Time = time.Time{} })}, []record.Reading{with(read("PM-8", 0), func(r *record.Reading) { r.Time = time.Time{} })}, ""},
		{"on one day", "", []record.Reading{with(read("PM-9", 0), func(r *record.Reading) { r.Time = record.NewDate(2026, 11, 18).Time() })}, []record.Reading{with(read("PM-8", 0), func(r *record.Reading) { r.Time = record.NewDate(2026, 11, 18).Time() })}, ""},
	} {
		facts := &record.Facts{Links: []record.Link{{ID: "A-1", Pair: c.pair}, {ID: "A-2"}}}
		b := &check{Input: of(facts, c.one, c.two), people: map[string]*record.Person{"mo": {Name: "M. Okafor"}}}
		got := ""
		if s := b.atTwo("mo"); !s.IsZero() {
			got = fmt.Sprint(s.Args[0], " ", s.Args[1], " ", s.Args[2], " ", s.Args[3], " ", s.Args[4], " ", time.Time(s.Args[5].(statement.Moment)).Format("15:04:05"))
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
	b := &check{Input: of(&record.Facts{Links: []record.Link{{ID: "A-1"}, {ID: "A-2"}}}, nine, []record.Reading{read("PM-8", 3)})}
	if s := b.atTwo("mo"); s.IsZero() || fmt.Sprint(s.Args[0]) != "mo" {
		t.Errorf("somebody the job does not name: %v", s)
	}
}
