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
	// Runs is that a text runs on over the blank cells to its right.
	Runs bool
}

// Cell is one text of a table. One without, below the name of its column, is set as
// a dash.
type Cell struct {
	Text  string
	Style page.Style
	Above bool   // the text is that of the row above, which a new page repeats
	Lang  string // of a text in another language than the document
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
	gap     float64 // between columns
	index   bool    // its first column is what it is looked up by
	over    float64 // by which share of the room its texts are too wide to stand on one line
}

// NewTable measures a table of lines so high, in millimetres.
func (f *Flow) NewTable(columns []Column, rows [][]Cell, pitch float64) *Table {
	t := &Table{pitch: pitch}
	if t.columns, t.rows = dropEmpty(columns, rows); len(t.rows) > 0 {
		t.digits = f.digits(t.columns, t.rows)
		if t.measure(f); t.over > 0 && t.over <= mostShrunk {
			small := &Table{columns: t.columns, pitch: pitch, digits: t.digits, rows: smaller(t.rows, 1/(1+t.over)-0.002)}
			if small.measure(f); small.over <= 0 {
				return small
			}
		}
	}
	return t
}

// mostShrunk is the share of its room by which a table may be too wide to be set a little
// smaller rather than in rows of two lines.
const mostShrunk = 0.07

// smaller are rows in smaller letters.
func smaller(rows [][]Cell, scale float64) [][]Cell {
	out := make([][]Cell, len(rows))
	for i, row := range rows {
		out[i] = slices.Clone(row)
		for k := range out[i] {
			out[i][k].Style.Size *= scale
		}
	}
	return out
}

// Wraps reports whether texts of the table are broken for want of room.
func (t *Table) Wraps() bool { return t.over > 0 }

// Table sets a table.
func (f *Flow) Table(columns []Column, rows [][]Cell) {
	f.Tabulate(f.NewTable(columns, rows, f.Grid), nil)
}

// Tabled is a section that is a table, and begins where the table can.
func (f *Flow) Tabled(name string, columns []Column, rows [][]Cell, remark ...string) {
	t := f.NewTable(columns, rows, f.Grid)
	f.Section(name, f.Opening(t), remark...)
	f.Tabulate(t, nil)
}

// Index is a section that is a table long enough to get lost in: the first row of
// every page is in the outline.
func (f *Flow) Index(name string, columns []Column, rows [][]Cell, remark ...string) {
	t := f.NewTable(columns, rows, 0.85*f.Grid)
	t.index = true
	f.Section(name, f.Opening(t), remark...)
	f.Tabulate(t, func(n int) { f.Bookmark(rows[n][0].Text, 2) })
}

// leading is the distance of the lines of one row.
func (t *Table) leading() float64 { return 0.86 * t.pitch }

// dash stands in a cell that has nothing to say.
const dash = "–"

// rowLines breaks the texts of a row, and says how high they are.
func (f *Flow) rowLines(t *Table, row []Cell) (set [][]string, height float64) {
	set = make([][]string, len(row))
	most, title := 1, heads(row)
	for i, c := range row {
		switch width := t.widths[i] + t.runOn(row, i); {
		case c.Text == "" && t.columns[i].Name != "" && !c.Above && !title && t.run(row, i) < 0:
			set[i] = []string{dash}
		case t.columns[i].Wrap:
			set[i] = f.Wrap(c.Style, width, c.Text)
		default:
			set[i] = []string{c.Text}
		}
		most = max(most, len(set[i]))
	}
	return set, Ceil(t.pitch+float64(most-1)*t.leading(), f.Grid/4)
}

// heads reports whether a row names those below it: it has its first text alone.
func heads(row []Cell) bool {
	return len(row) > 1 && row[0].Text != "" && !slices.ContainsFunc(row[1:], func(c Cell) bool { return c.Text != "" })
}

// run is the column whose text runs on over this one, -1 for none.
func (t *Table) run(row []Cell, i int) int {
	for i > 0 && row[i].Text == "" {
		if i--; row[i].Text != "" && t.columns[i].Runs {
			return i
		}
	}
	return -1
}

