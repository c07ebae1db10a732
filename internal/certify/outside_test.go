package certify_test

import (
	"bytes"
	"flag"
	"fmt"
	"image"
	"image/color"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/certify"
	"spanseal/internal/outside"
	"spanseal/internal/page"
	"spanseal/internal/pdf"
	"spanseal/internal/record"
	"spanseal/internal/seal"
)

// file writes a document as an unsigned PDF.
func file(t *testing.T, set *certify.PaperSet, d *certify.Paper) string {
	t.Helper()
	press, err := pdf.NewPress(sheetOf(set, d), pdf.Options{Runes: set.Runes()})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	doc := &pdf.Document{Title: d.Title, Language: d.Language, Created: set.Issued, Draw: d.Draw}
	if err := press.Canvas().Write(&b, doc, nil); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(t.TempDir(), "paper.pdf")
	if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
	return name
}

// TestTextReadsInOrder: what pdftotext finds on a certificate is the page as a
// person reads it.
func TestTextReadsInOrder(t *testing.T) {
	set := newSet(t, library(), options())
	l, _ := set.Judgement.Link("A-12")
	d, err := set.Certificate(l)
	if err != nil {
		t.Fatal(err)
	}
	text := outside.Run(t, "pdftotext", "-layout", "-enc", "UTF-8", file(t, set, d), "-")
	words := strings.Join(strings.Fields(text), " ")
	at := 0
	for _, want := range []string{"Optical fibre link certificate", "Link A-12, from panel R1 port 12", "The link", "Loss against its allowance", "Readings",
		"1310 B to A 1.030 2.225 1.195 0.120 LS-4, PM-9 11:33", "0.4 dB/km × 0.312 km + 0.75 dB × 2 mated pairs + 0.3 dB × 2 splices ≈ 2.225 dB",
		"Terminations", "A spliced-on connector ≈ 0.02 1 26-0417 passed M. Okafor, 16 Nov", "How it was measured", "for the contractor"} {
		i := strings.Index(words[at:], want)
		if i < 0 {
			t.Fatalf("%q is missing or out of order in\n%s", want, text)
		}
		at += i
	}
}

// TestStructureOutside: what pdfinfo reads of a paper's structure is all that the
// eye gets, in order, and none of what later pages repeat; of three kinds of papers
// with -long.
func TestStructureOutside(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	set := newSet(t, library(), options())
	for _, d := range papers(t, set) {
		if d.Path != "certificates/A-12.pdf" && (!*long || d.Path != "nonconformance/A-07.pdf" && d.Path != "statement.pdf") {
			continue // it draws a page anew for each element
		}
		out := outside.Run(t, "pdfinfo", "-enc", "UTF-8", "-struct-text", file(t, set, d))
		var heard []string
		for line := range strings.Lines(out) {
			line = strings.TrimSpace(line)
			if len(line) > 1 && line[0] == '"' && line[len(line)-1] == '"' {
				heard = append(heard, strings.Fields(line[1:len(line)-1])...)
			}
		}
		texts, _ := seen(t, drawn(t, set.Paper(), d))
		if diff := cmp.Diff(strings.Fields(strings.Join(texts, " ")), heard); diff != "" {
			t.Errorf("%s: what is seen and what pdfinfo reads differ (- seen, + read):\n%s", d.Path, diff)
		}
		for _, kind := range []string{"H1 ", "H2 ", "Table", "TH:", "Figure:", "LBody "} {
			if !strings.Contains(out, kind) && (kind != "Figure:" || d.Path != "statement.pdf") {
				t.Errorf("%s: pdfinfo finds no %s", d.Path, kind)
			}
		}
	}
}

