package limits

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"spanseal/internal/diag"
	"spanseal/internal/golden"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

func read(t testing.TB, name string) *source.File {
	t.Helper()
	raw, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return source.New(filepath.Base(name), raw)
}

// withBase is a book that holds testdata/ok/base.yaml.
func withBase(t testing.TB) *Book {
	t.Helper()
	raw := read(t, "testdata/ok/base.yaml").Raw
	b, problems := NewBook(fstest.MapFS{"base.yaml": {Data: raw}})
	if problems.Len() > 0 {
		t.Fatal(problems.Sorted())
	}
	return b
}

// TestRefused reads every set of testdata/err and compares all problems, as a
// person sees them, with the golden file beside it.
func TestRefused(t *testing.T) {
	names, err := filepath.Glob("testdata/err/*.yaml")
	if err != nil || len(names) < 20 {
		t.Fatal("no corpus", err)
	}
	for _, name := range names {
		t.Run(strings.TrimSuffix(filepath.Base(name), ".yaml"), func(t *testing.T) {
			book := withBase(t)
			problems := book.Add(read(t, name))
			if problems.Errors() == 0 || len(book.All()) != 1 {
				t.Fatalf("not refused: %d sets", len(book.All()))
			}
			var got bytes.Buffer
			if err := problems.Write(&got, nil); err != nil {
				t.Fatal(err)
			}
			golden.Compare(t, strings.TrimSuffix(name, ".yaml")+".txt", got.String())
		})
	}
}

// TestRead: everything a set may say arrives.
func TestRead(t *testing.T) {
	s, problems := Parse(read(t, "testdata/ok/base.yaml"))
	if problems.Len() > 0 {
		t.Fatal(problems.Sorted())
	}
	dec := func(s string) *quantity.Decimal { d := quantity.Must(s); return &d }
	want := &Value{
		Group: "cable", Set: "base", Number: *dec("0.40"), Unit: quantity.DBPerKm,
		Where: Selector{
			Fibre: []string{"OS2", "os1a"}, Mode: record.Singlemode, Wavelengths: []Range{{1310, 1310}, {1530, 1565}, {1610, 1 << 30}},
			Connector: []string{"LC"}, Polish: []string{"UPC", "APC"}, TestCords: record.StandardCords, Reference: []record.ReferenceMethod{record.OneCord, record.TwoCord},
			Length: &Span{dec("0.5"), dec("2000")}, MatedPairs: []Range{{2, 1 << 30}}, Splices: []Range{{0, 8}}, Reflections: []Range{{0, 3}},
		},
		Clause: "2", Provenance: Quoted, Low: true, Source: "another page", Line: 19,
	}
	equal := cmp.Comparer(func(x, y quantity.Decimal) bool { return x.String() == y.String() })
	if diff := cmp.Diff(want, s.Groups[0].Rows[0], equal); diff != "" {
		t.Error(diff)
	}
	if v := s.Groups[0].Rows[1]; v.Clause != "1" || v.Provenance != Recalled || v.Source != "a page" || v.Low {
		t.Errorf("defaults did not pass down: %+v", v)
	}
	loss := s.Limits[0]
	if diff := cmp.Diff(Limit{
		ID: "loss", Set: s, Title: "loss of the link", Quantity: record.InsertionLoss, Of: record.InsertionLoss, Where: Selector{Mode: record.Singlemode},
		AtMost: []Term{{Rates: []string{"cable"}, Amount: LengthKm}, {Rates: []string{"splice", "mated_pair"}, Amount: EndPairs}, {Rates: []string{"splice"}, Amount: One}},
		Over:   []Band{{dec("0.5"), "clean", "3"}, {nil, "reject", ""}},
	}, loss, equal, cmpopts.IgnoreUnexported(Limit{}), cmpopts.IgnoreFields(Limit{}, "Set")); diff != "" {
		t.Error(diff)
	}
	if p := s.Limits[2].Percentile; p.String() != "97" {
		t.Errorf("percentile %s", p)
	}
	if own, _ := Parse(read(t, "testdata/ok/owner.yaml")); own.Standard != "Port Ansel Council" {
		t.Errorf("an owner's figures are by %q", own.Standard)
	}
	if got := fmt.Sprint(loss.Bound(), " ", s.Limits[1].Bound(), " ", (&Limit{AtLeast: []Term{{}}}).Bound()); got != "at_most between at_least" {
		t.Error(got)
	}
	if !cmp.Equal(s.Conflicts, []string{"one", "two"}) || !cmp.Equal(s.Notes, []string{"one note alone"}) || s.CountAbove.String() != "-55" {
		t.Errorf("%+v", s)
	}
}

