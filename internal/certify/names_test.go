package certify_test

import (
	"fmt"
	"strings"
	"testing"

	"spanseal/internal/page"
	"spanseal/internal/record"
)

// TestReceiversNames: names that receivers use are printed in the section of the link,
// each under its caption, as far as there is room without another page, and those for
// which there is none are the last. What no typeface can set stays off the paper.
func TestReceiversNames(t *testing.T) {
	paper := func(language string, names record.Names) *page.Recorder {
		f := library()
		f.Job.Documents.Language = language
		f.Photos = nil
		for i := range f.Links {
			if f.Links[i].ID == "A-12" {
				f.Links[i].Names = &names
			}
		}
		set := newSet(t, f, options())
		l, _ := set.Judgement.Link("A-12")
		return drawn(t, page.A4, paperOf(t, set, l))
	}
	texts := func(r *page.Recorder) string {
		var all []string
		for _, m := range r.Marks {
			if m.Kind == page.TextMark {
				all = append(all, m.Text)
			}
		}
		return "|" + strings.Join(all, "|") + "|"
	}
	pages := func(r *page.Recorder) (n int) {
		for _, m := range r.Marks {
			n = max(n, m.Page)
		}
		return n
	}
	all := record.Names{Label: "QW-12", Drawing: "E-401 sheet 2", Asset: "AS-7012", Room: "0.14", Closure: "CL-3", Tray: "7", Colour: "aqua",
		Latitude: ptr("53.349805"), Longitude: ptr("-6.260310"), Notes: "behind the ladder", Further: record.Further{{Key: "Rack unit", Text: "11"}, {Key: "備考", Text: "上"}}}
	for language, want := range map[string][]string{
		"en": {"|label|QW-12|", "|drawing|E-401 sheet 2|", "|asset|AS-7012|", "|room|0.14|", "|closure|CL-3|", "|tray|7|", "|colour|aqua|", "|latitude, longitude|53.349805; −6.260310|", "|notes|behind the ladder|", "|Rack unit|11|"},
		"de": {"|Beschriftung|QW-12|", "|Breite, Länge (Grad)|53,349805; −6,260310|", "|Rack unit|11|"},
		"es": {"|etiqueta|QW-12|", "|latitud, longitud|53,349805; −6,260310|"},
	} {
		got := texts(paper(language, all))
		for _, one := range want {
			if !strings.Contains(got, one) {
				t.Errorf("%s: no %s in %s", language, one, got)
			}
		}
		if strings.Contains(got, "備考") {
			t.Errorf("%s: what no typeface can set is printed", language)
		}
	}
	bare := pages(paper("en", record.Names{}))
	many := record.Names{Label: "QW-12"}
	for i := range 90 {
		many.Further = append(many.Further, record.GivenName{Key: fmt.Sprintf("column %d.", i), Text: strings.Repeat("so much to say ", 20)})
	}
	r := paper("en", many)
	got := texts(r)
	if pages(r) != bare {
		t.Errorf("%d pages with names, %d without", pages(r), bare)
	}
	printed := 0
	for printed < 90 && strings.Contains(got, fmt.Sprintf("|column %d.|", printed)) {
		printed++
	}
	if !strings.Contains(got, "|label|QW-12|") || printed == 90 || strings.Count(got, "|column ") != printed {
		t.Errorf("%d of 90 columns, of which the first %d, in %s", strings.Count(got, "|column "), printed, got)
	}
}
