package layout

import (
	"slices"
	"strings"

	"spanseal/internal/page"
)

// Column is how one column of a table is set. Numbers stand right, with their
// decimal marks under each other.
type Column struct {
	Name  string
	Over  string // a name over those of neighbouring columns, or ""
	Right bool
	Wrap  bool // may break over lines where the table is too wide
	Whole bool // rows with the same text here, or none, stay on one page that has room
}

// Cell is one text of a table.
type Cell struct {
	Text  string
	Style page.Style
}

// Table is rows under the names of their columns, which are repeated on every
// page. Columns are as wide as their texts; what is left over goes between
// them, what is missing is taken from those that may wrap.
type Table struct {
	columns []Column
	rows    [][]Cell
	pitch   float64 // height of a line
	digits  []int
	widths  []float64
	index   bool // its first column is what it is looked up by
}

// NewTable measures a table of lines so high, in millimetres.
func (f *Flow) NewTable(columns []Column, rows [][]Cell, pitch float64) *Table {
	t := &Table{pitch: pitch}
	if t.columns, t.rows = dropEmpty(columns, rows); len(t.rows) > 0 {
		t.digits = f.digits(t.columns, t.rows)
		t.widths = f.columnWidths(t.columns, t.rows, t.digits)
	}
	return t
}

// Table sets a table.
func (f *Flow) Table(columns []Column, rows [][]Cell) {
	f.Tabulate(f.NewTable(columns, rows, f.Grid), nil)
}

// Index is a table long enough to get lost in: the first row of every page is
// in the outline.
func (f *Flow) Index(columns []Column, rows [][]Cell) {
	t := f.NewTable(columns, rows, 0.85*f.Grid)
	t.index = true
	f.Tabulate(t, func(n int) { f.Bookmark(rows[n][0].Text, 2) })
}

// leading is the distance of the lines of one row.
func (t *Table) leading() float64 { return 0.86 * t.pitch }

// rowLines breaks the texts of a row, and says how high they are.
func (f *Flow) rowLines(t *Table, row []Cell) (set [][]string, height float64) {
	set = make([][]string, len(row))
	most := 1
	for i, c := range row {
		set[i] = []string{c.Text}
		if t.columns[i].Wrap {
			set[i] = f.Wrap(c.Style, t.widths[i], c.Text)
		}
		most = max(most, len(set[i]))
	}
	return set, Ceil(t.pitch+float64(most-1)*t.leading(), f.Grid/4)
}

// mostGap is how far apart two columns stand at most: those without names are
// read across, as sentences are.
func (t *Table) mostGap() float64 {
	if t.headLines() == 0 {
		return 8
	}
	return 20
}

// headLines is how many lines of the grid the names of the columns take.
func (t *Table) headLines() float64 {
	lines := 0.0
	if slices.ContainsFunc(t.columns, func(c Column) bool { return c.Name != "" }) {
		lines++
		if slices.ContainsFunc(t.columns, func(c Column) bool { return c.Over != "" }) {
			lines++
		}
	}
	return lines
}

// block is how high the rows are that begin with the n-th, of this height, and
// stay on one page: that one alone, unless it is the first of its kind.
func (f *Flow) block(t *Table, n int, height float64) float64 {
	at := slices.IndexFunc(t.columns, func(c Column) bool { return c.Whole })
	if at < 0 {
		return height
	}
	kind, all := t.rows[n][at].Text, height
	if kind == "" || n > 0 && t.rows[n-1][at].Text == kind {
		return height
	}
	for _, row := range t.rows[n+1:] {
		if text := row[at].Text; text != "" && text != kind {
			break
		}
		_, more := f.rowLines(t, row)
		all += more
	}
	if all > f.End-f.Top-t.headLines()*f.Grid-4*f.Grid { // more than a page holds
		return height
	}
	return all
}

// Opening is how many lines of the grid must fit below the name of a section
// for the table to begin there.
func (f *Flow) Opening(t *Table) float64 {
	if len(t.rows) == 0 {
		return 0
	}
	_, height := f.rowLines(t, t.rows[0])
	return t.headLines() + f.block(t, 0, height)/f.Grid
}

