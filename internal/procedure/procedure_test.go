package procedure_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/diag"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/procedure"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/wording"
	"spanseal/templates"
)

func words(t *testing.T, language string) *wording.Wording {
	t.Helper()
	problems := &diag.List{}
	w := wording.Load(templates.Files, nil, language, problems)
	for _, p := range problems.Sorted() {
		t.Fatalf("%s: %s", p.Place, p.Message)
	}
	return w
}

// of is a link with these readings, in a job that refers by one cord.
func of(t *testing.T, readings ...record.Reading) *procedure.Of {
	t.Helper()
	job := &record.Job{}
	job.Policy.Reference, job.Policy.TestCords, job.Policy.Software = record.OneCord, record.StandardCords, "4.2"
	return &procedure.Of{Job: job, Link: &judge.LinkResult{Brief: judge.Brief{Link: &record.Link{ID: "A-1"}}, Readings: readings}, Words: words(t, "en")}
}

func loss(nm int, way record.Direction, method *record.Method) record.Reading {
	return record.Reading{Link: "A-1", Quantity: record.InsertionLoss, WavelengthNM: nm, Direction: way, Method: method}
}

// TestReference: where readings of a link were made in more than one way, each way is
// named with as little as tells its readings from the others.
func TestReference(t *testing.T) {
	three := &record.Method{Reference: record.ThreeCord}
	two := &record.Method{Reference: record.TwoCord}
	unsaid := &record.Method{}
	for _, c := range []struct {
		name     string
		readings []record.Reading
		want     string
	}{
		{"nothing was measured: how it is to be", nil, "one-cord"},
		{"all in the way of the job", []record.Reading{loss(1310, record.AB, nil), loss(1550, record.BA, nil)}, "one-cord"},
		{"all in another", []record.Reading{loss(1310, record.AB, three), loss(1550, record.AB, three)}, "three-cord"},
		{"by wavelength", []record.Reading{loss(1310, record.AB, nil), loss(1310, record.BA, nil), loss(1550, record.AB, three), loss(1625, record.AB, three)},
			"one-cord (1310 nm); three-cord (1550 nm, 1625 nm)"},
		{"by direction, as wavelengths tell nothing", []record.Reading{loss(1310, record.AB, nil), loss(1550, record.AB, nil), loss(1310, record.BA, three), loss(1550, record.BA, three)},
			"one-cord (A to B); three-cord (B to A)"},
		{"by both, as neither tells", []record.Reading{loss(1310, record.AB, nil), loss(1550, record.AB, three), loss(1310, record.BA, three), loss(1550, record.BA, nil)},
			"one-cord (1310 nm A to B, 1550 nm B to A); three-cord (1550 nm A to B, 1310 nm B to A)"},
		{"by none", []record.Reading{loss(1310, record.AB, nil), loss(1310, record.AB, three), loss(1310, record.AB, three)}, "one-cord (one reading); three-cord (2 readings)"},
		{"three ways", []record.Reading{loss(850, record.AB, nil), loss(1310, record.AB, two), loss(1550, record.AB, three)}, "one-cord (850 nm); two-cord (1310 nm); three-cord (1550 nm)"},
		{"what says nothing is not named", []record.Reading{loss(1310, record.AB, unsaid), loss(1550, record.AB, three)}, "three-cord (1550 nm)"},
		{"a length has no wavelength to be named by", []record.Reading{loss(0, record.NoWay, three), loss(1310, record.AB, nil)}, "three-cord (one reading); one-cord (1310 nm)"},
	} {
		o := of(t, c.readings...)
		if got := strings.ReplaceAll(o.Reference(), "\u00A0", " "); got != c.want {
			t.Errorf("%s:\ngot  %s\nwant %s", c.name, got, c.want)
		}
	}
}

// TestSchedule: a link that is to be measured in a way of its own says so before it is.
func TestSchedule(t *testing.T) {
	o := of(t)
	o.Link.Link.Terms = &record.Terms{Method: &record.Method{Reference: record.ThreeCord}}
	if got := o.Reference() + ", " + o.Cords(); got != "three-cord, standard grade" {
		t.Error(got)
	}
}

// TestFurther: what is not said of every job stands under its caption, in the language
// of the paper, and a number as it was given.
func TestFurther(t *testing.T) {
	index := quantity.Must("1.4680")
	o := of(t, loss(1310, record.AB, &record.Method{Launch: record.EncircledFlux, GroupIndex: &index}), loss(1550, record.AB, nil))
	all := func() (out []string) {
		for _, f := range o.Further() {
			out = append(out, f.Caption+": "+strings.ReplaceAll(f.Value, "\u00A0", " "))
		}
		return out
	}
	if diff := cmp.Diff([]string{"launch: encircled flux (1310 nm)", "software: 4.2 (1550 nm)", "group index: 1.4680 (1310 nm)"}, all()); diff != "" {
		t.Errorf("- want + got\n%s", diff)
	}
	o.Words = words(t, "de")
	if got := all()[2]; !strings.HasSuffix(got, "1,4680 (1310 nm)") {
		t.Error(got)
	}
}

