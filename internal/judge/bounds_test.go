package judge_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// ownSets is a book with sets written in the test, each "id: text", beside the built-in ones.
func ownSets(t *testing.T, sets ...string) *limits.Book {
	t.Helper()
	book := newBook(t)
	for _, text := range sets {
		id, rest, _ := strings.Cut(text, ":")
		report(t, book.Add(source.New("limits/"+id+".yaml", []byte("id: "+id+"\ntitle: "+id+"\nowner: Port Ansel\nedition: '1'\nprovenance: read\n"+strings.TrimLeft(rest, " \n")))))
	}
	return book
}

// entries prints a link's ledger with the arguments of its reasons.
func entries(l *judge.LinkResult) string {
	var out []string
	for _, e := range l.Ledger {
		text := fmt.Sprintf("%s %s", e.Limit, e.State)
		if !e.Reason.IsZero() {
			text += " " + e.Reason.Code
			for _, a := range e.Reason.Args {
				text += fmt.Sprintf(" %v", a)
			}
		}
		out = append(out, text)
	}
	return strings.Join(out, "; ")
}

// codes lists the findings of a link that are questions, by code of their statement.
func codes(l *judge.LinkResult) (out []string) {
	for _, f := range l.Findings {
		if f.Asks() {
			out = append(out, f.Question.Code)
		}
	}
	return out
}

// TestAnswersAstraySay: what is wrong with an answer that stands beside no question, and
// how to mend it, in words.
func TestAnswersAstraySay(t *testing.T) {
	to := func(question string, links ...string) record.Answer {
		return record.Answer{Question: question, Links: links, Text: "So it is.", Who: "mo", Day: record.NewDate(2026, 11, 20)}
	}
	for _, c := range []struct {
		name   string
		answer record.Answer
		want   string
	}{
		{"a slip", to("bnd", "A-12"), `"bnd" is not a question; did you mean "bend"?; spanseal explain --code list names the questions`},
		{"nothing near", to("the weather", "A-12"), `"the weather" is not a question; ; spanseal explain --code list names the questions`},
		{"a code that a question does not have", to("polarity.crossed", "A-12"), `"polarity.crossed" is not a question; want polarity, polarity.unknown, polarity.other, polarity.unchecked, polarity.disagree, polarity.straight; spanseal explain --code list names the questions`},
		{"a code of a question that has none, near its name", to("bend.x", "A-12"), `"bend.x" is not a question; want bend; spanseal explain --code list names the questions`},
		{"a name that no check has, and a question goes by", to("not-measured", "A-12"), `the question "not-measured" about link A-12 is not asked; ; remove the answer, or correct its question or its link`},
		{"of a link, asked of the job", to("duplicate-rows", "A-12"), `the question "duplicate-rows" about link A-12 is not asked; ; leave out the link: the question is about the job as a whole`},
		{"of the job, asked of a link", to("calibration"), `the question "calibration" about the job as a whole is not asked; ; name the links that it is about, such as link: A-12`},
		{"of the job, asked nowhere", to("pace"), `the question "pace" about the job as a whole is not asked; ; remove the answer, or correct its question or its link`},
		{"of a link that there is not", to("calibration", "A-13"), `the question "calibration" about link A-13 is not asked; ; remove the answer, or correct its question or its link`},
		{"twice", to("calibration", "A-12", "A-12"), `the question "calibration" about link A-12 already has an answer; ; keep one of the answers`},
	} {
		f := clean()
		f.Job.Instruments[0].Due = record.NewDate(2026, 11, 2)
		f.Accounts = []record.Account{{File: "a.csv", SHA256: "1"}, {File: "b.csv", SHA256: "1"}}
		f.Job.Answers = []record.Answer{c.answer}
		var got []string
		for _, s := range judged(t, f, builtIn(t)).AnswersAstray() {
			got = append(got, s.Message+"; "+s.Want+"; "+s.Fix)
		}
		if text := strings.Join(got, "\n"); text != c.want {
			t.Errorf("%s: %s\nwant %s", c.name, text, c.want)
		}
	}
	for _, name := range []string{"not-measured", "no-limit", "not-shown", "application", "not-judged", "set-idle", "shown", "bend", "calibration.overdue"} {
		f := clean()
		f.Job.Answers = []record.Answer{to(name, "A-12")}
		if got := judged(t, f, builtIn(t)).AnswersAstray(); len(got) != 1 || got[0].Code != "answer-to-nothing" {
			t.Errorf("%s: %+v", name, got)
		}
	}
}

