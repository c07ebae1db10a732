package wording_test

import (
	"maps"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"spanseal/internal/diag"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
	"spanseal/templates"
)

// load reads a language of the program.
func load(t *testing.T, language string) *wording.Wording {
	t.Helper()
	problems := &diag.List{}
	w := wording.Load(templates.Files, nil, language, problems)
	for _, p := range problems.Sorted() {
		t.Fatalf("%s: %s", p.Place, p.Message)
	}
	return w
}

// TestOwn: one text of the job's own makes a wording the job's.
func TestOwn(t *testing.T) {
	if load(t, "en").Own() {
		t.Error("the program's English is the job's own")
	}
	problems := &diag.List{}
	over := fstest.MapFS{"wording/en.yaml": {Data: []byte("locale:\n  date: YYYY-MM-DD\n")}}
	if w := wording.Load(templates.Files, over, "en", problems); problems.Len() > 0 || !w.Own() {
		t.Error("a text of the job's own is not", problems.Sorted())
	}
}

// TestEveryCode: each language says each code's example, and leaves no argument
// in braces.
func TestEveryCode(t *testing.T) {
	open := regexp.MustCompile(`\{[^}]*\}`)
	for _, language := range wording.Languages(templates.Files) {
		w := load(t, language)
		for _, e := range statement.Codes() {
			if text := w.State(statement.New(e.Code, e.Example...)); text == "" || open.MatchString(text) {
				t.Errorf("%s: %s: %q", language, e.Code, text)
			}
		}
	}
}

// TestCounted: a form follows its count.
func TestCounted(t *testing.T) {
	for language, want := range map[string][]string{
		"en": {"1 reading is not compared, for the reason given below.", "2 readings are not compared, for the reasons given below."},
		"es": {"Una lectura no se compara, por la razón que se indica abajo.", "2 lecturas no se comparan, por las razones que se indican abajo."},
	} {
		for i, want := range want {
			if got := load(t, language).State(statement.New("retest.withheld", statement.Count(i+1))); got != want {
				t.Errorf("%s: %q, want %q", language, got, want)
			}
		}
	}
}

// TestSubject names what a statement is about.
func TestSubject(t *testing.T) {
	for _, c := range []struct {
		subject statement.Subject
		en, es  string
	}{
		{statement.Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.AB}, "1310 nm, A to B", "1310 nm, de A a B"},
		{statement.Subject{Quantity: record.TwoWayAverage, NM: 1550, Way: record.TwoWay}, "1550 nm, two-way mean", "1550 nm, media de ambos sentidos"},
		{statement.Subject{Quantity: record.Reflectance, NM: 1310, End: "A"}, "reflectance, 1310 nm, end A", "reflectancia, 1310 nm, extremo A"},
		{statement.Subject{Quantity: record.SpliceLoss, NM: 1550, Way: record.BA, Event: "S2"}, "splice loss, 1550 nm, B to A, S2", "pérdida de empalme, 1550 nm, de B a A, S2"},
		{statement.Subject{Quantity: record.Length}, "length", "longitud"},
	} {
		for language, want := range map[string]string{"en": c.en, "es": c.es} {
			if got := load(t, language).Subject(c.subject); got != want {
				t.Errorf("%s: %q, want %q", language, got, want)
			}
		}
	}
	w := load(t, "es")
	s := statement.New("retest.limit.lost", statement.Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.AB}, statement.Rounded(quantity.Must("2.4"), 2), statement.Name("dB"),
		statement.New("retest.allowed.at-most", statement.Rounded(quantity.Must("2.2248"), 2), statement.Name("dB")), statement.Standard{Name: "GR-326-CORE", Edition: "Issue 4"})
	if got, want := w.State(s), "Ya no se cumple el límite registrado. 1310 nm, de A a B: 2,40 dB ahora; GR-326-CORE (edición 4) admite 2,22 dB o menos."; got != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// TestAnd: Spanish says e before i, and u before o.
