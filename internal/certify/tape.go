package certify

import "spanseal/internal/page"

// tape is a sheet that measures as another one does, counts pages and
// remembers what is drawn on the first.
type tape struct {
	page.Sheet
	pages int
	marks []func(page.Sheet) error
}

// play draws what the tape remembers.
func (t *tape) play(on page.Sheet) error {
	on.NextPage()
	for _, mark := range t.marks {
		if err := mark(on); err != nil {
			return err
		}
	}
	return nil
}

// keep remembers a mark, as long as there is one page.
func (t *tape) keep(mark func(page.Sheet) error) {
	if t.pages == 1 {
		t.marks = append(t.marks, mark)
	}
}

func (t *tape) PageNumber() int { return t.pages }

func (t *tape) NextPage() {
	if t.pages++; t.pages > 1 {
		t.marks = nil
	}
}

func (t *tape) Text(x, y float64, s page.Style, text string) {
	t.keep(func(on page.Sheet) error { on.Text(x, y, s, text); return nil })
}

func (t *tape) Line(x1, y1, x2, y2, weight float64, ink page.Ink) {
	t.keep(func(on page.Sheet) error { on.Line(x1, y1, x2, y2, weight, ink); return nil })
}

func (t *tape) Fill(x, y, w, h float64, ink page.Ink) {
	t.keep(func(on page.Sheet) error { on.Fill(x, y, w, h, ink); return nil })
}

func (t *tape) Frame(x, y, w, h, weight float64, ink page.Ink) {
	t.keep(func(on page.Sheet) error { on.Frame(x, y, w, h, weight, ink); return nil })
}

func (t *tape) Polygon(points []page.Point, ink page.Ink) {
	t.keep(func(on page.Sheet) error { on.Polygon(points, ink); return nil })
}

func (t *tape) Modules(x, y, side float64, dark [][]bool, ink page.Ink) {
	t.keep(func(on page.Sheet) error { on.Modules(x, y, side, dark, ink); return nil })
}

func (t *tape) Bookmark(title string, level int) {
	t.keep(func(on page.Sheet) error { on.Bookmark(title, level); return nil })
}

// Picture is refused, if at all, when the tape is played.
func (t *tape) Picture(x, y, w, h float64, data []byte) error {
	t.keep(func(on page.Sheet) error { return on.Picture(x, y, w, h, data) })
	return nil
}
