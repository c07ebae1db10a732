package page

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goitalic"
	"golang.org/x/image/font/gofont/gomedium"
	"golang.org/x/image/font/gofont/gomono"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
)

// String is the face's name, as templates and problems have it.
func (f Face) String() string {
	return [Faces]string{"regular", "medium", "bold", "italic", "mono"}[f]
}

// Typeface is the metrics of one TrueType font. All lengths are in thousandths
// of an em, rounded as the widths of a PDF font are (ISO 32000-1, 9.7.4.3), so
// that text measured here is as wide on paper.
type Typeface struct {
	Ascent, Descent, CapHeight int // Descent is positive

	ttf     []byte
	prose   bool
	notdef  int
	advance [1 << 16]uint16 // one more than the width; 0: no glyph
}

// ParseTypeface reads a TrueType font. Only the characters of Unicode's basic
// plane are known: a character of our PDFs has two bytes.
func ParseTypeface(ttf []byte) (*Typeface, error) {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		return nil, fmt.Errorf("typeface: %w", err)
	}
	var buf sfnt.Buffer
	upem := int(f.UnitsPerEm())
	em := fixed.Int26_6(upem) // at this size a length is in font units
	scale := func(v fixed.Int26_6) int { return (int(v)*1000 + upem/2) / upem }
	m, err := f.Metrics(&buf, em, font.HintingNone)
	if err != nil {
		return nil, fmt.Errorf("typeface: %w", err)
	}
	t := &Typeface{ttf: ttf, Ascent: scale(m.Ascent), Descent: scale(m.Descent), CapHeight: scale(m.CapHeight)}
	for r := range rune(len(t.advance)) {
		g, err := f.GlyphIndex(&buf, r)
		if err != nil {
			return nil, fmt.Errorf("typeface: %U: %w", r, err)
		}
		if g == 0 && r != 0 {
			continue
		}
		a, err := f.GlyphAdvance(&buf, g, em, font.HintingNone)
		if err != nil {
			return nil, fmt.Errorf("typeface: %U: %w", r, err)
		}
		if r == 0 {
			t.notdef = scale(a)
			continue
		}
		t.advance[r] = uint16(scale(a) + 1)
	}
	return t, nil
}

// forProse is the face as running text wants it. The Go fonts are made for programs:
// their hyphen is as long as a minus and longer than a dash, and their zero is slashed.
// The soft hyphen of the same fonts has the length of a hyphen.
func (t *Typeface) forProse() {
	if t.Has(softHyphen) && t.advance[softHyphen] < t.advance['-'] {
		t.prose, t.advance['-'] = true, t.advance[softHyphen]
	}
}

const softHyphen = '\u00AD'

// Prose reports whether the face is set for running text: with a hyphen that is no
// minus, and a zero that has no slash.
func (t *Typeface) Prose() bool { return t.prose }

// Drawn is the character whose glyph stands for another: in prose that of the soft
// hyphen for the hyphen.
func (t *Typeface) Drawn(r rune) rune {
	if t.prose && r == '-' {
		return softHyphen
	}
	return r
}

// TTF is the font file.
func (t *Typeface) TTF() []byte { return t.ttf }

// Has reports whether the font has a glyph for the character.
func (t *Typeface) Has(r rune) bool {
	return r >= 0 && int(r) < len(t.advance) && t.advance[r] != 0
}

// Advance is the width of one character; of the substitute glyph where the
// font has none.
func (t *Typeface) Advance(r rune) int {
	if t.Has(r) {
		return int(t.advance[r]) - 1
	}
	return t.notdef
}

// Width is how wide the text sets at a size in points, in millimetres. Text is
// set without kerning; a Joint at its end has no width.
func (t *Typeface) Width(size float64, text string) float64 {
	w := 0
	for _, r := range strings.TrimSuffix(text, Joint) {
		w += t.Advance(r)
	}
	return float64(w) / 1000 * size * MM
}

// Missing returns the characters of text without a glyph, each once, sorted.
func (t *Typeface) Missing(text string) []rune {
	var missing []rune
	for _, r := range text {
		if !t.Has(r) {
			missing = append(missing, r)
		}
	}
	slices.Sort(missing)
	return slices.Compact(missing)
}

// GoTypefaces returns the Go fonts, by face: what documents are set in unless
// a job names others. They hold Latin, Greek, Cyrillic and the signs that
// limits need. They are parsed once.
var GoTypefaces = sync.OnceValue(func() [Faces]*Typeface {
	var faces [Faces]*Typeface
	for f, ttf := range [Faces][]byte{
		Regular: goregular.TTF, Medium: gomedium.TTF, Bold: gobold.TTF, Italic: goitalic.TTF, Mono: gomono.TTF,
	} {
		t, err := ParseTypeface(ttf)
		if err != nil {
			panic(err) // the fonts are compiled in
		}
		if Face(f) != Mono { // sums and keys are set in it, which are codes
			t.forProse()
		}
		faces[f] = t
	}
	return faces
})
