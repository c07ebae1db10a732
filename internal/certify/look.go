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

// look is how all documents of a set are drawn, and which sections each has.
// Lengths are millimetres, sizes points.
type look struct {
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

	certificate, nonconformance, summary, comparison []string
	labels                                           labelGeometry

	faces                 [page.Faces][]byte
	glyphs                typefaces
	logo                  []byte
	logoWidth, logoHeight float64
}

const white page.Ink = 0xFFFFFF

// certificateSections are the sections that a certificate may have; a template
// chooses and orders them. The other documents' stand beside them.
var (
	certificateSections    = []string{"link", "ladder", "readings", "terminations", "reflectance", "method", "questions", "signatures", "small_print", "photos"}
	nonconformanceSections = []string{"wrong", "ladder", "causes", "readings", "terminations", "corrective", "retest", "link", "reflectance", "method", "questions", "signatures", "small_print", "photos"}
	summarySections        = []string{"counts", "open", "dots", "margins", "map", "statistics", "population", "questions", "links", "sets", "people", "instruments", "files", "revisions", "small_print"}
)

// kept are the sections of each document that a template may move but not leave
// out: what was found, what is asked, how it was measured, against which limits,
// who signs, what changed since, and the cautions. A paper without them would be
// true and still deceive.
var kept = map[string][]string{
	"certificate":    {"readings", "method", "questions", "signatures", "small_print"},
	"nonconformance": {"wrong", "readings", "method", "questions", "signatures", "small_print"},
	"summary":        {"counts", "open", "population", "questions", "links", "sets", "people", "instruments", "revisions", "small_print"},
	"comparison":     {"conclusion", "readings", "questions", "conditions", "signatures", "small_print"},
}

func loadLook(base, over fs.FS, problems *diag.List) *look {
	style := typed{template.ReadOver(base, over, "documents/style.yaml", problems), problems}
	l := &look{
		paperName: style.text("paper"),
		grid:      style.number("millimetres.grid", 4, 7),
		rail:      style.number("millimetres.rail", 36, 60),
		gutter:    style.number("millimetres.gutter", 4, 20),
		top:       style.number("millimetres.top", 8, 40),
		right:     style.number("millimetres.right", 8, 40),
		bottom:    style.number("millimetres.bottom", 8, 40),
		symbol:    style.number("millimetres.symbol", 28, 44),
		ink:       style.colour("colours.ink"),
		soft:      style.colour("colours.soft"),
		hair:      style.colour("colours.hair"),
		railInk:   style.colour("colours.rail"),
		deep:      style.colour("colours.deep"),
		step1:     style.colour("colours.step_dark"),
		step2:     style.colour("colours.step_middle"),
		step3:     style.colour("colours.step_light"),
		rust:      style.colour("colours.rust"),
	}
	set := func(name string, face page.Face, ink page.Ink) page.Style {
		return page.Style{Face: face, Size: style.number("points."+name, 5, 48), Ink: ink}
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
	l.legible(style)
	if !slices.Contains([]string{page.A4.Name, page.Letter.Name}, l.paperName) {
		style.refuse("paper", "want A4 or letter")
	}
	l.fonts(style, over)
	l.brand(style, over)
	sections := func(name string, known []string) []string {
		t := typed{template.ReadOver(base, over, "documents/"+name+".yaml", problems), problems}
		return t.keeping("sections", t.choice("sections", known), kept[name])
	}
	l.certificate = sections("certificate", certificateSections)
	l.nonconformance = sections("nonconformance", nonconformanceSections)
	l.summary = sections("summary", summarySections)
	l.comparison = sections("comparison", comparisonSections)
	return l
}

// leastContrast is that of small text on its ground (WCAG 2.2, success criterion
// 1.4.3).
const leastContrast = 4.5

// legible refuses colours on which the texts that stand on them cannot be read.
func (l *look) legible(t typed) {
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
			t.refuseOne(fmt.Sprintf("want %s to stand out from %s by %.1f : 1, have %.1f : 1 (WCAG 2.2)", pair.text, ground, leastContrast, have), keys...)
		}
	}
}

