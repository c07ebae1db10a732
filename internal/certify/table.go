package certify

import (
	"slices"
	"strings"

	"spanseal/internal/page"
)

// column is how one column of a table is set. Numbers stand right, with their
// decimal marks under each other.
type column struct {
	name  string
	over  string // a name over those of neighbouring columns, or ""
	right bool
	wrap  bool // may break over lines where the table is too wide
	whole bool // rows with the same text here, or none, stay on one page that has room
}

// cell is one text of a table.
type cell struct {
	text  string
	style page.Style
}

// table is rows under the names of their columns, which are repeated on every
// page. Columns are as wide as their texts; what is left over goes between
// them, what is missing is taken from those that may wrap.
type table struct {
	columns []column
	rows    [][]cell
	pitch   float64 // height of a line
	digits  []int
	widths  []float64
}

func (f *flow) newTable(columns []column, rows [][]cell, pitch float64) *table {
	t := &table{pitch: pitch}
	if t.columns, t.rows = dropEmpty(columns, rows); len(t.rows) > 0 {
		t.digits = f.digits(t.columns, t.rows)
		t.widths = f.columnWidths(t.columns, t.rows, t.digits)
	}
	return t
}

// table sets a table.
func (f *flow) table(columns []column, rows [][]cell) {
	f.tabulate(f.newTable(columns, rows, f.grid), nil)
}

// index is a table long enough to get lost in: the first row of every page is
// in the outline.
func (f *flow) index(columns []column, rows [][]cell) {
	f.tabulate(f.newTable(columns, rows, 0.85*f.grid), func(n int) { f.Bookmark(rows[n][0].text, 2) })
}

// leading is the distance of the lines of one row.
func (t *table) leading() float64 { return 0.86 * t.pitch }

// rowLines breaks the texts of a row, and says how high they are.
func (f *flow) rowLines(t *table, row []cell) (set [][]string, height float64) {
	set = make([][]string, len(row))
	most := 1
	for i, c := range row {
		set[i] = []string{c.text}
		if t.columns[i].wrap {
			set[i] = f.wrap(c.style, t.widths[i], c.text)
		}
		most = max(most, len(set[i]))
	}
	return set, ceil(t.pitch+float64(most-1)*t.leading(), f.grid/4)
}

// mostGap is how far apart two columns stand at most: those without names are
// read across, as sentences are.
func (t *table) mostGap() float64 {
	if t.headLines() == 0 {
		return 8
	}
	return 20
}

// headLines is how many lines of the grid the names of the columns take.
func (t *table) headLines() float64 {
	lines := 0.0
	if slices.ContainsFunc(t.columns, func(c column) bool { return c.name != "" }) {
		lines++
		if slices.ContainsFunc(t.columns, func(c column) bool { return c.over != "" }) {
			lines++
		}
	}
	return lines
}

// block is how high the rows are that begin with the n-th, of this height, and
// stay on one page: that one alone, unless it is the first of its kind.
func (f *flow) block(t *table, n int, height float64) float64 {
	at := slices.IndexFunc(t.columns, func(c column) bool { return c.whole })
	if at < 0 {
		return height
	}
	kind, all := t.rows[n][at].text, height
	if kind == "" || n > 0 && t.rows[n-1][at].text == kind {
		return height
	}
	for _, row := range t.rows[n+1:] {
		if text := row[at].text; text != "" && text != kind {
			break
		}
		_, more := f.rowLines(t, row)
		all += more
	}
	if all > f.end-f.top-t.headLines()*f.grid-4*f.grid { // more than a page holds
		return height
	}
	return all
}

// opening is how many lines of the grid must fit below the name of a section
// for the table to begin there.
func (f *flow) opening(t *table) float64 {
	if len(t.rows) == 0 {
		return 0
	}
	_, height := f.rowLines(t, t.rows[0])
	return t.headLines() + f.block(t, 0, height)/f.grid
}

// tabulate sets a table, and calls onPage where a page of it begins.
func (f *flow) tabulate(t *table, onPage func(row int)) {
	if len(t.rows) == 0 {
		return
	}
	starts := make([]float64, len(t.columns))
	space := f.w
	for _, w := range t.widths {
		space -= w
	}
	gap := 0.0
	if len(t.columns) > 1 {
		gap = min(space/float64(len(t.columns)-1), t.mostGap())
	}
	x := f.x
	for i, w := range t.widths {
		starts[i] = x
		x += w + gap
	}
	head := func() {
		lines := t.headLines()
		if lines == 0 {
			return
		}
		if lines > 1 {
			f.over(t.columns, starts, t.widths)
		}
		for i, c := range t.columns {
			if c.right {
				f.putRight(starts[i]+t.widths[i], f.base(), f.caption, c.name)
			} else {
				f.put(starts[i], f.base(), f.caption, c.name)
			}
		}
		f.lines(1)
	}
	for n, row := range t.rows {
		set, height := f.rowLines(t, row)
		before := f.block(t, n, height)
		if n == 0 {
			before += max(1, t.headLines()) * f.grid
		}
		if f.need(before) || n == 0 {
			head()
			if onPage != nil {
				onPage(n)
			}
		}
		for i, c := range row {
			for k, line := range set[i] {
				y := f.y + lineBase*t.pitch + float64(k)*t.leading()
				if t.columns[i].right {
					hang := f.hanging(c.style, line)
					short := min(f.short(c, t.digits[i]), max(0, t.widths[i]-f.Width(c.style, line)+hang))
					f.putRight(starts[i]+t.widths[i]-short+hang, y, c.style, line)
				} else {
					f.put(starts[i], y, c.style, line)
				}
			}
		}
		f.lines(height / f.grid)
	}
}