// TestExtends: own rows are tried before the base's, own limits replace those
// of the same id, and the base stays as it was, in whatever order files come.
func TestExtends(t *testing.T) {
	further := source.New("further.yaml", []byte("id: further\ntitle: t\nowner: o\nedition: \"1\"\nprovenance: read\nextends: port-ansel\nvalues:\n  splice: 0.1 dB\nlimits:\n  - {id: range, quantity: length, at_most: 90 m}\n"))
	b := withBase(t)
	if problems := b.Add(further, read(t, "testdata/ok/owner.yaml")); problems.Len() > 0 {
		t.Fatal(problems.Sorted())
	}
	s, ok := b.Find("further")
	if !ok || s.Base.ID != "port-ansel" || s.Base.Base.ID != "base" {
		t.Fatal("not joined")
	}
	if base, _ := b.Find("base"); !base.BuiltIn || s.BuiltIn || s.Kind != Cabling {
		t.Errorf("built in: %v and %v; a set that names no kind is of kind %s", base.BuiltIn, s.BuiltIn, s.Kind)
	}
	var groups []string
	for _, g := range s.Groups {
		groups = append(groups, g.Name)
	}
	if all := slices.Sorted(slices.Values(groups)); len(slices.Compact(slices.Clone(all))) != len(all) {
		t.Errorf("a value stands twice: %v", groups)
	}
	at := &Situation{Fibre: "os2", Mode: record.Singlemode, LengthM: quantity.Int(50)}
	for name, want := range map[string]string{"cable": "0.35", "mated_pair": "0.3", "splice": "0.1"} {
		if v := s.Value(name, at); v == nil || v.Number.String() != want {
			t.Errorf("%s: %+v, want %s", name, v, want)
		}
	}
	at.Fibre, at.Mode = "OM1", record.Multimode
	if v := s.Value("cable", at); v == nil || v.Number.String() != "3.5" || v.Set != "base" {
		t.Errorf("base's row: %+v", v)
	}
	var ids []string
	for _, l := range s.Limits {
		ids = append(ids, l.ID)
		if l.Set != s {
			t.Errorf("%s binds for %s", l.ID, l.Set.ID)
		}
	}
	if got := fmt.Sprint(ids); got != "[range short-link loss p97]" {
		t.Error(got)
	}
	base, _ := b.Find("base")
	for metres, want := range map[int][]bool{100: {true, false, true}, 101: {false, true, true}} {
		at.Mode, at.LengthM = record.Singlemode, quantity.Int(metres)
		if got := []bool{s.Limits[1].Applies(at), s.Limits[2].Applies(at), base.Limits[0].Applies(at)}; !slices.Equal(got, want) {
			t.Errorf("%d m: %v, want %v", metres, got, want)
		}
	}
	if v := base.Value("mated_pair", at); v.Number.String() != "0.75" || len(base.Limits) != 3 {
		t.Error("the base was changed")
	}
	if s.CountAbove == nil || s.CountAbove.String() != "-55" {
		t.Errorf("counts reflections above %v, its base above -55 dB", s.CountAbove)
	}
	if near := b.Near("port-ansle"); near != "port-ansel" {
		t.Errorf("near %q", near)
	}
	if all := b.All(); len(all) != 3 || all[0].ID != "base" || all[1].ID != "further" {
		t.Error("not sorted")
	}
}