// TestLayoutKeepsRows: in the text that pdftotext lays out in lines, names and
// values of every block stay in rows, on every paper, whatever the height of the
// first sentence: nothing in the rail tears them apart.
func TestLayoutKeepsRows(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	rows := map[string][][]string{
		"en": {{"fibre", "length", "mated pairs", "splices"}, {"OS2", " m (", "counted", "at each connector"}, {"end A", "end B", "cable", "stage"}, {"LC", "RR-C1-24", "final"},
			{"nm", "direction", "measured", "allowed", "margin"}, {"1310", "A to B", "LS-4, PM-9"}, {"end", "type", "lot", "made by, finished"}, {"A", "spliced", "26-0417", "16 Nov"},
			{"reference", "test cords", "source, meter"}, {"one-cord", "standard grade", "40117"}, {"calibrated", "measured by", "witness"}, {"3 Mar 2026", "M. Okafor", "none named"}},
		"es": {{"fibra", "longitud"}, {"OS2", " m ("}, {"extremo A", "extremo B", "cable"}, {"LC", "RR-C1-24"}},
	}
	for language, rows := range rows {
		for _, paper := range []page.PaperSize{page.A4, page.Letter} {
			for _, room := range []string{"", " (reading room, north wall, behind the columns)", " (reading room, north wall, behind the columns of the old entrance and left of the second window)"} {
				f := library()
				f.Job.Documents.Language, f.Job.Documents.Paper = language, paper.Name
				for i := range f.Links {
					f.Links[i].From = strings.Replace(f.Links[i].From, " (reading room)", room, 1)
				}
				set := newSet(t, f, options())
				for _, id := range []string{"A-11", "A-19"} {
					l, _ := set.Judgement.Link(id)
					d, err := set.Certificate(l)
					if err != nil {
						t.Fatal(err)
					}
					lines := strings.Split(outside.Run(t, "pdftotext", "-layout", "-enc", "UTF-8", file(t, set, d), "-"), "\n")
					for _, row := range rows {
						if !slices.ContainsFunc(lines, func(line string) bool {
							return !slices.ContainsFunc(row, func(word string) bool { return !strings.Contains(line, word) })
						}) {
							t.Errorf("%s, %s, from %q, %s: no line has %q in\n%s", language, paper.Name, room, id, row, strings.Join(lines[:min(len(lines), 30)], "\n"))
						}
					}
				}
			}
		}
	}
}

var long = flag.Bool("long", false, "also run what takes minutes: labels of every form, and of coarse printers")

// TestLabelsScan: zbarimg reads every symbol of a label sheet rendered at
// 300 dpi, in both forms, with names of usual length and of 40 characters, and
// those of labels taken one by one after a blur as of a worn printer.
func TestLabelsScan(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	for name, c := range map[string]struct {
		facts    func() *record.Facts
		override string
		least    int // characters of a token
	}{
		"plain":      {library, "", 0},
		"flag":       {library, "form: flag\n", 0},
		"plain long": {harsh, "", 520},
		"flag long":  {harsh, "form: flag\n", 520},
	} {
		if !*long && name != "plain" && name != "flag long" {
			continue
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			o := options()
			if c.override != "" {
				o.Overrides = fstest.MapFS{"documents/labels.yaml": {Data: []byte(c.override)}}
			}
			want := map[string]bool{}
			o.Sign = func(claim seal.Claim) (string, error) {
				token, err := tokenOf(claim, c.least)
				want[token] = true
				return token, err
			}
			set := newSet(t, c.facts(), o)
			d, err := set.Labels()
			if err != nil {
				t.Fatal(err)
			}
			if len(want) != set.Judgement.Counts.Certified {
				t.Errorf("%d tokens for %d certified links", len(want), set.Judgement.Counts.Certified)
			}
			name := file(t, set, d)
			outside.Run(t, "pdftoppm", "-r", "300", "-gray", name, strings.TrimSuffix(name, ".pdf"))
			pages, _ := filepath.Glob(filepath.Join(filepath.Dir(name), "*.pgm"))
			if len(pages) != 2 {
				t.Fatalf("%d pages", len(pages))
			}
			found := map[string]bool{}
			for token := range strings.Lines(outside.Run(t, "zbarimg", append([]string{"-q", "--raw"}, pages...)...)) {
				found[strings.TrimSpace(token)] = true
			}
			for token := range want {
				if !found[token] {
					t.Errorf("%.24s… was not read", token)
				}
			}
			var sheets []*image.Gray
			for _, page := range pages {
				sheets = append(sheets, grey(t, page))
			}
			args, dir := []string{"-q", "--raw"}, t.TempDir()
			for i, m := range symbols(drawn(t, set.Paper(), d)) {
				if m.Box.W < 20 {
					t.Errorf("%v: want 20 mm at least", m)
				}
				if i%3 == 0 { // a telephone looks at one label
					one := filepath.Join(dir, fmt.Sprintf("%03d.pgm", i))
					blurred(t, sheets[m.Page-1], m, 300, 4, one)
					args = append(args, one)
				}
			}
			tokens := strings.Fields(outside.Run(t, "zbarimg", args...)) // one of each, in order
			if len(tokens) != len(args)-2 {
				t.Errorf("blurred, %d of %d are read", len(tokens), len(args)-2)
			}
			for _, token := range tokens {
				if !want[token] {
					t.Errorf("blurred, one reads %q", token)
				}
			}
		})
	}
}

