package judge_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"spanseal/internal/judge"
	"spanseal/internal/record"
)

// ledger prints the entries of a link, "set/limit state reason".
func ledger(l *judge.LinkResult) (out []string) {
	for _, e := range l.Ledger {
		line := fmt.Sprintf("%s/%s %s", e.Set, e.Limit, e.State)
		if !e.Reason.IsZero() {
			line += " " + e.Reason.Code
		}
		out = append(out, line)
	}
	return out
}

func splice(nm int, way record.Direction, event, value string) record.Reading {
	r := clean().Readings[0]
	r.Quantity, r.WavelengthNM, r.Direction, r.Event, r.Value = record.SpliceLoss, nm, way, event, dec(value)
	return r
}

func TestLedger(t *testing.T) {
	strict := func(f *record.Facts) { f.Job.Policy.Optional = nil }
	cases := []struct {
		name    string
		change  func(f *record.Facts)
		verdict judge.Verdict
		want    []string
	}{
		{"loss alone, spliced-on ends", strict, judge.Pass, []string{
			"tia-568.3-e/link-loss judged", "tia-568.3-e/splice-loss not_applicable unjudged.no-splice", "tia-568.3-e/connection-reflectance optional optional.reflectance"}},
		{"three sets and loss alone", func(f *record.Facts) {
			strict(f)
			f.Links[0].Splices = 5
			f.Job.Policy.Limits = []string{"tia-568.3-e", "splice-carrier", "iec-61755-1-return-loss-3"}
		}, judge.Incomplete, []string{
			"tia-568.3-e/link-loss judged", "tia-568.3-e/splice-loss open open.splices", "tia-568.3-e/connection-reflectance optional optional.reflectance",
			"splice-carrier/splice open open.splices", "splice-carrier/splice-after-three-attempts not_applicable unjudged.attempts", "iec-61755-1-return-loss-3/return-loss open open.unread"}},
		{"the same, agreed to be optional", func(f *record.Facts) {
			f.Links[0].Splices = 5
			f.Job.Policy.Limits = []string{"tia-568.3-e", "splice-carrier", "iec-61755-1-return-loss-3"}
			f.Job.Policy.Optional = append(f.Job.Policy.Optional, record.Agreed{Set: "iec-61755-1-return-loss-3", Links: []string{"A-12"}, By: "the owner", Reason: "measured at the reel"})
		}, judge.Pass, []string{
			"tia-568.3-e/link-loss judged", "tia-568.3-e/splice-loss optional optional.agreed", "tia-568.3-e/connection-reflectance optional optional.reflectance",
			"splice-carrier/splice optional optional.agreed", "splice-carrier/splice-after-three-attempts not_applicable unjudged.attempts", "iec-61755-1-return-loss-3/return-loss optional optional.agreed"}},
		{"exempt at the only wavelength", func(f *record.Facts) {
			strict(f)
			f.Readings = append(f.Readings[:2], splice(1310, record.AB, "1", "0.02"), splice(1310, record.BA, "1", "0.04"))
			f.Links[0].Splices, f.Links[0].Terms = 1, &record.Terms{NotAt: map[int]string{1550: "no laser"}}
			f.Job.Policy.Limits = []string{"tia-568.3-e", "splice-carrier"}
		}, judge.Pass, []string{
			"tia-568.3-e/link-loss judged", "tia-568.3-e/splice-loss judged", "tia-568.3-e/connection-reflectance optional optional.reflectance",
			"splice-carrier/splice optional optional.exempt", "splice-carrier/splice-after-three-attempts not_applicable unjudged.attempts"}},
		{"agreed to be optional, and measured nevertheless", func(f *record.Facts) {
			f.Links[0].Splices = 1
			f.Readings = append(f.Readings, splice(1310, record.AB, "S1", "0.05"), splice(1310, record.BA, "S1", "0.05"), splice(1550, record.AB, "S1", "0.05"), splice(1550, record.BA, "S1", "0.05"))
		}, judge.Pass, []string{
			"tia-568.3-e/link-loss judged", "tia-568.3-e/splice-loss judged", "tia-568.3-e/connection-reflectance optional optional.reflectance"}},
		{"agreed for another link", func(f *record.Facts) {
			f.Links[0].Splices = 1
			f.Job.Policy.Optional[0].Links = []string{"A-13"}
			f.Links = append(f.Links, record.Link{ID: "A-13", Fibre: "OS2", Mode: record.Singlemode})
		}, judge.Incomplete, []string{
			"tia-568.3-e/link-loss judged", "tia-568.3-e/splice-loss open open.splices", "tia-568.3-e/connection-reflectance optional optional.reflectance"}},
		{"one of two splices, one of two wavelengths", func(f *record.Facts) {
			strict(f)
			f.Links[0].Splices = 2
			f.Readings = append(f.Readings, splice(1550, record.AB, "S1", "0.05"), splice(1550, record.BA, "S1", "0.05"))
			f.Job.Policy.Limits = []string{"splice-carrier", "splice-city", "tia-568.3-e"}
		}, judge.Incomplete, []string{
			"splice-carrier/splice open open.splices", "splice-carrier/splice-after-three-attempts not_applicable unjudged.attempts", "splice-city/splice-1550 open open.splices", "splice-city/splice-1310 open open.splices",
			"tia-568.3-e/link-loss judged", "tia-568.3-e/splice-loss open open.splices", "tia-568.3-e/connection-reflectance optional optional.reflectance"}},
		{"every splice at the wavelength that is required", func(f *record.Facts) {
			strict(f)
			f.Links[0].Splices = 1
			f.Readings = append(f.Readings[2:], splice(1550, record.AB, "S1", "0.05"), splice(1550, record.BA, "S1", "0.05"))
			f.Job.Policy.Require.Wavelengths = map[record.Mode][]int{record.Singlemode: {1550}}
			f.Job.Policy.Limits = []string{"splice-carrier", "splice-city", "tia-568.3-e"}
		}, judge.Marginal, []string{
			"splice-carrier/splice judged", "splice-carrier/splice-after-three-attempts not_applicable unjudged.attempts", "splice-city/splice-1550 judged", "splice-city/splice-1310 not_applicable unjudged.wavelength",
			"tia-568.3-e/link-loss judged", "tia-568.3-e/splice-loss judged", "tia-568.3-e/connection-reflectance optional optional.reflectance"}},
		{"a return loss from one end of two", func(f *record.Facts) {
			f.Job.Policy.Limits = []string{"tia-568.3-e", "iec-61755-1-return-loss-3"}
			r := f.Readings[0]
			r.Quantity, r.Value = record.ReturnLoss, dec("50")
			f.Readings = append(f.Readings, r)
		}, judge.Incomplete, []string{
			"tia-568.3-e/link-loss judged", "tia-568.3-e/splice-loss not_applicable unjudged.no-splice", "tia-568.3-e/connection-reflectance judged",
			"iec-61755-1-return-loss-3/return-loss open open.end"}},
		{"a return loss at both wavelengths, from one end of two", func(f *record.Facts) {
			f.Job.Policy.Limits = []string{"iec-61755-1-return-loss-3"}
			for _, nm := range []int{1310, 1550} {
				f.Readings = append(f.Readings, loss(f, nm, record.AB, record.ReturnLoss, "50"))
			}
		}, judge.Incomplete, []string{"iec-61755-1-return-loss-3/return-loss open open.end"}},
		{"a return loss from one end of two, and no loss from the other", func(f *record.Facts) {
			f.Job.Policy.Limits = []string{"tia-568.3-e", "iec-61755-1-return-loss-3"}
			f.Readings = append(f.Readings[:3], loss(f, 1310, record.AB, record.ReturnLoss, "50"))
		}, judge.Incomplete, []string{
			"tia-568.3-e/link-loss judged", "tia-568.3-e/splice-loss not_applicable unjudged.no-splice", "tia-568.3-e/connection-reflectance judged",
			"iec-61755-1-return-loss-3/return-loss open open.end"}},
		{"about other links", func(f *record.Facts) {
			f.Job.Policy.Limits = []string{"tia-568.3-e", "itu-t-g.652.d", "iec-63267-1-return-loss-2m", "iso-11801-1-connections"}
		}, judge.Pass, []string{
			"tia-568.3-e/link-loss judged", "tia-568.3-e/splice-loss not_applicable unjudged.no-splice", "tia-568.3-e/connection-reflectance optional optional.reflectance",
			"itu-t-g.652.d/span-loss not_applicable unjudged.pairs", "iec-63267-1-return-loss-2m/return-loss not_applicable unjudged.fibre",
			"iso-11801-1-connections/all not_applicable unjudged.job", "iso-11801-1-connections/percentile-95 not_applicable unjudged.job", "iso-11801-1-connections/percentile-50 not_applicable unjudged.job"}},
		{"an application", func(f *record.Facts) { f.Links[0].Applications = []string{"10gbase-lr"} }, judge.Pass, []string{
			"tia-568.3-e/link-loss judged", "tia-568.3-e/splice-loss not_applicable unjudged.no-splice", "tia-568.3-e/connection-reflectance optional optional.reflectance",
			"10gbase-lr/channel-loss judged", "10gbase-lr/reach judged", "10gbase-lr/discrete-reflectance optional optional.reflectance", "10gbase-lr/channel-orl optional optional.reflectance"}},
		{"a fibre that the set does not know", func(f *record.Facts) { f.Links[0].Fibre = "OS1" }, judge.Incomplete, []string{
			"tia-568.3-e/link-loss not_applicable unjudged.figure", "tia-568.3-e/splice-loss not_applicable unjudged.no-splice", "tia-568.3-e/connection-reflectance optional optional.reflectance"}},
		{"nothing measured", func(f *record.Facts) { strict(f); f.Readings, f.Links[0].Splices = nil, 1 }, judge.Incomplete, []string{
			"tia-568.3-e/link-loss open open.unread", "tia-568.3-e/splice-loss open open.splices", "tia-568.3-e/connection-reflectance optional optional.reflectance"}},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			f := clean()
			c.change(f)
			j := judged(t, f, builtIn(t))
			l := j.Result(0)
			if got := ledger(l); !slices.Equal(got, c.want) {
				t.Errorf("%q, want %q", got, c.want)
			}
			if l.Verdict != c.verdict {
				t.Errorf("%s, want %s: %v", l.Verdict, c.verdict, questions(j))
			}
			open := 0
			for _, e := range l.Ledger {
				if e.State == judge.Open {
					open++
				}
			}
			asked := 0
			for _, f := range l.Findings {
				if f.Code == "not-judged" {
					asked++
				}
			}
			if l.Measured && open != asked {
				t.Errorf("%d limits are open, and %d sentences say so", open, asked)
			}
		})
	}
}

