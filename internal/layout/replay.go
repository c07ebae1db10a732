package layout

import (
	"sync"

	"spanseal/internal/page"
)

// replay is a sheet that measures as another one does, counts pages and
// remembers what is drawn on the first.
type replay struct {
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

// replays are used again: a paper has some hundred marks.
var replays = sync.Pool{New: func() any { return new(replay) }}

func newReplay(sheet page.Sheet) *replay {
	t := replays.Get().(*replay)
	t.Sheet = sheet
	return t
}

// rewind forgets what was drawn.
func (t *replay) rewind() {
	t.pages, t.marks, t.parts, t.elements = 0, t.marks[:0], t.parts[:0], t.elements[:0]
}

// free gives up the replay.
func (t *replay) free() {
	clear(t.marks[:cap(t.marks)])
	clear(t.elements[:cap(t.elements)])
	t.rewind()
	t.Sheet = nil
	replays.Put(t)
}

// play draws what the replay remembers.
func (t *replay) play(on page.Sheet) error {
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
func (t *replay) keep(m mark) {
	if t.pages == 1 {
		t.marks = append(t.marks, m)
	}
}

func (t *replay) PageNumber() int { return t.pages }

func (t *replay) NextPage() {
	if t.pages++; t.pages > 1 {
		t.marks, t.parts, t.elements = t.marks[:0], t.parts[:0], t.elements[:0]
	}
}

func (t *replay) Text(x, y float64, s page.Style, text string) {
	t.keep(mark{kind: aText, x: x, y: y, style: s, text: text})
}

func (t *replay) Line(x1, y1, x2, y2, weight float64, ink page.Ink) {
	t.keep(mark{kind: aLine, x: x1, y: y1, w: x2, h: y2, weight: weight, ink: ink})
}

func (t *replay) Fill(x, y, w, h float64, ink page.Ink) {
	t.keep(mark{kind: aFill, x: x, y: y, w: w, h: h, ink: ink})
}

func (t *replay) Frame(x, y, w, h, weight float64, ink page.Ink) {
	t.keep(mark{kind: aFrame, x: x, y: y, w: w, h: h, weight: weight, ink: ink})
}

func (t *replay) Polygon(points []page.Point, ink page.Ink) {
	t.keep(mark{kind: aPolygon, rest: points, ink: ink})
}

func (t *replay) Modules(x, y, side float64, dark [][]bool, ink page.Ink) {
	t.keep(mark{kind: aSymbol, x: x, y: y, w: side, rest: dark, ink: ink})
}

func (t *replay) Bookmark(title string, level int) {
	t.keep(mark{kind: aBookmark, text: title, level: level})
}

func (t *replay) Begin(e page.Element) {
	if t.pages == 1 {
		t.parts = append(t.parts, edge{int32(len(t.marks)), int32(len(t.elements))})
		t.elements = append(t.elements, e)
	}
}

func (t *replay) Finish() {
	if t.pages == 1 {
		t.parts = append(t.parts, edge{int32(len(t.marks)), -1})
	}
}

// Picture is refused, if at all, when the replay is played.
func (t *replay) Picture(x, y, w, h float64, data []byte) error {
	t.keep(mark{kind: aPicture, x: x, y: y, w: w, h: h, rest: data})
	return nil
}