// TestOpenIsAsked: a limit that nothing was read for keeps the link open and is asked
// about, but for the loss of an application, and faces that are asked about already.
func TestOpenIsAsked(t *testing.T) {
	book := ownSets(t,
		"two-losses: limits: [{id: short, quantity: insertion_loss, where: {wavelength_nm: 1310}, at_most: 3 dB}, {id: long, quantity: insertion_loss, where: {wavelength_nm: 1625}, at_most: 3 dB}]",
		"orl: limits: [{id: orl, quantity: optical_return_loss, at_least: 30 dB}]",
		"system: kind: application\nlimits: [{id: loss, quantity: insertion_loss, where: {wavelength_nm: 1625}, at_most: 6 dB}, {id: orl, quantity: optical_return_loss, at_least: 30 dB}, {id: face, quantity: reflectance, at_most: -35 dB}]")
	for _, c := range []struct {
		name   string
		change func(f *record.Facts)
		want   string // the ledger
		asked  string
	}{
		{"a loss of a set", func(f *record.Facts) {
			f.Job.Policy.Limits, f.Job.Policy.Require.Wavelengths = []string{"two-losses"}, nil
		}, "short judged; long open open.unread-at {quantity insertion_loss} [{1625 1625}]", "not-judged"},
		{"an ORL of a set", func(f *record.Facts) {
			f.Job.Policy.Limits = append(f.Job.Policy.Limits, "orl")
			f.Job.Policy.Require.Reflectance = "required"
		}, "", "missing-reflectance missing-reflectance not-judged"},
		{"of an application its loss is asked about as a whole", func(f *record.Facts) {
			f.Links[0].Applications = []string{"system"}
			f.Job.Policy.Require.Reflectance = ""
		}, "", "not-judged not-judged not-judged application.loss"},
		{"and its faces, where all are, as missing", func(f *record.Facts) {
			f.Links[0].Applications = []string{"system"}
			f.Job.Policy.Require.Reflectance = "required"
		}, "", "missing-reflectance missing-reflectance not-judged application.loss"},
		{"nothing measured asks for that alone", func(f *record.Facts) {
			f.Links[0].Applications, f.Readings = []string{"system"}, nil
			f.Job.Policy.Require.Reflectance = "required"
		}, "", "not-measured"},
	} {
		f := clean()
		c.change(f)
		l := judged(t, f, book).Result(0)
		asked := codes(l)
		slices.Sort(asked)
		want := strings.Fields(c.asked)
		slices.Sort(want)
		if !slices.Equal(asked, want) || c.want != "" && entries(l) != c.want || l.Verdict != judge.Incomplete {
			t.Errorf("%s: %s, asked %q of %s", c.name, l.Verdict, asked, entries(l))
		}
	}
}