func TestAttempts(t *testing.T) {
	// A carrier's exhibit: at most 0.10 dB; after three attempts 0.20 dB, listed as out
	// of specification. One splice has the attempts on record, the other has not.
	f := clean()
	f.Links[0].Splices = 2
	f.Job.Policy.Limits = []string{"tia-568.3-e", "splice-carrier"}
	for _, s := range []struct{ name, loss string }{{"S1", "0.15"}, {"S2", "0.08"}} {
		f.Readings = append(f.Readings, splice(1550, record.AB, s.name, s.loss), splice(1550, record.BA, s.name, s.loss))
	}
	for _, c := range []struct {
		name     string
		attempts [2]int
		verdict  judge.Verdict
		listed   int
	}{
		{"none on record", [2]int{}, judge.Fail, 0},
		{"two at the first", [2]int{2, 1}, judge.Fail, 0},
		{"three at the first", [2]int{3, 1}, judge.Marginal, 1}, // the uncertainty is 0.12 dB
		{"three at both", [2]int{3, 3}, judge.Marginal, 1},
		{"three at the other", [2]int{1, 3}, judge.Fail, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := *f
			f.Readings = slices.Clone(f.Readings)
			f.Terminations = []record.Termination{
				{Link: "A-12", Kind: "splice", Splice: "S1", Attempts: c.attempts[0], EndFace: record.EndFaceNotInspected},
				{Link: "A-12", Kind: "splice", Splice: "S2", Attempts: c.attempts[1], EndFace: record.EndFaceNotInspected},
			}
			l := judged(t, &f, builtIn(t)).Result(0)
			var listed []string
			for _, f := range l.Findings {
				if f.Code == "out-of-specification" {
					listed = append(listed, said(f.Question))
				}
			}
			if l.Verdict != c.verdict || len(listed) != c.listed {
				t.Errorf("%s, listed %q", l.Verdict, listed)
			}
			for _, s := range listed {
				if s != "splice loss, 1550 nm, two-way mean, S1: 0.15 dB after 3 attempts. splice-carrier lists it as out of specification. Does the owner accept it?" {
					t.Errorf("%q", s)
				}
			}
		})
	}
}

