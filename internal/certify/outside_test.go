package certify_test

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"spanseal/internal/certify"
	"spanseal/internal/page"
	"spanseal/internal/pdf"
	"spanseal/internal/seal"
)

// outside runs a program that we did not write. Where it is missing, the test
// says what it leaves out, and fails where everything must be there.
func outside(t *testing.T, name string, args ...string) string {
	t.Helper()
	if _, err := exec.LookPath(name); err != nil {
		if os.Getenv("CI") != "" {
			t.Fatal(err)
		}
		t.Logf("%s is not installed: its check is left out", name)
		t.Skip(name)
	}
	var out, errs bytes.Buffer
	cmd := exec.Command(name, args...)
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Run(); err != nil {
		t.Fatalf("%s %s: %v\n%s", name, strings.Join(args, " "), err, errs.String())
	}
	return out.String()
}

// file writes a document as an unsigned PDF.
func file(t *testing.T, set *certify.Set, d *certify.Document) string {
	t.Helper()
	press, err := pdf.NewPress(set.Paper(), pdf.Options{Runes: set.Runes()})
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
	text := outside(t, "pdftotext", "-layout", "-enc", "UTF-8", file(t, set, d), "-")
	words := strings.Join(strings.Fields(text), " ")
	at := 0
	for _, want := range []string{"Optical fibre link certificate", "Link A-12, from panel R1 port 12", "The link", "Loss against its allowance", "Readings",
		"1310 B to A 1.03 2.22 1.19 0.12 LS-4, PM-9 11:33", "0.4 dB/km* × 0.312 km + 0.75 dB × 2 mated pairs + 0.3 dB × 2 splices = 2.2248 ≈ 2.22 dB",
		"Terminations", "A spliced-on connector ≈ 0.02 1 26-0417 passes M. Okafor, 16 Nov", "How it was measured", "for the contractor"} {
		i := strings.Index(words[at:], want)
		if i < 0 {
			t.Fatalf("%q is missing or out of order in\n%s", want, text)
		}
		at += i
	}
}

// TestLabelsScan: zbarimg reads every symbol of a label sheet rendered at
// 300 dpi, in both forms, and those of labels
// taken one by one after a blur as of a worn printer.
func TestLabelsScan(t *testing.T) {
	for form, override := range map[string]string{"plain": "", "flag": "form: flag\n"} {
		t.Run(form, func(t *testing.T) {
			o := options()
			if override != "" {
				o.Overrides = fstest.MapFS{"documents/labels.yaml": {Data: []byte(override)}}
			}
			want := map[string]bool{}
			o.Sign = func(c seal.Claim) (string, error) {
				token := fmt.Sprintf("SS1.%X%s", c.Link, strings.Repeat("MZXW6YTBOI2DCNRTGQ4TS", 15))[:313] // as long as real ones
				want[token] = true
				return token, nil
			}
			set := newSet(t, library(), o)
			d, err := set.Labels()
			if err != nil {
				t.Fatal(err)
			}
			if len(want) != set.Judgement.Counts.Certified {
				t.Errorf("%d tokens for %d certified links", len(want), set.Judgement.Counts.Certified)
			}
			name := file(t, set, d)
			outside(t, "pdftoppm", "-r", "300", "-gray", "-png", name, strings.TrimSuffix(name, ".pdf"))
			pages, _ := filepath.Glob(filepath.Join(filepath.Dir(name), "*.png"))
			if len(pages) != 2 {
				t.Fatalf("%d pages", len(pages))
			}
			found := map[string]bool{}
			read := func(picture string) {
				for token := range strings.Lines(outside(t, "zbarimg", "-q", "--raw", picture)) {
					found[strings.TrimSpace(token)] = true
				}
			}
			check := func(how string) {
				t.Helper()
				for token := range want {
					if !found[token] {
						t.Errorf("%s: %.24s… was not read", how, token)
					}
				}
			}
			for _, page := range pages {
				read(page)
			}
			check("sharp")
			if form != "plain" {
				return
			}
			clear(found)
			var rendered []*image.Gray
			for _, name := range pages {
				rendered = append(rendered, grey(t, name))
			}
			one := filepath.Join(t.TempDir(), "label.png")
			for _, m := range drawn(t, set.Paper(), d).Marks {
				if m.Kind == page.ModulesMark { // a telephone looks at one label
					blurred(t, rendered[m.Page-1], m.Box, one)
					read(one)
				}
			}
			check("blurred")
		})
	}
}

// grey reads a rendered page.
func grey(t *testing.T, name string) *image.Gray {
	t.Helper()
	raw, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	decoded, err := png.Decode(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	out := image.NewGray(decoded.Bounds())
	draw.Draw(out, out.Rect, decoded, out.Rect.Min, draw.Src)
	return out
}

// blurred cuts a symbol out of a page of 300 dpi, each pixel the mean of its
// neighbourhood of three by three: a quarter of a millimetre.
func blurred(t *testing.T, rendered *image.Gray, box page.Box, name string) {
	t.Helper()
	const dots, radius = 300 / 25.4, 1
	in := rendered.SubImage(image.Rect(int((box.X-2)*dots), int((box.Y-2)*dots), int((box.X+box.W+1.3)*dots), int((box.Y+box.H+2)*dots))).(*image.Gray)
	out := image.NewGray(in.Rect)
	for y := in.Rect.Min.Y; y < in.Rect.Max.Y; y++ {
		for x := in.Rect.Min.X; x < in.Rect.Max.X; x++ {
			sum, n := 0, 0
			for dy := -radius; dy <= radius; dy++ {
				for dx := -radius; dx <= radius; dx++ {
					if p := image.Pt(x+dx, y+dy); p.In(in.Rect) {
						sum, n = sum+int(in.GrayAt(p.X, p.Y).Y), n+1
					}
				}
			}
			out.SetGray(x, y, color.Gray{uint8(sum / n)})
		}
	}
	var b bytes.Buffer
	if err := png.Encode(&b, out); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
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
		outside(t, "pdftoppm", "-r", "50", "-gray", "-l", "1", "-png", name, strings.TrimSuffix(name, ".pdf"))
		pages, _ := filepath.Glob(filepath.Join(filepath.Dir(name), "*.png"))
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
