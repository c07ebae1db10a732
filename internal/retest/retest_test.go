package retest

import (
	"encoding/json"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"spanseal/internal/diag"
	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
	"spanseal/templates"
)

var english = sync.OnceValue(func() *wording.Wording { return wording.Load(templates.Files, nil, "en", new(diag.List)) })

// said are statements in English, with plain spaces.
func said(all ...statement.Statement) string {
	return strings.ReplaceAll(strings.Join(english().States(all), "\n"), "\u00A0", " ")
}

// codes are those of statements.
func codes(all []statement.Statement) (out []string) {
	for _, s := range all {
		out = append(out, s.Code)
	}
	return out
}

func dec(s string) quantity.Decimal { return quantity.Must(s) }

func ptr(s string) *quantity.Decimal { d := dec(s); return &d }

// side is a measurement of a link: losses at 1310 A-B, 1310 B-A, 1550 A-B,
// 1550 B-A, "" for none, with one expanded uncertainty.
func side(u string, losses ...string) Side {
	s := Side{Reference: record.OneCord, TestCords: record.StandardCords, Instruments: []record.Instrument{{ID: "PM-9", Serial: "22803"}}}
	if u != "" {
		s.Instruments[0].Uncertainty = ptr(u)
	}
	for i, loss := range losses {
		if loss != "" {
			s.Readings = append(s.Readings, record.Reading{Link: "A-12", Quantity: record.InsertionLoss, WavelengthNM: []int{1310, 1310, 1550, 1550}[i],
				Direction: []record.Direction{record.AB, record.BA}[i%2], Value: dec(loss), Instrument: "PM-9", Fate: record.Used})
		}
	}
	return s
}

// certified is a link that was certified with a limit of 2.2248 dB.
func certified(s Side) *Certified {
	c := &Certified{Format: recordForms[1], Certificate: "BL-2026-031/A-12", Revision: 1, Issued: record.NewDate(2026, 11, 25), Link: record.Link{ID: "A-12", Mode: record.Singlemode},
		Readings: s.Readings, Instruments: s.Instruments}
	c.Job.Policy.Reference, c.Job.Policy.TestCords = s.Reference, s.TestCords
	for _, nm := range []int{1310, 1550} {
		for _, way := range []record.Direction{record.AB, record.BA, record.TwoWay} {
			q := record.InsertionLoss
			if way == record.TwoWay {
				q = record.TwoWayAverage
			}
			c.Findings = append(c.Findings, judge.Finding{Matter: &judge.Matter{Kind: judge.KindLimit, Quantity: q, WavelengthNM: nm, Direction: way},
				Working: &judge.Working{SetID: "tia-568.3-e", Standard: "ANSI/TIA-568.3-E", Edition: "2022", Bound: "at_most", Limit: dec("2.2248")}})
		}
	}
	return c
}