// runsTo is behind the last column that the text of a column takes.
func (t *Table) runsTo(row []Cell, i int) int {
	to := i + 1
	for t.columns[i].Runs && row[i].Text != "" && to < len(row) && row[to].Text == "" {
		to++
	}
	return to
}

// runOn is how much wider a text may be than its column.
func (t *Table) runOn(row []Cell, i int) (more float64) {
	for k := i + 1; k < t.runsTo(row, i); k++ {
		more += t.gap + t.widths[k]
	}
	return more
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

// lastRows is how many rows a page begins with at least that ends a table.
const lastRows = 3

// need is how high the rows are, from the n-th, that stay on one page: those of its
// kind, the first below a row that names them, and the last of the table.
func (f *Flow) need(t *Table, n int, height float64) float64 {
	to := n + 1
	for to < len(t.rows) && heads(t.rows[to-1]) {
		to++
	}
	if at := slices.IndexFunc(t.columns, func(c Column) bool { return c.Whole }); at >= 0 {
		kind := t.rows[to-1][at].Text
		if kind != "" && (to-1 == 0 || t.rows[to-2][at].Text != kind) {
			for to < len(t.rows) && (t.rows[to][at].Text == "" || t.rows[to][at].Text == kind) {
				to++
			}
		}
	}
	if n == 0 { // nor does the first row stand alone below the names
		to = max(to, min(2, len(t.rows)))
	}
	if n > 0 && n >= len(t.rows)-lastRows {
		to = len(t.rows)
	}
	all := height
	for _, row := range t.rows[n+1 : to] {
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
	return t.headLines() + f.need(t, 0, height)/f.Grid
}

// Tabulate sets a table, and calls onPage where a page of it begins.
func (f *Flow) Tabulate(t *Table, onPage func(row int)) {
	if len(t.rows) == 0 {
		return
	}
	starts := make([]float64, len(t.columns))
	x := f.X
	for i, w := range t.widths {
		starts[i] = x
		x += w + t.gap
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
			f.Begin(nameCell(c.Name))
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
		before := f.need(t, n, height)
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
			if t.run(row, i) >= 0 {
				continue // it is a part of the cell that runs on over it
			}
			cell := page.Element{Role: page.Cell}
			if i == 0 && (named || t.index) && c.Text != "" {
				cell = page.Element{Role: page.HeaderCell, OfRow: true}
			}
			cell.Lang = c.Lang
			if to := t.runsTo(row, i); to > i+1 {
				cell.Span = to - i
			}
			f.Begin(cell)
			if turned && c.Above {
				f.Aside(func() { f.carry(t, n, i, starts[i]) })
			}
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

// carry repeats on a new page what a blank cell has from the rows above.
func (f *Flow) carry(t *Table, n, i int, x float64) {
	for ; n >= 0 && t.rows[n][i].Above; n-- {
	}
	if n < 0 || t.rows[n][i].Text == "" {
		return
	}
	c := t.rows[n][i]
	if y := f.Y + LineBase*t.pitch; t.columns[i].Right {
		f.PutRight(x+t.widths[i], y, c.Style, c.Text)
	} else {
		f.Put(x, y, f.Shrink(c.Style, 5, t.widths[i], c.Text), c.Text)
	}
}

// nameCell is a cell that heads its column, or a blank one over columns without a
// name.
func nameCell(name string) page.Element {
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
		over := nameCell(columns[i].Over)
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

// measure gives the columns their widths: those of their texts where there is room
// for them, or else such that the rows come out as low as they can.
func (t *Table) measure(f *Flow) {
	columns, n := t.columns, len(t.columns)
	widths := make([]float64, n)
	natural := make([][]float64, len(t.rows)) // of every text
	for i, c := range columns {
		widths[i] = f.Width(f.Caption, c.Name)
	}
	for k, row := range t.rows {
		natural[k] = make([]float64, n)
		for i, c := range row {
			natural[k][i] = f.Width(c.Style, strings.TrimSuffix(c.Text, HangingMark)) + f.short(c, t.digits[i])
			if t.runsTo(row, i) == i+1 {
				widths[i] = max(widths[i], natural[k][i])
			}
		}
	}
	room := f.W - leastGap*float64(n-1)
	for k, row := range t.rows { // a text that runs on takes no room of its own
		for i := range row {
			to := t.runsTo(row, i)
			if to == i+1 {
				continue
			}
			have := 0.0
			for _, w := range widths[i:to] {
				have += w + leastGap
			}
			short := min(natural[k][i]-have+leastGap, room-sum(widths))
			if short > 0 && columns[i].Wrap {
				widths[i] += short
			}
			natural[k][i] = 0
		}
	}
	t.over = sum(widths)/room - 1
	t.widths = f.fitted(t, natural, widths, room)
	if t.gap = 0; n > 1 {
		t.gap = max(0, min((f.W-sum(t.widths))/float64(n-1), t.mostGap()))
	}
}

func sum(widths []float64) (all float64) {
	for _, w := range widths {
		all += w
	}
	return all
}

// fitted are widths that fit the room. Lines break between words while that is
// enough, then within names, then within words; at last in every column.
func (f *Flow) fitted(t *Table, natural [][]float64, widths []float64, room float64) []float64 {
	if sum(widths) <= room {
		return widths
	}
	for range 2 {
		words, parts := f.widest(t, widths, false), f.widest(t, widths, true)
		between, low, ok := t.lowest(natural, widths, words, room)
		within, lower, fits := t.lowest(natural, widths, parts, room)
		switch {
		case ok && low <= 1.3*lower: // names are rather kept whole
			return between
		case fits:
			return within
		}
		least := make([]float64, len(widths))
		for i, c := range t.columns {
			if least[i] = widths[i]; c.Wrap {
				least[i] = min(widths[i], max(narrowest, f.Width(f.Caption, c.Name)))
			}
		}
		if within, _, fits = t.lowest(natural, widths, least, room); fits {
			return within
		}
		t.columns = slices.Clone(t.columns)
		for i := range t.columns {
			t.columns[i].Wrap = true
		}
		widths = within
	}
	return widths
}

// widest is how wide columns must be for no word to be broken, or no part of a name
// between the marks behind which it may; those that do not wrap keep their widths.
func (f *Flow) widest(t *Table, widths []float64, parts bool) []float64 {
	least := slices.Clone(widths)
	for i, c := range t.columns {
		if !c.Wrap {
			continue
		}
		least[i] = f.Width(f.Caption, c.Name)
		for _, row := range t.rows {
			if t.runsTo(row, i) > i+1 {
				continue
			}
			for word := range strings.FieldsFuncSeq(row[i].Text, func(r rune) bool { return r == ' ' || r == '\t' || r == '\n' }) {
				if whole := f.Width(row[i].Style, word); whole <= least[i] || !parts {
					least[i] = max(least[i], whole)
					continue
				}
				from := 0
				for at := range word {
					if at > from && breaksAfter(word[from:at], word[at:]) {
						least[i] = max(least[i], f.Width(row[i].Style, word[from:at]))
						from = at
					}
				}
				least[i] = max(least[i], f.Width(row[i].Style, word[from:]))
			}
		}
	}
	return least
}

// mostWeighed is how many rows tell how high those of a table come out.
const mostWeighed = 300

// lowest takes from the widths, a little at a time, where it makes the rows grow
// least, until they fit the room; low is how many lines the rows have. It reports
// whether they do.
func (t *Table) lowest(natural [][]float64, widths, least []float64, room float64) (out []float64, low float64, fits bool) {
	const step = 1.0
	out = slices.Clone(widths)
	every := max(1, len(natural)/mostWeighed)
	lines := func() (all float64) {
		for k := 0; k < len(natural); k += every {
			most := 1.0
			for i, w := range natural[k] {
				if most*out[i] < w {
					most = w / out[i]
				}
			}
			all += most
		}
		return all
	}
	for {
		over := sum(out) - room
		if over <= 0.001 {
			return out, lines(), true
		}
		best, grown := -1, 0.0
		for i := range out {
			take := min(over, step, out[i]-least[i])
			if take <= 0.001 {
				continue
			}
			out[i] -= take
			all := lines()
			out[i] += take
			if best < 0 || all < grown || all == grown && out[i] > out[best] {
				best, grown = i, all
			}
		}
		if best < 0 {
			return out, lines(), false
		}
		out[best] -= min(over, step, out[best]-least[best])
	}
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
		row[i] = Cell{Text: t, Style: s}
	}
	return row
}
