package wording_test

import (
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
		{"four are two", plain(en.Whole(1024)), "1 024"},
		{"seven are three", plain(en.Whole(1234567)), "1 234 567"},
		{"six", plain(en.Whole(123456)), "123 456"},
		{"a negative number has the sign of minus", plain(en.Fixed(dec("-1234.5"), 2)), "−1 234.50"},
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
		{"a wavelength of none", en.Subject(statement.Subject{Quantity: record.Length}), "length"},
		{"a wavelength has no groups", wording.Nanometres(1550), "1550"},
	} {
		if c.got != c.want {
			t.Errorf("%s: %q, want %q", c.name, c.got, c.want)
		}
	}
}

// TestFormOfTheFirstCount: of a sentence with two counts the first decides its form.
func TestFormOfTheFirstCount(t *testing.T) {
	en := load(t, "en")
	few := func(n, least int) string {
		return en.State(statement.New("not-shown.few", statement.Count(n), statement.Name("own"), statement.Short(quantity.Int(50)), statement.Word{Group: "population_of_one", Code: "insertion_loss"},
			statement.NM(1310), statement.Word{Group: "mode", Code: "singlemode"}, statement.Count(0), statement.Short(quantity.Int(1)), statement.Count(least)))
	}
	if one, more := few(1, 5), few(2, 1); !strings.Contains(one, "One at") || !strings.Contains(more, "2 at") {
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

// TestUnknownKey: a key that English does not have is refused with its place.
func TestUnknownKey(t *testing.T) {
	problems := &diag.List{}
	wording.Load(templates.Files, fstest.MapFS{"wording/en.yaml": {Data: []byte("rail:\n  skan: x\n")}}, "en", problems)
	all := problems.Sorted()
	if len(all) != 1 || all[0].Place.String() != "wording/en.yaml:2:3" || !strings.Contains(all[0].Message, "rail.skan") {
		t.Errorf("%+v", all)
	}
}
