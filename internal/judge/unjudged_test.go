package judge_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// TestLedgerSaysWhich: a limit that is open or judged in part says from which end, at
// which wavelength or by whose word.
func TestLedgerSaysWhich(t *testing.T) {
	returned := func(ways ...record.Direction) func(f *record.Facts) {
		return func(f *record.Facts) {
			f.Job.Policy.Limits = []string{"iec-61755-1-return-loss-3"}
			for _, way := range ways {
				r := f.Readings[0]
				r.Quantity, r.Value, r.Direction = record.ReturnLoss, dec("50"), way
				f.Readings = append(f.Readings, r)
			}
		}
	}
	book := own(t, "own.yaml", `
id: own
title: Own
owner: test
edition: "1"
provenance: read
values:
  most: {unit: dB, rows: [{value: 1, fibre: OM4}, {value: 2, fibre: OS2, wavelength_nm: 1550}]}
limits:
  - {id: loss, quantity: insertion_loss, where: {wavelength_nm: 1310}, at_most: [{rate: most}]}
`)
	report(t, book.Add(source.New("longer.yaml", []byte(`
id: longer
title: Longer
owner: test
edition: "1"
provenance: read
values:
  most: {unit: dB, rows: [{value: 2, fibre: OS2, wavelength_nm: 1550}]}
limits:
  - {id: loss, quantity: insertion_loss, where: {wavelength_nm: 1550}, at_most: [{rate: most}]}
`))))
	report(t, book.Add(source.New("face.yaml", []byte(`
id: face
title: Face
owner: test
edition: "1"
provenance: read
limits:
  - {id: face, quantity: reflectance, at_most: -35 dB}
`))))
	report(t, book.Add(source.New("pair.yaml", []byte(`
id: pair
title: Pair
owner: test
edition: "1"
provenance: read
limits:
  - {id: any, quantity: insertion_loss, at_most: 3 dB}
  - {id: long, quantity: insertion_loss, where: {fibre: OS2}, replaces: any, at_most: 2 dB}
`))))
	for _, c := range []struct {
		name   string
		change func(f *record.Facts)
		want   string
	}{
		{"seen from A alone", returned(record.AB), "open open.end {quantity return_loss} B"},
		{"seen from B alone", returned(record.BA), "open open.end {quantity return_loss} A"},
		{"from both", returned(record.AB, record.BA), "judged"},
		{"from both, whichever is read first", returned(record.BA, record.AB), "judged"},
		{"from one end, and the rest agreed", func(f *record.Facts) {
			returned(record.AB)(f)
			f.Job.Policy.Optional = []record.Agreed{{Set: "iec-61755-1-return-loss-3", By: "the owner", Reason: "end B is theirs"}}
		}, "judged optional.agreed the owner end B is theirs"},
		{"from one end, where one is enough", func(f *record.Facts) {
			returned(record.AB)(f)
			f.Job.Policy.Require.Directions = "either"
			f.Readings = slices.DeleteFunc(f.Readings, func(r record.Reading) bool { return r.Quantity == record.InsertionLoss && r.Direction == record.BA })
		}, "judged"},
		{"replaced by what is about more attempts", func(f *record.Facts) {
			f.Job.Policy.Limits = []string{"splice-carrier"}
			f.Readings = append(f.Readings, splice(1310, record.AB, "1", "0.20"), splice(1310, record.BA, "1", "0.20"), splice(1550, record.AB, "1", "0.20"), splice(1550, record.BA, "1", "0.20"))
			f.Links[0].Splices = 1
			f.Terminations = []record.Termination{{Link: "A-12", Splice: "1", Attempts: 3, Finished: noon.Add(-2 * time.Hour)}}
		}, "not_applicable unjudged.replaced splice-after-three-attempts"},
		{"replaced by what is about this fibre", func(f *record.Facts) { f.Job.Policy.Limits = []string{"pair"} }, "not_applicable unjudged.replaced long"},
		{"where nothing is connected", func(f *record.Facts) {
			returned()(f)
			f.Links[0].MatedPairs = 0
		}, "not_applicable unjudged.no-connection"},
		{"nor has it a reflectance", func(f *record.Facts) {
			f.Job.Policy.Limits, f.Links[0].MatedPairs = []string{"face"}, 0
		}, "not_applicable unjudged.no-connection"},
		{"but a loss it has", func(f *record.Facts) {
			f.Readings, f.Links[0].MatedPairs = nil, 0
		}, "open open.unread {quantity insertion_loss}"},
		{"a figure there, and nothing measured", func(f *record.Facts) {
			f.Job.Policy.Limits, f.Job.Policy.Require.Wavelengths = []string{"longer"}, nil
			f.Readings = f.Readings[:2] // at 1310 nm alone
		}, "open open.unread-at {quantity insertion_loss} [{1550 1550}]"},
		{"no figure at the wavelength of the limit", func(f *record.Facts) {
			f.Job.Policy.Limits, f.Job.Policy.Require.Wavelengths = []string{"own"}, nil
			f.Readings = f.Readings[2:] // at 1550 nm alone
		}, "not_applicable unjudged.figure {value most} OS2"},
	} {
		f := clean()
		c.change(f)
		e := judged(t, f, book).Result(0).Ledger[0]
		got := string(e.State)
		if !e.Reason.IsZero() {
			got += " " + e.Reason.Code
			for _, a := range e.Reason.Args {
				got += fmt.Sprintf(" %v", a)
			}
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// TestIdleSetsOfOneLink: of a set that binds one link it is asked what it is for, but
// not where the link itself says that its limit is open, or nothing was measured.
func TestIdleSetsOfOneLink(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(f *record.Facts)
		want   string
	}{
		{"one limit judged, one not applicable, one open", func(f *record.Facts) {}, "splice-carrier"},
		{"nothing measured", func(f *record.Facts) { f.Readings = nil }, ""},
		{"open on both of two links", func(f *record.Facts) {
			more := f.Links[0]
			more.ID = "A-13"
			f.Links = append(f.Links, more)
		}, "splice-carrier iec-61755-1-return-loss-3"},
	} {
		f := clean()
		f.Job.Policy.Limits = []string{"tia-568.3-e", "splice-carrier", "iec-61755-1-return-loss-3"}
		c.change(f)
		var idle []string
		for _, q := range judged(t, f, builtIn(t)).Questions {
			if q.Code == "set-idle" {
				idle = append(idle, strings.Fields(said(q.Question))[0])
			}
		}
		if got := strings.Join(idle, " "); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// TestTogether: a limit about all connections is entered once in the ledger of the job:
// judged, not shown, agreed to be optional, or open and asked about.
func TestTogether(t *testing.T) {
	const set = "iec-61755-1-grade-b"
	for _, c := range []struct {
		name   string
		change func(f *record.Facts)
		want   []string // of mean and percentile
		asked  int
	}{
		{"too few to show a percentile", func(f *record.Facts) {}, []string{"mean judged", "percentile-97 open not-shown.few"}, 0},
		{"which somebody agreed to", func(f *record.Facts) {
			f.Job.Policy.Optional = append(f.Job.Policy.Optional, record.Agreed{Set: set, Limit: "percentile-97", By: "the owner", Reason: "few links"})
		}, []string{"mean judged", "percentile-97 optional optional.agreed"}, 0},
		{"named twice", func(f *record.Facts) { f.Job.Policy.Limits = append(f.Job.Policy.Limits, set) }, []string{"mean judged", "percentile-97 open not-shown.few"}, 0},
		{"nothing measured", func(f *record.Facts) { f.Readings = nil }, []string{"mean open open.unread", "percentile-97 open open.unread"}, 0},
		{"a length alone", func(f *record.Facts) {
			r := f.Readings[0]
			r.Quantity, r.Value, r.WavelengthNM, r.Direction = record.Length, dec("312"), 0, record.NoWay
			f.Readings = []record.Reading{r}
		}, []string{"mean open open.unread", "percentile-97 open open.unread"}, 2},
	} {
		f := several(1, "0.05", "0.06")
		f.Job.Policy.Limits = append(f.Job.Policy.Limits, set)
		c.change(f)
		j := judged(t, f, builtIn(t))
		var got []string
		for _, e := range j.Together {
			got = append(got, strings.TrimSpace(fmt.Sprintf("%s %s %s", e.Limit, e.State, e.Reason.Code)))
		}
		if diff := cmp.Diff(c.want, got); diff != "" {
			t.Errorf("%s: - want + got\n%s", c.name, diff)
		}
		tally := j.Ledger[slices.IndexFunc(j.Ledger, func(s judge.SetTally) bool { return s.Set == set })]
		if n := tally.Judged + tally.Open + tally.Optional + tally.NotApplicable; n != 2 {
			t.Errorf("%s: two limits count as %d: %+v", c.name, n, tally)
		}
		asked := 0
		for _, q := range j.Questions {
			if q.Code == "not-judged" {
				asked++
			}
		}
		if asked != c.asked {
			t.Errorf("%s: %d are asked about, want %d", c.name, asked, c.asked)
		}
	}
}

// TestUnrecordedEnd: what is asked about is the end that has no record.
func TestUnrecordedEnd(t *testing.T) {
	for _, c := range []struct{ on, want string }{{"", "A B"}, {"A", "B"}, {"B", "A"}, {"A B", ""}} {
		f := clean()
		f.Job.Policy.EstimateAtMost = ptr("0.1")
		for _, end := range strings.Fields(c.on) {
			f.Terminations = append(f.Terminations, record.Termination{Link: "A-12", End: end, Estimate: ptr("0.02"), Finished: noon.Add(-2 * time.Hour)})
		}
		var ends []string
		for _, x := range judged(t, f, builtIn(t)).Result(0).Findings {
			if x.Code == "no-termination" {
				if x.Kind != judge.KindEstimate || x.End != fmt.Sprint(x.Question.Args[0]) {
					t.Errorf("on record %q: %s is of kind %s about end %q", c.on, x.Code, x.Kind, x.End)
				}
				ends = append(ends, fmt.Sprint(x.Question.Args[0]))
			}
		}
		if got := strings.Join(ends, " "); got != c.want {
			t.Errorf("on record %q: asked about %q, want %q", c.on, got, c.want)
		}
	}
}

// TestCarriesNotes: notes on applications stand where the link must carry one or would
// carry one, and name those alone.
func TestCarriesNotes(t *testing.T) {
	beyond := dec("30000")
	for _, c := range []struct {
		name string
		of   judge.Carries
		want string
	}{
		{"required and within", judge.Carries{Required: true, Within: true}, "application-note.cords"},
		{"required alone", judge.Carries{Required: true}, "application-note.cords"},
		{"within alone", judge.Carries{Within: true}, "application-note.cords"},
		{"neither", judge.Carries{}, ""},
		{"neither, engineered", judge.Carries{EngineeredBeyond: &beyond}, ""},
		{"within alone, engineered", judge.Carries{Within: true, EngineeredBeyond: &beyond}, "application-note.cords application-note.engineered"},
		{"required alone, engineered", judge.Carries{Required: true, EngineeredBeyond: &beyond}, "application-note.cords application-note.engineered"},
	} {
		f := clean()
		l := &judge.LinkResult{Brief: judge.Brief{Link: &f.Links[0]}, Carries: []judge.Carries{c.of}}
		var got []string
		for _, s := range judge.ApplicationNotes(&f.Job.Policy, l) {
			got = append(got, s.Code)
		}
		if text := strings.Join(got, " "); text != c.want {
			t.Errorf("%s: %q, want %q", c.name, text, c.want)
		}
	}
}

// TestBendSays: a question about a bend rounds the excess to hundredths.
func TestBendSays(t *testing.T) {
	f := clean()
	f.Links[0].Length, f.Readings[2].Value = dec("333"), dec("1.5127")
	for _, x := range judged(t, f, builtIn(t)).Result(0).Findings {
		if x.Code == "bend" {
			if got := fmt.Sprint(x.Question.Args[3]); got != "0.61" {
				t.Errorf("%q of %q", got, said(x.Question))
			}
			return
		}
	}
	t.Error("no question about a bend")
}

// TestLossRequired: a link of which a return loss alone was measured lacks its loss if
// the job requires a wavelength, be it one.
func TestLossRequired(t *testing.T) {
	for _, required := range [][]int{nil, {1310}, {1310, 1550}} {
		f := clean()
		r := f.Readings[0]
		r.Quantity, r.Value = record.ReturnLoss, dec("50")
		f.Readings, f.Job.Policy.Require.Wavelengths = []record.Reading{r}, map[record.Mode][]int{record.Singlemode: required}
		if asked := slices.Contains(questions(judged(t, f, builtIn(t))), "not-measured"); asked != (required != nil) {
			t.Errorf("with %v required: asked %t", required, asked)
		}
	}
}

// TestAgreedAboutNothing: what the job agreed to is about a set, a limit and links that
// it has.
func TestAgreedAboutNothing(t *testing.T) {
	for _, c := range []struct {
		name   string
		agreed record.Agreed
		want   string
	}{
		{"a limit of a set of the job", record.Agreed{Set: "tia-568.3-e", Limit: "link-loss"}, ""},
		{"another limit of it", record.Agreed{Set: "tia-568.3-e", Limit: "splice-loss", Links: []string{"A-12"}}, ""},
		{"a limit that it does not have", record.Agreed{Set: "tia-568.3-e", Limit: "loss"}, `judge.optional is about the limit "loss", which the set tia-568.3-e does not have`},
		{"a set that binds no link", record.Agreed{Set: "splice-carrier"}, `judge.optional is about the limit set "splice-carrier", which binds no link`},
		{"a quantity of whatever set", record.Agreed{Quantity: record.SpliceLoss, Limit: "whatever"}, ""},
		{"a link that there is not", record.Agreed{Quantity: record.SpliceLoss, Links: []string{"A-12", "A-13"}}, `judge.optional is about link "A-13", which the schedule does not have`},
	} {
		f := clean()
		c.agreed.By, c.agreed.Reason = "the owner", "a test"
		f.Job.Policy.Optional = []record.Agreed{c.agreed}
		_, problems := pure(t, f, builtIn(t))
		var got []string
		for _, p := range problems.Sorted() {
			if p.Code == "agreed-about-nothing" {
				got = append(got, p.Message)
			}
		}
		if text := strings.Join(got, "; "); text != c.want {
			t.Errorf("%s: %q, want %q", c.name, text, c.want)
		}
	}
}

// TestVerdictsAreWords: each verdict is read as it is written, and nothing else is one.
func TestVerdictsAreWords(t *testing.T) {
	for _, v := range []judge.Verdict{judge.Pass, judge.Marginal, judge.Incomplete, judge.Fail} {
		text, err := v.MarshalText()
		var back judge.Verdict
		if err != nil || back.UnmarshalText(text) != nil || back != v {
			t.Errorf("%s became %s", v, back)
		}
	}
	if v := judge.Pass; v.UnmarshalText([]byte("failed")) == nil {
		t.Error("failed is a verdict")
	}
}

// TestWrittenWhole: a judgement is written with its links and no others.
func TestWrittenWhole(t *testing.T) {
	data, err := json.Marshal(judged(t, clean(), builtIn(t)))
	var got struct {
		Links []*struct{ Verdict string }
	}
	if err != nil || json.Unmarshal(data, &got) != nil || len(got.Links) != 1 || got.Links[0] == nil || got.Links[0].Verdict != "pass" {
		t.Errorf("%v, %.200s", err, data)
	}
}

// TestReferenceTimes: where a job wants to know when a reference was taken, it wants it
// of losses: a reflectance has none.
func TestReferenceTimes(t *testing.T) {
	for _, c := range []struct {
		name  string
		of    record.Quantity
		taken bool
		asked bool
	}{
		{"a loss, and it is known", record.InsertionLoss, true, false}, {"a loss, and it is not", record.InsertionLoss, false, true},
		{"a return loss, and it is known", record.ReturnLoss, true, false}, {"a return loss, and it is not", record.ReturnLoss, false, false},
	} {
		f := clean()
		f.Job.Policy.Questions = map[string]record.Question{"no-reference-time": {Weight: "fatal"}}
		for i := range f.Readings {
			f.Readings[i].ReferenceTime = f.Readings[i].Time
		}
		r := f.Readings[0]
		if r.Quantity = c.of; c.of == record.ReturnLoss {
			r.Value = dec("50")
			f.Readings = append(f.Readings, r)
		}
		if !c.taken {
			f.Readings[len(f.Readings)-1].ReferenceTime = time.Time{}
		}
		if got := slices.Contains(questions(judged(t, f, builtIn(t))), "no-reference-time"); got != c.asked {
			t.Errorf("%s: asked %t", c.name, got)
		}
	}
}

// TestAtLeast: a limit is to be reached where it is the least, or the lower of two.
func TestAtLeast(t *testing.T) {
	for _, c := range []struct {
		name         string
		bound        string
		limit, lower *quantity.Decimal
		want         bool
	}{
		{"at most", "at_most", ptr("2"), nil, false}, {"at least", "at_least", ptr("2"), nil, true},
		{"at most, equal to some lower one", "at_most", ptr("2"), ptr("2"), false},
		{"the lower of two", "between", ptr("2"), ptr("2"), true}, {"the upper of two", "between", ptr("7"), ptr("2"), false},
		{"between, with no lower one", "between", ptr("7"), nil, false}, {"no limit", "at_least", nil, nil, false},
	} {
		f := judge.Finding{Matter: &judge.Matter{}, Working: &judge.Working{Bound: c.bound, Lower: c.lower}, Limit: c.limit}
		if got := f.AtLeast(); got != c.want {
			t.Errorf("%s: %t", c.name, got)
		}
	}
	if (&judge.Finding{Matter: &judge.Matter{}, Limit: ptr("2")}).AtLeast() {
		t.Error("without a working")
	}
}