// TestLedgerOfParts: what became of limits of which a part is about the link: one of its
// ends, some of its wavelengths, some of its splices.
func TestLedgerOfParts(t *testing.T) {
	book := ownSets(t,
		"apc: limits: [{id: face, quantity: reflectance, where: {polish: APC}, at_most: -60 dB}]",
		"apc-return: limits: [{id: face, quantity: return_loss, where: {polish: APC}, at_least: 60 dB}]",
		"splice: limits: [{id: any, quantity: splice_loss, at_most: 0.1 dB}]",
		"splice-at: limits: [{id: at, quantity: splice_loss, where: {wavelength_nm: 1550}, at_most: 0.1 dB}]",
		"splice-figure: values: {s: {unit: dB, rows: [{value: 0.1, wavelength_nm: 1310}]}}\nlimits: [{id: any, quantity: splice_loss, at_most: [{rate: s}]}]",
		"by-place: limits: [{id: any, quantity: insertion_loss, at_most: 1 dB}, {id: short, quantity: insertion_loss, replaces: any, where: {wavelength_nm: 1310}, at_most: 2 dB}]")
	face := func(set, a, b string, from ...record.Direction) func(f *record.Facts) {
		return func(f *record.Facts) {
			f.Job.Policy.Limits, f.Job.Policy.Require.Reflectance = []string{set}, ""
			f.Links[0].EndA.Polish, f.Links[0].EndB.Polish = a, b
			for _, way := range from {
				f.Readings = append(f.Readings, loss(f, 1310, way, record.Reflectance, "-65"))
			}
		}
	}
	spliced := func(n int, set string, nm int, events ...string) func(f *record.Facts) {
		return func(f *record.Facts) {
			f.Job.Policy.Limits, f.Job.Policy.Optional, f.Job.Policy.Require.Wavelengths = []string{set}, nil, nil
			f.Links[0].Splices = n
			for _, event := range events {
				f.Readings = append(f.Readings, splice(nm, record.AB, event, "0.02"), splice(nm, record.BA, event, "0.04"))
			}
		}
	}
	at := func(required []int, n int) func(f *record.Facts) {
		return func(f *record.Facts) {
			f.Job.Policy.Limits, f.Job.Policy.Require.Wavelengths = []string{"by-place"}, map[record.Mode][]int{record.Singlemode: required}
			f.Readings = f.Readings[:n]
		}
	}
	for _, c := range []struct {
		name   string
		change func(f *record.Facts)
		want   string
	}{
		{"neither end has such a face", face("apc", "UPC", "UPC"), "face not_applicable unjudged.connector"},
		{"end A has", face("apc", "APC", "UPC"), "face open open.unread {quantity reflectance}"},
		{"end B has", face("apc", "UPC", "APC"), "face open open.unread {quantity reflectance}"},
		{"end B has, and A was measured", face("apc", "UPC", "APC", record.AB), "face open open.unread {quantity reflectance}"},
		{"end B has, and was measured", face("apc", "UPC", "APC", record.BA), "face judged"},
		{"both have, and A was measured", face("apc", "APC", "APC", record.AB), "face open open.end {quantity reflectance} B"},
		{"end B has, by return loss", face("apc-return", "UPC", "APC"), "face open open.unread {quantity return_loss}"},
		{"one of two splices", spliced(2, "splice", 1550, "S1"), "any open open.splices 1 {2 splice} 1550"},
		{"two of two splices", spliced(2, "splice", 1550, "S1", "S2"), "any judged"},
		{"none of two splices", spliced(2, "splice", 1550), "any open open.unread {quantity splice_loss}"},
		{"none of two splices at a wavelength", spliced(2, "splice-at", 1550), "at open open.unread-at {quantity splice_loss} [{1550 1550}]"},
		{"one of two splices at a wavelength", spliced(2, "splice-at", 1550, "S1"), "at open open.splices 1 {2 splice} 1550"},
		{"at another wavelength", spliced(1, "splice-at", 1310, "S1"), "at open open.unread-at {quantity splice_loss} [{1550 1550}]"},
		{"a splice at a wavelength for which there is a figure", spliced(1, "splice-figure", 1310, "S1"), "any judged"},
		{"a splice at another", spliced(1, "splice-figure", 1550, "S1"), "any not_applicable unjudged.figure {value s} OS2"},
		{"no splice", spliced(0, "splice", 1550), "any not_applicable unjudged.no-splice"},
		{"two wavelengths, one of them under a limit of its own", at([]int{1310, 1550}, 4), "any judged; short judged"},
		{"the wavelength under a limit of its own alone", at([]int{1310}, 2), "any not_applicable unjudged.replaced short; short judged"},
		{"the same, and none required", at(nil, 2), "any not_applicable unjudged.replaced short; short judged"},
		{"neither, and none required", at(nil, 0), "any open open.unread {quantity insertion_loss}; short open open.unread-at {quantity insertion_loss} [{1310 1310}]"},
		{"the same, and another exempt", func(f *record.Facts) {
			at([]int{1310, 1550}, 2)(f)
			f.Links[0].Terms = &record.Terms{NotAt: map[int]string{1550: "no laser"}}
		}, "any not_applicable unjudged.replaced short; short judged"},
		{"the same, and another required", at([]int{1310, 1550}, 2), "any open open.unread {quantity insertion_loss}; short judged"},
	} {
		f := clean()
		c.change(f)
		j := judged(t, f, book)
		if got := entries(j.Result(0)); got != c.want {
			t.Errorf("%s: %s, want %s", c.name, got, c.want)
		}
		if got := asked(j, "no-limit"); len(got) > 0 && strings.HasPrefix(f.Job.Policy.Limits[0], "splice") { // the ledger says so
			t.Errorf("%s: %q", c.name, got)
		}
	}
}

