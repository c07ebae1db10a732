package claim_test

import (
	"slices"
	"testing"
	"time"

	"spanseal/internal/claim"
	"spanseal/internal/diag"
	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
	"spanseal/templates"
)

// job is one that was measured with a one-cord reference.
func job() *record.Job {
	return &record.Job{Location: time.UTC, Policy: record.Policy{Reference: record.OneCord}}
}

// read is a loss on a day of November 2026; day 0 has no time.
type read struct {
	nm   int
	way  record.Direction
	loss string
	day  int
}

func dec(s string) *quantity.Decimal { d := quantity.Must(s); return &d }

func link(verdict judge.Verdict, reads ...read) *judge.LinkResult {
	l := &judge.LinkResult{Brief: judge.Brief{Link: &record.Link{ID: "A-1", From: "rack", To: "cabinet"}, Verdict: verdict, Measured: len(reads) > 0}}
	for _, r := range reads {
		reading := record.Reading{Quantity: record.InsertionLoss, WavelengthNM: r.nm, Direction: r.way, Value: *dec(r.loss)}
		if r.day > 0 {
			reading.Time = time.Date(2026, 11, r.day, 9, 30, 0, 0, time.UTC)
		}
		l.Readings = append(l.Readings, reading)
		l.Findings = append(l.Findings, finding(reading, "set-a", "2.00", "0.12"))
	}
	return l
}

func finding(r record.Reading, set, limit, u string) judge.Finding {
	w := &judge.Working{SetID: set, Standard: "standard " + set, Edition: "2022", Bound: "at_most", Limit: *dec(limit)}
	margin := w.Limit.Sub(r.Value)
	f := judge.Finding{Matter: &judge.Matter{Kind: judge.KindLimit, Code: "insertion-loss", Quantity: r.Quantity, WavelengthNM: r.WavelengthNM, Direction: r.Direction, Unit: quantity.DB},
		Measured: &r.Value, Limit: &w.Limit, Margin: &margin, Working: w, Readings: []record.Reading{r}, Probability: -1}
	if u != "" {
		f.Uncertainty = dec(u)
	}
	switch {
	case margin.Sign() < 0:
		f.Verdict = judge.Fail
	case u != "" && margin.Less(*dec(u)):
		f.Verdict = judge.Marginal
	}
	return f
}

func english(t *testing.T, all []statement.Statement) []string {
	t.Helper()
	problems := new(diag.List)
	w := wording.Load(templates.Files, nil, "en", problems)
	if w == nil {
		t.Fatal(problems.Sorted())
	}
	return w.States(all)
}

// TestLink: what leads a paper says no more than the readings and findings show.
func TestLink(t *testing.T) {
	const ab, ba = record.AB, record.BA
	passes := "Every reading is within the limits of standard set-a (2022), with a one-cord reference."
	both := []read{{1310, ab, "0.50", 18}, {1310, ba, "0.52", 18}}
	for _, c := range []struct {
		name string
		job  func(*record.Job)
		link *judge.LinkResult
		want []string
	}{
		{"both directions at one wavelength, one at another", nil, link(judge.Pass, append(slices.Clone(both), read{1383, ab, "0.6", 18})...),
			[]string{"Link A-1, from rack to cabinet, was measured in both directions at 1310 nm and from A to B only at 1383 nm on 18\u00a0Nov\u00a02026.", passes}},
		{"one direction each way at different wavelengths", nil, link(judge.Pass, read{1310, ab, "0.5", 18}, read{1550, ba, "0.4", 18}),
			[]string{"Link A-1, from rack to cabinet, was measured from A to B only at 1310 nm and from B to A only at 1550 nm on 18\u00a0Nov\u00a02026.", passes}},
		{"no direction stated", nil, link(judge.Pass, read{1310, record.NoWay, "0.5", 18}),
			[]string{"Link A-1, from rack to cabinet, was measured at 1310 nm, direction not stated on 18\u00a0Nov\u00a02026.", passes}},
		{"several days", nil, link(judge.Pass, read{1310, ab, "0.50", 17}, read{1310, ba, "0.52", 18}),
			[]string{"Link A-1, from rack to cabinet, was measured in both directions at 1310 nm, from 17\u00a0Nov\u00a02026 to 18\u00a0Nov\u00a02026.", passes}},
		{"no time", nil, link(judge.Pass, read{1310, ab, "0.50", 0}, read{1310, ba, "0.52", 0}),
			[]string{"Link A-1, from rack to cabinet, was measured in both directions at 1310 nm.", passes}},
		{"never measured", nil, link(judge.Incomplete),
			[]string{"Link A-1, from rack to cabinet, has not been measured: no file contains a reading of it. It cannot be certified until it is measured."}},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := job()
			if c.job != nil {
				c.job(j)
			}
			if got := english(t, claim.Link(j, c.link, 2)); !slices.Equal(got, c.want) {
				t.Errorf("got  %q\nwant %q", got, c.want)
			}
		})
	}
}

