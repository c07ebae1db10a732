package layout

import (
	"sync"

	"spanseal/internal/page"
)

// tape is a sheet that measures as another one does, counts pages and
// remembers what is drawn on the first.
type tape struct {
	page.Sheet
	pages int
	marks []mark
	// parts are where elements begin and end among the marks.
	parts    []edge
	elements []page.Element
}

// edge is before which mark an element begins, or, with a place of -1, ends.
type edge struct{ mark, element int32 }

// Mark is one thing drawn; which fields it has hangs on its kind.
type mark struct {
	kind       kindOfMark
	x, y, w, h float64 // of a line, w and h are where it ends
	weight     float64
	style      page.Style
	ink        page.Ink
	text       string
	level      int
	rest       any // the corners, modules or data of what has them
}

type kindOfMark uint8

const (
	aText kindOfMark = iota
	aLine
	aFill
	aFrame
	aPolygon
	aSymbol
	aBookmark
	aPicture
)

// tapes are used again: a paper has some hundred marks.
var tapes = sync.Pool{New: func() any { return new(tape) }}

func newTape(sheet page.Sheet) *tape {
	t := tapes.Get().(*tape)
	t.Sheet = sheet
	return t
}

// rewind forgets what was drawn.
func (t *tape) rewind() {
	t.pages, t.marks, t.parts, t.elements = 0, t.marks[:0], t.parts[:0], t.elements[:0]
}

// free gives up the tape.
func (t *tape) free() {
	clear(t.marks[:cap(t.marks)])
	clear(t.elements[:cap(t.elements)])
	t.rewind()
	t.Sheet = nil
	tapes.Put(t)
}

// play draws what the tape remembers.
func (t *tape) play(on page.Sheet) error {
	on.NextPage()
	parts := t.parts
	turn := func(upto int) {
		for len(parts) > 0 && int(parts[0].mark) <= upto {
			if at := parts[0].element; at < 0 {
				on.Finish()
			} else {
				on.Begin(t.elements[at])
			}
			parts = parts[1:]
		}
	}
	for i := range t.marks {
		turn(i)
		m := &t.marks[i]
		switch m.kind {
		case aText:
			on.Text(m.x, m.y, m.style, m.text)
		case aLine:
			on.Line(m.x, m.y, m.w, m.h, m.weight, m.ink)
		case aFill:
			on.Fill(m.x, m.y, m.w, m.h, m.ink)
		case aFrame:
			on.Frame(m.x, m.y, m.w, m.h, m.weight, m.ink)
		case aPolygon:
			on.Polygon(m.rest.([]page.Point), m.ink)
		case aSymbol:
			on.Modules(m.x, m.y, m.w, m.rest.([][]bool), m.ink)
		case aBookmark:
			on.Bookmark(m.text, m.level)
		case aPicture:
			if err := on.Picture(m.x, m.y, m.w, m.h, m.rest.([]byte)); err != nil {
				return err
			}
		}
	}
	turn(len(t.marks))
	return nil
}

// keep remembers a mark, as long as there is one page.
func (t *tape) keep(m mark) {
	if t.pages == 1 {
		t.marks = append(t.marks, m)
	}
}

func (t *tape) PageNumber() int { return t.pages }

func (t *tape) NextPage() {
	if t.pages++; t.pages > 1 {
		t.marks, t.parts, t.elements = t.marks[:0], t.parts[:0], t.elements[:0]
	}
}

func (t *tape) Text(x, y float64, s page.Style, text string) {
	t.keep(mark{kind: aText, x: x, y: y, style: s, text: text})
}

func (t *tape) Line(x1, y1, x2, y2, weight float64, ink page.Ink) {
	t.keep(mark{kind: aLine, x: x1, y: y1, w: x2, h: y2, weight: weight, ink: ink})
}

func (t *tape) Fill(x, y, w, h float64, ink page.Ink) {
	t.keep(mark{kind: aFill, x: x, y: y, w: w, h: h, ink: ink})
}

func (t *tape) Frame(x, y, w, h, weight float64, ink page.Ink) {
	t.keep(mark{kind: aFrame, x: x, y: y, w: w, h: h, weight: weight, ink: ink})
}

func (t *tape) Polygon(points []page.Point, ink page.Ink) {
	t.keep(mark{kind: aPolygon, rest: points, ink: ink})
}

func (t *tape) Modules(x, y, side float64, dark [][]bool, ink page.Ink) {
	t.keep(mark{kind: aSymbol, x: x, y: y, w: side, rest: dark, ink: ink})
}

func (t *tape) Bookmark(title string, level int) {
	t.keep(mark{kind: aBookmark, text: title, level: level})
}

func (t *tape) Begin(e page.Element) {
	if t.pages == 1 {
		t.parts = append(t.parts, edge{int32(len(t.marks)), int32(len(t.elements))})
		t.elements = append(t.elements, e)
	}
}

func (t *tape) Finish() {
	if t.pages == 1 {
		t.parts = append(t.parts, edge{int32(len(t.marks)), -1})
	}
}

// Picture is refused, if at all, when the tape is played.
func (t *tape) Picture(x, y, w, h float64, data []byte) error {
	t.keep(mark{kind: aPicture, x: x, y: y, w: w, h: h, rest: data})
	return nil
}