// TestMeansByTheirOwnLimit: a set that has a limit for means of both directions judges
// means by it alone; another holds them against that of one way, unless it is an application.
func TestMeansByTheirOwnLimit(t *testing.T) {
	book := ownSets(t,
		"own-mean: limits: [{id: loss, quantity: insertion_loss, at_most: 3 dB}, {id: mean, quantity: two_way_average, at_most: 2 dB}]",
		"mean-first: limits: [{id: mean, quantity: two_way_average, at_most: 2 dB}, {id: loss, quantity: insertion_loss, at_most: 3 dB}]",
		"one-way: limits: [{id: loss, quantity: insertion_loss, at_most: 3 dB}]",
		"system: kind: application\nlimits: [{id: loss, quantity: insertion_loss, at_most: 3 dB}]")
	for set, want := range map[string]string{"own-mean": "0.985 of 2, 0.92 of 2", "mean-first": "0.985 of 2, 0.92 of 2", "one-way": "0.985 of 3, 0.92 of 3", "system": ""} {
		f := clean()
		f.Job.Policy.Limits = []string{set}
		var got []string
		for _, text := range limitsOf(judged(t, f, book).Result(0), record.TwoWayAverage) {
			_, text, _ = strings.Cut(text, "two-way ")
			got = append(got, text)
		}
		if text := strings.Join(got, ", "); text != want {
			t.Errorf("%s: %s, want %s", set, text, want)
		}
	}
}