// TestLabelsOfCoarsePrinters: of a printer with 150 dpi, which is coarser than the
// sheet says, symbols of 20 mm are not all read after a blur of 0.37 mm (6 of 13
// in November 2026), and those that are as large as the label allows are. Of
// 300 dpi both are. The reader is zbarimg.
func TestLabelsOfCoarsePrinters(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	for _, c := range []struct {
		name, override string
		dpi            string
		least, most    int // per cent that are read
	}{
		{"20 mm, 300 dpi", "symbol: 20\n", "300", 100, 100},
		{"20 mm, 150 dpi", "symbol: 20\n", "150", 0, 80},
		{"largest, 150 dpi", "", "150", 100, 100},
	} {
		if !*long && c.name != "largest, 150 dpi" {
			continue
		}
		t.Run(c.name, func(t *testing.T) {
			o := options()
			if c.override != "" {
				o.Overrides = fstest.MapFS{"documents/labels.yaml": {Data: []byte(c.override)}}
			}
			want := map[string]bool{}
			o.Sign = func(claim seal.Claim) (string, error) {
				token, err := tokenOf(claim, 0)
				want[token] = true
				return token, err
			}
			set := newSet(t, library(), o)
			d, err := set.Labels()
			if err != nil {
				t.Fatal(err)
			}
			name := file(t, set, d)
			outside.Run(t, "pdftoppm", "-r", c.dpi, "-mono", name, strings.TrimSuffix(name, ".pdf")) // black or white, as a printer has it
			pages, _ := filepath.Glob(filepath.Join(filepath.Dir(name), "*.pbm"))
			var sheets []*image.Gray
			for _, page := range pages {
				sheets = append(sheets, bitmap(t, page))
			}
			marks := symbols(drawn(t, set.Paper(), d))
			args, dir := []string{"-q", "--raw"}, t.TempDir()
			for i := 0; i < len(marks); i += 2 {
				m := marks[i]
				dpi, _ := strconv.Atoi(c.dpi)
				one := filepath.Join(dir, fmt.Sprintf("%03d.pgm", i))
				blurred(t, sheets[m.Page-1], m, dpi, 6, one)
				args = append(args, one)
			}
			read, tried := 0, len(args)-2
			out, _ := exec.Command("zbarimg", args...).Output() // fails where it reads nothing of one
			for _, token := range strings.Fields(string(out)) {
				if want[token] {
					read++
				}
			}
			t.Logf("symbols of %.1f mm: %d of %d are read", marks[0].Box.W, read, tried)
			if percent := 100 * read / tried; percent < c.least || percent > c.most {
				t.Errorf("%d of %d are read, want %d to %d per cent", read, tried, c.least, c.most)
			}
		})
	}
}

// bitmap reads a page in the raw PBM format: a row is packed into bytes, 1 is black.
func bitmap(t *testing.T, name string) *image.Gray {
	t.Helper()
	raw, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	var width, height int
	if _, err := fmt.Sscanf(string(raw[:40]), "P4\n%d %d\n", &width, &height); err != nil {
		t.Fatal(err)
	}
	stride := (width + 7) / 8
	rows := raw[len(raw)-stride*height:]
	out := image.NewGray(image.Rect(0, 0, width, height))
	for y := range height {
		for x := range width {
			if rows[y*stride+x/8]&(0x80>>(x%8)) == 0 {
				out.SetGray(x, y, color.Gray{255})
			}
		}
	}
	return out
}

