package certify_test

import (
	"math"
	"strings"
	"testing"

	"spanseal/internal/page"
	"spanseal/internal/record"
)

// TestPictures: all pictures of a paper are as wide, three stand on a page; each begins
// at the column's edge on a line of the grid, and beside it stands what the record
// knows: link, end and place, the connector with its end face, by whom and when, file
// and digest.
func TestPictures(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	const left, right = 48.0, 16.8
	for _, paper := range []page.PaperSize{page.A4, page.Letter} {
		for language, want := range map[string][]string{
			"en": {"A-12, end A, panel R1 port 12 (reading room)", "End face passed according to M. Okafor, no criterion, spliced-on connector, finished 16 Nov 2026 14:25", "photos/A-12 A.png, SHA-256 ",
				"A-12, end B, panel C1 port 12 (comms room)", "End face not inspected, spliced-on connector, M. Okafor, finished 17 Nov 2026 14:25", "photos/A-12 B.png, SHA-256 ",
				"A-12, from panel R1 port 12 (reading room) to panel C1 port 12 (comms room)", "photos/A-12 .png, SHA-256 "},
			"es": {"A-12, extremo A, panel R1 port 12 (reading room)", "Cara aprobada según M. Okafor, sin criterio, conector empalmado, terminado 16 nov 2026 14:25", "photos/A-12 A.png, SHA-256 ",
				"A-12, extremo B, panel C1 port 12 (comms room)", "Cara sin inspeccionar, conector empalmado, M. Okafor, terminado 17 nov 2026 14:25", "photos/A-12 B.png, SHA-256 ",
				"A-12, de panel R1 port 12 (reading room) a panel C1 port 12 (comms room)", "photos/A-12 .png, SHA-256 "},
		} {
			f := library()
			f.Job.Documents = record.Documents{Paper: paper.Name, Language: language}
			for i := range f.Terminations {
				if one := &f.Terminations[i]; one.Link == "A-12" && one.End == "B" {
					one.EndFace = record.EndFaceNotInspected
				}
			}
			set := newSet(t, f, options())
			l, _ := set.Judgement.Link("A-12")
			d, err := set.Certificate(l)
			if err != nil {
				t.Fatal(err)
			}
			r := drawn(t, paper, d)
			grid := d.Signature.Box.H / 2 // its place is two lines high
			column := paper.Width - left - right
			on := map[int][]page.Mark{}
			captions := []string{""}
			for i, m := range r.Marks {
				if m.Kind != page.PictureMark {
					continue
				}
				on[m.Page] = append(on[m.Page], m)
				for _, under := range r.Marks[i+1:] {
					if under.Kind != page.TextMark || under.At.X < left {
						break
					}
					captions[0] += under.Text + " " // of one line or more
				}
			}
			if len(on) != 1 || len(on[2]) != 3 {
				t.Fatalf("%s: pictures by page: %v", paper.Name, on)
			}
			for _, m := range on[2] {
				wide, high := m.Box.W > 0.5*column-0.1, m.Box.H > (paper.Height-60)/3-15
				if !wide && !high {
					t.Errorf("%s: a small picture %v", paper.Name, m.Box)
				}
				lines := (m.Box.Y - on[2][0].Box.Y) / grid
				if math.Abs(m.Box.X-left) > 0.01 || math.Abs(lines-math.Round(lines)) > 0.01 {
					t.Errorf("%s: %v is not on the grid", paper.Name, m.Box)
				}
			}
			rest := captions[0]
			ok := true
			for _, text := range want {
				before, after, found := strings.Cut(rest, text)
				ok = ok && found && len(before) < 20 // the end of a digest
				rest = after
			}
			if !ok {
				t.Errorf("captions\n%q, want\n%q", captions, want)
			}
		}
	}
}
