package pdf

import (
	"testing"

	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"

	"spanseal/internal/page"
)

// TestZeroOpened: in the faces of running text a zero is a ring, as wide as it was, and
// a hyphen shorter than a dash and a minus; the face of codes keeps its slashed zero.
func TestZeroOpened(t *testing.T) {
	for f, face := range page.GoTypefaces() {
		cut, _, err := subset(face, []rune("-0O−–"))
		if err != nil {
			t.Fatal(err)
		}
		src, err := openOutlines(cut)
		if err != nil {
			t.Fatal(err)
		}
		zero, err := src.outline(2) // behind .notdef and the hyphen
		if err != nil {
			t.Fatal(err)
		}
		contours := contoursOf(zero)
		if want := map[bool]int{true: 3, false: 2}[page.Face(f) == page.Mono]; len(contours) != want {
			t.Errorf("%v: the zero has %d contours, want %d", page.Face(f), len(contours), want)
		}
		whole, err := sfnt.Parse(face.TTF())
		if err != nil {
			t.Fatal(err)
		}
		var buf sfnt.Buffer
		g, _ := whole.GlyphIndex(&buf, '0')
		em := fixed.I(int(whole.UnitsPerEm()))
		bounds, advance, err := whole.GlyphBounds(&buf, g, em, 0)
		if err != nil {
			t.Fatal(err)
		}
		if have := face.Advance('0'); have != (advance.Round()*1000+int(whole.UnitsPerEm())/2)/int(whole.UnitsPerEm()) {
			t.Errorf("%v: the zero is %d wide", page.Face(f), have)
		}
		if page.Face(f) == page.Mono {
			continue
		}
		least, most := 1e9, -1e9
		for _, p := range contours[0] {
			least, most = min(least, p.y), max(most, p.y)
		}
		if least > float64(-bounds.Max.Y.Round())+1 || most < float64(-bounds.Min.Y.Round())-1 {
			t.Errorf("%v: the zero reaches from %.0f to %.0f, want %v", page.Face(f), least, most, bounds)
		}
		for _, p := range contours[1] {
			if p.y <= least || p.y >= most {
				t.Errorf("%v: the opening leaves the zero at %v", page.Face(f), p)
			}
		}
		if h, dash, minus := face.Advance('-'), face.Advance('–'), face.Advance('−'); h >= dash || dash == minus {
			t.Errorf("%v: hyphen, dash and minus are %d, %d and %d wide", page.Face(f), h, dash, minus)
		}
	}
}