// symbols are the QR symbols drawn, in order.
func symbols(r *page.Recorder) []page.Mark {
	var out []page.Mark
	for _, m := range r.Marks {
		if m.Kind == page.ModulesMark {
			out = append(out, m)
		}
	}
	return out
}

// grey reads a page in the raw PGM format: a byte is a pixel, 0 is black.
func grey(t *testing.T, name string) *image.Gray {
	t.Helper()
	raw, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	var width, height, most int
	if _, err := fmt.Sscanf(string(raw[:40]), "P5\n%d %d\n%d\n", &width, &height, &most); err != nil || most != 255 || len(raw) < width*height {
		t.Fatal(name, most, err)
	}
	return &image.Gray{Pix: raw[len(raw)-width*height:], Stride: width, Rect: image.Rect(0, 0, width, height)}
}

// blurred cuts a symbol with the white around it out of a page of so many dpi, as
// a telephone sees it that is near but not sharp: 900 pixels an inch, each the
// mean of those around it as far as the radius, so of a quarter of a millimetre
// for four.
func blurred(t *testing.T, rendered *image.Gray, m page.Mark, dpi, radius int, name string) {
	t.Helper()
	scale := 900 / dpi
	room := m.Room()
	at := func(mm float64) int { return int(math.Round(mm * float64(dpi) / 25.4)) }
	in := rendered.SubImage(image.Rect(at(room.X), at(room.Y), at(room.X+room.W), at(room.Y+room.H))).(*image.Gray)
	width, height := in.Rect.Dx()*scale, in.Rect.Dy()*scale
	means := func(line, into []uint8) {
		sum, first, last := 0, 0, 0 // of line[first:last]
		for i := range line {
			for ; last < min(i+radius+1, len(line)); last++ {
				sum += int(line[last])
			}
			for ; first < i-radius; first++ {
				sum -= int(line[first])
			}
			into[i] = uint8(sum / (last - first))
		}
	}
	across, out := make([]uint8, width*height), fmt.Appendf(nil, "P5\n%d %d\n255\n", width, height)
	line := make([]uint8, width)
	for y := range height {
		for x := range line {
			line[x] = in.GrayAt(in.Rect.Min.X+x/scale, in.Rect.Min.Y+y/scale).Y
		}
		means(line, across[y*width:(y+1)*width])
	}
	head := len(out)
	out = append(out, across...)
	column, soft := make([]uint8, height), make([]uint8, height)
	for x := range width {
		for y := range column {
			column[y] = across[y*width+x]
		}
		means(column, soft)
		for y, v := range soft {
			out[head+y*width+x] = v
		}
	}
	if err := os.WriteFile(name, out, 0o644); err != nil {
		t.Fatal(err)
	}
}

// TestGreyKeepsTheVerdict: printed in grey, the four verdict blocks still differ
// by far: solid dark, middle, and white with hatching.
func TestGreyKeepsTheVerdict(t *testing.T) {
	set := newSet(t, library(), options())
	mean := map[string]float64{}
	for _, link := range []string{"A-12", "A-19", "A-07"} {
		l, _ := set.Judgement.Link(link)
		d, err := set.Nonconformance(l)
		if l.Verdict.Certifiable() {
			d, err = set.Certificate(l)
		}
		if err != nil {
			t.Fatal(err)
		}
		name := file(t, set, d)
		outside.Run(t, "pdftoppm", "-r", "50", "-gray", "-l", "1", name, strings.TrimSuffix(name, ".pdf"))
		pages, _ := filepath.Glob(filepath.Join(filepath.Dir(name), "*.pgm"))
		rendered := grey(t, pages[0])
		block := 42 * 50 / 25.4
		sum := 0
		for y := range int(block) {
			for x := range int(block) {
				sum += int(rendered.GrayAt(x, y).Y)
			}
		}
		mean[l.Verdict.String()] = float64(sum) / (block * block)
	}
	levels := []float64{mean["pass"], mean["marginal"], mean["fail"]}
	if !slices.IsSorted(levels) || levels[1]-levels[0] < 40 || levels[2]-levels[1] < 25 {
		t.Errorf("mean grey of pass, marginal, fail: %.0f", levels)
	}
}
