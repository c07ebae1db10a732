package wording_test

import (
	"io/fs"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
	"spanseal/templates"
)

// TestForms holds how numbers, days and names are written, language by language.
func TestForms(t *testing.T) {
	en, es, de := load(t, "en"), load(t, "es"), load(t, "de")
	dec := func(s string) quantity.Decimal {
		d, err := quantity.Parse(s)
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	day := record.NewDate
	plain := func(s string) string { // of whatever blank a language groups by
		return strings.NewReplacer("\u202f", " ", "\u00a0", " ", "\u2009", " ").Replace(s)
	}
	for _, c := range []struct{ name, got, want string }{
		{"three digits are one group", en.Whole(999), "999"},
		{"four stay together", plain(en.Whole(1024)), "1024"},
		{"five are two", plain(en.Whole(12345)), "12 345"},
		{"seven are three", plain(en.Whole(1234567)), "1 234 567"},
		{"six", plain(en.Whole(123456)), "123 456"},
		{"four digits have no gap in Spanish (SI Brochure 5.4.4; Ortografía of 2010, recalled)", plain(es.Whole(1929)), "1929"},
		{"nor before decimals", plain(es.Fixed(dec("2000.5"), 2)), "2000,50"},
		{"five have one", plain(es.Whole(12929)), "12 929"},
		{"a negative number of four", plain(es.Short(dec("-1234.5"))), "−1234,5"},
		{"German writes four alike", plain(de.Whole(2000)), "2000"},
		{"a negative number has the sign of minus", plain(en.Fixed(dec("-1234.5"), 2)), "−1234.50"},
		{"a decimal comma", es.Fixed(dec("0.5"), 2), "0,50"},
		{"no decimals, no mark", de.Fixed(dec("35"), 0), "35"},
		{"one day", plain(en.Days(day(2026, 11, 18), day(2026, 11, 18))), "18 Nov 2026"},
		{"days of one month name it once", plain(en.Days(day(2026, 11, 17), day(2026, 11, 18))), "17 to 18 Nov 2026"},
		{"days of two months", plain(en.Days(day(2026, 10, 31), day(2026, 11, 1))), "31 Oct 2026 to 1 Nov 2026"},
		{"the same month of two years", plain(es.Days(day(2025, 11, 18), day(2026, 11, 18))), "18 nov 2025 a 18 nov 2026"},
		{"no day", en.Day(record.Date{}), ""},
		{"a loss is not named", en.Subject(statement.Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.AB}), "1310 nm, A to B"},
		{"nor its average", en.Subject(statement.Subject{Quantity: record.TwoWayAverage, NM: 1310}), "1310 nm"},
		{"another quantity stands first", en.Subject(statement.Subject{Quantity: record.Reflectance, NM: 1310, End: "A"}), "reflectance, 1310 nm, end A"},
		{"a wavelength is any above none", en.Subject(statement.Subject{Quantity: record.InsertionLoss, NM: 1}), "1 nm"},
		{"a wavelength of none", en.Subject(statement.Subject{Quantity: record.Length}), "length"},
		{"a wavelength has no groups", wording.Nanometres(1550), "1550"},
		{"a place in a file is its row", en.Row(record.Origin{File: "a.csv", Row: 1}), "a.csv row 1"},
		{"or its cell", en.Row(record.Origin{File: "a.xlsx", Row: 7, Cell: "B7"}), "a.xlsx B7"},
		{"or the file alone", en.Row(record.Origin{File: "a.csv"}), "a.csv"},
		{"no hour", wording.Clock(time.Time{}), ""},
		{"a day has no hour", wording.Clock(day(2026, 11, 18).Time()), ""},
		{"an hour", wording.Clock(time.Date(2026, 11, 18, 9, 5, 30, 0, time.UTC)), "09:05"},
		{"an edition", en.Edition("GR-326-CORE", "Issue 4"), "GR-326-CORE (Issue 4)"},
		{"a standard without one", en.Edition("GR-326-CORE", ""), "GR-326-CORE"},
		{"a text that the vocabulary has", es.Known("citation", "Cable attributes"), "atributos del cable"},
		{"its first word", es.Known("citation", "clause 10.3"), "apartado 10.3"},
		{"its first two", es.Known("citation", "class table 4 b"), "tabla de clases 4 b"},
		{"with the rest inside", es.Known("made", "spliced LC"), "LC empalmado"},
		{"its parts", es.Citation("clause 10.3, table 2, harbour rules"), "apartado 10.3, tabla 2, harbour rules"},
		{"parts of any text", es.Known("citation", "clause 1, cable attributes"), "apartado 1, atributos del cable"},
		{"a text that it has not", es.Known("citation", "harbour rules"), "harbour rules"},
		{"a word that needs another", es.Known("made", "spliced"), "spliced"},
		{"words with a z", es.Known("citation", "Random-mated"), "acoplados al azar"},
		{"no text", es.Known("citation", ""), ""},
		{"a day in a sentence", plain(en.LongDay(day(2026, 11, 18))), "18 November 2026"},
		{"a day of the year on the page", plain(en.ShortDay(day(2026, 11, 18), day(2026, 1, 2))), "18 Nov"},
		{"a day of another year", plain(en.ShortDay(day(2026, 11, 18), day(2027, 1, 2))), "18 Nov 2026"},
		{"a code of ours", es.Term("term", "mated_pair"), "par acoplado"},
		{"a code of an owner's", es.Term("term", "harbour_rule"), "harbour rule"},
		{"one", en.Count("small.rows", 1, "file", "a.csv", "rows", "7", "sha", "x"), "a.csv row 7 (SHA-256 x)"},
		{"none are several", en.Count("small.rows", 0, "file", "a.csv", "rows", "7", "sha", "x"), "a.csv rows 7 (SHA-256 x)"},
		{"several", en.Count("small.rows", 2, "file", "a.csv", "rows", "7 and 8", "sha", "x"), "a.csv rows 7 and 8 (SHA-256 x)"},
		{"a list of none", en.List(nil), ""},
		{"of one", en.List([]string{"A"}), "A"},
		{"of three", en.List([]string{"A", "B", "C"}), "A, B and C"},
	} {
		if c.got != c.want {
			t.Errorf("%s: %q, want %q", c.name, c.got, c.want)
		}
	}
}

