package certify_test

import (
	"strings"
	"testing"

	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/summary"
)

// TestOnePointOfManyWavelengths: what is open of a link at several wavelengths, and differs
// in nothing else, is one point on its sheet and on the summary, with all of them; in the
// record each is a finding of its own.
func TestOnePointOfManyWavelengths(t *testing.T) {
	for language, want := range map[string]string{
		"en": "figure for OS2 at 1270, 1490, 1577, 1625 and 1650 nm. Which limit should apply?",
		"es": "para OS2 a 1270, 1490, 1577, 1625 y 1650 nm. ¿Qué límite debe regir?",
		"de": "für OS2 bei 1270, 1490, 1577, 1625 und 1650 nm keinen Wert",
	} {
		f := library()
		f.Job.Documents.Language = language
		f.Job.Policy.Require.Wavelengths = map[record.Mode][]int{"singlemode": {1270, 1310, 1490, 1550, 1577, 1625, 1650}}
		f.Job.Policy.Limits = []string{"tia-568.3-e"}
		f.Links = f.Links[:3]
		var readings []record.Reading
		for _, r := range f.Readings {
			if r.Quantity != record.InsertionLoss || r.WavelengthNM != 1310 {
				continue
			}
			for _, nm := range f.Job.Policy.Require.Wavelengths["singlemode"] {
				r.WavelengthNM = nm
				readings = append(readings, r)
			}
		}
		f.Readings = readings
		set := newSet(t, f, options())
		l := set.Judgement.Result(0)
		if n := len(l.Open()); n != 5 {
			t.Fatalf("%d findings are open", n)
		}
		sheet, err := set.Nonconformance(l)
		if err != nil {
			t.Fatal(err)
		}
		whole, err := summary.New(set)
		if err != nil {
			t.Fatal(err)
		}
		for i, d := range []struct {
			r    *page.Recorder
			n    int
			says string
		}{{drawn(t, set.Paper(), sheet), 1, ""}, {drawn(t, set.Paper(), whole), 2, "1–5"}} { // the summary has it among the questions too
			texts := strings.ReplaceAll(strings.Join(d.r.Texts(), " "), "\u00A0", " ")
			if n := strings.Count(texts, want); n != d.n || strings.Contains(texts, "\uFFFC") || !strings.Contains(texts, d.says) {
				t.Errorf("%s, paper %d: %q stands %d times, want %d, and %q, in\n%s", language, i, want, n, d.n, d.says, texts)
			}
		}
	}
}
