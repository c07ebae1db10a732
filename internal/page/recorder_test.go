package page

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/go-pdf/fpdf"
	"pgregory.net/rapid"
)

var body = Style{Face: Regular, Size: 10, Ink: 0x1B1F23}

// The second implementation: fpdf reads the same fonts with its own parser,
// and its widths are those that stand in a PDF: of the glyph that is drawn.
func TestWidthsEqualFpdf(t *testing.T) {
	for face, f := range GoTypefaces() {
		p := fpdf.New("P", "mm", "A4", "")
		p.AddUTF8FontFromBytes("x", "", f.TTF())
		p.SetFont("x", "", 10)
		n := 0
		for r := rune(0x20); r < 0x10000; r++ {
			if !f.Has(r) {
				continue
			}
			n++
			if got, want := f.Advance(r), p.GetStringSymbolWidth(string(f.Drawn(r))); got != want {
				t.Errorf("face %d, %U: advance %d, fpdf has %d", face, r, got, want)
			}
		}
		if n < 700 {
			t.Errorf("face %d: only %d characters", face, n)
		}
	}
}

// The signs that limits, units and prose need are in every face.
func TestGoFontsHaveTheSigns(t *testing.T) {
	const signs = "≤≥−·µμλ×Σ±…“”‘’–—→←↔°²³½∞Δ≈≠‰€ßÅéñÑüç¿¡ΑΩαωЖя\u00a0"
	for face, f := range GoTypefaces() {
		if m := f.Missing(signs); len(m) > 0 {
			t.Errorf("face %d lacks %q", face, string(m))
		}
	}
	got := GoTypefaces()[Regular].Missing("日a本日\n\U0001F600")
	if want := []rune{'\n', '日', '本', 0x1F600}; !slices.Equal(got, want) {
		t.Errorf("Missing = %q, want %q", string(got), string(want))
	}
}

func TestFiguresAreTabular(t *testing.T) {
	for face, f := range GoTypefaces() {
		for _, r := range "123456789" {
			if f.Advance(r) != f.Advance('0') {
				t.Errorf("face %d: %c is not as wide as 0", face, r)
			}
		}
	}
}

