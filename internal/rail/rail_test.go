package rail_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"

	"spanseal/internal/diag"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/rail"
	"spanseal/internal/wording"
	"spanseal/templates"
)

// symbol is one of 45 modules a side, all dark.
var symbol = slices.Repeat([][]bool{slices.Repeat([]bool{true}, 45)}, 45)

// passed is the rail of a certificate, in the style that comes with the program.
func passed(t *testing.T) (*rail.Rail, *layout.Style) {
	t.Helper()
	problems := &diag.List{}
	w, style := wording.Load(templates.Files, nil, "en", problems), layout.Load(templates.Files, nil, problems)
	if problems.Len() > 0 {
		t.Fatal(problems.Sorted())
	}
	return &rail.Rail{Words: w, Treatment: rail.Treat(judge.Pass), Word: "PASS", Symbol: symbol, Under: "scan to check", Key: "key 12AB",
		Below: []layout.Field{{Caption: "measured", Value: "18 Nov 2026"}}, Name: layout.Field{Caption: "link", Value: "A-11"},
		Fields: []layout.Field{{Caption: "number", Value: "BL-2026-031/A-11"}, {Caption: "order", Value: ""}, {Caption: "customer", Value: "Port Ansel Council"}}}, style
}

// drawn draws a rail on a page of its own.
func drawn(t *testing.T, r *rail.Rail, style *layout.Style, paper page.PaperSize) *page.Recorder {
	t.Helper()
	sheet := page.NewRecorder(paper)
	press := &layout.Compositor{Style: style, Mark: ".", Whole: strconv.Itoa}
	if _, err := press.Lay(sheet, false, func(f *layout.Flow) {
		f.Start()
		r.Draw(f)
	}); err != nil {
		t.Fatal(err)
	}
	for _, fault := range slices.Concat(sheet.Overlaps(), sheet.Outside(page.Box{W: style.RailWidth, H: paper.Height})) {
		if !r.Specimen { // whose bands stand in the main column
			t.Error(fault)
		}
	}
	return sheet
}

func count(r *page.Recorder, kind page.Kind) (n int) {
	for _, m := range r.Marks {
		if m.Kind == kind {
			n++
		}
	}
	return n
}

// TestWhatARailShows: the verdict, whose paper it is, its number and its symbol; a value
// that is not given has no caption, and a paper without a symbol no place for one.
func TestWhatARailShows(t *testing.T) {
	r, style := passed(t)
	sheet := drawn(t, r, style, page.A4)
	want := []string{"PASS", "measured", "18 Nov 2026", "link", "A-11", "number", "BL-2026-031/A-11", "customer", "Port Ansel Council", "scan to check", "key 12AB", "page 1 of 1"}
	if got := sheet.Texts(); !slices.Equal(got, want) {
		t.Errorf("%q,\nwant %q", got, want)
	}
	if n := count(sheet, page.ModulesMark); n != 1 {
		t.Errorf("%d symbols", n)
	}
	for _, m := range sheet.Marks {
		// ISO/IEC 18004, 5.3.8: four modules of white around a symbol.
		if m.Kind == page.ModulesMark && (m.Quiet < 4*m.Box.W/45-0.001 || m.Box.W+2*m.Quiet > style.Symbol+0.2) {
			t.Errorf("a symbol of %v with %.2f mm of white in %.1f mm", m.Box, m.Quiet, style.Symbol)
		}
	}
	r.Symbol = nil
	if n := count(drawn(t, r, style, page.A4), page.ModulesMark); n != 0 {
		t.Errorf("%d symbols of a paper without one", n)
	}
}