// Tabulate sets a table, and calls onPage where a page of it begins.
func (f *Flow) Tabulate(t *Table, onPage func(row int)) {
	if len(t.rows) == 0 {
		return
	}
	starts := make([]float64, len(t.columns))
	space := f.W
	for _, w := range t.widths {
		space -= w
	}
	gap := 0.0
	if len(t.columns) > 1 {
		gap = min(space/float64(len(t.columns)-1), t.mostGap())
	}
	x := f.X
	for i, w := range t.widths {
		starts[i] = x
		x += w + gap
	}
	f.Begin(page.Element{Role: page.Table})
	defer f.Finish()
	head := func() {
		lines := t.headLines()
		if lines == 0 {
			return
		}
		if lines > 1 {
			f.over(t.columns, starts, t.widths)
		}
		f.Begin(page.Element{Role: page.Row})
		for i, c := range t.columns {
			f.Begin(heads(c.Name))
			if c.Right {
				f.PutRight(starts[i]+t.widths[i], f.Base(), f.Caption, c.Name)
			} else {
				f.Put(starts[i], f.Base(), f.Caption, c.Name)
			}
			f.Finish()
		}
		f.Finish()
		f.Lines(1)
	}
	// Of a table whose first column has no name, the cells there name the rows.
	named := t.columns[0].Name == ""
	for n, row := range t.rows {
		set, height := f.rowLines(t, row)
		before := f.block(t, n, height)
		if n == 0 {
			before += max(1, t.headLines()) * f.Grid
		}
		turned := f.Need(before)
		switch {
		case n == 0:
			if t.headLines() > 0 {
				f.within(page.TableHead, head)
			}
			f.Begin(page.Element{Role: page.TableBody})
			defer f.Finish()
		case turned:
			f.Aside(head)
		}
		if turned || n == 0 {
			if onPage != nil {
				onPage(n)
			}
		}
		f.Begin(page.Element{Role: page.Row})
		for i, c := range row {
			cell := page.Element{Role: page.Cell}
			if i == 0 && (named || t.index) && c.Text != "" {
				cell = page.Element{Role: page.HeaderCell, OfRow: true}
			}
			f.Begin(cell)
			for k, line := range set[i] {
				y := f.Y + LineBase*t.pitch + float64(k)*t.leading()
				if t.columns[i].Right {
					hang := f.hanging(c.Style, line)
					short := min(f.short(c, t.digits[i]), max(0, t.widths[i]-f.Width(c.Style, line)+hang))
					f.PutRight(starts[i]+t.widths[i]-short+hang, y, c.Style, line)
				} else {
					f.Put(starts[i], y, c.Style, line)
				}
			}
			f.Finish()
		}
		f.Finish()
		f.Lines(height / f.Grid)
	}
}

// heads is a cell that heads its column, or a blank one over columns without a
// name.
func heads(name string) page.Element {
	if name == "" {
		return page.Element{Role: page.Cell}
	}
	return page.Element{Role: page.HeaderCell}
}

// Over names columns that belong together, over a rule as wide as they are.
func (f *Flow) over(columns []Column, starts, widths []float64) {
	f.Begin(page.Element{Role: page.Row})
	defer f.Finish()
	for i := 0; i < len(columns); {
		n := i + 1
		for n < len(columns) && columns[n].Over == columns[i].Over {
			n++
		}
		over := heads(columns[i].Over)
		over.Span = n - i
		f.Begin(over)
		if name := columns[i].Over; name != "" {
			left, right := starts[i], starts[n-1]+widths[n-1]
			f.Put((left+right-f.Width(f.Caption, name))/2, f.Base(), f.Caption, name)
			f.Line(left, f.Y+0.98*f.Grid, right, f.Y+0.98*f.Grid, 0.15, f.Hair)
		}
		f.Finish()
		i = n
	}
	f.Lines(1)
}

// dropEmpty leaves out columns in which no row has a text.
func dropEmpty(columns []Column, rows [][]Cell) ([]Column, [][]Cell) {
	keep := make([]bool, len(columns))
	for _, row := range rows {
		for i, c := range row {
			keep[i] = keep[i] || c.Text != ""
		}
	}
	if !slices.Contains(keep, false) {
		return columns, rows
	}
	pick := func(n int) []int {
		var at []int
		for i := range n {
			if keep[i] {
				at = append(at, i)
			}
		}
		return at
	}(len(columns))
	kept := make([]Column, len(pick))
	for k, i := range pick {
		kept[k] = columns[i]
	}
	out := make([][]Cell, len(rows))
	for n, row := range rows {
		out[n] = make([]Cell, len(pick))
		for k, i := range pick {
			out[n][k] = row[i]
		}
	}
	return kept, out
}

// HangingMark stands behind a figure, beyond the edge on which the figures of its
// column stand.
const HangingMark = "*"