// TestNothingToBind: figures for planning, and constants, need no limits.
func TestNothingToBind(t *testing.T) {
	for kind, want := range map[Kind]int{Planning: 0, Constants: 0, Fibre: 1, Cabling: 1} {
		_, problems := Parse(source.New("own.yaml", []byte("id: own\nkind: "+string(kind)+"\ntitle: t\nowner: o\nedition: e\nprovenance: read\nvalues:\n  splice: 0.1 dB\n")))
		if problems.Errors() != want {
			t.Errorf("%s: %v", kind, problems.Sorted())
		}
	}
}

// TestLarge: a file beyond 1 MB is not parsed.
func TestLarge(t *testing.T) {
	s, problems := Parse(source.New("own.yaml", bytes.Repeat([]byte("a: [\n"), 1<<20/5+1)))
	if all := problems.Sorted(); s != nil || len(all) != 1 || all[0].Code != "too-large" {
		t.Errorf("%v", all)
	}
}

// TestPlanningBindsNothing: figures for planning are no base of limits, and the set that
// extends them is left out.
func TestPlanningBindsNothing(t *testing.T) {
	const head = "title: t\nowner: o\nedition: e\nprovenance: read\n"
	b := withBase(t)
	problems := b.Add(source.New("plan.yaml", []byte("id: plan\nkind: planning\n"+head+"values:\n  splice: 0.1 dB\n")),
		source.New("own.yaml", []byte("id: own\nextends: plan\n"+head+"limits:\n  - {id: splice, quantity: splice_loss, at_most: [{rate: splise}]}\n"))) // of what it says itself nothing more
	if all := problems.Sorted(); len(all) != 1 || all[0].Code != "binds-nothing" || all[0].Place.String() != "own.yaml:2:1" {
		t.Errorf("%v", all)
	}
	if _, known := b.Find("own"); known {
		t.Error("it is known nevertheless")
	}
}

// TestUnreadableBook: a file that cannot be read is one problem, and the rest is of use.
func TestUnreadableBook(t *testing.T) {
	b, problems := NewBook(fstest.MapFS{"base.yaml": {Data: read(t, "testdata/ok/base.yaml").Raw}, "more.yaml/x": {}})
	if all := problems.Sorted(); len(all) != 1 || all[0].Code != "unreadable" || all[0].Place.File != "more.yaml" || len(b.All()) != 1 {
		t.Errorf("%v, %d sets", all, len(b.All()))
	}
}

// TestConfirmations: what was written is read again; a changed file or a base
// that nobody confirmed leaves a set unconfirmed.
func TestConfirmations(t *testing.T) {
	b := withBase(t)
	if problems := b.Add(read(t, "testdata/ok/owner.yaml")); problems.Len() > 0 {
		t.Fatal(problems.Sorted())
	}
	own, _ := b.Find("port-ansel")
	base, _ := b.Find("base")
	said := []Confirmation{
		{Set: "port-ansel", SHA256: own.SHA256, By: `R. "Rob" Lindqvist`, On: record.NewDate(2026, 11, 20), Note: "copy: no. 7"},
		{Set: "base", SHA256: strings.Repeat("0", 64), By: "M. Okafor", On: record.NewDate(2026, 11, 21)},
	}
	back, problems := ParseConfirmations(source.New("confirmed.yaml", FormatConfirmations(said)))
	if problems.Len() > 0 {
		t.Fatal(problems.Sorted())
	}
	if diff := cmp.Diff(said, back, cmp.Comparer(record.Date.Equal)); diff != "" {
		t.Fatal(diff)
	}
	b.Confirm(back)
	if _, ok := b.Confirmed(base); ok {
		t.Error("another file's confirmation counts")
	}
	if _, ok := b.Confirmed(own); ok {
		t.Error("confirmed without its base")
	}
	b.Confirm([]Confirmation{{Set: "base", SHA256: base.SHA256, By: "M. Okafor", On: record.NewDate(2026, 11, 21)}})
	other := withBase(t)
	other.Add(read(t, "testdata/ok/owner.yaml"))
	other.Confirm([]Confirmation{{Set: "base", SHA256: base.SHA256, By: "M. Okafor", On: record.NewDate(2026, 11, 21)}})
	if c, ok := other.Confirmed(own); !ok || c.By != "M. Okafor" {
		t.Errorf("an owner's figures need no more than their base: %v %v", c, ok)
	}
	if c, ok := b.Confirmed(own); !ok || c.String() != `R. "Rob" Lindqvist, 2026-11-20` {
		t.Errorf("%v %v", c, ok)
	}
	back, problems = ParseConfirmations(source.New("confirmed.yaml", []byte("confirmed:\n  - {set: a, sha256: 12, by: b, on: yesterday}\n  - {set: a}\n")))
	if problems.Errors() != 5 || back != nil {
		t.Errorf("%v, %v", problems.Sorted(), back)
	}
}