// TestBetween: both bounds of a limit need their figures, and both are counted as used.
func TestBetween(t *testing.T) {
	book := ownSets(t, `
between: values: {most: {unit: dB, rows: [{value: 2, wavelength_nm: [1310, 1550]}]}, least: {unit: dB, rows: [{value: 0.9, wavelength_nm: 1310}]}}
limits: [{id: loss, quantity: insertion_loss, at_most: [{rate: most}], at_least: [{rate: least}]}]`[1:])
	f := clean()
	f.Job.Policy.Limits, f.Links[0].MatedPairs, f.Links[0].EndA, f.Links[0].EndB = []string{"between"}, 3, record.End{}, record.End{}
	l := judged(t, f, book).Result(0)
	if got, want := limitsOf(l, record.InsertionLoss), []string{"1310 A-B 0.94 of 0.9", "1310 B-A 1.03 of 0.9"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	if got, want := asked(judged(t, f, book), "no-limit"), []string{"No limit applies: set between has no least figure for OS2 at 1550 nm. Which limit should apply?"}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	set, _ := book.Find("between")
	alone, used := judge.Alone(f, book)
	if len(used[set]) != 2 || alone.Verdict != l.Verdict || len(alone.Findings) != len(l.Findings) {
		t.Errorf("%d values are used, %s with %d findings alone, %s with %d in its job", len(used[set]), alone.Verdict, len(alone.Findings), l.Verdict, len(l.Findings))
	}
}

// TestAlone: a link by itself is judged as in its job, but nobody else bears on it and
// nothing is answered.
func TestAlone(t *testing.T) {
	f := clean()
	f.Job.Instruments[0].Due = record.NewDate(2026, 11, 2)
	f.Job.Answers = []record.Answer{{Question: "calibration", Links: []string{"A-12"}, Text: "So it is.", Who: "mo"}}
	copies(f, 1, func(int) string { return "A-I2" }, 0)
	l, used := judge.Alone(f, builtIn(t))
	if got := codes(l); !slices.Equal(got, []string{"calibration.overdue"}) || l.Link.ID != "A-12" || l.Findings[0].Kind != judge.KindLimit {
		t.Errorf("%s: %q", l.Link.ID, got)
	}
	for _, x := range l.Findings {
		if x.Answer != nil {
			t.Errorf("%s is answered", x.Code)
		}
	}
	tia, _ := builtIn(t).Find("tia-568.3-e")
	if len(used) != 1 || len(used[tia]) != 3 { // the cable, a mated pair, a splice
		t.Errorf("used %v", used)
	}
}

// TestConstantsOfTwoSets: the first of the link's sets that has all constants of the glass
// says what return loss is expected, once.
func TestConstantsOfTwoSets(t *testing.T) {
	glass := "kind: constants\nvalues: {backscatter: {unit: dB, value: %s}, fibre_attenuation: {unit: dB/km, value: 0.2}, group_index: {unit: '1', value: 1.468}}"
	book := ownSets(t, "first: "+fmt.Sprintf(glass, "-82"), "second: "+fmt.Sprintf(glass, "-72"))
	for _, order := range [][]string{{"first", "second"}, {"second", "first"}} {
		f := clean()
		f.Job.Policy.Limits = append(f.Job.Policy.Limits, order...)
		f.Readings = append(f.Readings, loss(f, 1550, record.AB, record.OpticalReturnLoss, "20"))
		got := judged(t, f, book).Result(0).ExpectedORL
		alone := clean()
		alone.Job.Policy.Limits = append(alone.Job.Policy.Limits, order[0])
		alone.Readings = f.Readings
		if want := judged(t, alone, book).Result(0).ExpectedORL; !slices.Equal(got, want) || len(want) != 1 {
			t.Errorf("%v: %v, want %v", order, got, want)
		}
	}
}

// TestNoSets: a job may have no limits at all. No link of it passes for that, and nothing
// is in its ledger.
func TestNoSets(t *testing.T) {
	f := clean()
	f.Job.Policy.Limits, f.Job.Policy.Optional = nil, nil
	j := judged(t, f, builtIn(t))
	if l := j.Result(0); l.Verdict != judge.Incomplete || len(l.Ledger) > 0 || len(j.Ledger) > 0 || len(j.Together) > 0 || len(j.Sets) > 0 || l.Worst != -1 {
		t.Errorf("%s, ledger %v, %v, %v", l.Verdict, l.Ledger, j.Ledger, j.Sets)
	}
}

// TestWithoutGlass: where a book has no figures of glass, no question rests on them.
func TestWithoutGlass(t *testing.T) {
	book, problems := limits.NewBook(fstest.MapFS{})
	report(t, problems)
	report(t, book.Add(source.New("own.yaml", []byte("{id: own, title: Own, owner: o, edition: '1', provenance: read, limits: [{id: loss, quantity: insertion_loss, at_most: 9 dB}]}"))))
	for _, c := range []struct{ length, loss, want string }{{"312", "3.00", "bend"}, {"10000", "1.10", "below-glass"}} {
		f := clean()
		f.Links[0].Length, f.Readings[2].Value, f.Readings[3].Value = dec(c.length), dec(c.loss), dec(c.loss)
		f.Links[0].MatedPairs, f.Job.Policy.Limits = 5, []string{"tia-568.3-e"}
		if got := questions(judged(t, f, builtIn(t))); !slices.Equal(got, []string{c.want}) {
			t.Errorf("%s m, with them: asked %q", c.length, got)
		}
		f.Job.Policy.Limits = []string{"own"}
		if got := questions(judged(t, f, book)); len(got) > 0 {
			t.Errorf("%s m: asked %q", c.length, got)
		}
	}
}

// TestBelowGlassSays: of what the glass alone loses hundredths are said: 10.01 km at the
// lowest figure of the set lowest-glass-loss.
func TestBelowGlassSays(t *testing.T) {
	f := clean()
	f.Links[0].Length = dec("10010")
	set, _ := builtIn(t).Find("lowest-glass-loss")
	rate := set.Value("cable", &limits.Situation{Fibre: "OS2", Mode: record.Singlemode, WavelengthNM: 1310}).Number
	for _, x := range judged(t, f, builtIn(t)).Result(0).Findings {
		if x.Code == "below-glass" && x.Readings[0].WavelengthNM == 1310 {
			if got, want := fmt.Sprint(x.Question.Args), fmt.Sprintf("[1310 10010 %s]", rate.Mul(dec("10.01")).Round(2)); got != want || len(x.Readings) != 2 {
				t.Errorf("%s of %d readings, want %s", got, len(x.Readings), want)
			}
			return
		}
	}
	t.Error("no question about the glass")
}

// TestFiguresOfApplications: an application that has no figure for what was measured says
// which: for the fibre, for a face, or for so many reflections.
func TestFiguresOfApplications(t *testing.T) {
	const kind = "kind: application\n"
	book := ownSets(t,
		"fibre: "+kind+"values: {most: {unit: dB, rows: [{value: 2, fibre: OM4}]}}\nlimits: [{id: loss, quantity: insertion_loss, at_most: [{rate: most}]}]",
		"face: "+kind+"values: {face: {unit: dB, rows: [{value: -35, polish: APC}]}}\nlimits: [{id: loss, quantity: insertion_loss, at_most: 6 dB}, {id: face, quantity: reflectance, at_most: [{rate: face}]}]",
		"count: "+kind+"count_reflections_above_db: -50\nvalues: {face: {unit: dB, rows: [{value: -35, reflections: 0-1}]}}\nlimits: [{id: loss, quantity: insertion_loss, at_most: 6 dB}, {id: face, quantity: reflectance, at_most: [{rate: face}]}]",
		"return: "+kind+"limits: [{id: loss, quantity: insertion_loss, at_most: 6 dB}, {id: face, quantity: return_loss, at_least: 35 dB}]")
	for _, c := range []struct {
		application, reflectance string
		want                     string // asked about the application
		within                   bool
	}{
		{"fibre", "-40", "application.no-figure-fibre [fibre {value most} OS2]", false},
		{"face", "-40", "application.no-figure [face {value face}]", false},
		{"face", "", "", true}, // nothing that it has no figure for
		{"count", "-40", "application.no-figure-count [count {value face} 2 -50]", false},
		{"count", "-55", "", true}, // one reflection less
		{"return", "-35", "", true},
		{"return", "-34.9", "", false},
	} {
		f := clean()
		if c.reflectance != "" {
			f.Readings = append(f.Readings, loss(f, 1310, record.AB, record.Reflectance, c.reflectance))
		}
		listed := slices.ContainsFunc(judged(t, f, book).Result(0).Carries, func(x judge.Carries) bool { return x.ID == c.application })
		f.Links[0].Applications = []string{c.application}
		l := judged(t, f, book).Result(0)
		got := ""
		for _, x := range l.Findings {
			if x.Code == "application" {
				got += fmt.Sprintf("%s %v", x.Question.Code, x.Question.Args)
			}
		}
		if got != c.want || l.Carries[0].Within != c.within || listed != c.within {
			t.Errorf("%s, %s dB: %q, within %t, listed %t", c.application, c.reflectance, got, l.Carries[0].Within, listed)
		}
	}
}

// TestSetsByAnyName: a set that is named by its id and by its path is one, and the ledgers
// of links under other sets are not mixed up with that of its own.
func TestSetsByAnyName(t *testing.T) {
	book := ownSets(t, "one: limits: [{id: loss, quantity: insertion_loss, at_most: 3 dB}]", "two: limits: [{id: loss, quantity: insertion_loss, at_most: 4 dB}]")
	f := clean()
	copies(f, 1, letters, 0)
	f.Job.Policy.Limits = nil
	f.Links[0].Limits, f.Links[1].Limits = []string{"one", "limits/one.yaml"}, []string{"two"}
	j := judged(t, f, book)
	for i, id := range []string{"one", "two"} {
		l := j.Result(i)
		if len(l.Ledger) != 1 || l.Ledger[0].Set != id || len(j.SetsOf(l)) != 1 || j.SetsOf(l)[0].ID != id {
			t.Errorf("%s: %+v, %v", l.Link.ID, l.Ledger, j.SetsOf(l))
		}
	}
	if want := []judge.SetTally{{Set: "one", Links: 1, Judged: 1}, {Set: "two", Links: 1, Judged: 1}}; !slices.Equal(j.Ledger, want) {
		t.Errorf("%+v", j.Ledger)
	}
}

// TestQuestionsOfALink: the questions of one link are counted like those of a job.
func TestQuestionsOfALink(t *testing.T) {
	f := clean()
	f.Job.Instruments[0].Due = record.NewDate(2026, 11, 2)
	for i := range f.Readings {
		f.Readings[i].Person = ""
	}
	f.Job.Answers = []record.Answer{{Question: "calibration", Links: []string{"A-12"}, Text: "So it is.", Who: "mo"}}
	l := judged(t, f, builtIn(t)).Result(0)
	if asked, answered := l.QuestionCounts(); asked != 2 || answered != 1 {
		t.Errorf("%d asked, %d answered", asked, answered)
	}
}

// TestSetsOfALink: a set that binds a link is listed with all that it extends, in whatever
// order they stand, and no other is.
func TestSetsOfALink(t *testing.T) {
	set := func(id, extends string) judge.SetUsed { return judge.SetUsed{ID: id, Extends: extends} }
	for _, sets := range [][]judge.SetUsed{
		{set("a", "b"), set("b", "c"), set("c", ""), set("d", "c"), set("e", "f"), set("f", "")},
		{set("f", ""), set("e", "f"), set("d", "c"), set("c", ""), set("b", "c"), set("a", "b")},
	} {
		j := &judge.Judgement{Sets: sets}
		l := &judge.LinkResult{Findings: []judge.Finding{{Working: &judge.Working{SetID: "a"}}, {}}}
		var got []string
		for _, s := range j.SetsOf(l) {
			got = append(got, s.ID)
		}
		if slices.Sort(got); !slices.Equal(got, []string{"a", "b", "c"}) {
			t.Errorf("%q", got)
		}
	}
}

// TestTheLargestIsNamed: of several bends, and of several lengths, the one is named that is
// the largest, wherever it stands.
func TestTheLargestIsNamed(t *testing.T) {
	for i, values := range [][4]string{{"0.94", "0.94", "1.50", "1.40"}, {"0.94", "0.94", "1.40", "1.50"}, {"0.94", "0.84", "1.40", "1.40"}, {"0.84", "0.94", "1.40", "1.40"}} {
		f := clean()
		for k, v := range values {
			f.Readings[k].Value = dec(v)
		}
		want := "1.5 from 0.94"
		if i > 1 {
			want = "1.4 from 0.84"
		}
		got := ""
		for _, x := range judged(t, f, builtIn(t)).Result(0).Findings {
			if x.Code == "bend" {
				got += fmt.Sprintf("%s from %s", x.Readings[1].Value.Short(), x.Readings[0].Value.Short())
			}
		}
		if got != want {
			t.Errorf("%q: %s, want %s", values, got, want)
		}
	}
	for _, lengths := range [][]string{{"1100", "1200", "1000"}, {"1200", "1100", "1000"}, {"1000", "1100", "1200"}} {
		f := clean()
		measuredLength(f, "1000", lengths...)
		if got := asked(judged(t, f, builtIn(t)), "length-difference"); len(got) != 1 || !strings.Contains(got[0], "1200") && !strings.Contains(got[0], "1,200") && !strings.Contains(got[0], "1.2") {
			t.Errorf("%q: %q", lengths, got)
		}
	}
}

// TestWhatIsMissing: a finding about a reading that is missing is of what must be there, at
// its wavelength and in its direction.
func TestWhatIsMissing(t *testing.T) {
	required := func(f *record.Facts) { f.Job.Policy.Require.Reflectance = "required" }
	for _, c := range []struct {
		name   string
		change func(f *record.Facts)
		want   string
	}{
		{"a wavelength", func(f *record.Facts) { f.Readings = f.Readings[:2] }, "missing-wavelength 1550 "},
		{"a direction", func(f *record.Facts) { f.Readings = f.Readings[:3] }, "missing-direction.way 1550 B-A"},
		{"the other", func(f *record.Facts) { f.Readings = slices.Delete(f.Readings, 2, 3) }, "missing-direction.way 1550 A-B"},
		{"both, where none is stated", func(f *record.Facts) { f.Readings = f.Readings[:3]; f.Readings[2].Direction = record.NoWay }, "missing-direction.unstated 1550 "},
		{"a reflectance of each end", required, "missing-reflectance 0 A-B, missing-reflectance 0 B-A"},
		{"a direction of a splice", func(f *record.Facts) {
			f.Links[0].Splices = 1
			f.Readings = append(f.Readings, splice(1550, record.BA, "S1", "0.02"))
		}, "missing-direction.splice 1550 B-A"},
	} {
		f := clean()
		c.change(f)
		var got []string
		for _, x := range judged(t, f, builtIn(t)).Result(0).Findings {
			if strings.HasPrefix(x.Code, "missing-") {
				got = append(got, fmt.Sprintf("%s %d %s", x.Question.Code, x.WavelengthNM, x.Direction))
				if x.Kind != judge.KindRequired || x.Verdict != judge.Incomplete || x.Probability != -1 {
					t.Errorf("%s: %s is of kind %s, %s, probability %v", c.name, x.Code, x.Kind, x.Verdict, x.Probability)
				}
			}
		}
		if text := strings.Join(got, ", "); text != c.want {
			t.Errorf("%s: %q, want %q", c.name, text, c.want)
		}
	}
}