// over names columns that belong together, over a rule as wide as they are.
func (f *flow) over(columns []column, starts, widths []float64) {
	for i := 0; i < len(columns); {
		n := i + 1
		for n < len(columns) && columns[n].over == columns[i].over {
			n++
		}
		if name := columns[i].over; name != "" {
			left, right := starts[i], starts[n-1]+widths[n-1]
			f.put((left+right-f.Width(f.caption, name))/2, f.base(), f.caption, name)
			f.Line(left, f.y+0.98*f.grid, right, f.y+0.98*f.grid, 0.15, f.hair)
		}
		i = n
	}
	f.lines(1)
}

// dropEmpty leaves out columns in which no row has a text.
func dropEmpty(columns []column, rows [][]cell) ([]column, [][]cell) {
	keep := make([]bool, len(columns))
	for _, row := range rows {
		for i, c := range row {
			keep[i] = keep[i] || c.text != ""
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
	kept := make([]column, len(pick))
	for k, i := range pick {
		kept[k] = columns[i]
	}
	out := make([][]cell, len(rows))
	for n, row := range rows {
		out[n] = make([]cell, len(pick))
		for k, i := range pick {
			out[n][k] = row[i]
		}
	}
	return kept, out
}

// hangingMark stands behind a figure, beyond the edge on which the figures of its
// column stand.
const hangingMark = "*"

// leastGap is the least space between two columns, narrowest the least width
// of a column that wraps.
const (
	leastGap  = 3.0
	narrowest = 12.0
)

// digits is, for each column that stands right, how many digits at most follow a
// decimal mark.
func (f *flow) digits(columns []column, rows [][]cell) []int {
	most := make([]int, len(columns))
	for i, c := range columns {
		if !c.right {
			continue
		}
		for _, row := range rows {
			most[i] = max(most[i], f.fraction(row[i].text))
		}
	}
	return most
}

// fraction counts the digits after the decimal mark of a number, which a unit
// may follow.
func (f *flow) fraction(text string) int {
	mark := strings.LastIndex(text, f.press.mark)
	if mark < 0 {
		return 0
	}
	after := text[mark+len(f.press.mark):]
	n := strings.IndexFunc(after, func(r rune) bool { return r < '0' || r > '9' })
	switch {
	case n < 0:
		return len(after)
	case after[n:] == hangingMark:
		return n
	case strings.HasPrefix(after[n:], " ") || strings.HasPrefix(after[n:], "\u00A0"):
		return n
	}
	return 0
}

// short is how far a number with fewer digits after its mark than its column has
// stands from the right edge.
func (f *flow) short(c cell, most int) float64 {
	if n := f.fraction(c.text); n > 0 && n < most {
		return float64(most-n) * f.Width(c.style, "0")
	}
	return 0
}

// hanging is how far the mark of low confidence stands out to the right of its
// column, so that the digits of marked and unmarked figures are under each other.
func (f *flow) hanging(s page.Style, text string) float64 {
	if strings.HasSuffix(text, hangingMark) {
		return f.Width(s, hangingMark)
	}
	return 0
}

func (f *flow) columnWidths(columns []column, rows [][]cell, digits []int) []float64 {
	widths, least := make([]float64, len(columns)), make([]float64, len(columns))
	for i, c := range columns {
		widths[i] = f.Width(f.caption, c.name)
		least[i] = max(narrowest, widths[i])
	}
	for _, row := range rows {
		for i, c := range row {
			widths[i] = max(widths[i], f.Width(c.style, strings.TrimSuffix(c.text, hangingMark))+f.short(c, digits[i]))
		}
	}
	room := f.w - leastGap*float64(len(columns)-1)
	over := -room
	for _, w := range widths {
		over += w
	}
	for i, c := range columns {
		if !c.wrap {
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
			columns[i].wrap = true
			least[i] = max(narrowest, f.Width(f.caption, c.name))
		}
	}
	return widths
}

// widestWords is how wide columns must be for no word to be broken; those that do
// not wrap keep their widths.
func (f *flow) widestWords(columns []column, rows [][]cell, widths []float64) []float64 {
	words := slices.Clone(widths)
	for i, c := range columns {
		if !c.wrap {
			continue
		}
		words[i] = f.Width(f.caption, c.name)
		for _, row := range rows {
			for word := range strings.FieldsFuncSeq(row[i].text, func(r rune) bool { return r == ' ' || r == '\t' || r == '\n' }) {
				words[i] = max(words[i], f.Width(row[i].style, word))
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

func cells(s page.Style, texts ...string) []cell {
	row := make([]cell, len(texts))
	for i, t := range texts {
		row[i] = cell{t, s}
	}
	return row
}