// TestCaseFaults: a file of tests is read as strictly as a set.
func TestCaseFaults(t *testing.T) {
	for text, want := range map[string]int{
		"tests: []\n":                        0,
		"tests:\n  - {name: n}\n":            1, // no more of a test that lacks a key
		"set: a\n":                           1,
		"set: a\nlink: {mated_pairs: two}\n": 1, // nor of a file
		"set: a\ntests:\n  - {name: n, expect: [{quantity: insertion_loss, limit: 1}]}\n":                                                          0,
		"tests:\n  - {name: n, expect: [{quantity: insertion_loss, limit: 1}]}\n":                                                                  1,
		"set: a\nlink: {mated_pairs: two, spliced_ends: -1}\ntests:\n  - {name: n, expect: [{quantity: loss, measured: 1}, {quantity: length}]}\n": 5,
	} {
		if _, problems := ParseCases(source.New("tests.yaml", []byte(text))); problems.Errors() != want {
			t.Errorf("%q: %v, want %d", text, problems.Sorted(), want)
		}
	}
}

// TestSplicedEnds: a test of limits says how many ends are spliced on.
func TestSplicedEnds(t *testing.T) {
	for n, want := range [][2]bool{{false, false}, {true, false}, {true, true}} {
		text := fmt.Sprintf("set: a\ntests:\n  - {name: n, link: {spliced_ends: %d}, expect: [{quantity: insertion_loss, limit: 1}]}\n", n)
		cases, problems := ParseCases(source.New("tests.yaml", []byte(text)))
		if problems.Len() > 0 {
			t.Fatal(problems.Sorted())
		}
		l := cases[0].Link
		if got := [2]bool{l.EndA.SplicedOn, l.EndB.SplicedOn}; got != want {
			t.Errorf("spliced_ends %d: %v, want %v", n, got, want)
		}
	}
}

// TestCaseLink: what a test says of its link arrives, and what it leaves out stays as
// the file has it.
func TestCaseLink(t *testing.T) {
	text := "set: a\nlink: {fibre: OM4, mode: multimode, length_m: 88, mated_pairs: 2, connector: LC, polish: PC}\n" +
		"tests:\n  - {name: n, link: {mode: singlemode, fibre: OS2, polish: APC}, expect: [{quantity: insertion_loss, limit: 1}]}\n"
	cases, problems := ParseCases(source.New("tests.yaml", []byte(text)))
	if problems.Len() > 0 {
		t.Fatal(problems.Sorted())
	}
	end := record.End{Connector: "LC", Polish: "APC"}
	l := cases[0].Link
	if l.Fibre != "OS2" || l.Mode != record.Singlemode || l.Length.Short() != "88" || l.MatedPairs != 2 || l.EndA != end || l.EndB != end {
		t.Errorf("%+v", l)
	}
}

