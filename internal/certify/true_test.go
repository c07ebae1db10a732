package certify_test

import (
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"spanseal/internal/certify"
	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/summary"
	"spanseal/internal/testset"
)

// said is all text of a link's paper, with plain spaces.
func said(t *testing.T, set *certify.PaperSet, id string) string {
	t.Helper()
	l, ok := set.Judgement.Link(id)
	if !ok {
		t.Fatalf("no link %s", id)
	}
	return saidOn(t, paperOf(t, set, l))
}

func summaryOf(t *testing.T, set *certify.PaperSet) string {
	t.Helper()
	d, err := summary.New(set)
	if err != nil {
		t.Fatal(err)
	}
	return saidOn(t, d)
}

// TestSourceFirst: what is captioned "source, meter" has the source first,
// whatever the order in job.yaml, and an instrument that stands alone says what
// it is.
func TestSourceFirst(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*record.Facts)
		want   string
	}{
		"meter first in the list": {func(f *record.Facts) { slices.Reverse(f.Job.Instruments) }, "source, meter LS-4 40117, PM-9 22803 "},
		"no source": {func(f *record.Facts) {
			for i := range f.Readings {
				f.Readings[i].Source = ""
			}
		}, "source, meter power meter PM-9 22803 "},
		"one without": {func(f *record.Facts) { f.Readings[1].Source = "" }, "source, meter light source LS-4 40117, power meter PM-9 22803 "},
		"stranger": {func(f *record.Facts) {
			f.Job.Instruments = f.Job.Instruments[:1]
			for i := range f.Readings {
				f.Readings[i].Source = ""
			}
		}, "source, meter meter PM-9 "},
	} {
		f := alone("A-12")
		c.change(f)
		if text := said(t, newSet(t, f, options()), "A-12"); !strings.Contains(text, c.want) {
			t.Errorf("%s: want %q in\n%s", name, c.want, text)
		}
	}
}

// TestLowerBound: a lower bound is rounded down, and says of which reading and
// set it is. Φ(1.66) = 0.9515 (any table of the normal distribution); rounded to
// the nearest it would claim 0.952.
func TestLowerBound(t *testing.T) {
	f := alone("A-12")
	worst := judged(t, f).Result(0).WorstFinding()
	for i := range f.Readings {
		if f.Readings[i].WavelengthNM == worst.WavelengthNM && f.Readings[i].Direction == worst.Direction {
			f.Readings[i].Value = worst.Limit.Sub(dec("0.0996")) // 1.66 × u, where U is 0.12 and k = 2
		}
	}
	text := said(t, newSet(t, f, options()), "A-12")
	if want := "the least certain reading, 1310 nm, B to A, set ANSI/TIA-568.3-E: P(conforms) ≥ 0.951"; !strings.Contains(text, want) {
		t.Errorf("want %q in\n%s", want, text)
	}
	f.Readings[0].Instrument = "PM-8" // of which no uncertainty is known
	if text := said(t, newSet(t, f, options()), "A-12"); strings.Contains(text, "P(conforms)") {
		t.Error("a probability of all readings, though nothing is known of one")
	}
}

// TestExemptionOnce: the reason for one direction stands once on the certificate
// and once in the summary, whether the job asks about it or not.
func TestExemptionOnce(t *testing.T) {
	const reason = "end B is inside a locked cage"
	for _, weight := range []string{"", "off"} {
		f := alone("A-12")
		f.Links[0].Exempt, f.Readings = reason, onlyAB(f.Readings)
		if weight != "" {
			f.Job.Policy.Questions = map[string]record.Question{"direction-exempt": {Weight: weight}}
		}
		set := newSet(t, f, options())
		for name, text := range map[string]string{"certificate": said(t, set, "A-12"), "summary": summaryOf(t, set)} {
			if n := strings.Count(text, reason); n != 1 {
				t.Errorf("weight %q: the reason stands %d times in the %s\n%s", weight, n, name, text)
			}
		}
	}
}

// TestOneLimitOneFigure: a limit reads the same everywhere on a paper, with the
// digits that the finest comparison needs; a sum that was rounded is no equality.
func TestOneLimitOneFigure(t *testing.T) {
	f := alone("A-12") // 0.4 × 0.312 + 0.75 × 2 + 0.3 × 2 = 2.2248
	f.Readings, f.Job.Policy.Require.Directions = onlyAB(f.Readings), "either"
	text := said(t, newSet(t, f, options()), "A-12")
	if !strings.Contains(text, " ≈ 2.22 dB") || strings.Contains(text, "2.2248") || strings.Contains(text, "2.225") {
		t.Errorf("want the sum to be about 2.22 dB\n%s", text)
	}
	text = said(t, newSet(t, alone("A-12"), options()), "A-12") // the mean of 0.94 and 1.03 is 0.985
	if n := strings.Count(text, "2.225"); n < 6 || strings.Contains(text, "2.22 ") || strings.Contains(text, "2.22*") || strings.Contains(text, "2.2248") {
		t.Errorf("the limit stands %d times as 2.225, or otherwise\n%s", n, text)
	}
}