func TestOutcomeAndAdvice(t *testing.T) {
	then := side("0.12", "0.44", "0.52", "0.38", "0.46")
	for _, test := range []struct {
		name       string
		now        Side
		want       Outcome
		conclusion string // part of one
		advice     string // part, "" for none
	}{
		{"the same again", side("0.12", "0.44", "0.52", "0.38", "0.46"), NoChange, "these measurements cannot tell", ""},
		{"within what measurement explains", side("0.12", "0.54", "0.62", "0.48", "0.56"), NoChange, "Every reading that was compared meets its limits on record.", ""},
		{"a rise at 1550 only points to a bend", side("0.12", "0.46", "0.53", "0.98", "1.02"), Changed,
			"1550 nm, A to B: 0.980 dB now, 0.380 dB then. The rise of 0.600 dB is more than the two measurements explain (0.17 dB).", "tight bend"},
		{"more at 1550, which the uncertainties do not settle, points to a bend", side("0.14", "0.64", "0.72", "0.85", "0.93"), Changed,
			"5 further changes", "The loss changed by 0.47 dB at 1550 nm, A to B, and by 0.20 dB at 1310 nm, A to B. A rise that grows with the wavelength points to a tight bend, although"},
		{"the same, and 1310 alone would show nothing", side("0.20", "0.62", "0.72", "0.85", "0.96"), Changed, "2 further changes", "by 0.500 dB at 1550 nm, B to A, and by 0.200 dB"},
		{"more at 1550 in one direction, less in the other", side("0.14", "0.64", "0.82", "0.85", "0.67"), Changed, "The rise of 0.47 dB", "connection or a splice"},
		{"an equal rise points to a connection", side("0.12", "0.84", "0.93", "0.79", "0.86"), Changed, "further changes are larger", "connection or a splice"},
		{"one direction points to the reference", side("0.12", "0.90", "0.53", "0.88", "0.46"), Changed, "The rise of 0.500 dB", "in one direction only: A to B"},
		{"no pattern", side("0.12", "0.90", "0.53", "0.38", "0.99"), Changed, "The rise of 0.530 dB", "no single pattern"},
		{"lower than certified", side("0.12", "0.20", "0.28", "0.14", "0.22"), Changed, "The fall of 0.24 dB", "keep both"},
		{"over the limit as certified", side("0.12", "2.40", "2.48", "2.34", "2.42"), OverLimit,
			"The limit on record is no longer met. 1310 nm, B to A: 2.48 dB now; ANSI/TIA-568.3-E (2022) allows 2.22 dB or less.", "connection or a splice"},
		{"no uncertainty now", side("", "0.84", "0.93", "0.79", "0.86"), Undecided, "For 6 changes an uncertainty is unknown, so it is undecided", ""},
		{"one reading only", side("0.12", "0.84"), Changed, "5 readings are not compared, for the reasons given below.", ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			then := then
			if u := test.now.Instruments[0].Uncertainty; u != nil {
				then = side(u.String(), "0.44", "0.52", "0.38", "0.46")
			}
			got := Compare(certified(then), test.now)
			if got.Outcome != test.want {
				t.Errorf("outcome %q, want %q", got.Outcome, test.want)
			}
			if text := said(got.Conclusion...); !strings.Contains(text, test.conclusion) {
				t.Errorf("conclusion\n%s\nwant %q", text, test.conclusion)
			}
			advice := said(got.Advice...)
			if test.advice == "" && advice != "" || !strings.Contains(advice, test.advice) {
				t.Errorf("advice %q, want %q", advice, test.advice)
			}
		})
	}
}

// TestNonconformanceSheet: what was never certified is not called so.
func TestNonconformanceSheet(t *testing.T) {
	for _, test := range []struct {
		name       string
		then, now  Side
		verdict    judge.Verdict
		outcome    Outcome
		conclusion []string // part of one each
		advice     string
	}{
		{"fixed", side("0.12", "2.44", "2.52", "0.38", "0.46"), side("0.12", "0.44", "0.52", "0.38", "0.46"), judge.Fail, Changed,
			[]string{"A limit that was not met is met now. 1310 nm, B to A: 0.52 dB now; ANSI/TIA-568.3-E (2022) allows 2.22 dB or less.",
				"2 further readings meet a limit now that was not met then.",
				"Every reading that was compared meets its limits on record.",
				"This comparison certifies nothing. Only a new issue of the job can certify the link."}, "lower than on the nonconformance sheet"},
		{"still out", side("0.12", "2.44", "2.52", "0.38", "0.46"), side("0.12", "2.40", "2.60", "0.38", "0.46"), judge.Fail, OverLimit,
			[]string{"The limit on record is still not met. 1310 nm, B to A: 2.60 dB now; ANSI/TIA-568.3-E (2022) allows 2.22 dB or less.", "2 further readings do not meet a limit on record."}, ""},
		{"worse", side("0.12", "2.30", "2.31", "0.38", "0.46"), side("0.12", "0.40", "0.50", "2.58", "2.56"), judge.Fail, OverLimit,
			[]string{"The limit on record is no longer met. 1550 nm, A to B: 2.58 dB now",
				"A limit that was not met is met now. 1310 nm, B to A: 0.50 dB now"}, "tight bend"},
		{"was incomplete", side("0.12", "0.44"), side("0.12", "0.45", "0.52"), judge.Incomplete, NoChange,
			[]string{"meets its limits on record", "certifies nothing"}, ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			c := certified(test.then)
			c.Verdict = test.verdict
			test.then.Readings[0].Time = time.Date(2026, 11, 18, 9, 0, 0, 0, time.UTC)
			test.now.Readings[0].Time = time.Date(2026, 11, 17, 9, 0, 0, 0, time.UTC)
			got := Compare(c, test.now)
			if text := said(got.Questions...); !strings.Contains(text, "taken on 17 Nov 2026, before those on record (18 Nov 2026)") {
				t.Errorf("questions\n%s", text)
			}
			if got.Outcome != test.outcome {
				t.Errorf("outcome %q, want %q", got.Outcome, test.outcome)
			}
			text := said(got.Conclusion...)
			for _, want := range test.conclusion {
				if !strings.Contains(text, want) {
					t.Errorf("conclusion\n%s\nwant %q", text, want)
				}
			}
			advice := said(got.Advice...)
			if !strings.Contains(advice, test.advice) {
				t.Errorf("advice %q, want %q", advice, test.advice)
			}
			for _, one := range slices.Concat(got.Conclusion, got.Advice, got.Questions) {
				if text := said(one); strings.Contains(text, "certified") {
					t.Errorf("says %q of what was not certified", text)
				}
			}
		})
	}
}