// TestCases: all that a file of tests may say arrives, of all tests or of one; an
// expectation of several wavelengths is several.
func TestCases(t *testing.T) {
	cases, problems := ParseCases(source.New("tests.yaml", []byte(`set: a
reference: one-cord
test_cords: standard
reflectance: required
tests:
  - name: as the file has it
    expect:
      - {quantity: insertion_loss, id: loss, wavelength_nm: [1310, 1550], limit: 2.1, lower: 0.1}
      - {quantity: length, none: true}
  - name: otherwise
    set: b
    reference: two-cord
    test_cords: reference-grade
    reflectance: optional
    link: {length_m: 88, mated_pairs: 3, splices: 10000, attempts: 2}
    expect:
      - {quantity: splice_loss, wavelength_nm: 1310, measured: 0.2, margin: -0.1, verdict: fail}
      - {quantity: splice_loss, ledger: open, reason: open.splices}
`)))
	if problems.Len() > 0 {
		t.Fatal(problems.Sorted())
	}
	dec := func(s string) *quantity.Decimal { d := quantity.Must(s); return &d }
	loss := Expectation{Line: 8, Quantity: record.InsertionLoss, LimitID: "loss", WavelengthNM: 1310, Limit: dec("2.1"), Lower: dec("0.1")}
	other := loss
	other.WavelengthNM = 1550
	want := []Case{{
		File: "tests.yaml", Line: 6, Set: "a", Name: "as the file has it", Link: record.Link{ID: "test"},
		Reference: record.OneCord, TestCords: record.StandardCords, Reflectance: "required",
		Expect: []Expectation{loss, other, {Line: 9, Quantity: record.Length, None: true}},
	}, {
		File: "tests.yaml", Line: 10, Set: "b", Name: "otherwise", Link: record.Link{ID: "test", Length: *dec("88"), MatedPairs: 3, Splices: 10_000},
		Reference: record.TwoCord, TestCords: record.ReferenceCords, Reflectance: "optional", Attempts: 2,
		Expect: []Expectation{{Line: 17, Quantity: record.SpliceLoss, WavelengthNM: 1310, Measured: dec("0.2"), Margin: dec("-0.1"), Verdict: "fail"},
			{Line: 18, Quantity: record.SpliceLoss, Ledger: "open", Reason: "open.splices"}},
	}}
	if diff := cmp.Diff(want, cases, cmp.Comparer(func(x, y quantity.Decimal) bool { return x.String() == y.String() })); diff != "" {
		t.Error(diff)
	}
}

// TestExpectations: what an expectation may not say together, or leaves out, is a fault,
// and of a file with one no test is tried.
func TestExpectations(t *testing.T) {
	for says, want := range map[string]string{
		"{quantity: length}":                                            "an expectation needs limit, measured, ledger or none: true",
		"{quantity: length, measured: 80}":                              "an expectation has no \"verdict\"",
		"{quantity: length, limit: 90, reason: open.length}":            "a state of the ledger is expected by itself, and a reason only of one",
		"{quantity: length, limit: 90, ledger: open}":                   "a state of the ledger is expected by itself, and a reason only of one",
		"{quantity: length, none: true, ledger: open}":                  "a state of the ledger is expected by itself, and a reason only of one",
		"{quantity: length, measured: 80, ledger: judged}":              "",
		"{quantity: length, measured: 80, verdict: pass}":               "",
		"{quantity: length, none: true}":                                "",
		"{quantity: length, ledger: open}":                              "",
		"{quantity: length, limit: 90}":                                 "",
		"{quantity: length, limit: 90, measured: 80, verdict: pass}":    "",
		"{quantity: length, ledger: optional, reason: agreed.optional}": "",
	} {
		cases, problems := ParseCases(source.New("tests.yaml", []byte("set: a\ntests:\n  - {name: n, expect: ["+says+"]}\n")))
		var got string
		for _, p := range problems.Sorted() {
			got += p.Message
		}
		if got != want || (cases == nil) != (want != "") {
			t.Errorf("%s: %q and %d tests, want %q", says, got, len(cases), want)
		}
	}
	for n, ok := range map[string]bool{"0": true, "10000": true, "10001": false, "-1": false, "two": false} {
		_, problems := ParseCases(source.New("tests.yaml", []byte("set: a\nlink: {splices: "+n+"}\ntests: []\n")))
		if (problems.Errors() == 0) != ok {
			t.Errorf("%s splices: %v", n, problems.Sorted())
		}
	}
}