// TestAfterwards: the sentences behind the first, by what the findings hold.
func TestAfterwards(t *testing.T) {
	one := read{1310, record.AB, "0.50", 18}
	two := read{1550, record.AB, "0.40", 18}
	asks := func(code string, args ...statement.Argument) judge.Finding {
		return judge.Finding{Matter: &judge.Matter{Kind: judge.KindRequired, Question: statement.New(code, args...)}, Verdict: judge.Incomplete}
	}
	for _, c := range []struct {
		name string
		job  func(*record.Job)
		link func() *judge.LinkResult
		want []string
	}{
		{"a second set judged one wavelength", nil, func() *judge.LinkResult {
			l := link(judge.Pass, one, two)
			l.Findings = append(l.Findings, finding(l.Readings[0], "set-b", "1.00", "0.12"))
			return l
		}, []string{"Every reading is within the limits of standard set-a (2022) and standard set-b (2022) (at 1310 nm only), with a one-cord reference."}},
		{"marginal by the uncertainty", nil, func() *judge.LinkResult { return link(judge.Marginal, read{1310, record.AB, "1.95", 18}) },
			[]string{"Every reading is within the limits of standard set-a (2022), with a one-cord reference.",
				"A marginal reading (1310 nm, A to B) has a margin of 0.05 dB, less than its uncertainty of 0.12 dB."}},
		{"marginal by the job's band", func(j *record.Job) { j.Policy.Marginal = dec("0.30") }, func() *judge.LinkResult {
			l := link(judge.Marginal, read{1310, record.AB, "1.80", 18})
			l.Findings[0].Verdict = judge.Marginal
			return l
		}, []string{"Every reading is within the limits of standard set-a (2022), with a one-cord reference.",
			"A marginal reading (1310 nm, A to B) has a margin of 0.20 dB, within the band of 0.3 dB that this job calls marginal."}},
		{"at the limit without an uncertainty", nil, func() *judge.LinkResult {
			l := link(judge.Pass, one)
			l.Findings = []judge.Finding{finding(l.Readings[0], "set-a", "0.50", "")}
			return l
		}, []string{"Every reading is within the limits of standard set-a (2022), with a one-cord reference.", "No measurement uncertainty is given."}},
		{"out of the limit", nil, func() *judge.LinkResult { return link(judge.Fail, read{1310, record.AB, "2.61", 18}, two) },
			[]string{"It does not conform: 1310 nm, A to B, 2.61 dB measured, 2.00 dB allowed, 0.61 dB too much.", "The link is not certified."}},
		{"a reading is missing", nil, func() *judge.LinkResult {
			l := link(judge.Incomplete, one)
			l.Findings = append(l.Findings, asks("missing-wavelength", statement.NM(1550)))
			return l
		}, []string{"A required reading is missing.", "The link is not certified."}},
		{"a fatal question, and nothing missing", nil, func() *judge.LinkResult {
			l := link(judge.Incomplete, one)
			l.Findings = append(l.Findings, asks("calibration.no-dates", statement.Name("PM-1")))
			return l
		}, []string{"A question that must be settled is open.", "The link is not certified."}},
		{"a question on a link that passes", nil, func() *judge.LinkResult {
			l := link(judge.Pass, one)
			f := asks("no-date")
			f.Verdict = judge.Pass
			l.Findings = append(l.Findings, f, f)
			return l
		}, []string{"Every reading is within the limits of standard set-a (2022), with a one-cord reference.", "One question is asked below; answered: 0."}},
	} {
		t.Run(c.name, func(t *testing.T) {
			j := job()
			if c.job != nil {
				c.job(j)
			}
			if got := english(t, claim.Link(j, c.link(), 2))[1:]; !slices.Equal(got, c.want) {
				t.Errorf("got  %q\nwant %q", got, c.want)
			}
		})
	}
}

// TestDeclared: what explains a changed file stands on page one, by whom and when.
func TestDeclared(t *testing.T) {
	j := job()
	j.People = []record.Person{{ID: "mo", Name: "M. Okafor"}}
	judged := judge.Settled(*link(judge.Pass, read{1310, record.AB, "0.50", 18}))
	got := english(t, claim.Job(j, judged, []record.Declared{{File: "readings/a.csv", By: "mo", On: record.NewDate(2026, 11, 24), Because: "cut off"}, {File: "readings/b.csv", By: "T. Idris", Because: "cut off"}}))
	want := []string{"readings/a.csv differs from the previous revision. M. Okafor declared on 24\u00a0Nov\u00a02026: cut off.", "readings/b.csv differs from the previous revision. T. Idris declared: cut off."}
	if len(got) < 2 || !slices.Equal(got[len(got)-2:], want) {
		t.Errorf("got  %q\nwant %q", got, want)
	}
}
