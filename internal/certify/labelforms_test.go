package certify_test

import (
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"spanseal/internal/certify"
	"spanseal/internal/outside"
	"spanseal/internal/page"
	"spanseal/internal/record"
)

// small is a sheet of 65 labels of 38.1 × 21.2 mm, a size that stationers sell.
const small = "A4: {columns: 5, rows: 13, left: 4.75, top: 10.7, width: 38.1, height: 21.2, pitch_x: 40.6, pitch_y: 21.2}\n"

func labelsBy(t *testing.T, facts *record.Facts, override string) (*certify.PaperSet, *certify.Paper) {
	t.Helper()
	o := options()
	o.Overrides = fstest.MapFS{"documents/labels.yaml": {Data: []byte(override)}}
	set := newSet(t, facts, o)
	d, err := set.Labels()
	if err != nil {
		t.Fatal(err)
	}
	return set, d
}

// sheetOf is the paper that a document is on.
func sheetOf(set *certify.PaperSet, d *certify.Paper) page.PaperSize {
	if d.Paper != (page.PaperSize{}) {
		return d.Paper
	}
	return set.Paper()
}

// TestLabelForms: of each form there are as many labels as are asked for, each says what
// it has to, nothing leaves its label, and the symbols of numbers are read by zbarimg.
func TestLabelForms(t *testing.T) {
	for _, c := range []struct {
		name, override string
		each           int    // labels of a link
		says           string // of link A-01, on one label at least
		pages          int    // 0: one a label
		height         float64
		scan           bool
	}{
		{"one for each end", "ends: both\n", 2, "this end (B): panel C1 port 1 (comms room)", 3, 297, false},
		{"three copies", "copies: 3\n", 3, "panel C1 port 1 (comms room)", 4, 297, false},
		{"small", small + "carries: number\n", 1, "BL-2026-031/A-01", 1, 297, true},
		{"small, for each end", small + "carries: number\nends: both\nsymbol: 9\n", 2, "this end (A): panel R1 port 1 (reading room)", 1, 297, false},
		{"small, text alone", small + "carries: nothing\nends: both\n", 2, "this end (A): panel R1 port 1 (reading room)", 1, 297, false},
		{"flags of text", "carries: nothing\nform: flag\n", 1, "A-01", 2, 297, false},
		{"tape of 24 mm", "stationery: tape\nends: both\n", 2, "other end (A): panel R1 port 1 (reading room)", 0, 24, false},
		{"tape of 12 mm", "stationery: tape\ncarries: number\ntape: {height: 12}\n", 1, "BL-2026-031/A-01", 0, 12, true},
		{"tape of 9 mm", "stationery: tape\ncarries: nothing\ntape: {height: 9}\nends: both\n", 2, "this end (A): panel R1 port 1 (reading room)", 0, 9, false},
		{"flags on tape", "stationery: tape\ncarries: number\nform: flag\ntape: {height: 18}\n", 1, "BL-2026-031/A-01", 0, 18, false},
		{"tape of a length", "stationery: tape\ncarries: number\ntape: {height: 12, length: 60}\n", 1, "BL-2026-031/A-01", 0, 12, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			set, d := labelsBy(t, library(), c.override)
			problems := set.Rehearse()
			if problems.Errors() > 0 {
				t.Errorf("made, and refused beforehand: %v", problems.Sorted())
			}
			paper := sheetOf(set, d)
			r := drawn(t, paper, d)
			made := set.Judgement.Counts.Certified * c.each
			pages := c.pages
			if pages == 0 {
				pages = made
			}
			if r.PageNumber() != pages || paper.Height != c.height {
				t.Errorf("%d pages, %.1f mm high, want %d and %.1f", r.PageNumber(), paper.Height, pages, c.height)
			}
			numbers := 0
			for _, l := range set.Judgement.Results() {
				if l.Verdict.Certifiable() {
					numbers += strings.Count(strings.Join(r.Texts(), "\n"), set.CertificateNumber(l.Link.ID))
				}
			}
			if strings.Contains(c.override, "form: flag") && strings.Contains(c.override, "nothing") {
				made *= 2 // on both sides of the cord
			}
			if numbers != made {
				t.Errorf("%d numbers on %d labels", numbers, made)
			}
			if !strings.Contains(strings.ReplaceAll(strings.Join(r.Texts(), " "), page.Joint, ""), c.says) {
				t.Errorf("no label says %q: %q", c.says, r.Texts())
			}
			for _, fault := range append(r.Overlaps(), r.Outside(paper.Sheet())...) {
				t.Error(fault)
			}
			noteOfLess(t, set, d, made)
			if !c.scan || testing.Short() {
				return
			}
			name := file(t, set, d)
			outside.Run(t, "pdftoppm", "-r", "300", "-gray", "-png", name, strings.TrimSuffix(name, ".pdf"))
			found := map[string]bool{}
			images, _ := filepath.Glob(filepath.Join(filepath.Dir(name), "*.png"))
			for _, image := range images {
				for text := range strings.Lines(outside.Run(t, "zbarimg", "-q", "--raw", image)) {
					found[strings.TrimSpace(text)] = true
				}
			}
			for _, l := range set.Judgement.Results() {
				if number := set.CertificateNumber(l.Link.ID); l.Verdict.Certifiable() && !found[number] {
					t.Errorf("%s was not read", number)
				}
			}
		})
	}
}

