package pdf

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image/color"
	"math"
	"strings"
	"testing"

	"spanseal/internal/page"
	"spanseal/internal/pdf/archival"
)

// The second implementation: the same page by fpdf alone, with its own cutting
// of hinted fonts, looks the same.
func TestLooksAsByFpdf(t *testing.T) {
	var asMade [page.Faces][]byte // the fonts as files, of which fpdf opens no zero
	for f, face := range page.GoTypefaces() {
		asMade[f] = face.TTF()
	}
	everything, err := NewPress(page.A4, Options{Typefaces: asMade})
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		name  string
		press *Press
		draw  func(page.Sheet)
	}{
		{"certificate", everything, func(s page.Sheet) { drawCertificate(s, "A-17", false) }},
		{"every character", everything, drawRepertoire},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var a, b bytes.Buffer
			d := certificate("A-17")
			d.Draw = func(s page.Sheet) error { tt.draw(s); return nil }
			if err := tt.press.Canvas().Write(&a, d, nil); err != nil {
				t.Fatal(err)
			}
			if err := plainFpdf(tt.press, &b, tt.draw); err != nil {
				t.Fatal(err)
			}
			for _, found := range archival.Check(a.Bytes()) {
				t.Error(found)
			}
			ours, theirs := render(t, a.Bytes(), 1, 100), render(t, b.Bytes(), 1, 100)
			if ours.Bounds() != theirs.Bounds() {
				t.Fatalf("%v, fpdf %v", ours.Bounds(), theirs.Bounds())
			}
			differ := 0
			for y := range ours.Bounds().Dy() {
				for x := range ours.Bounds().Dx() {
					a, b := color.GrayModel.Convert(ours.At(x, y)).(color.Gray), color.GrayModel.Convert(theirs.At(x, y)).(color.Gray)
					if math.Abs(float64(a.Y)-float64(b.Y)) > 16 {
						differ++
					}
				}
			}
			if differ > 0 {
				t.Errorf("%d pixels differ", differ)
			}
		})
	}
}

// drawRepertoire sets all characters that the faces have.
func drawRepertoire(s page.Sheet) {
	s.NextPage()
	y := 8.0
	for face := range page.Face(page.Faces) {
		x := 10.0
		for _, r := range Repertoire() {
			if s.Missing(face, string(r)) != nil {
				continue
			}
			if x > 200 {
				x, y = 10, y+4
			}
			s.Text(x, y, page.Style{Face: face, Size: 8}, string(r))
			x += 4.4
		}
		y += 5
	}
}

// xyz is a colour in CIE 1931 XYZ.
type xyz [3]float64

type matrix [3]xyz // rows

func (m matrix) mul(v xyz) (out xyz) {
	for i, row := range m {
		out[i] = row[0]*v[0] + row[1]*v[1] + row[2]*v[2]
	}
	return out
}

func (m matrix) inverse() (inv matrix) {
	det := 0.0
	for i := range 3 {
		det += m[0][i] * (m[1][(i+1)%3]*m[2][(i+2)%3] - m[1][(i+2)%3]*m[2][(i+1)%3])
	}
	for i := range 3 {
		for j := range 3 {
			inv[j][i] = (m[(i+1)%3][(j+1)%3]*m[(i+2)%3][(j+2)%3] - m[(i+1)%3][(j+2)%3]*m[(i+2)%3][(j+1)%3]) / det
		}
	}
	return inv
}

func chromaticity(x, y float64) xyz { return xyz{x / y, 1, (1 - x - y) / y} }

