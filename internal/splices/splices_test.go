package splices

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

func dec(s string) *quantity.Decimal { d := quantity.Must(s); return &d }

func at(hour int) time.Time { return time.Date(2026, 11, 18, hour, 0, 0, 0, time.UTC) }

// TestOf: records and readings of one splice come together, and the average of an
// apparent loss and an apparent gain is the splice's. The figures are those of a fibre
// of another mode field spliced in, as handbooks on reflectometers tell it: a loss one
// way, a gain the other (recalled).
func TestOf(t *testing.T) {
	loss := func(event string, way record.Direction, db string) record.Reading {
		return record.Reading{Quantity: record.SpliceLoss, WavelengthNM: 1550, Direction: way, Event: event, Value: quantity.Must(db)}
	}
	made := func(splice, closure string, attempts, hour int) record.Termination {
		return record.Termination{Splice: splice, Closure: closure, Attempts: attempts, Finished: at(hour), Kind: "splice"}
	}
	limit := func(event string, v judge.Verdict, margin string) judge.Finding {
		return judge.Finding{Matter: &judge.Matter{Kind: judge.KindLimit, Quantity: record.SpliceLoss, WavelengthNM: 1550, Event: event}, Verdict: v, Limit: dec("0.1"), Margin: dec(margin),
			Readings: []record.Reading{loss(event, record.AB, "0")}}
	}
	listed := judge.Finding{Matter: &judge.Matter{Kind: judge.KindEvidence, Code: "out-of-specification"}, Readings: []record.Reading{loss("S2", record.AB, "0.15")}}
	for _, c := range []struct {
		name string
		link judge.LinkResult
		want []string // name, closure, attempts, A-B, B-A, average, out
	}{
		{"both ways and a record", judge.LinkResult{Terminations: []record.Termination{made("S1", "K4", 1, 9)},
			Readings: []record.Reading{loss("S1", record.AB, "0.25"), loss("S1", record.BA, "-0.05")}, Findings: []judge.Finding{limit("S1", judge.Pass, "0")}},
			[]string{"S1 K4 1 0.25 -0.05 0.10 in"}},
		{"made again: the last record, the most attempts", judge.LinkResult{Terminations: []record.Termination{made("S1", "K5", 2, 11), made("S1", "K4", 3, 9)}}, []string{"S1 K5 3 - - - in"}},
		{"out, and listed", judge.LinkResult{Terminations: []record.Termination{made("S1", "K4", 1, 9), made("S2", "K4", 3, 9)},
			Readings: []record.Reading{loss("S1", record.AB, "0.30"), loss("S1", record.BA, "0.10"), loss("S2", record.AB, "0.15"), loss("S2", record.BA, "0.15")},
			Findings: []judge.Finding{limit("S1", judge.Pass, "0.1"), limit("S1", judge.Fail, "-0.1"), limit("S2", judge.Pass, "0.05"), listed}},
			[]string{"S1 K4 1 0.30 0.10 0.20 out", "S2 K4 3 0.15 0.15 0.15 out"}},
		{"the only one needs no name", judge.LinkResult{Brief: judge.Brief{Link: &record.Link{Splices: 1}}, Terminations: []record.Termination{made("", "K4", 1, 9)},
			Readings: []record.Reading{loss("at 312 m", record.AB, "0.02")}}, []string{"at 312 m K4 1 0.02 - - in"}},
		{"several without a name are several", judge.LinkResult{Terminations: []record.Termination{made("", "K4", 1, 9), made("", "K5", 1, 9)}}, []string{" K4 1 - - - in", " K5 1 - - - in"}},
		{"ends are no splices of the span", judge.LinkResult{Terminations: []record.Termination{{End: "A", Kind: "splice"}}}, nil},
	} {
		if c.link.Link == nil {
			c.link.Link = &record.Link{Splices: 2}
		}
		var got []string
		for _, s := range Of(&c.link) {
			closure, ways, out := "", []string{"-", "-", "-"}, "in"
			if s.Made != nil {
				closure = s.Made.Closure
			}
			for _, l := range s.At {
				if l.AB != nil {
					ways[0] = l.AB.Value.String()
				}
				if l.BA != nil {
					ways[1] = l.BA.Value.String()
				}
				if l.Average != nil {
					ways[2] = l.Average.Fixed(2)
				}
			}
			if s.Out() {
				out = "out"
			}
			got = append(got, fmt.Sprintf("%s %s %d %s %s", s.Name, closure, s.Attempts, strings.Join(ways, " "), out))
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}