// TestUnknown: a mistyped id is told with the one that it is nearest to, and any other
// with the command that lists them.
func TestUnknown(t *testing.T) {
	b := withBase(t)
	for id, fix := range map[string]string{
		"bsae":          "did you mean \"base\"? spanseal limits list names them all",
		"harbour-rules": "run spanseal limits list for the ids that are known",
	} {
		p := b.Unknown("limit set", id, diag.Place{File: "job.yaml", Line: 3})
		if p.Fix != fix || p.Message != fmt.Sprintf("limit set %q is not known", id) || p.Place.Line != 3 {
			t.Errorf("%+v, want %q", p, fix)
		}
	}
}

// TestMilliwatts: a group in mW is one in dBm once it is read, as its rows are.
func TestMilliwatts(t *testing.T) {
	s, problems := Parse(source.New("own.yaml", []byte("id: own\ntitle: t\nowner: o\nedition: e\nprovenance: read\nvalues:\n  weakest: {unit: mW, value: 0.01}\n  launched: {unit: dBm, value: -3}\n  ageing: {unit: dB, value: 2}\n  glass: {unit: \"1\", value: 1.468}\nlimits:\n  - {id: power-budget, quantity: insertion_loss, budget: {launch: launched, sensitivity: weakest, margin: ageing}}\n")))
	if problems.Len() > 0 {
		t.Fatal(problems.Sorted())
	}
	want := map[string]quantity.Unit{"weakest": quantity.DBm, "launched": quantity.DBm, "ageing": quantity.DB, "glass": quantity.One}
	for _, g := range s.Groups {
		// A plain number is written "1", and its rows have no unit.
		if g.Rows[0].Unit != want[g.Name] || g.Unit != want[g.Name] && g.Name != "glass" {
			t.Errorf("%s is in %s, its row in %s", g.Name, g.Unit, g.Rows[0].Unit)
		}
	}
	if len(s.Groups) != len(want) {
		t.Errorf("%d groups", len(s.Groups))
	}
}

// FuzzParse: no input makes the parsers fail in any other way than by problems
// that lie in the file.
func FuzzParse(f *testing.F) {
	for _, glob := range []string{"testdata/*/*.yaml", "../../templates/limits/tia-568.3-e.yaml", "../../templates/limits/tests/tia-568.3-e.yaml"} {
		names, _ := filepath.Glob(glob)
		for _, name := range names {
			f.Add(read(f, name).Raw)
		}
	}
	f.Add([]byte("a: &a [*a]\n"))
	f.Add([]byte("? {a: b}\n: c\n"))
	f.Fuzz(func(t *testing.T, raw []byte) {
		in := source.New("fuzz.yaml", raw)
		s, problems := Parse(in)
		if (s == nil) != (problems.Errors() > 0) {
			t.Fatalf("set %v, problems %v", s, problems.Sorted())
		}
		if s != nil {
			b := &Book{byID: map[string]*Set{}, byFile: map[string]*Set{}}
			b.Add(in)
			for _, l := range s.Limits {
				s.Add(l.AtMost, &Situation{MatedPairs: 3, Splices: 1, LengthM: quantity.Int(7)})
			}
		}
		_, list := ParseCases(in)
		problems.Join(list)
		_, list = ParseConfirmations(in)
		problems.Join(list)
		for _, p := range problems.Sorted() {
			if p.Place.Line > in.Lines()+1 || p.Message == "" || p.Code == "" {
				t.Fatalf("%+v", p)
			}
		}
	})
}
