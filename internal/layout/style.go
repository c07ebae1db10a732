package layout

import (
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/page"
	"spanseal/internal/template"
)

// Style is how all documents of a set are drawn. Lengths are millimetres, sizes
// points.
type Style struct {
	paperName string
	Grid      float64 // height of one line of the baseline grid
	RailWidth float64 // width of the rail
	Gutter    float64 // between rail and main column
	Top       float64 // to the baseline of the letterhead
	Right     float64
	Bottom    float64
	Symbol    float64 // side of the box that holds the QR symbol and its quiet zone

	Ink, Soft, Hair, RailInk, Deep, Step1, Step2, Step3, Rust page.Ink

	Title, Lead, Heading, Body, Strong, Caption, Small, Note, Verdict, Big, Figure page.Style

	Faces                 [page.Faces][]byte
	Glyphs                typefaces
	Logo                  []byte
	LogoWidth, LogoHeight float64
}

const White page.Ink = 0xFFFFFF

// Load reads documents/style.yaml, over which a job may lay its own.
func Load(base, over fs.FS, problems *diag.List) *Style {
	values := template.ReadValues(base, over, "documents/style.yaml", problems)
	l := &Style{
		paperName: values.Text("paper"),
		Grid:      values.Number("millimetres.grid", 4, 7),
		RailWidth: values.Number("millimetres.rail", 36, 60),
		Gutter:    values.Number("millimetres.gutter", 4, 20),
		Top:       values.Number("millimetres.top", 8, 40),
		Right:     values.Number("millimetres.right", 8, 40),
		Bottom:    values.Number("millimetres.bottom", 8, 40),
		Symbol:    values.Number("millimetres.symbol", 28, 44),
		Ink:       colour(values, "colours.ink"),
		Soft:      colour(values, "colours.soft"),
		Hair:      colour(values, "colours.hair"),
		RailInk:   colour(values, "colours.rail"),
		Deep:      colour(values, "colours.deep"),
		Step1:     colour(values, "colours.step_dark"),
		Step2:     colour(values, "colours.step_middle"),
		Step3:     colour(values, "colours.step_light"),
		Rust:      colour(values, "colours.rust"),
	}
	set := func(name string, face page.Face, ink page.Ink) page.Style {
		return page.Style{Face: face, Size: values.Number("points."+name, 5, 48), Ink: ink}
	}
	l.Title = set("title", page.Medium, l.Ink)
	l.Lead = set("lead", page.Regular, l.Ink)
	l.Heading = set("heading", page.Medium, l.Deep)
	l.Body = set("body", page.Regular, l.Ink)
	l.Strong = page.Style{Face: page.Medium, Size: l.Body.Size, Ink: l.Ink}
	l.Caption = set("caption", page.Regular, l.Soft)
	l.Small = set("small", page.Regular, l.Soft)
	l.Note = page.Style{Face: page.Italic, Size: l.Caption.Size, Ink: l.Soft}
	l.Verdict = set("verdict", page.Medium, l.Ink)
	l.Big = set("link", page.Medium, l.Ink)
	l.Figure = set("count", page.Medium, l.Ink)
	l.legible(values)
	if !slices.Contains([]string{page.A4.Name, page.Letter.Name}, l.paperName) {
		values.Refuse("paper", "want A4 or letter")
	}
	l.fonts(values, over)
	l.brand(values, over)
	return l
}

// leastContrast is that of small text on its ground (WCAG 2.2, success criterion
// 1.4.3).
const leastContrast = 4.5

// legible refuses colours on which the texts that stand on them cannot be read.
func (l *Style) legible(t template.Values) {
	for _, pair := range []struct {
		text, ground string
		a, b         page.Ink
	}{
		{"ink", "rail", l.Ink, l.RailInk}, {"soft", "rail", l.Soft, l.RailInk}, {"soft", "", l.Soft, White}, {"rust", "", l.Rust, White}, {"deep", "", l.Deep, White},
		{"ink", "step_dark", l.Ink, l.Step1}, {"ink", "step_middle", l.Ink, l.Step2}, {"ink", "step_light", l.Ink, l.Step3},
	} {
		if have := page.Contrast(pair.a, pair.b); have < leastContrast {
			keys, ground := []string{"colours." + pair.text}, "white paper"
			if pair.ground != "" {
				keys, ground = append(keys, "colours."+pair.ground), pair.ground
			}
			t.RefuseOne(fmt.Sprintf("want %s to stand out from %s by %.1f : 1, have %.1f : 1 (WCAG 2.2)", pair.text, ground, leastContrast, have), keys...)
		}
	}
}

// PaperNamed is the sheet by its name, the template's where the job names none.
func (l *Style) PaperNamed(name string) page.PaperSize {
	for _, n := range []string{name, l.paperName} {
		for _, p := range []page.PaperSize{page.A4, page.Letter} {
			if strings.EqualFold(n, p.Name) {
				return p
			}
		}
	}
	return page.A4
}

// colour reads six hex digits.
func colour(t template.Values, key string) page.Ink {
	v, err := strconv.ParseUint(t.Template[key].Text, 16, 24)
	if err != nil || len(t.Template[key].Text) != 6 {
		t.Refuse(key, `want six hex digits, red, green, blue, such as "1B1F23"`)
	}
	return page.Ink(v)
}

// Alarm is the style of what fails.
func (l *Style) Alarm() page.Style {
	return page.Style{Face: page.Bold, Size: l.Body.Size, Ink: l.Rust}
}