// setPaper chooses the sheet, by the name in job.yaml or else the template's,
// and what depends on it.
func (l *look) setPaper(name string, base, over fs.FS, problems *diag.List) page.Paper {
	p := l.paper(name)
	l.labels = labelsOf(typed{template.ReadOver(base, over, "documents/labels.yaml", problems), problems}, p)
	return p
}

// paper is the sheet by its name, the template's where the job names none.
func (l *look) paper(name string) page.Paper {
	for _, n := range []string{name, l.paperName} {
		for _, p := range []page.Paper{page.A4, page.Letter} {
			if strings.EqualFold(n, p.Name) {
				return p
			}
		}
	}
	return page.A4
}

// typed reads values of a template, collecting problems.
type typed struct {
	template.Template
	problems *diag.List
}

func (t typed) refuse(key, want string) {
	e := t.Template[key]
	t.problems.Add(diag.Problem{Code: "bad-value", Place: e.Place, Message: fmt.Sprintf("%s: %q is not possible here", key, e.Text), Want: want,
		Mend: "correct the value"})
}

// refuseOne refuses the first of several keys that the job's own file changed,
// or the first.
func (t typed) refuseOne(want string, keys ...string) {
	for _, key := range keys {
		if t.Template[key].Own {
			t.refuse(key, want)
			return
		}
	}
	t.refuse(keys[0], want)
}

func (t typed) text(key string) string { return t.Template[key].Text }

func (t typed) number(key string, least, most float64) float64 {
	return t.numberOr(key, least, most, "")
}

// numberOr is number where a word may stand instead, which the way out names.
func (t typed) numberOr(key string, least, most float64, word string) float64 {
	v, err := strconv.ParseFloat(t.Template[key].Text, 64)
	if err != nil || !(v >= least && v <= most) {
		want := fmt.Sprintf("want a number from %g to %g", least, most)
		if word != "" {
			want += ", or " + word
		}
		t.refuse(key, want)
	}
	return v
}

// oneOf reads one of a few words.
func (t typed) oneOf(key string, words ...string) string {
	if text := t.text(key); slices.Contains(words, text) {
		return text
	}
	t.refuse(key, "want "+strings.Join(words, " or "))
	return words[0]
}

func (t typed) colour(key string) page.Ink {
	v, err := strconv.ParseUint(t.Template[key].Text, 16, 24)
	if err != nil || len(t.Template[key].Text) != 6 {
		t.refuse(key, `want six hex digits, red, green, blue, such as "1B1F23"`)
	}
	return page.Ink(v)
}

// choice reads a list whose items are all known, each at most once.
func (t typed) choice(key string, known []string) []string {
	var chosen []string
	for _, item := range t.Template[key].List {
		problem := ""
		switch {
		case !slices.Contains(known, item.Text):
			problem = "is not known"
		case slices.Contains(chosen, item.Text):
			problem = "stands here twice"
		}
		if problem != "" {
			t.problems.Add(diag.Problem{Code: "bad-value", Place: item.Place, Message: fmt.Sprintf("%s: %q %s", key, item.Text, problem),
				Want: "want some of " + strings.Join(known, ", "), Mend: "correct the name, or remove it"})
			continue
		}
		chosen = append(chosen, item.Text)
	}
	return chosen
}

// keeping refuses a choice that lacks something. A name that is not known may be
// meant for it, and is refused already.
func (t typed) keeping(key string, chosen, needed []string) []string {
	if len(chosen) < len(t.Template[key].List) {
		return chosen
	}
	var lacking []string
	for _, name := range needed {
		if !slices.Contains(chosen, name) {
			lacking = append(lacking, name)
		}
	}
	if len(lacking) > 0 {
		t.problems.Add(diag.Problem{Code: "missing-section", Place: t.Template[key].Place, Message: fmt.Sprintf("%s: %s may not be left out", key, strings.Join(lacking, ", ")),
			Want: "want at least " + strings.Join(needed, ", ") + ", in any order", Mend: "add what is missing; to change a heading, write your own in wording/"})
	}
	return chosen
}

// alarm is the style of what fails.
func (l *look) alarm() page.Style { return page.Style{Face: page.Bold, Size: l.body.Size, Ink: l.rust} }