// TestArguments: an argument of any type is said as what it is, with its unit if it has
// one.
func TestArguments(t *testing.T) {
	en := load(t, "en")
	say := func(v statement.Argument, unit string) string {
		return strings.ReplaceAll(en.State(statement.New("change.job", statement.Word{Group: "change_field", Code: "customer_order"}, statement.Any{Argument: v, Unit: unit}, statement.Any{})), "\u00a0", " ")
	}
	for name, c := range map[string]struct {
		value      statement.Argument
		unit, want string
	}{
		"a number with its unit": {statement.Short(quantity.Must("0.71")), "dB", "0.71 dB"},
		"a number":               {statement.Short(quantity.Must("0.71")), "", "0.71"},
		"a wavelength":           {statement.NM(1310), "", "1310 nm"},
		"nothing":                {nil, "", "not given"},
		"a day":                  {statement.Day(record.NewDate(2026, 11, 18)), "", "18 Nov 2026"},
		"a moment":               {statement.Moment(time.Date(2026, 11, 18, 9, 5, 0, 0, time.UTC)), "", "18 Nov 2026 09:05"},
		"a moment with seconds":  {statement.Moment(time.Date(2026, 11, 18, 9, 5, 30, 0, time.UTC)), "", "18 Nov 2026 09:05:30"},
		"a moment without hour":  {statement.Moment(record.NewDate(2026, 11, 18).Time()), "", "18 Nov 2026"},
		"a span":                 {statement.Span{From: 1530, To: 1565}, "", "1530 to 1565"},
		"a span of one":          {statement.Span{From: 1310, To: 1310}, "", "1310"},
		"a phrase":               {statement.Phrase{statement.Any{Argument: statement.Name("A-1")}, statement.Any{Argument: statement.NM(1310)}}, "", "A-1 1310 nm"},
		"a list":                 {statement.List{statement.Name("A"), statement.Name("B")}, "", "A and B"},
		"some of many":           {statement.Some{First: []statement.Argument{statement.Name("A"), statement.Name("B")}, More: 3}, "", "A, B and 3 more"},
	} {
		if got, want := say(c.value, c.unit), say(statement.Name(c.want), ""); got != want {
			t.Errorf("%s: %q, want %q", name, got, want)
		}
	}
}

// TestStates: of sentences that read the same one is said, and the zero statement is none.
func TestStates(t *testing.T) {
	one, two := statement.New("retest.withheld", statement.Count(1)), statement.New("retest.withheld", statement.Count(2))
	w := load(t, "en")
	if got := w.States([]statement.Statement{one, {}, two, one}); !slices.Equal(got, []string{w.State(one), w.State(two)}) {
		t.Errorf("%q", got)
	}
	if told := w.Told(one); told.Text != w.State(one) || told.Code != one.Code {
		t.Errorf("%+v", told)
	}
}