func TestParseTypefaceRefuses(t *testing.T) {
	for name, data := range map[string][]byte{
		"empty":     nil,
		"text":      []byte("not a font"),
		"truncated": GoTypefaces()[Regular].TTF()[:5000],
	} {
		if _, err := ParseTypeface(data); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func TestRecorderFindsFaults(t *testing.T) {
	tests := []struct {
		name string
		draw func(r *Recorder)
		want string // in what the three checks say; "" for nothing
	}{
		{"apart", func(r *Recorder) { r.Text(20, 20, body, "one"); r.Text(20, 24.7, body, "two") }, ""},
		{"side by side", func(r *Recorder) {
			r.Text(20, 20, body, "one")
			r.Text(20+r.Width(body, "one"), 20, body, "two")
		}, ""},
		{"two pages", func(r *Recorder) { r.Text(20, 20, body, "one"); r.NextPage(); r.Text(20, 20, body, "two") }, ""},
		{"overlap", func(r *Recorder) { r.Text(20, 20, body, "one"); r.Text(22, 21, body, "two") }, `"one" at`},
		{"on a symbol", func(r *Recorder) { r.Text(20, 20, body, "one"); r.Modules(15, 15, 20, nil, 0) }, "modules at"},
		{"in the white around a symbol", func(r *Recorder) {
			r.Text(20, 20, body, "one")
			r.Modules(20+r.Width(body, "one")+3, 15, 20, make([][]bool, 25), 0) // four modules are 3.2 mm
		}, "modules at"},
		{"beside the white around a symbol", func(r *Recorder) {
			r.Text(20, 20, body, "one")
			r.Modules(20+r.Width(body, "one")+3.3, 15, 20, make([][]bool, 25), 0)
		}, ""},
		{"over the right edge", func(r *Recorder) { r.Text(205, 20, body, "far too long") }, "is outside"},
		{"stroke over the edge", func(r *Recorder) { r.Line(0, 0, 10, 0, 0.2, 0) }, "is outside"},
		{"descender below the edge", func(r *Recorder) { r.Text(20, 296.5, body, "g") }, "is outside"},
		{"polygon outside", func(r *Recorder) { r.Polygon([]Point{{1, 1}, {-1, 1}, {1, 2}}, 0) }, "is outside"},
		{"grey on white", func(r *Recorder) { r.Text(20, 20, Style{Size: 10, Ink: 0xBEC2C6}, "faint") }, "contrast"},
		{"dark on dark", func(r *Recorder) { r.Fill(10, 10, 50, 50, 0x173E54); r.Text(20, 20, body, "unseen") }, "contrast"},
		{"white on dark", func(r *Recorder) {
			r.Fill(10, 10, 50, 50, 0x173E54)
			r.Text(20, 20, Style{Size: 10, Ink: 0xFFFFFF}, "clear")
		}, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := NewRecorder(A4)
			r.NextPage()
			tt.draw(r)
			got := strings.Join(slices.Concat(r.Overlaps(), r.Outside(A4.Sheet()), r.Faint(4.5)), "\n")
			if (tt.want == "") != (got == "") || !strings.Contains(got, tt.want) {
				t.Errorf("got %q, want %q", got, tt.want)
			}
		})
	}
}

func TestLinesReadFromTheTop(t *testing.T) {
	r := NewRecorder(A4)
	r.NextPage()
	r.Text(50, 30, body, "0.35")
	r.Text(20, 40, body, "third")
	r.Text(20, 30.2, body, "loss")
	r.Text(20, 20, body, "first")
	r.NextPage()
	r.Text(20, 20, body, "overleaf")
	if got, want := r.Lines(1), []string{"first", "loss  0.35", "third"}; !slices.Equal(got, want) {
		t.Errorf("Lines(1) = %q, want %q", got, want)
	}
	if got, want := r.Lines(2), []string{"overleaf"}; !slices.Equal(got, want) {
		t.Errorf("Lines(2) = %q, want %q", got, want)
	}
	if got := r.Texts(); got[0] != "0.35" || len(got) != 5 {
		t.Errorf("Texts = %q", got)
	}
}

func TestPictureMustBeAPicture(t *testing.T) {
	r := NewRecorder(Letter)
	r.NextPage()
	if err := r.Picture(0, 0, 10, 10, []byte("GIF89a")); err == nil {
		t.Error("no error")
	}
}

// Black on white is 21:1, equal colours 1:1 (WCAG 2.2, definition of contrast
// ratio); 767676 on white is the well-known grey that just reaches 4.5:1.
func TestContrast(t *testing.T) {
	for _, tt := range []struct {
		a, b Ink
		want float64
	}{{0, 0xFFFFFF, 21}, {0xA84E28, 0xA84E28, 1}, {0x767676, 0xFFFFFF, 4.54}, {0x777777, 0xFFFFFF, 4.48}} {
		if got := Contrast(tt.a, tt.b); math.Abs(got-tt.want) > 0.005 {
			t.Errorf("Contrast(%06X, %06X) = %.3f, want %.2f", tt.a, tt.b, got, tt.want)
		}
	}
}

// Text has no kerning, so its width is the sum of its parts. A Joint has no width
// where it ends a text, and is a character like any other before the end.
func TestWidthAdds(t *testing.T) {
	r := NewRecorder(A4)
	for face := range Faces {
		s := Style{Face: Face(face), Size: 10}
		if got, want := r.Width(s, "A"+Joint), r.Width(s, "A"); got != want {
			t.Errorf("face %d: Width(A and a joint) = %v, want %v", face, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s := Style{Face: Face(rapid.IntRange(0, Faces-1).Draw(t, "face")), Size: rapid.Float64Range(4, 60).Draw(t, "size")}
		a, b := strings.TrimRight(rapid.String().Draw(t, "a"), Joint), rapid.String().Draw(t, "b")
		if got, want := r.Width(s, a+b), r.Width(s, a)+r.Width(s, b); math.Abs(got-want) > 1e-6 {
			t.Errorf("Width(%q+%q) = %v, want %v", a, b, got, want)
		}
	})
}
