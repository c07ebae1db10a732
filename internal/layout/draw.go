package layout

import (
	"math"
	"strings"
	"unicode/utf8"

	"spanseal/internal/page"
)

// Hole is what a punch takes of a sheet's left edge, from one height to another, in millimetres.
type Hole struct{ from, to float64 }

// Holes are those of binders, as wide as they are: two, 80 mm apart, of 6 mm (ISO 838); three,
// 4 1/4 in apart, of up to 8 mm (common practice in North America). Either stands in
// the middle of the paper's height. Nothing that is read stands at their heights near
// the edge.
func Holes(p page.PaperSize) []Hole {
	middle := p.Height / 2
	const two, three, air = 3.0, 4.0, 0.4
	var out []Hole
	for _, at := range []float64{-107.95, -40, 0, 40, 107.95} {
		r := three
		if at == 40 || at == -40 {
			r = two
		}
		out = append(out, Hole{middle + at - r - air, middle + at + r + air})
	}
	return out
}

// Below is how far down what stands between two heights must move to miss the holes.
func Below(holes []Hole, from, to float64) (down float64) {
	for _, h := range holes { // from the top of the paper
		if from+down < h.to && to+down > h.from {
			down = h.to - from
		}
	}
	return down
}

// Above is how far up it must move.
func Above(holes []Hole, from, to float64) (up float64) {
	for i := len(holes) - 1; i >= 0; i-- {
		if h := holes[i]; from-up < h.to && to-up > h.from {
			up = to - h.from
		}
	}
	return up
}

// CapHeight and Descent are how far a text reaches above and below its baseline, of
// its size.
const CapHeight, Descent = 0.74, 0.22

// Hatch fills a box with rising diagonal strokes, cut at its edges.
func (f *Flow) Hatch(x, y, w, h, pitch, weight float64, ink page.Ink) {
	// A diagonal runs from the left or bottom edge to the top or right one:
	// px + py = c, measured from the top left corner.
	low := func(c float64) page.Point { px := math.Max(0, c-h); return page.Point{X: x + px, Y: y + c - px} }
	high := func(c float64) page.Point { px := math.Min(w, c); return page.Point{X: x + px, Y: y + c - px} }
	for c := pitch / 2; c+weight < w+h; c += pitch {
		end := c + weight
		stroke := []page.Point{low(c), high(c)}
		if c < w && w < end {
			stroke = append(stroke, page.Point{X: x + w, Y: y})
		}
		stroke = append(stroke, high(end), low(end))
		if c < h && h < end {
			stroke = append(stroke, page.Point{X: x, Y: y + h})
		}
		f.Polygon(stroke, ink)
	}
}

// Clip is as much of a text as fits a line, with an ellipsis behind it.
func (f *Flow) Clip(style page.Style, width float64, text string) string {
	text = strings.Join(strings.Fields(text), " ")
	for text != "" && f.Width(style, text+"…") > width {
		_, size := utf8.DecodeLastRuneInString(text)
		text = text[:len(text)-size]
	}
	return strings.TrimRight(text, " ,;·-") + "…"
}

// Fitted is the size of a picture that fills a box without changing its shape.
func Fitted(data []byte, width, height float64) (w, h float64) {
	across, down, err := page.PictureSize(data)
	if err != nil { // drawing it will say so
		return width, height
	}
	scale := min(width/float64(across), height/float64(down))
	return scale * float64(across), scale * float64(down)
}