// TestOnOneDay: readings with a day alone are neither the earlier ones of that
// day nor certain to be before them.
func TestOnOneDay(t *testing.T) {
	day := time.Date(2026, 11, 18, 0, 0, 0, 0, time.UTC)
	for _, hours := range []time.Duration{0, 9} {
		then, now := side("0.12", "0.44", "0.52", "0.38"), side("0.12", "0.44", "0.50", "0.39")
		for i := range then.Readings {
			then.Readings[i].Time, then.Readings[i].Origin = day.Add(hours*time.Hour), record.Origin{SHA256: "ab", Row: 2 + i}
			now.Readings[i].Time, now.Readings[i].Origin = day, record.Origin{SHA256: "cd", Row: 2 + i}
		}
		if asked := Compare(certified(then), now).Questions; asked != nil {
			t.Errorf("measured then at %d: %s", hours, said(asked...))
		}
	}
}

// TestTheSameReadings: what was certified is no retest of itself.
func TestTheSameReadings(t *testing.T) {
	then := side("0.12", "0.44", "0.52", "0.38")
	for i := range then.Readings {
		r := &then.Readings[i]
		r.Time = time.Date(2026, 11, 18, 9, i, 0, 0, time.UTC)
		r.Origin = record.Origin{File: "readings/day1.csv", SHA256: strings.Repeat("ab", 32), Row: 2 + i}
	}
	copied := func(change func(i int, r *record.Reading)) Side {
		s := then
		s.Readings = slices.Clone(then.Readings)
		for i := range s.Readings {
			change(i, &s.Readings[i])
		}
		return s
	}
	later := func(_ int, r *record.Reading) {
		r.Time, r.Origin = r.Time.AddDate(5, 0, 0), record.Origin{SHA256: strings.Repeat("cd", 32), Row: r.Origin.Row}
	}
	const again, half = "retest.same-reading", "retest.same-half"
	for _, test := range []struct {
		name     string
		now      Side
		repeated bool
		want     []string // of 1310 A-B, B-A, average, 1550 A-B
	}{
		{"the same file", copied(func(_ int, r *record.Reading) { r.Time = time.Time{} }), true, []string{again, again, again, again}},
		{"saved again", copied(func(_ int, r *record.Reading) { r.Origin = record.Origin{SHA256: "ef", Row: 1} }), true, []string{again, again, again, again}},
		{"in another zone", copied(func(_ int, r *record.Reading) {
			r.Origin, r.Time = record.Origin{}, r.Time.In(time.FixedZone("", 3600))
		}), true, []string{again, again, again, again}},
		{"the same row of another file", copied(func(_ int, r *record.Reading) {
			r.Time, r.Origin.SHA256 = r.Time.AddDate(5, 0, 0), strings.Repeat("cd", 32)
		}), false, []string{"", "", "", ""}},
		{"another row of the same file", copied(func(_ int, r *record.Reading) { r.Time, r.Origin.Row = r.Time.AddDate(5, 0, 0), r.Origin.Row+40 }), false, []string{"", "", "", ""}},
		{"no time and no origin", copied(func(_ int, r *record.Reading) { r.Time, r.Origin = time.Time{}, record.Origin{} }), false, []string{"", "", "", ""}},
		{"one of them", copied(func(i int, r *record.Reading) {
			if i > 0 {
				later(i, r)
			}
		}), false, []string{again, "", half, ""}},
		{"new ones", copied(later), false, []string{"", "", "", ""}},
	} {
		t.Run(test.name, func(t *testing.T) {
			got := Compare(certified(then), test.now)
			if got.Repeated() != test.repeated {
				t.Errorf("repeated: %v, want %v", got.Repeated(), test.repeated)
			}
			var why []string
			for _, r := range got.Rows {
				why = append(why, r.NotCompared.Code)
				if (r.Change == nil) != !r.NotCompared.IsZero() {
					t.Errorf("%s: change %v, not compared %q", english().Subject(r.Subject()), r.Change, said(r.NotCompared))
				}
			}
			if diff := cmp.Diff(test.want, why); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// TestConditions: what was measured in another way is shown, and not compared.
func TestConditions(t *testing.T) {
	then := side("0.12", "0.44", "0.52", "0.38", "0.46")
	now := func(change func(*Side)) Side {
		s := side("0.12", "0.84", "0.92", "0.78", "0.86")
		change(&s)
		return s
	}
	for _, test := range []struct {
		name string
		now  Side
		want string
	}{
		{"reference method", now(func(s *Side) { s.Reference = record.ThreeCord }), "reference method one-cord then, three-cord now"},
		{"cords", now(func(s *Side) { s.TestCords = record.ReferenceCords }), "test cords standard grade then, reference grade now"},
		{"nobody says", now(func(s *Side) { s.Reference, s.TestCords = "", "" }), "reference method one-cord then, unknown now and test cords standard grade then, unknown now"},
	} {
		t.Run(test.name, func(t *testing.T) {
			got := Compare(certified(then), test.now)
			if got.Outcome != NotCompared || got.Advice != nil {
				t.Errorf("outcome %q, advice %q", got.Outcome, got.Advice)
			}
			for _, r := range got.Rows {
				if said(r.NotCompared) != test.want || r.Change != nil || r.Larger || r.Limits != nil || r.Then == nil || r.Now == nil {
					t.Errorf("%+v, want %q and nothing compared", r, test.want)
				}
			}
		})
	}
	got := Compare(certified(side("0.12", "0.44", "", "", "")), side("0.12", "", "0.52", "", ""))
	if len(got.Rows) != 2 || said(got.Rows[0].NotCompared) != "not measured again" || said(got.Rows[1].NotCompared) != "not measured then" {
		t.Errorf("directions: %+v", got.Rows)
	}
}

// TestOtherwise: a link that was built differently since is said to be.
func TestOtherwise(t *testing.T) {
	c := certified(side("0.12", "0.44"))
	c.Link.Fibre, c.Link.Length, c.Link.MatedPairs = "OS2", dec("312.0"), 2
	now := side("0.12", "0.44")
	link := c.Link
	link.Length = dec("312") // another way to write it
	now.Link = &link
	const want = "The link is described differently now: mated pairs 2 then, 3 now."
	if text := said(Compare(c, now).Conclusion...); strings.Contains(text, "differently") {
		t.Error(text)
	}
	link.MatedPairs = 3
	if text := said(Compare(c, now).Conclusion...); !strings.Contains(text, want) {
		t.Errorf("%s\nwant %q", text, want)
	}
}

// TestQuestions asks about a retest that may not be one.
func TestQuestions(t *testing.T) {
	at := func(s Side, day int) Side {
		for i := range s.Readings {
			s.Readings[i].Time = time.Date(2031, 2, day, 10, 0, 0, 0, time.UTC)
		}
		return s
	}
	then := at(side("0.12", "0.44", "0.52", "0.38"), 3)
	old := at(side("0.12", "0.44", "0.52"), 4)
	old.Instruments[0].Due = record.NewDate(2031, 2, 3)
	nameless := at(side("0.12", "0.44"), 4)
	nameless.Readings[0].Instrument = ""
	for _, test := range []struct {
		name string
		now  Side
		want []string
	}{
		{"a day later", at(side("0.12", "0.44", "0.52"), 4), nil},
		{"a day earlier", at(side("0.12", "0.44", "0.52"), 2), []string{"The new readings were taken on 2 Feb 2031, before those on record (3 Feb 2031). Are they the new ones?"}},
		{"no time", side("0.12", "0.44"), []string{"The new readings have no time. On which day was the link measured again?"}},
		{"calibration, asked once", old, []string{"The calibration of PM-9 was due on 3 Feb 2031; the reading was taken on 4 Feb 2031. Was it calibrated again before that day?"}},
		{"no instrument", nameless, []string{"No instrument is named. Which one took the new readings?"}},
		{"every value as it was", at(side("0.12", "0.44", "0.52", "0.38"), 4), []string{"Every loss has the same digits as before. Was the link measured again?"}},
		{"one value as it was", at(side("0.12", "0.44", "0.53", "0.37"), 4), nil},
		{"another value at the same moment", at(side("0.12", "0.44", "0.57", "0.38"), 3), []string{"1310 nm, B to A: a reading of the same moment was 0.52 dB then and is 0.57 dB now. Was it altered?"}},
	} {
		if diff := cmp.Diff(strings.Join(test.want, "\n"), said(Compare(certified(then), test.now).Questions...)); diff != "" {
			t.Errorf("%s: %s", test.name, diff)
		}
	}
}

// TestNormalisedError checks the formula by hand, with the triangles of 3, 4
// and 5 and of 5, 12 and 13, since no published example was at hand; and the
// edge, where the change is as large as measurement explains and no larger.
func TestNormalisedError(t *testing.T) {
	for _, test := range []struct {
		then, now, u1, u2 string
		en, explained     string
		larger            bool
	}{
		{"1.00", "1.50", "0.3", "0.4", "1.0000", "0.5000", false},
		{"1.00", "1.25", "0.3", "0.4", "0.5000", "0.5000", false},
		{"1.00", "0.00", "0.3", "0.4", "2.0000", "0.5000", true},
		{"0.40", "0.53", "0.05", "0.12", "1.0000", "0.1300", false},
		{"0.40", "0.5300001", "0.05", "0.12", "1.0000", "0.1300", true},
	} {
		then, now := side(test.u1, test.then), side(test.u2, test.now)
		r := Compare(certified(then), now).Rows[0]
		if r.NormalisedError.String() != test.en || r.Explained.String() != test.explained || r.Larger != test.larger {
			t.Errorf("%s to %s, U %s and %s: En %s, explained %s, larger %v; want %s, %s, %v", test.then, test.now, test.u1, test.u2,
				r.NormalisedError, r.Explained, r.Larger, test.en, test.explained, test.larger)
		}
	}
	r := Row{Larger: true, NormalisedError: ptr("1.0000")}
	if r.Error() != "> 1" {
		t.Errorf("a change that is larger prints %q", r.Error())
	}
}

// TestSymmetry: who compares the other way round finds the same change with the
// other sign, and the same answer.
func TestSymmetry(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := func(name string) string {
			return quantity.Scaled(int64(rapid.IntRange(0, 400).Draw(t, name)), 2).String()
		}
		a, b, u1, u2 := n("a"), n("b"), n("u1"), n("u2")
		x := Compare(certified(side(u1, a)), side(u2, b)).Rows[0]
		y := Compare(certified(side(u2, b)), side(u1, a)).Rows[0]
		if !x.Change.Equal(y.Change.Neg()) || x.Larger != y.Larger || !x.Explained.Equal(*y.Explained) {
			t.Errorf("%+v and %+v", x, y)
		}
	})
}

// TestLimitsAreThoseOfTheRecord: at least and between too.
func TestLimitsAreThoseOfTheRecord(t *testing.T) {
	for _, test := range []struct {
		name    string
		working judge.Working
		now     string
		margin  string
		within  bool
	}{
		{"at most, met exactly", judge.Working{Bound: "at_most", Limit: dec("0.84")}, "0.84", "0.00", true},
		{"at most", judge.Working{Bound: "at_most", Limit: dec("0.84")}, "0.85", "-0.01", false},
		{"at least", judge.Working{Bound: "at_least", Limit: dec("35")}, "34.2", "-0.8", false},
		{"between, too low", judge.Working{Bound: "between", Limit: dec("10"), Lower: ptr("3")}, "2.5", "-0.5", false},
		{"between", judge.Working{Bound: "between", Limit: dec("10"), Lower: ptr("3")}, "4", "1", true},
	} {
		t.Run(test.name, func(t *testing.T) {
			c := certified(side("0.12", "0.44"))
			c.Findings = []judge.Finding{{Matter: &judge.Matter{Kind: judge.KindLimit, Quantity: record.InsertionLoss, WavelengthNM: 1310, Direction: record.AB}, Working: &test.working}}
			got := Compare(c, side("0.12", test.now)).Rows[0]
			if l := got.Tightest(); l == nil || l.Margin.String() != test.margin || l.Within != test.within {
				t.Errorf("got %+v, want margin %s, within %v", l, test.margin, test.within)
			}
		})
	}
}

// TestTheLimitThatIsMeant: a sentence names the limit that it is about, though
// another may be nearer, and both sides of one that has two.
func TestTheLimitThatIsMeant(t *testing.T) {
	working := func(set, bound, limit string, lower *quantity.Decimal) *judge.Working {
		return &judge.Working{SetID: set, Standard: set, Bound: bound, Limit: dec(limit), Lower: lower}
	}
	for _, test := range []struct {
		name, then, now string
		workings        []*judge.Working
		want            string
	}{
		{"another is nearer now", "2.90", "1.00", []*judge.Working{working("Near", "at_least", "0.95", nil), working("Missed", "at_most", "2.00", nil)},
			"A limit that was not met is met now. 1310 nm, A to B: 1.00 dB now; Missed allows 2.00 dB or less."},
		{"too little of two sides", "5.00", "2.50", []*judge.Working{working("Both", "between", "10", ptr("3"))},
			"The limit on record is no longer met. 1310 nm, A to B: 2.50 dB now; Both allows 3.00 to 10.00 dB."},
		{"at least", "5.00", "2.50", []*judge.Working{working("Least", "at_least", "3", nil)},
			"The limit on record is no longer met. 1310 nm, A to B: 2.50 dB now; Least allows 3.00 dB or more."},
	} {
		c := certified(side("0.12", test.then))
		c.Findings = nil
		for _, w := range test.workings {
			c.Findings = append(c.Findings, judge.Finding{Matter: &judge.Matter{Kind: judge.KindLimit, Quantity: record.InsertionLoss, WavelengthNM: 1310, Direction: record.AB}, Working: w})
		}
		if text := said(Compare(c, side("0.12", test.now)).Conclusion...); !strings.Contains(text, test.want) {
			t.Errorf("%s:\n%s\nwant %q", test.name, text, test.want)
		}
	}
}

// TestNothingDecided: without a single uncertainty nothing is said of a change,
// whatever was measured.
func TestNothingDecided(t *testing.T) {
	reflectance := func(value string) Side {
		s := side("0.12")
		s.Readings = []record.Reading{{Link: "A-12", Quantity: record.Reflectance, WavelengthNM: 1310, Direction: record.AB, Value: dec(value), Instrument: "PM-9"}}
		return s
	}
	c := certified(reflectance("-52.0"))
	c.Job.Policy.RetestChange = ptr("0.10")
	got := Compare(c, reflectance("-20.0"))
	if want := []string{"retest.undecided", "retest.no-cause"}; got.Outcome != Undecided || !slices.Equal(codes(got.Conclusion), want) {
		t.Errorf("%s, %q; want %s, %q", got.Outcome, codes(got.Conclusion), Undecided, want)
	}
}

// TestForPrograms: JSON has every statement with its code and its text, and the
// comparison itself stays as it was.
func TestForPrograms(t *testing.T) {
	now := side("0.12", "0.98", "1.02")
	now.Instruments[0].Due = record.NewDate(2031, 2, 3)
	now.Readings[0].Time = time.Date(2031, 2, 4, 10, 0, 0, 0, time.UTC)
	c := Compare(certified(side("0.12", "0.44", "0.52", "0.38")), now)
	b, err := json.Marshal(c.Told(english().Told))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		`{"code":"retest.higher","args":{"subject":{"quantity":"insertion_loss","nm":1310,"way":"A-B"},"now":"0.98","then":"0.44","by":"0.54","explained":"0.17"},"text":"1310 nm, A to B: 0.98 dB now`,
		`"questions":[{"code":"calibration.overdue","args":{"instrument":"PM-9"`,
		`"advice":[{"code":"retest.advice.alike","text":"The loss rose`,
		`"not_compared":{"code":"retest.not-again","text":"not measured again"}`,
	} {
		if !strings.Contains(string(b), want) {
			t.Errorf("no %s in\n%s", want, b)
		}
	}
	if strings.Count(string(b), `"not_compared"`) != 1 || c.Conclusion[0].Text != "" || c.Rows[len(c.Rows)-1].NotCompared.Text != "" {
		t.Errorf("not as it was: %s", b)
	}
	var back Comparison
	if err := json.Unmarshal(b, &back); err != nil || said(back.Conclusion...) != said(c.Conclusion...) {
		t.Errorf("%v: read back it says\n%s", err, said(back.Conclusion...))
	}
}

// TestTolerance: only the project's own, and exactly.
func TestTolerance(t *testing.T) {
	c := certified(side("0.12", "0.44"))
	c.Job.Policy.RetestChange = ptr("0.10")
	for now, want := range map[string]Outcome{"0.54": NoChange, "0.545": Changed, "0.33": Changed} {
		if got := Compare(c, side("0.12", now)); got.Outcome != want {
			t.Errorf("%s: %s, want %s; %q", now, got.Outcome, want, said(got.Conclusion...))
		}
	}
}

func TestParseRecord(t *testing.T) {
	for _, test := range []struct{ name, data, want string }{
		{"not JSON", "{", "not one that can be read"},
		{"another form", `{"format":"spanseal-record/3"}`, `"spanseal-record/3", and only`},
		{"a specimen", `{"format":"spanseal-record/1","specimen":true}`, "invented"},
		{"no link", `{"format":"spanseal-record/1"}`, "names no link"},
		{"a working that is not there", `{"format":"spanseal-record/1","findings":[{},{"working":1}]}`, "finding 2 of the record: there is no working 1"},
		{"a working before the first", `{"format":"spanseal-record/1","findings":[{"working":-1}]}`, "there is no working -1"},
		{"a reading that is not there", `{"format":"spanseal-record/1","readings":[{}],"cited":[{}],"findings":[{"readings":[1,2,3]}]}`, "there is no reading 3"},
		{"a reading before the first", `{"format":"spanseal-record/1","readings":[{}],"findings":[{"readings":[0]}]}`, "there is no reading 0"},
		{"an unknown verdict", `{"format":"spanseal-record/1","verdict":"good"}`, `"good" is not a verdict`},
	} {
		if _, err := ParseRecord([]byte(test.data)); err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: %v, want %q", test.name, err, test.want)
		}
	}
}

