package intake

import (
	"fmt"
	"slices"
	"strings"

	"spanseal/internal/mapping"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/table"
	"spanseal/internal/written"
)

// AsRead shows how one table was read: its first rows beside what was made of
// them, and what stands in each of its columns. Nobody can see from a draft
// that a column was taken for the wrong thing; here it shows at a glance.
type AsRead struct {
	File, Sheet string // Sheet is "" but in workbooks
	Rows        []RowAsRead
	More        int // rows below those, blank ones included
	Columns     []ColumnAsRead
}

// RowAsRead is one row of a table and the readings that it gave.
type RowAsRead struct {
	Place    string   // such as "line 4"
	Cells    []string // as they stand in the file
	Fate     record.Fate
	Readings []ReadingAsRead
}

// ReadingAsRead is one reading and the cell of its value.
type ReadingAsRead struct {
	record.Reading
	Cell string // such as "column 4" or "Sheet1!D2"
	Text string // of the cell
}

// ColumnAsRead is the profile of one column, over all rows of the table.
type ColumnAsRead struct {
	Number int // from one
	Name   string
	Fields []string // what it was read as; none where it was not
	Values int      // cells that hold something
	Empty  int      // cells of rows that hold something elsewhere
	Type   string   // "number", "time", "text" or "": empty
	// Least and Greatest of those that are of the type.
	Least, Greatest string
	Distinct        int
	AtLeast         bool     // there are more than Distinct
	Others          []string // the first few texts that are not of the type
	OtherCount      int
}

// Constant reports that the same stands in every row.
func (c *ColumnAsRead) Constant() bool {
	return c.Distinct == 1 && c.Values > 1 && c.Empty == 0 && !c.AtLeast
}

const (
	maxDistinct = 1000 // different values of a column that are counted
	maxShown    = 100  // columns that are profiled
	maxOthers   = 3
)

// watch collects an AsRead while a table is assembled. A nil watch does nothing.
type watch struct {
	a       *assembler
	rows    int // to show
	as      AsRead
	columns []profile
	from    []int // columns of the row's readings
}

// profile is a column while it is read.
type profile struct {
	values, empty    int
	numbers, times   int
	least, greatest  [3]string // as texts, numbers and times
	low, high        quantity.Decimal
	early, late      written.Clock
	distinct         map[string]bool
	full             bool
	notNumber, other []string // texts that are no numbers; neither numbers nor times
}

func (r *reader) watch(a *assembler) *watch {
	if r.showRows == 0 {
		return nil
	}
	w := &watch{a: a, rows: r.showRows, as: AsRead{File: a.file.Name}}
	if s := table.SheetIn(a.t); s != nil {
		w.as.Sheet = s.Name
	}
	return w
}

// value notes the column of a value that was added.
func (w *watch) value(column int) {
	if w != nil {
		w.from = append(w.from, column)
	}
}

// row takes a row after it was read; its readings are those from start on.
func (w *watch) row(row *table.Row, fate record.Fate, start int) {
	if w == nil {
		return
	}
	a := w.a
	if row.Blank() && len(row.Unsaved) == 0 {
		w.as.More++
		return
	}
	for len(w.columns) < min(max(len(row.Cells), len(a.h.Names)), maxShown) {
		w.columns = append(w.columns, profile{distinct: map[string]bool{}})
	}
	if !a.isHeading(row) {
		for i := range w.columns {
			w.columns[i].take(a, i, row.At(i))
		}
	}
	if len(w.as.Rows) == w.rows {
		w.as.More++
		w.from = w.from[:0]
		return
	}
	shown := RowAsRead{Place: fmt.Sprintf("%s %d", a.t.Line(), row.Number), Fate: fate}
	for i := range row.Cells {
		shown.Cells = append(shown.Cells, strings.Clone(row.Cells[i].Text))
	}
	for i, reading := range a.r.facts.Readings[min(start, len(a.r.facts.Readings)):] {
		column := w.from[i]
		cell := reading.Origin.Cell
		if cell == "" {
			cell = fmt.Sprintf("column %d", column+1)
		}
		shown.Readings = append(shown.Readings, ReadingAsRead{reading, cell, strings.Clone(row.At(column))})
	}
	w.from = w.from[:0]
	w.as.Rows = append(w.as.Rows, shown)
}

// take counts one cell.
func (p *profile) take(a *assembler, column int, text string) {
	if text == "" {
		p.empty++
		return
	}
	p.values++
	if !p.distinct[text] {
		if len(p.distinct) < maxDistinct {
			text = strings.Clone(text)
			p.distinct[text] = true
		} else {
			p.full = true
		}
	}
	p.span(0, text, p.values == 1, text < p.least[0], text > p.greatest[0])
	if v, err := a.number(text, a.mark, a.h.UnitOf(column)); err == nil {
		p.numbers++
		less, more := v.Less(p.low), p.high.Less(v)
		if p.numbers == 1 || less {
			p.low = v
		}
		if p.numbers == 1 || more {
			p.high = v
		}
		p.span(1, text, p.numbers == 1, less, more)
		return
	}
	p.notNumber = another(p.notNumber, text)
	w, err := a.wallTime(text, "", false)
	if err != nil {
		p.other = another(p.other, text)
		return
	}
	p.times++
	first := p.times == 1
	less, more := w.Before(p.early), p.late.Before(w)
	if first || less {
		p.early = w
	}
	if first || more {
		p.late = w
	}
	p.span(2, text, first, less, more)
}

func (p *profile) span(kind int, text string, first, less, more bool) {
	if first || less {
		p.least[kind] = strings.Clone(text)
	}
	if first || more {
		p.greatest[kind] = strings.Clone(text)
	}
}

// another keeps the first few different texts.
func another(list []string, text string) []string {
	if len(list) == maxOthers || slices.Contains(list, text) {
		return list
	}
	return append(list, strings.Clone(text))
}

// done hands the table to whoever wants to see it.
func (w *watch) done() {
	if w == nil {
		return
	}
	for i := range w.columns {
		w.as.Columns = append(w.as.Columns, w.columns[i].column(w.a.h, i))
	}
	w.a.r.asRead = append(w.a.r.asRead, w.as)
}

// column sums a profile up. A column is of the type that most of its cells are.
func (p *profile) column(h *mapping.Heading, i int) ColumnAsRead {
	c := ColumnAsRead{Number: i + 1, Fields: h.ReadAs(i), Values: p.values, Empty: p.empty, Distinct: len(p.distinct), AtLeast: p.full}
	if i < len(h.Names) {
		c.Name = h.Names[i]
	}
	kind := 0
	switch {
	case p.values == 0:
		return c
	case 2*p.numbers >= p.values:
		kind, c.Type, c.Others, c.OtherCount = 1, "number", p.notNumber, p.values-p.numbers
	case 2*p.times >= p.values:
		kind, c.Type, c.Others, c.OtherCount = 2, "time", p.other, p.values-p.times
	default:
		c.Type = "text"
	}
	c.Least, c.Greatest = p.least[kind], p.greatest[kind]
	return c
}