func TestIdleSets(t *testing.T) {
	f := clean()
	more := f.Links[0]
	more.ID = "A-13"
	f.Links = append(f.Links, more)
	for _, r := range f.Readings {
		r.Link = "A-13"
		f.Readings = append(f.Readings, r)
	}
	f.Job.Policy.Limits = []string{"tia-568.3-e", "splice-carrier", "iec-61755-1-return-loss-3"}
	j := judged(t, f, builtIn(t))
	var idle []string
	for _, q := range j.Questions {
		if q.Code == "set-idle" {
			idle = append(idle, said(q.Question))
		}
	}
	if want := []string{
		"splice-carrier applies to 2 links but judges nothing there: no splice in the span. Is it the agreed set?",
		"iec-61755-1-return-loss-3 applies to 2 links but judges nothing there: no return loss was measured. Is it the agreed set?",
	}; !slices.Equal(idle, want) {
		t.Errorf("%q", idle)
	}
	want := []judge.SetTally{
		{Set: "tia-568.3-e", Links: 2, Judged: 2, NotApplicable: 2, Optional: 2}, {Set: "splice-carrier", Links: 2, NotApplicable: 4},
		{Set: "iec-61755-1-return-loss-3", Links: 2, Open: 2}}
	if !slices.Equal(j.Ledger, want) {
		t.Errorf("%+v", j.Ledger)
	}
	if &j.Result(0).Ledger[0] != &j.Result(1).Ledger[0] {
		t.Error("two links that are alike have two ledgers")
	}
}

// Links with the same reasons share one ledger: what a reason says of the link must
// be the same for all of them.
func TestSharedLedgersSayTheirOwnLink(t *testing.T) {
	f := clean()
	fibres := []string{"OS1", "G.657.A1"}
	first := f.Links[0]
	f.Links = nil
	for i := range 100 { // enough that a worker has several of each
		l := first
		l.ID, l.Fibre = fmt.Sprintf("A-%d", i), fibres[i%2]
		f.Links = append(f.Links, l)
	}
	f.Readings, f.Terminations = nil, nil
	j := judged(t, f, builtIn(t))
	for i := range f.Links {
		found := false
		for _, e := range j.Result(i).Ledger {
			if e.Reason.Code == "unjudged.figure" {
				found = true
				if got := fmt.Sprint(e.Reason.Args); !strings.Contains(got, fibres[i%2]) {
					t.Errorf("link %d, of %s: %s", i, fibres[i%2], got)
				}
			}
		}
		if !found {
			t.Fatalf("link %d: no limit lacks a figure: %v", i, j.Result(i).Ledger)
		}
	}
}
