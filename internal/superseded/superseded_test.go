package superseded_test

import (
	"slices"
	"strings"
	"testing"
	"time"

	"spanseal/internal/limits"
	"spanseal/internal/page"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statistics"
	"spanseal/internal/superseded"
	"spanseal/internal/testset"
)

// texts are those of a sheet in its order.
func texts(t *testing.T, f *record.Facts, link string) string {
	set := testset.New(t, f, testset.NewSettings())
	l, _ := set.Judgement.Link(link)
	d, err := superseded.Sheet(set, l)
	if err != nil {
		t.Fatal(err)
	}
	if d == nil {
		return ""
	}
	text := d.Path + "|"
	for _, m := range testset.Drawn(t, page.A4, d).Marks {
		if m.Kind == page.TextMark {
			text += m.Text + "|"
		}
	}
	return text
}

// TestSheet: what was measured first stands beside what counts now, with what is on
// record of what was done in between, in each language; a link that was measured once
// has no sheet.
func TestSheet(t *testing.T) {
	for language, want := range map[string][]string{
		"en": {"superseded/A-12.pdf|", "|Superseded readings|", "|4.120|2.225|1.895|18 Nov 08:33|", "|1.030|", "End A, spliced-on connector, finished 18 Nov 09:39, M. Okafor",
			"End A, end face passed, IEC 61300-3-35:2022, 18 Nov 09:49, M. Okafor", "|certificates/A-12.pdf|", "|readings/first.csv row 3, SHA-256 "},
		"es": {"|Lecturas sustituidas|", "terminado 18 nov 09:39", "|certificates/A-12.pdf|"},
		"de": {"|Ersetzte Messwerte|", "|certificates/A-12.pdf|"},
	} {
		f := testset.Library()
		f.Job.Documents.Language = language
		if got := texts(t, f, "A-11"); got != "" {
			t.Errorf("%s: a link that was measured once has a sheet: %s", language, got)
		}
		for _, r := range f.Readings {
			if r.Link == "A-12" && r.Quantity == record.InsertionLoss && r.WavelengthNM == 1310 && r.Direction == record.BA {
				first := r
				first.Value, first.Fate, first.Time = quantity.Must("4.12"), record.Superseded, r.Time.Add(-3*time.Hour)
				first.Origin = record.Origin{File: "readings/first.csv", Row: 3, SHA256: strings.Repeat("5f", 32)}
				f.Readings = append(f.Readings, first)
				done := first.Time.Add(66 * time.Minute)
				f.Terminations = append(f.Terminations, record.Termination{Link: "A-12", End: "A", Kind: "spliced-on connector", EndFace: record.EndFacePass, Person: "mo", Finished: done})
				f.Inspections = append(f.Inspections, record.Inspection{Link: "A-12", End: "A", Criterion: "IEC 61300-3-35", Edition: "2022", Result: record.EndFacePass, Person: "mo", Time: done.Add(10 * time.Minute)})
				break
			}
		}
		got := texts(t, f, "A-12")
		for _, one := range want {
			if !strings.Contains(got, one) {
				t.Errorf("%s: no %s in %s", language, one, got)
			}
		}
	}
}

// TestYield: the share of links that passed when first measured is that of the
// statistics, at every wavelength.
func TestYield(t *testing.T) {
	facts, judged := testset.Demonstration(t)
	yields := statistics.Yields(judged)
	n := 0
	for _, g := range statistics.Of(facts, judged, &limits.Book{}) {
		if g.By != "all" {
			continue
		}
		n++
		k := slices.IndexFunc(yields, func(y statistics.Yield) bool { return y.WavelengthNM == g.WavelengthNM })
		if k < 0 || yields[k].Links != g.Links || float64(yields[k].First)/float64(yields[k].Links) != g.FirstTime || yields[k].First == yields[k].Links {
			t.Errorf("%d nm: %+v, and the statistics say %v of %d", g.WavelengthNM, yields, g.FirstTime, g.Links)
		}
	}
	if n != len(yields) || n == 0 {
		t.Errorf("%d groups, %+v", n, yields)
	}
}