// TestFormOfTheFirstCount: of a sentence with two counts the first decides its form.
func TestFormOfTheFirstCount(t *testing.T) {
	en := load(t, "en")
	few := func(n, least int) string {
		return en.State(statement.New("not-shown.few", statement.Count(n), statement.Name("own"), statement.Short(quantity.Int(50)), statement.Word{Group: "population_of_one", Code: "insertion_loss"},
			statement.NM(1310), statement.Word{Group: "mode", Code: "singlemode"}, statement.Count(0), statement.Short(quantity.Int(1)), statement.Count(least)))
	}
	if one, more := few(1, 5), few(2, 1); !strings.Contains(one, "One measured at") || !strings.Contains(more, "2 measured at") {
		t.Errorf("one: %q\nmore: %q", one, more)
	}
}

// TestBraces: a job's own text may hold braces that name nothing, and a text without
// values stands as it is.
func TestBraces(t *testing.T) {
	problems := &diag.List{}
	over := fstest.MapFS{"wording/en.yaml": {Data: []byte("rail:\n  scan: \"scan {this\"\ncertificate:\n  title: Certificate\n")}}
	w := wording.Load(templates.Files, over, "en", problems)
	if got := w.Say("rail.scan"); got != "scan {this" {
		t.Errorf("%q, %v", got, problems.Sorted())
	}
	if got := w.Say("rail.scan", "this", "that"); got != "scan {this" {
		t.Errorf("a brace that is not closed: %q", got)
	}
	if got := w.Say("certificate.title"); got != "Certificate" {
		t.Errorf("%q", got)
	}
}

// TestFaults: a language of the job's own has every key, twelve months, and asks for no
// value that its sentence does not have; a form for one may ask for what the form for
// more has.
func TestFaults(t *testing.T) {
	english, err := fs.ReadFile(templates.Files, "wording/en.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct{ old, by, code, says string }{
		"whole":               {"", "", "", ""},
		"no key":              {"  minus: ", "  plus: ", "missing-key", "\"locale.minus\" is missing, \"locale.plus\" is not a key of this file"},
		"eleven months":       {"[Jan, Feb, ", "[Jan, ", "bad-value", "a year has 12 months, not 11"},
		"a value of no use":   {"{file} row {row}", "{file} row {column}", "unknown-placeholder", "{column} is not a placeholder of this sentence"},
		"a value of the many": {"one: \"One reading fails.\"", "one: \"{n} reading fails.\"", "", ""},
		"a value of none":     {"one: \"One reading fails.\"", "one: \"{m} reading fails.\"", "unknown-placeholder", "{m} is not a placeholder of this sentence"},
	} {
		if !strings.Contains(string(english), c.old) {
			t.Fatalf("%s: English has no %q", name, c.old)
		}
		problems := &diag.List{}
		own := fstest.MapFS{"wording/xx.yaml": {Data: []byte(strings.Replace(string(english), c.old, c.by, 1))}}
		w := wording.Load(templates.Files, own, "xx", problems)
		var said string
		for _, p := range problems.Sorted() {
			said = wording.Comma(said, p.Message)
		}
		if (w == nil) != (c.code != "") || said != c.says || c.code == "" && problems.Len() > 0 {
			t.Errorf("%s: %v, want %q", name, problems.Sorted(), c.says)
		}
	}
}

// TestUnreadable: a language that cannot be read is one problem, and not one for every
// key; one that says nothing lacks them all.
func TestUnreadable(t *testing.T) {
	for text, few := range map[string]bool{"locale: [\n": true, "locale: {}\n": false} {
		problems := &diag.List{}
		w := wording.Load(templates.Files, fstest.MapFS{"wording/xx.yaml": {Data: []byte(text)}}, "xx", problems)
		if n := problems.Errors(); w != nil || n == 0 || (n == 1) != few {
			t.Errorf("%q: %d problems, %v", text, n, problems.Sorted()[:1])
		}
	}
}

// TestUnknownKey: a key that English does not have is refused with its place.
func TestUnknownKey(t *testing.T) {
	problems := &diag.List{}
	wording.Load(templates.Files, fstest.MapFS{"wording/en.yaml": {Data: []byte("rail:\n  skan: x\n")}}, "en", problems)
	all := problems.Sorted()
	if len(all) != 1 || all[0].Place.String() != "wording/en.yaml:2:3" || !strings.Contains(all[0].Message, "rail.skan") {
		t.Errorf("%+v", all)
	}
}