// TestSpecimen: a specimen says no verdict, has no symbol, and says that it is one at the
// head, the foot, in the block and in the symbol's place.
func TestSpecimen(t *testing.T) {
	r, style := passed(t)
	r.Specimen = true // although it has a symbol
	sheet := drawn(t, r, style, page.A4)
	texts := sheet.Texts()
	if slices.Contains(texts, "PASS") || slices.Contains(texts, "scan to check") || slices.Contains(texts, "18 Nov 2026") {
		t.Errorf("%q", texts)
	}
	if !slices.Contains(texts, "in place of") || !slices.Contains(texts, "pass") {
		t.Errorf("it does not say which verdict it stands for: %q", texts)
	}
	if n := strings.Count(strings.Join(texts, "\n"), "SPECIMEN"); n != 4 {
		t.Errorf("SPECIMEN stands %d times, want 4: %q", n, texts)
	}
	if n := count(sheet, page.ModulesMark); n != 0 {
		t.Errorf("%d symbols", n)
	}
}

// TestTreatments: the four looks of the block are told apart without colour: none has the
// same kinds and numbers of marks as another.
func TestTreatments(t *testing.T) {
	for v, want := range map[judge.Verdict]rail.Treatment{judge.Pass: rail.Solid, judge.Marginal: rail.Stroked, judge.Fail: rail.Hatched, judge.Incomplete: rail.Hatched} {
		if got := rail.Treat(v); got != want {
			t.Errorf("%s: %d, want %d", v, got, want)
		}
	}
	seen := map[[3]int]rail.Treatment{}
	for _, treatment := range []rail.Treatment{rail.Solid, rail.Stroked, rail.Hatched, rail.Bare} {
		r, style := passed(t)
		r.Treatment = treatment
		sheet := drawn(t, r, style, page.A4)
		marks := [3]int{count(sheet, page.FillMark), count(sheet, page.FrameMark), count(sheet, page.PolygonMark)}
		if other, twice := seen[marks]; twice {
			t.Errorf("%d looks like %d", treatment, other)
		}
		seen[marks] = treatment
	}
}

// TestRoundTheHoles: on either paper no text of the rail stands where it is punched: within
// 16 mm of the edge at the heights of two holes 80 mm apart (ISO 838) and of three 4 1/4 in
// apart (common practice), however many values there are.
func TestRoundTheHoles(t *testing.T) {
	for _, paper := range []page.PaperSize{page.A4, page.Letter} {
		for values := range 12 {
			r, style := passed(t)
			for i := range values {
				r.Fields = append(r.Fields, layout.Field{Caption: "caption", Value: "value " + strconv.Itoa(i)})
			}
			sheet := drawn(t, r, style, paper)
			for _, m := range sheet.Marks {
				for _, from := range []float64{-107.95, -40, 0, 40, 107.95} {
					hole := page.Box{Y: paper.Height/2 + from - 3, W: 15, H: 6}
					if m.Kind == page.TextMark && m.Box.Overlaps(hole) {
						t.Errorf("%s, %d values: %q stands in the hole at %.1f mm", paper.Name, len(r.Fields), m.Text, hole.Y)
					}
				}
			}
		}
	}
}

// TestMuchOnARail: what has no room is set closer, then smaller, and at last left out;
// nothing reaches into the symbol or over the edge, which drawn holds.
func TestMuchOnARail(t *testing.T) {
	size := func(sheet *page.Recorder, text string) float64 {
		for _, m := range sheet.Marks {
			if m.Text == text {
				return m.Style.Size
			}
		}
		return 0
	}
	r, style := passed(t)
	few := drawn(t, r, style, page.A4)
	for i := range 15 {
		r.Fields = append(r.Fields, layout.Field{Caption: "caption", Value: "value " + strconv.Itoa(i)})
	}
	many := drawn(t, r, style, page.A4)
	for i := range 60 {
		r.Fields = append(r.Fields, layout.Field{Caption: "caption", Value: "further " + strconv.Itoa(i)})
	}
	most := drawn(t, r, style, page.A4)
	if a, b := size(few, "Port Ansel Council"), size(many, "Port Ansel Council"); b >= a || size(many, "value 14") != b {
		t.Errorf("a value has %.2f pt beside two, %.2f pt beside seventeen", a, b)
	}
	if size(most, "A-11") == 0 || size(most, "further 59") != 0 {
		t.Error("of too many values the last is not the one that is left out")
	}
}