// The colorants follow from the chromaticities of IEC 61966-2-1, 4.2 (red
// 0.64 0.33, green 0.30 0.60, blue 0.15 0.06, white D65 0.3127 0.3290) and the
// linearised Bradford transform to D50 (ICC.1:2004-10, annex E.3).
func TestProfile(t *testing.T) {
	white := chromaticity(0.3127, 0.3290)
	primaries := matrix{}
	for i, c := range []xyz{chromaticity(0.64, 0.33), chromaticity(0.30, 0.60), chromaticity(0.15, 0.06)} {
		for row := range 3 {
			primaries[row][i] = c[row]
		}
	}
	scale := primaries.inverse().mul(white)
	bradford := matrix{{0.8951, 0.2664, -0.1614}, {-0.7502, 1.7135, 0.0367}, {0.0389, -0.0685, 1.0296}}
	d50 := xyz{0.9642, 1, 0.8249}
	from, to := bradford.mul(white), bradford.mul(d50)

	icc := sRGB()
	tags := map[string][]byte{}
	for i := range int(binary.BigEndian.Uint32(icc[128:])) {
		e := icc[132+12*i:]
		at, n := binary.BigEndian.Uint32(e[4:]), binary.BigEndian.Uint32(e[8:])
		tags[string(e[:4])] = icc[at : at+n]
	}
	sum := xyz{}
	for i, tag := range []string{"rXYZ", "gXYZ", "bXYZ"} {
		colorant := xyz{primaries[0][i] * scale[i], primaries[1][i] * scale[i], primaries[2][i] * scale[i]}
		cone := bradford.mul(colorant)
		for k := range cone {
			cone[k] *= to[k] / from[k]
		}
		want := bradford.inverse().mul(cone)
		for k := range want {
			got := float64(int32(binary.BigEndian.Uint32(tags[tag][8+4*k:]))) / 65536
			sum[k] += got
			if math.Abs(got-want[k]) > 0.00001 {
				t.Errorf("%s: %v is %.5f, want %.5f", tag, k, got, want[k])
			}
		}
	}
	for k := range sum { // white is the sum of the colorants
		if math.Abs(sum[k]-d50[k]) > 0.00003 {
			t.Errorf("white is %v, want D50 %v", sum, d50)
		}
	}

	// The transfer function of IEC 61966-2-1, 5.2: two points of it, the knee, and
	// 21.4 % of light at half the signal; and all of it.
	curve := tags["rTRC"][12:]
	at := func(v float64) float64 { // as a reader interpolates
		last := len(curve)/2 - 1
		p := v * float64(last)
		i := min(int(p), last-1)
		lo, hi := float64(binary.BigEndian.Uint16(curve[2*i:])), float64(binary.BigEndian.Uint16(curve[2*i+2:]))
		return (lo + (hi-lo)*(p-float64(i))) / 65535
	}
	for _, tt := range []struct{ signal, light float64 }{{0, 0}, {0.04045, 0.0031308}, {0.5, 0.21404}, {1, 1}} {
		if got := at(tt.signal); math.Abs(got-tt.light) > 0.0001 {
			t.Errorf("signal %g: light %.5f, want %.5f", tt.signal, got, tt.light)
		}
	}
	for v := 0.0405; v <= 1; v += 0.0005 {
		if got, want := at(v), math.Pow((v+0.055)/1.055, 2.4); math.Abs(got-want) > 0.0001 {
			t.Errorf("signal %g: light %.5f, want %.5f", v, got, want)
		}
	}
}

func TestRepertoireIsMostOfTheGoFonts(t *testing.T) {
	p, err := NewPress(page.A4, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for face, f := range p.faces {
		n := 0
		for _, g := range f.wide.glyphs {
			if g != 0 {
				n++
			}
		}
		if n < 600 { // of 707; the rest are box drawings and dingbats
			t.Errorf("face %d: %d characters", face, n)
		}
	}
}

// Most files have the narrow fonts, and one with more characters the wide; no
// text is lost.
func TestSample(t *testing.T) {
	draw := func(texts ...string) func(page.Sheet) error {
		return func(s page.Sheet) error { return setTexts(s, texts...) }
	}
	p, err := NewPress(page.A4, Options{Runes: []rune("0123456789.,ABCDEFGH"), Sample: []func(page.Sheet) error{draw("A-1", "0.5"), draw("B")}})
	if err != nil {
		t.Fatal(err)
	}
	c := p.Canvas()
	sizes := map[string]int{}
	for _, text := range []string{"AB 1.05", "ABC", "0.15"} {
		d := certificate("A-17")
		d.Draw = draw(text)
		var b bytes.Buffer
		err := c.Write(&b, d, nil)
		if text == "AB 1.05" { // the space is in neither
			if err == nil {
				t.Error("a missing space is not said")
			}
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		for _, found := range archival.Check(b.Bytes()) {
			t.Error(found)
		}
		if out := run(t, "pdftotext", save(t, b.Bytes()), "-"); strings.TrimSpace(out) != text {
			t.Errorf("%q reads %q", text, out)
		}
		sizes[text] = b.Len()
	}
	if sizes["ABC"] < sizes["0.15"]+500 {
		t.Errorf("sizes %v", sizes)
	}
	boom := errors.New("boom")
	if _, err := NewPress(page.A4, Options{Sample: []func(page.Sheet) error{func(page.Sheet) error { return boom }}}); !errors.Is(err, boom) {
		t.Errorf("got %v", err)
	}
}
