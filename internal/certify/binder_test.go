package certify_test

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"
	"time"

	"spanseal/internal/certify"
	"spanseal/internal/comparison"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/retest"
	"spanseal/internal/specimen"
	"spanseal/internal/testset"
)

// TestBinder punches every page: neither the two holes of ISO 838 (6 mm, 80 mm apart,
// centres 12 mm from the edge) nor the three of North America (8 mm, 4 1/4 in apart,
// centres 1/2 in from the edge; common practice) hits a glyph, a symbol or a picture, on
// either paper, in any language, whatever the names; on even pages those at the other edge,
// where they are on the backs of sheets. In the block of a verdict no text stands aside for
// a hole: there is room for half of it there. Labels are cut apart and not filed.
func TestBinder(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	hit := 0
	for name, facts := range map[string]func() *record.Facts{"plain": library, "harsh": harsh,
		"specimen": func() *record.Facts { return specimen.Facts(library(), options().Issued) }} {
		for _, paper := range []page.PaperSize{page.A4, page.Letter} {
			for _, language := range []string{"en", "es", "de"} {
				if name == "specimen" && language != "en" {
					continue
				}
				f := facts()
				f.Job.Documents = record.Documents{Paper: paper.Name, Language: language}
				o := options()
				o.Specimen = name == "specimen"
				all := differing(t, newSet(t, f, o))
				if name == "plain" {
					all = append(all, retested(t, f))
				}
				for _, d := range all {
					if d.Path == "labels.pdf" {
						continue
					}
					r := drawn(t, paper, d)
					for _, m := range r.Marks {
						if m.Kind != page.TextMark && m.Kind != page.ModulesMark && m.Kind != page.PictureMark || strings.TrimSpace(m.Text) == "" && m.Kind == page.TextMark {
							continue
						}
						if m.Kind == page.TextMark && m.Box.X > 7 && m.Box.X < 42 && m.Box.Y < 42 {
							t.Errorf("%s, %s, %s: %s: %v stands aside for a hole", name, paper.Name, language, d.Path, m)
						}
						for _, hole := range punches(paper) {
							if m.Page%2 == 0 { // the back of a sheet that is printed on both sides
								hole.x = paper.Width - hole.x
							}
							if nearest(m.Box, hole.x, hole.y) < hole.r {
								if hit++; hit < 20 {
									t.Errorf("%s, %s, %s: %s, page %d: %v loses something to the hole at %.1f, %.1f", name, paper.Name, language, d.Path, m.Page, m, hole.x, hole.y)
								}
							}
						}
					}
				}
			}
		}
	}
	// A mask that hits nothing anywhere would be no check.
	if nearest(page.Box{X: 6, Y: page.A4.Height/2 - 41, W: 20, H: 2}, 12, page.A4.Height/2-40) > 0 {
		t.Error("the mask is not where the hole is")
	}
}

type punch struct{ x, y, r float64 }

func punches(p page.PaperSize) (all []punch) {
	middle := p.Height / 2
	for _, off := range []float64{-40, 40} {
		all = append(all, punch{12, middle + off, 3})
	}
	for _, off := range []float64{-4.25 * 25.4, 0, 4.25 * 25.4} {
		all = append(all, punch{12.7, middle + off, 4})
	}
	return all
}

// retested is the comparison sheet of a job, five years on.
func retested(t *testing.T, f *record.Facts) *certify.Paper {
	t.Helper()
	c := testset.Certified(t, newSet(t, f, options()))
	o := options()
	o.Issued = time.Date(2031, 2, 5, 12, 0, 0, 0, time.UTC)
	result := retest.Compare(c, testset.Risen(c, "0.60"))
	set, problems := comparison.New(c, result, f.Job.Documents, comparison.WarrantyClaim{Number: "W-7"}, o.Writer, o.Options)
	good(t, problems)
	d, err := set.Sheet(result, page.Attachment{}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// nearest is how far a box is from a point.
func nearest(b page.Box, x, y float64) float64 {
	dx := max(b.X-x, 0, x-b.X-b.W)
	dy := max(b.Y-y, 0, y-b.Y-b.H)
	return math.Hypot(dx, dy)
}

// TestSignatureLines: three places to sign, each with its day.
func TestSignatureLines(t *testing.T) {
	for language, want := range map[string][]string{
		"en": {"for the contractor", "25 Nov 2026", "engineer: name, signature", "date", "owner: name, signature", "date"},
		"es": {"por el contratista", "25 nov 2026", "dirección de obra: nombre, firma", "fecha", "propietario: nombre, firma", "fecha"},
		"de": {"für den Auftragnehmer", "25. Nov. 2026", "Bauleitung: Name, Unterschrift", "Datum", "Bauherr: Name, Unterschrift", "Datum"},
	} {
		f := library()
		f.Job.Documents.Language = language
		set := newSet(t, f, options())
		l, _ := set.Judgement.Link("A-01")
		var d *certify.Paper
		var err error
		if d, err = set.Certificate(l); err != nil {
			t.Fatal(err)
		}
		all := strings.ReplaceAll(fmt.Sprint(drawn(t, set.Paper(), d).Texts()), "\u00A0", " ")
		if s := strings.Join(want, " "); !strings.Contains(all, s) {
			t.Errorf("%s: no %q in\n%s", language, s, all)
		}
	}
}

// TestThreeMarks: on paper a number has a minus, and only names have hyphens; a dash is
// a dash.
func TestThreeMarks(t *testing.T) {
	wrong := regexp.MustCompile(`(^|[\s(=×])-\d|\s-\s|\s--\s`)
	facts, judged := demonstration(t)
	minuses := 0
	for set := range editions(t, facts, judged) {
		for _, d := range papers(t, set) {
			for _, text := range drawn(t, set.Paper(), d).Texts() {
				if wrong.MatchString(text) {
					t.Errorf("%s in %s: %q", d.Path, set.Language(), text)
				}
				minuses += strings.Count(text, "−")
			}
		}
	}
	if minuses == 0 {
		t.Error("no number is negative")
	}
}