// TestWitness: who watched, and the days where it was not all of them.
func TestWitness(t *testing.T) {
	on := func(day int) record.Reading {
		return record.Reading{Time: time.Date(2026, 11, day, 9, 0, 0, 0, time.UTC)}
	}
	o := of(t, on(17), on(18))
	if got := o.Witness(); got != "" {
		t.Errorf("of nobody: %q", got)
	}
	o.Job.Witnesses = []record.Witnessed{{Who: "R. Adeyemi", From: record.NewDate(2026, 11, 18), To: record.NewDate(2026, 11, 30)}}
	if got := strings.ReplaceAll(o.Witness(), "\u00A0", " "); got != "R. Adeyemi (18 Nov 2026)" {
		t.Errorf("of one day: %q", got)
	}
	o.Job.Witness = "L. Brandt"
	o.Job.Witnesses[0].From = record.NewDate(2026, 11, 1)
	if got := o.Witness(); got != "L. Brandt, R. Adeyemi" {
		t.Errorf("of all days: %q", got)
	}
	o.Link.Readings = nil
	if got := o.Witness(); got != "" {
		t.Errorf("of what was not measured: %q", got)
	}
}

// TestStages: what was measured at other stages stands on paper, with what replaced it.
func TestStages(t *testing.T) {
	reel := &record.Method{Stage: record.OnReel}
	day := time.Date(2026, 11, 2, 23, 30, 0, 0, time.UTC)
	first := loss(1550, record.AB, reel)
	first.Value, first.Time, first.Fate = quantity.Must("0.4"), day, record.Superseded
	again := loss(1550, record.AB, reel)
	again.Value, again.Time = quantity.Must("0.4125"), day
	bound := loss(1310, record.BA, &record.Method{Stage: record.Placed})
	bound.Value, bound.Shown = quantity.Must("0.05"), "<0.05"
	length := record.Reading{Quantity: record.Length, Direction: record.NoWay, Method: reel, Value: quantity.Must("2012.5"), Time: day}
	other := loss(1310, record.AB, nil)

	lines := func(o *procedure.Of) []string {
		style := &layout.Style{Grid: 4.7, RailWidth: 42, Gutter: 8, Top: 14.7, Right: 14.4, Bottom: 13,
			Title: page.Style{Face: page.Medium, Size: 20}, Heading: page.Style{Face: page.Medium, Size: 9.6}, Body: page.Style{Face: page.Regular, Size: 8.6},
			Strong: page.Style{Face: page.Medium, Size: 8.6}, Caption: page.Style{Face: page.Regular, Size: 7}, Small: page.Style{Face: page.Regular, Size: 6.4}}
		press := &layout.Compositor{Style: style, Mark: ".", Whole: strconv.Itoa}
		r := page.NewRecorder(page.A4)
		if _, err := press.Lay(r, false, func(f *layout.Flow) {
			f.DrawRail, f.DrawHead = func(*layout.Flow) {}, func(*layout.Flow) {}
			f.Start()
			o.Stages(f, 2, func(t time.Time) time.Time { return t.In(time.FixedZone("", 3600)) })
		}); err != nil {
			t.Fatal(err)
		}
		var out []string
		for n := range r.PageNumber() {
			for _, line := range r.Lines(n + 1) {
				out = append(out, strings.ReplaceAll(line, "\u00A0", " "))
			}
		}
		return out
	}
	o := of(t)
	if got := lines(o); len(got) != 0 {
		t.Errorf("of no other stage: %q", got)
	}
	o.Link.Stages = []record.Reading{first, again, bound, length, other}
	want := []string{
		"1550  A to B  on the reel, measured again  insertion loss  0.40 dB  3 Nov 2026",
		"1550  A to B  on the reel  insertion loss  0.4125 dB  3 Nov 2026",
		"1310  B to A  after placing  insertion loss  <0.05 dB  –",
		"–  –  on the reel  length  2012.5 m  3 Nov 2026",
	}
	got := lines(o)
	if i := slices.IndexFunc(got, func(line string) bool { return strings.HasPrefix(line, "1550") }); i < 0 {
		t.Errorf("%q", got)
	} else if diff := cmp.Diff(want, got[i:]); diff != "" {
		t.Errorf("- want + got\n%s", diff)
	}
}