// leastGap is the least space between two columns, narrowest the least width
// of a column that wraps.
const (
	leastGap  = 3.0
	narrowest = 12.0
)

// digits is, for each column that stands right, how many digits at most follow a
// decimal mark.
func (f *Flow) digits(columns []Column, rows [][]Cell) []int {
	most := make([]int, len(columns))
	for i, c := range columns {
		if !c.Right {
			continue
		}
		for _, row := range rows {
			most[i] = max(most[i], f.fraction(row[i].Text))
		}
	}
	return most
}

// fraction counts the digits after the decimal mark of a number, which a unit
// may follow.
func (f *Flow) fraction(text string) int {
	mark := strings.LastIndex(text, f.Press.Mark)
	if mark < 0 {
		return 0
	}
	after := text[mark+len(f.Press.Mark):]
	n := strings.IndexFunc(after, func(r rune) bool { return r < '0' || r > '9' })
	switch {
	case n < 0:
		return len(after)
	case after[n:] == HangingMark:
		return n
	case strings.HasPrefix(after[n:], " ") || strings.HasPrefix(after[n:], "\u00A0"):
		return n
	}
	return 0
}

// short is how far a number with fewer digits after its mark than its column has
// stands from the right edge.
func (f *Flow) short(c Cell, most int) float64 {
	if n := f.fraction(c.Text); n > 0 && n < most {
		return float64(most-n) * f.Width(c.Style, "0")
	}
	return 0
}

// hanging is how far the mark of low confidence stands out to the right of its
// column, so that the digits of marked and unmarked figures are under each other.
func (f *Flow) hanging(s page.Style, text string) float64 {
	if strings.HasSuffix(text, HangingMark) {
		return f.Width(s, HangingMark)
	}
	return 0
}

func (f *Flow) columnWidths(columns []Column, rows [][]Cell, digits []int) []float64 {
	widths, least := make([]float64, len(columns)), make([]float64, len(columns))
	for i, c := range columns {
		widths[i] = f.Width(f.Caption, c.Name)
		least[i] = max(narrowest, widths[i])
	}
	for _, row := range rows {
		for i, c := range row {
			widths[i] = max(widths[i], f.Width(c.Style, strings.TrimSuffix(c.Text, HangingMark))+f.short(c, digits[i]))
		}
	}
	room := f.W - leastGap*float64(len(columns)-1)
	over := -room
	for _, w := range widths {
		over += w
	}
	for i, c := range columns {
		if !c.Wrap {
			least[i] = widths[i]
		}
	}
	if over <= 0 {
		return widths
	}
	// Lines break between words while that is enough, then within them; at last
	// in every column.
	for range 2 {
		if over = squeeze(widths, f.widestWords(columns, rows, widths), over); over <= 0 {
			return widths
		}
		if over = squeeze(widths, least, over); over <= 0 {
			return widths
		}
		for i, c := range columns {
			columns[i].Wrap = true
			least[i] = max(narrowest, f.Width(f.Caption, c.Name))
		}
	}
	return widths
}

// widestWords is how wide columns must be for no word to be broken; those that do
// not wrap keep their widths.
func (f *Flow) widestWords(columns []Column, rows [][]Cell, widths []float64) []float64 {
	words := slices.Clone(widths)
	for i, c := range columns {
		if !c.Wrap {
			continue
		}
		words[i] = f.Width(f.Caption, c.Name)
		for _, row := range rows {
			for word := range strings.FieldsFuncSeq(row[i].Text, func(r rune) bool { return r == ' ' || r == '\t' || r == '\n' }) {
				words[i] = max(words[i], f.Width(row[i].Style, word))
			}
		}
	}
	return words
}

// squeeze takes so much from the widths, a little at a time from the widest
// that is above its least, and returns what could not be taken.
func squeeze(widths, least []float64, over float64) float64 {
	for over > 0.001 {
		widest := -1
		for i := range widths {
			if widths[i] > least[i] && (widest < 0 || widths[i] > widths[widest]) {
				widest = i
			}
		}
		if widest < 0 {
			return over
		}
		take := min(over, 1, widths[widest]-least[widest])
		widths[widest] -= take
		over -= take
	}
	return 0
}

// Cells are texts of one style.
func Cells(s page.Style, texts ...string) []Cell {
	row := make([]Cell, len(texts))
	for i, t := range texts {
		row[i] = Cell{t, s}
	}
	return row
}