// TestBothSides: of a limit between two both figures are printed, and of two
// limits of one set each has its name.
func TestBothSides(t *testing.T) {
	f := alone("A-12")
	f.Links[0].Limits = []string{"gpon-class-b+"}
	set := setByBook(t, f)
	text := said(t, set, "A-12")
	for _, want := range []string{"0.880 dB of 13.000 to 28.000 allowed", "13.000 to 28.000 GPON class B+", "≥ 13 dB"} {
		if !strings.Contains(text, want) {
			t.Errorf("want %q in\n%s", want, text)
		}
	}
	f = alone("A-12")
	f.Job.Policy.Limits = []string{"two-limits"}
	const two = `
id: two-limits
kind: cabling
title: Two limits in one set
standard: Port Ansel Harbour Authority, trunk schedule
edition: "2025"
owner: true
values:
  trunk: {unit: dB, value: 3.5, clause: schedule 4, provenance: read}
  spur: {unit: dB, value: 2.8, clause: schedule 4, provenance: read}
limits:
  - {id: trunk-loss, title: Trunk loss, quantity: insertion_loss, at_most: [{rate: trunk}]}
  - {id: spur-loss, title: Spur loss, quantity: insertion_loss, at_most: [{rate: spur}]}
`
	book, problems := limits.NewBook(fstest.MapFS{})
	good(t, problems)
	good(t, book.Add(source.New("owner.yaml", []byte(two))))
	j, problems := judge.Judge(f, book)
	good(t, problems)
	set, problems = options().Set(f, j)
	good(t, problems)
	text = said(t, set, "A-12")
	for _, want := range []string{"3.500 two-limits trunk-loss", "allowed two-limits spur-loss", "(Port Ansel Harbour Authority, trunk schedule spur-loss)", "(Port Ansel Harbour Authority, trunk schedule trunk-loss)"} {
		if !strings.Contains(text, want) {
			t.Errorf("want %q in\n%s", want, text)
		}
	}
}

// TestThenAndNow: a reading that failed first and passed on retest says then, now
// and what was noted; one that was only measured again says that.
func TestThenAndNow(t *testing.T) {
	f := alone("A-12")
	for i, value := range []string{"2.61", "0.99"} {
		r := f.Readings[i]
		r.Fate, r.Value, r.Time = record.Superseded, dec(value), r.Time.Add(-time.Hour)
		f.Readings = append(f.Readings, r)
	}
	f.Readings[0].Note = "after cleaning port C1-12"
	text := said(t, newSet(t, f, options()), "A-12")
	for _, want := range []string{"1310 nm, A to B: failed first, 2.610 dB (allowed 2.225); now 0.940 dB, passed. Note on the new reading: after cleaning port C1-12.",
		"Measured again; earlier readings: 1310 nm, B to A 0.990"} {
		if !strings.Contains(text, want) {
			t.Errorf("want %q in\n%s", want, text)
		}
	}
}

// TestWhoseWord: an end face is somebody's word, and its criterion is on no file.
func TestWhoseWord(t *testing.T) {
	text := said(t, newSet(t, alone("A-12"), options()), "A-12")
	for _, want := range []string{"end face passed according to M. Okafor, no criterion", "end faces as stated by the person named, no criterion recorded"} {
		if !strings.Contains(strings.ToLower(text), strings.ToLower(want)) {
			t.Errorf("want %q in\n%s", want, text)
		}
	}
}

// TestConfirmedFigures: once somebody compared a set with its standard, the mark
// of low confidence says who, when and with which copy, and asks for nothing more.
func TestConfirmedFigures(t *testing.T) {
	f := alone("A-12")
	f.Job.Policy.Limits = []string{"owner-harbour"}
	text := strings.Replace(testset.OwnersFigures, "clause: schedule 3\n    provenance: read\n", "clause: schedule 3\n    provenance: recalled\n    low_confidence: true\n", 1)
	for _, confirmed := range []bool{false, true} {
		book, problems := limits.NewBook(fstest.MapFS{})
		good(t, problems)
		good(t, book.Add(source.New("owner.yaml", []byte(text))))
		own, _ := book.Find("owner-harbour")
		if confirmed {
			book.Confirm([]limits.Confirmation{{Set: own.ID, SHA256: own.SHA256, By: "R. Lindqvist", On: record.NewDate(2026, 11, 20), Note: "copy bought in 2024"}})
		}
		taken := *f
		j, problems := judge.Judge(&taken, book)
		good(t, problems)
		set, problems := options().Set(f, j)
		good(t, problems)
		paper := said(t, set, "A-12")
		if asks := strings.Contains(paper, "to be confirmed by somebody who has the standard"); asks == confirmed {
			t.Errorf("confirmed %v: the paper asks: %v\n%s", confirmed, asks, paper)
		}
		if says := strings.Contains(paper, "Compared with the standard by R. Lindqvist on 20 Nov 2026. Note: copy bought in 2024."); says != confirmed {
			t.Errorf("confirmed %v: the paper says so: %v\n%s", confirmed, says, paper)
		}
	}
}