func FuzzParseRecord(f *testing.F) {
	f.Add([]byte(`{"format":"spanseal-record/1","certificate":"J/L","verdict":"pass","link":{"id":"L"},"readings":[{"quantity":"insertion_loss","wavelength_nm":1310,"direction":"A-B","value":"0.44"}],"workings":[{"limit":"2.2","bound":"at_most"}],"findings":[{"kind":"limit","quantity":"insertion_loss","wavelength_nm":1310,"direction":"A-B","working":1,"readings":[1]}]}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		if c, err := ParseRecord(data); err == nil {
			Compare(c, side("0.12", "0.84", "0.93", "0.79", "0.86"))
		}
	})
}

// judged fills in what a certificate's findings say of its readings.
func judged(c *Certified) *Certified {
	then := measured(&Side{Readings: c.Readings})
	for i := range c.Findings {
		f := &c.Findings[i]
		if r, ok := then[key{f.Quantity, f.WavelengthNM, f.Direction, ""}]; ok {
			margin := f.Working.Limit.Sub(r.value)
			f.Measured, f.Limit, f.Margin = &r.value, &f.Working.Limit, &margin
		}
	}
	return c
}

// TestDigitsOfTheCertificate: what was certified is printed as the certificate
// prints it, the half digit of a mean too.
func TestDigitsOfTheCertificate(t *testing.T) {
	for _, test := range []struct {
		name                                string
		then, now                           []string
		mean, is, change, limit, marginOfIs string // of the mean at 1310 nm
	}{
		{"half digit then", []string{"0.56", "0.63"}, []string{"0.58", "0.66"}, "0.595", "0.620", "0.025", "2.225", "1.605"},
		{"whole digits", []string{"0.56", "0.62"}, []string{"0.60", "0.66"}, "0.59", "0.63", "0.04", "2.22", "1.59"},
		{"half digit now", []string{"0.56", "0.62"}, []string{"0.60", "0.65"}, "0.590", "0.625", "0.035", "2.225", "1.600"},
	} {
		r := &Compare(judged(certified(side("0.12", test.then...))), side("0.12", test.now...)).Rows[2]
		l := r.Tightest()
		p, q := r.Places(), r.LimitPlaces(l)
		got := []string{r.Then.Fixed(p), r.Now.Fixed(p), r.Change.Fixed(p), l.Limit.Fixed(q), l.Margin.Fixed(q)}
		if diff := cmp.Diff([]string{test.mean, test.is, test.change, test.limit, test.marginOfIs}, got); diff != "" {
			t.Errorf("%s: %s", test.name, diff)
		}
	}
}

// TestRowsSubtract: whoever subtracts on paper finds the change and the margin
// that stand there, and then has the digits that its finding asks for.
func TestRowsSubtract(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := func(name string, most int) string {
			return quantity.Scaled(int64(rapid.IntRange(0, 40000).Draw(t, name)), 4).Round(rapid.IntRange(1, most).Draw(t, name+" places")).String()
		}
		c := certified(side("0.12", n("a", 4), n("b", 4)))
		for i := range c.Findings {
			c.Findings[i].Working.Limit = dec(n("limit", 4))
		}
		for _, r := range Compare(judged(c), side("0.12", n("c", 4), n("d", 4))).Rows {
			p, l := r.Places(), r.Tightest()
			if !r.Now.Round(p).Sub(r.Then.Round(p)).Equal(r.Change.Round(p)) {
				t.Errorf("%s: %s − %s is not %s", english().Subject(r.Subject()), r.Now.Fixed(p), r.Then.Fixed(p), r.Change.Fixed(p))
			}
			if q := r.LimitPlaces(l); q != p || !l.Limit.Round(q).Sub(r.Now.Round(q)).Equal(l.Margin.Round(q)) {
				t.Errorf("%s: %s − %s is not %s", english().Subject(r.Subject()), l.Limit.Fixed(q), r.Now.Fixed(p), l.Margin.Fixed(q))
			}
			f := c.Findings[slices.IndexFunc(c.Findings, func(f judge.Finding) bool { return r.judgedBy(&f) })]
			if p < f.Places(judge.PlacesOf(nil)) {
				t.Errorf("%s: %d digits, and the certificate has %d", english().Subject(r.Subject()), p, f.Places(2))
			}
		}
	})
}
