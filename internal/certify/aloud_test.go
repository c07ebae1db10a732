package certify_test

import (
	"bytes"
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/certify"
	"spanseal/internal/golden"
	"spanseal/internal/page"
	"spanseal/internal/pdf"
	"spanseal/internal/pdf/archival"
	"spanseal/internal/specimen"
)

// paper writes a document as an unsigned PDF.
func paper(t testing.TB, press *pdf.Press, set *certify.PaperSet, d *certify.Paper) []byte {
	t.Helper()
	var b bytes.Buffer
	doc := &pdf.Document{Title: d.Title, Language: d.Language, Created: set.Issued, Draw: d.Draw}
	if err := press.Canvas().Write(&b, doc, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// aloud writes what a document says, one line a paragraph, caption, value or cell,
// further in what is within another.
func aloud(parts []archival.ReadAloud, indent string) string {
	var b strings.Builder
	for _, p := range parts {
		kind := p.Kind
		if p.Scope != "" {
			kind += " of " + strings.ToLower(p.Scope)
		}
		fmt.Fprintf(&b, "%s%s", indent, kind)
		text := p.Text
		if p.Alt != "" {
			text = p.Alt
		}
		if text != "" {
			fmt.Fprintf(&b, ": %s", text)
		}
		b.WriteByte('\n')
		b.WriteString(aloud(p.Parts, indent+"  "))
	}
	return b.String()
}

// heard is what parts say, in order; of a figure, what is drawn in it.
func heard(parts []archival.ReadAloud) (texts []string) {
	for _, p := range parts {
		if p.Text != "" {
			texts = append(texts, p.Text)
		}
		texts = append(texts, heard(p.Parts)...)
	}
	return texts
}

// seen is what the eye gets of a document, in the order of the parts that it
// belongs to, and which texts are not a part: those that later pages repeat.
func seen(t *testing.T, r *page.Recorder) (texts, artifacts []string) {
	t.Helper()
	if r.Open() != 0 {
		t.Errorf("%d elements have no end", r.Open())
	}
	said := map[int]string{}
	var order []int
	joined := map[int]bool{}
	for i, m := range r.Marks {
		switch {
		case m.Kind != page.TextMark || m.Text == "":
		case r.Artifact(m):
			artifacts = append(artifacts, m.Text)
		default:
			in := m.In
			if in == 0 { // a paragraph of its own
				in = -1 - i
			}
			if _, ok := said[in]; !ok {
				order = append(order, in)
			} else if !joined[in] {
				said[in] += " "
			}
			said[in] += m.Text
			joined[in] = m.Joined
		}
	}
	for _, in := range order {
		texts = append(texts, strings.TrimSpace(said[in]))
	}
	return texts, artifacts
}

// TestReadAloud reads papers from their structure alone and holds that against all
// that the eye gets, in order: nothing is left out but what is said elsewhere.
// What is read is kept, to be read by a person.
func TestReadAloud(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	spanish := library()
	spanish.Job.Documents.Language = "es"
	german := library()
	german.Job.Documents.Language = "de"
	shown := options()
	shown.Specimen = true
	sets := map[string]*certify.PaperSet{
		"en": newSet(t, library(), options()), "es": newSet(t, spanish, options()), "de": newSet(t, german, options()),
		"harsh": newSet(t, harsh(), options()), "specimen": newSet(t, specimen.Facts(library(), shown.Issued), shown),
	}
	kept := map[string]bool{"en/certificates/A-12": true, "en/nonconformance/A-07": true, "en/summary": true, "en/statement": true,
		"es/certificates/A-12": true, "de/certificates/A-12": true}
	number := regexp.MustCompile(`^(page|página|Seite) \d+`)
	for name, set := range sets {
		press, err := pdf.NewPress(set.Paper(), pdf.Options{Runes: set.Runes()})
		if err != nil {
			t.Fatal(err)
		}
		for n, d := range papers(t, set) {
			title := name + "/" + strings.TrimSuffix(d.Path, ".pdf")
			if n > 6 && n%5 != 0 && !kept[title] {
				continue
			}
			parts, err := archival.Read(paper(t, press, set, d))
			if err != nil {
				t.Fatalf("%s: %v", title, err)
			}
			r := drawn(t, set.Paper(), d)
			texts, artifacts := seen(t, r)
			if diff := cmp.Diff(texts, heard(parts)); diff != "" {
				t.Errorf("%s: what is seen and what is heard differ (- seen, + heard):\n%s", title, diff)
			}
			all := strings.Join(texts, "\n")
			for _, text := range artifacts {
				if !strings.Contains(all, text) && !number.MatchString(text) && !strings.Contains(text, "continued") && !strings.Contains(text, "continua") && !strings.Contains(text, "Fortsetzung") {
					t.Errorf("%s: %q is said nowhere", title, text)
				}
			}
			inReadingOrder(t, title, r)
			figuresSpeak(t, title, r)
			if !kept[title] {
				continue
			}
			golden.Compare(t, filepath.Join("testdata", "aloud", strings.ReplaceAll(title, "/", "-")+".txt"), aloud(parts, ""))
		}
	}
}

// inReadingOrder: in the main column, what is read later stands further down, or
// further right in the same row.
func inReadingOrder(t *testing.T, title string, r *page.Recorder) {
	t.Helper()
	const row, rail = 4.2, 55.0 // mm
	page1, y := 0, 0.0
	last := 0
	for _, m := range r.Marks {
		if m.Kind != page.TextMark || m.In == 0 || r.Artifact(m) || m.At.X < rail && strings.Contains(title, "labels") == false {
			continue
		}
		if node := r.Elements[m.In-1]; node.Role == page.Figure || m.In == last || strings.Contains(title, "labels") {
			continue
		}
		last = m.In
		if m.Page < page1 || m.Page == page1 && m.At.Y < y-row {
			t.Errorf("%s: %v is read behind what stands below it", title, m)
		}
		page1, y = m.Page, m.At.Y
	}
}

// figuresSpeak: every symbol and picture is part of a figure, and every figure
// says what it shows.
func figuresSpeak(t *testing.T, title string, r *page.Recorder) {
	t.Helper()
	for _, m := range r.Marks {
		if m.Kind != page.ModulesMark && m.Kind != page.PictureMark || m.Page > 1 && !strings.Contains(title, "labels") && m.Kind == page.ModulesMark {
			continue
		}
		if m.In == 0 || r.Elements[m.In-1].Role != page.Figure && r.Elements[m.In-1].Role != page.Artifact {
			t.Errorf("%s: %v is in no figure", title, m)
		}
	}
	for _, e := range r.Elements {
		if e.Role == page.Figure && strings.TrimSpace(e.Alt) == "" {
			t.Errorf("%s: a figure on page %d says nothing", title, e.Page)
		}
	}
	if !slices.ContainsFunc(r.Elements, func(n page.Node) bool { return n.Role == page.Heading }) && !strings.Contains(title, "labels") {
		t.Errorf("%s has no heading", title)
	}
}
