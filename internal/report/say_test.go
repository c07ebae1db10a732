package report

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"spanseal/internal/archive"
	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/terminal"
)

// TestWorking prints how limits came about. The sums are worked by hand: 0.4 × 0.312 =
// 0.1248, and 0.75 × 2, and 0.3 × 2; a receiver at −32 dBm behind a sender of 3 dBm leaves
// 35 dB.
func TestWorking(t *testing.T) {
	term := func(label, rate string, unit quantity.Unit, amount string, of quantity.Unit) judge.WorkedTerm {
		return judge.WorkedTerm{Label: label, Rate: quantity.Must(rate), RateUnit: unit, Amount: quantity.Must(amount), AmountUnit: of}
	}
	lower := quantity.Must("1.5")
	for _, c := range []struct {
		name, limit string
		lower       *quantity.Decimal
		terms       []judge.WorkedTerm
		want        string
	}{
		{"cable, pairs and splices", "2.2248", nil, []judge.WorkedTerm{term("cable", "0.4", quantity.DBPerKm, "0.312", quantity.Kilometre),
			term("mated_pair", "0.75", quantity.DB, "2", quantity.One), term("splice", "0.30", quantity.DB, "2", quantity.One)},
			"0.4 dB/km × 0.312 km + 0.75 dB × 2 mated pairs + 0.3 dB × 2 splices = 2.2248 dB"},
		{"one of each", "1.05", nil, []judge.WorkedTerm{term("mated_pair", "0.75", quantity.DB, "1", quantity.One), term("splice", "0.3", quantity.DB, "1", quantity.One)},
			"0.75 dB × 1 mated pair + 0.3 dB × 1 splice = 1.05 dB"},
		{"a splitter", "10.5", nil, []judge.WorkedTerm{term("splitter_8", "10.5", quantity.DB, "1", quantity.One)}, "10.5 dB × 1 splitter 1:8 = 10.5 dB"},
		{"a power budget", "35", nil, []judge.WorkedTerm{term("sender", "3", quantity.DBm, "1", quantity.One), term("receiver", "-32", quantity.DBm, "-1", quantity.One),
			term("penalty", "0", quantity.DB, "-1", quantity.One)}, "3 dBm − (−32 dBm) − 0 = 35 dB"},
		{"a flat limit", "0.75", nil, []judge.WorkedTerm{term("flat", "0.75", quantity.DB, "1", quantity.One)}, "the limit is 0.75 dB"},
		{"none that is known", "0.75", nil, nil, "the limit is 0.75 dB"},
		{"between", "3", &lower, []judge.WorkedTerm{term("flat", "3", quantity.DB, "1", quantity.One)}, "the limit is 3 dB, and at least 1.5 dB"},
	} {
		w := &judge.Working{Terms: c.terms, Limit: quantity.Must(c.limit), Lower: c.lower}
		if got := working(w, quantity.DB); got != c.want {
			t.Errorf("%s:\ngot  %s\nwant %s", c.name, got, c.want)
		}
	}
}

// TestSum: one of the two ways through a splice may be an apparent gain.
func TestSum(t *testing.T) {
	for _, c := range [][3]string{{"0.30", "0.26", "0.30 dB + 0.26 dB"}, {"0.12", "-0.04", "0.12 dB − 0.04 dB"}, {"-0.04", "0.12", "-0.04 dB + 0.12 dB"}, {"0", "0.00", "0 dB + 0.00 dB"}} {
		if got := sum(quantity.Must(c[0]), quantity.Must(c[1])); got != c[2] {
			t.Errorf("%q, want %q", got, c[2])
		}
	}
}

// TestProbability is never printed as more certain than it is, and never as certain.
func TestProbability(t *testing.T) {
	for p, want := range map[float64]string{1: "> 0.999", 0.9995: "> 0.999", 0.9989: "0.998", 0.5: "0.500", 0.0019: "0.001", 0.0009: "< 0.001", 0: "< 0.001"} {
		if got := probability(p); got != want {
			t.Errorf("%v: %s, want %s", p, got, want)
		}
	}
}

// TestMade names of the way of a reading what is known, and nothing of what is not.
func TestMade(t *testing.T) {
	index := quantity.Must("1.4680")
	for _, c := range []struct {
		name   string
		method *record.Method
		want   string
	}{
		{"as the job has it", nil, ""},
		{"all", &record.Method{Reference: record.ThreeCord, TestCords: record.ReferenceCords, Launch: record.EncircledFlux, GroupIndex: &index, Software: "4.2", Stage: record.OnReel},
			", three-cord reference, reference-grade test cords, encircled flux, group index 1.4680, software 4.2, stage reel"},
		{"the launch alone", &record.Method{Launch: "mandrel"}, ", mandrel"},
		{"nothing", &record.Method{}, ""},
	} {
		if got := made(&record.Reading{Method: c.method}); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// TestUses: days are the first and the last that are known, names stand once, and an id
// stands for whoever has no name.
func TestUses(t *testing.T) {
	on := func(day int) record.Date { return record.NewDate(2026, time.November, day) }
	meter, lamp := record.Instrument{ID: "PM-1", Serial: "22001"}, record.Instrument{ID: "LS-1"}
	uses := []archive.Use{{Instrument: meter, Source: lamp, Person: record.Person{ID: "mo", Name: "M. Okafor"}, Day: on(19)}, {},
		{Instrument: meter, Person: record.Person{ID: "mo", Name: "M. Okafor"}, Day: on(18)}, {Person: record.Person{ID: "p2"}, Day: on(21)}}
	if first, last := measured(uses); first != on(18) || last != on(21) {
		t.Errorf("%s to %s", first, last)
	}
	if first, last := measured(uses[1:2]); !first.IsZero() || !last.IsZero() {
		t.Errorf("without a day: %s to %s", first, last)
	}
	if got := strings.Join(serials(uses), ", "); got != "LS-1, 22001" {
		t.Error(got)
	}
	if got := strings.Join(technicians(uses), ", "); got != "M. Okafor, p2" {
		t.Error(got)
	}
}

// TestCode: every code has a page, which names it and says something of it; a word that
// is none has no page.
func TestCode(t *testing.T) {
	var b bytes.Buffer
	printer := NewPrinter(&b, terminal.Style{}, "spanseal")
	page := func(code string) (string, bool) {
		b.Reset()
		ok := printer.Code(code)
		return b.String(), ok
	}
	for _, code := range Codes() {
		if text, ok := page(code); !ok || !strings.HasPrefix(text, code) || strings.Count(text, "\n") < 3 {
			t.Errorf("%s: %v %q", code, ok, text)
		}
	}
	if text, ok := page("calibrated"); ok || text != "" {
		t.Errorf("a page of nothing: %q", text)
	}
	if text, _ := page("calibration"); !strings.Contains(text, "default weight: fatal; ours, changed in job.yaml under judge.questions.calibration\n") {
		t.Error(text)
	}
}