// noteOfLess: check says that labels do without some of their text if a text is drawn with
// an ellipsis, or less often than there are labels; and else not.
func noteOfLess(t *testing.T, set *certify.PaperSet, d *certify.Paper, made int) {
	t.Helper()
	said := ""
	for _, p := range set.Rehearse().Sorted() {
		if p.Code == "label-leaves-out" {
			said = p.Message
		}
	}
	r := drawn(t, sheetOf(set, d), d)
	all := strings.Join(r.Texts(), "\n")
	contractor := strings.Count(strings.ReplaceAll(strings.Join(r.Texts(), " "), page.Joint, ""), set.Facts.Job.Contractor.Name)
	if less := strings.Contains(all, "…") || contractor < made; less != (said != "") {
		t.Errorf("%d labels, %d with the contractor, and check says %q of\n%.900s", made, contractor, said, all)
	}
}

// TestNothingIsCutInSilence: of labels with long texts check names the first, with its sheet,
// and what they do without: those whose symbol carries the token too.
func TestNothingIsCutInSilence(t *testing.T) {
	long := library()
	long.Job.Contractor.Name = "Tidewater Fibre Works and Harbour Electrical Installations of Port Ansel"
	for i := range long.Links {
		if l := &long.Links[i]; i < 3 {
			l.To = "panel C1 port 1 of the western equipment room on the second floor of the pumping station at the northern mole"
		}
	}
	for name, c := range map[string]struct{ override, want string }{
		"token":             {"A4: {height: 25.4, width: 48.5}\n", "20 of 25 labels have no room for all of their text: A-01 (sheet 1), A-02 (sheet 1), A-03 (sheet 1) and 17 more; cut short: from, to, the contractor"},
		"one for each end":  {small + "carries: nothing\nends: both\n", "A-01 end A (sheet 1), A-01 end B (sheet 1), A-02 end A (sheet 1)"},
		"from another":      {small + "carries: number\nstart: 64\n", "A-01 (sheet 1), A-02 (sheet 1), A-03 (sheet 2)"},
		"three copies each": {"copies: 3\nA4: {height: 25.4, width: 48.5}\n", "60 of 75 labels have no room"},
	} {
		t.Run(name, func(t *testing.T) {
			set, d := labelsBy(t, long, c.override)
			noteOfLess(t, set, d, 1<<20)
			if said := fmt.Sprint(set.Rehearse().Sorted()); !strings.Contains(said, c.want) {
				t.Errorf("%s, want %q", said, c.want)
			}
		})
	}
}

// TestLabelsRefused: a label without room is refused before anything is written, by a
// sentence that says what the least is; what is left out is said.
func TestLabelsRefused(t *testing.T) {
	for _, c := range []struct{ name, override, want string }{
		{"a token on 38.1 × 21.2 mm", small, "the symbol and its quiet zone need 23.6 mm, the label has 21.2 mm; one with carries: number needs 11.0 mm, and carries: nothing none"},
		{"a number on 9 mm of tape", "stationery: tape\ncarries: number\ntape: {height: 9}\n", "the symbol and its quiet zone need 11.0 mm, the label has 9.0 mm"},
		{"a symbol of 12 mm on 12 mm of tape", "stationery: tape\ncarries: number\nsymbol: 12\ntape: {height: 12}\n", "the symbol and its quiet zone need 16.6 mm, the label has 12.0 mm"},
		{"a symbol of 6 mm", "carries: number\nsymbol: 6\n", "want a number from 8 to 100, or largest"},
		{"text alone on 10 mm", "carries: nothing\nA4: {width: 10, pitch_x: 20}\n", "text alone needs 15 mm of width and 5 mm of height"},
		{"flags of 40 mm on tape", "stationery: tape\ncarries: nothing\nform: flag\ntape: {length: 40}\n", "text alone needs 15 mm of width and 5 mm of height"},
		{"half a copy", "copies: 0\n", "want a number from 1 to 100"},
		{"a tape of 4 mm", "stationery: tape\ncarries: nothing\ntape: {height: 4}\n", "want a number from 5 to 200"},
		{"both ends on 5 mm", "carries: nothing\nends: both\nA4: {width: 20, height: 5}\n", "the label of A-01: its text needs 8.6 mm of height, and a label has 5.0 mm"},
		{"the contractor on 12 mm", "stationery: tape\ncarries: number\ntape: {height: 12}\n", "25 of 25 labels have no room for all of their text: A-01, A-02, A-03 and 22 more; left out: to, verdict and day, the contractor"},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := options()
			o.Overrides = fstest.MapFS{"documents/labels.yaml": {Data: []byte(c.override)}}
			set, problems := o.Set(library(), judged(t, library()))
			if set != nil {
				problems.Join(set.Rehearse())
			}
			var said []string
			for _, p := range problems.Sorted() {
				said = append(said, p.Message, p.Want)
			}
			if !slices.ContainsFunc(said, func(s string) bool { return s == c.want }) {
				t.Errorf("%q, want %q", said, c.want)
			}
			if set != nil && problems.Errors() > 0 {
				if _, err := set.Labels(); err == nil || fmt.Sprint(err) != c.want {
					t.Errorf("check refuses it, and the labels are made: %v", err)
				}
			}
		})
	}
}