func TestAnd(t *testing.T) {
	es, en := load(t, "es"), load(t, "en")
	for last, want := range map[string]string{
		"Idris": "A e Idris", "hilos": "A e hilos", "hielo": "A y hielo", "B-1": "A y B-1", "Óscar": "A y Óscar",
		"Íñigo": "A e Íñigo", "hiato": "A y hiato",
	} {
		if got := es.List([]string{"A", last}); got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	if got := en.List([]string{"A", "Idris"}); got != "A and Idris" {
		t.Errorf("got %q", got)
	}
	for second, want := range map[string]string{"850": "u", "1310": "o", "11": "u", "110": "o", "11 dB": "u", "Ocho": "u", "hora": "u", "Óscar": "u", "hielo": "o", "hiato": "o", "hioides": "o", "azul": "o"} {
		s := statement.New("application.average", statement.Name("X"), statement.Either{statement.Name("Z"), statement.Name(second)})
		if got := es.State(s); !strings.Contains(got, "Z "+want+" "+second) {
			t.Errorf("got %q, want %q before %q", got, want, second)
		}
	}
	either := statement.New("application.average", statement.Name("X"), statement.Either{statement.Span{From: 1310, To: 1310}, statement.Span{From: 850, To: 850}})
	if got := es.State(either); !regexp.MustCompile(`1310 u 850`).MatchString(got) {
		t.Errorf("got %q", got)
	}
}

// oneName are captions that one word of a language says well where English has
// two: the words of a group that never stand side by side.
var oneName = map[string]bool{"es made_of": true, "de made_of": true, "de citation_of": true, "es check.verdict": true, "de check.verdict": true}

// TestCaptionsDiffer: two captions of one group that differ in English differ in
// every language, so that no paper has two fields with one name. The sheet of a
// retest puts its own captions beside those of the rail.
func TestCaptionsDiffer(t *testing.T) {
	en := load(t, "en")
	for _, language := range wording.Languages(templates.Files) {
		w := load(t, language)
		first := map[string]string{} // group and text -> the first key with it
		for _, key := range slices.Sorted(maps.Keys(w.Texts)) {
			group := key[:max(0, strings.LastIndexByte(key, '.'))]
			counted := strings.HasSuffix(key, ".one") || strings.HasSuffix(key, ".other") // many words have one form for both
			if strings.HasPrefix(key, "says.") || counted || oneName[language+" "+group] {
				continue
			}
			groups := []string{group}
			if slices.Contains([]string{"comparison.certified", "comparison.certified_sheet", "comparison.measured_then", "comparison.measured_now", "comparison.compared"}, key) {
				groups = append(groups, "rail")
			}
			for _, group := range groups {
				other, there := first[group+"|"+w.Texts[key].Text]
				if there && w.Texts[key].Text != "" && en.Texts[key].Text != en.Texts[other].Text {
					t.Errorf("%s: %s and %s are both %q, in English %q and %q", language, other, key, w.Texts[key].Text, en.Texts[other].Text, en.Texts[key].Text)
				}
				if !there {
					first[group+"|"+w.Texts[key].Text] = key
				}
			}
		}
	}
}

// TestTogether: texts that differ in their wavelengths alone are one, in the place of the
// first; what else they must share, or no wavelength, keeps them apart.
func TestTogether(t *testing.T) {
	w := load(t, "en")
	lacks := func(nm int, with string) wording.SaidApart {
		s, at := statement.Apart(statement.New("missing-wavelength", statement.NM(nm)))
		return wording.SaidApart{Text: w.State(s), NM: at, With: with}
	}
	other := wording.SaidApart{Text: "no wavelength"}
	got := w.Together([]wording.SaidApart{lacks(1310, "a"), other, lacks(1550, "b"), lacks(1550, "a"), other, lacks(1625, "a")})
	want := []wording.SaidTogether{
		{Text: "No loss was measured at 1310, 1550 and 1625 nm. When will it be?", Of: []int{0, 3, 5}},
		{Text: "no wavelength", Of: []int{1}},
		{Text: "No loss was measured at 1550 nm. When will it be?", Of: []int{2}},
		{Text: "no wavelength", Of: []int{4}},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	if got := w.Together(nil); got != nil {
		t.Errorf("%v of nothing", got)
	}
}
