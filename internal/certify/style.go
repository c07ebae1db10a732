package certify

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

// style is how all documents of a set are drawn. Lengths are millimetres, sizes
// points.
type style struct {
	paperName string
	grid      float64 // height of one line of the baseline grid
	rail      float64 // width of the rail
	gutter    float64 // between rail and main column
	top       float64 // to the baseline of the letterhead
	right     float64
	bottom    float64
	symbol    float64 // side of the box that holds the QR symbol and its quiet zone

	ink, soft, hair, railInk, deep, step1, step2, step3, rust page.Ink

	title, lead, heading, body, strong, caption, small, note, verdict, big, figure page.Style

	faces                 [page.Faces][]byte
	glyphs                typefaces
	logo                  []byte
	logoWidth, logoHeight float64
}

const white page.Ink = 0xFFFFFF

// loadStyle reads documents/style.yaml, over which a job may lay its own.
func loadStyle(base, over fs.FS, problems *diag.List) *style {
	values := template.Values{Template: template.ReadOver(base, over, "documents/style.yaml", problems), Problems: problems}
	l := &style{
		paperName: values.Text("paper"),
		grid:      values.Number("millimetres.grid", 4, 7),
		rail:      values.Number("millimetres.rail", 36, 60),
		gutter:    values.Number("millimetres.gutter", 4, 20),
		top:       values.Number("millimetres.top", 8, 40),
		right:     values.Number("millimetres.right", 8, 40),
		bottom:    values.Number("millimetres.bottom", 8, 40),
		symbol:    values.Number("millimetres.symbol", 28, 44),
		ink:       colour(values, "colours.ink"),
		soft:      colour(values, "colours.soft"),
		hair:      colour(values, "colours.hair"),
		railInk:   colour(values, "colours.rail"),
		deep:      colour(values, "colours.deep"),
		step1:     colour(values, "colours.step_dark"),
		step2:     colour(values, "colours.step_middle"),
		step3:     colour(values, "colours.step_light"),
		rust:      colour(values, "colours.rust"),
	}
	set := func(name string, face page.Face, ink page.Ink) page.Style {
		return page.Style{Face: face, Size: values.Number("points."+name, 5, 48), Ink: ink}
	}
	l.title = set("title", page.Medium, l.ink)
	l.lead = set("lead", page.Regular, l.ink)
	l.heading = set("heading", page.Medium, l.deep)
	l.body = set("body", page.Regular, l.ink)
	l.strong = page.Style{Face: page.Medium, Size: l.body.Size, Ink: l.ink}
	l.caption = set("caption", page.Regular, l.soft)
	l.small = set("small", page.Regular, l.soft)
	l.note = page.Style{Face: page.Italic, Size: l.caption.Size, Ink: l.soft}
	l.verdict = set("verdict", page.Medium, l.ink)
	l.big = set("link", page.Medium, l.ink)
	l.figure = set("count", page.Medium, l.ink)
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
func (l *style) legible(t template.Values) {
	for _, pair := range []struct {
		text, ground string
		a, b         page.Ink
	}{
		{"ink", "rail", l.ink, l.railInk}, {"soft", "rail", l.soft, l.railInk}, {"soft", "", l.soft, white}, {"rust", "", l.rust, white}, {"deep", "", l.deep, white},
		{"ink", "step_dark", l.ink, l.step1}, {"ink", "step_middle", l.ink, l.step2}, {"ink", "step_light", l.ink, l.step3},
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

// paper is the sheet by its name, the template's where the job names none.
func (l *style) paper(name string) page.Paper {
	for _, n := range []string{name, l.paperName} {
		for _, p := range []page.Paper{page.A4, page.Letter} {
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

// alarm is the style of what fails.
func (l *style) alarm() page.Style {
	return page.Style{Face: page.Bold, Size: l.body.Size, Ink: l.rust}
}
