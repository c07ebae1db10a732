package intake

import (
	"fmt"
	"strings"

	"spanseal/internal/profile"
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
	More        int  // rows below those, blank ones included
	Cut         bool // not all rows with a cell are among Rows
	Columns     []profile.Column
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

// maxShown is how many columns are profiled.
const maxShown = 100

// mostCells is how many cells of a table are held.
const mostCells = 500_000

// watch collects an AsRead while a table is assembled. A nil watch does nothing.
type watch struct {
	a       *assembler
	rows    int // to show
	cells   int // of those that are held
	as      AsRead
	columns []profile.Counter
	from    []int // columns of the row's readings
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
		w.columns = append(w.columns, profile.Counter{})
	}
	if !a.isHeading(row) {
		for i := range w.columns {
			w.columns[i].Take(shownIn(a.t, row, i), func(text string) (quantity.Decimal, error) { return a.number(text, a.mark, a.h.UnitOf(i)) },
				func(text string) (written.Clock, error) { return a.wallTime(text, "", false) })
		}
	}
	if len(w.as.Rows) == w.rows || w.cells > mostCells {
		w.as.Cut = true
		w.as.More++
		w.from = w.from[:0]
		return
	}
	shown := RowAsRead{Place: fmt.Sprintf("%s %d", a.t.RowWord(), row.Number), Fate: fate}
	w.cells += len(row.Cells)
	for i := range row.Cells {
		shown.Cells = append(shown.Cells, strings.Clone(shownIn(a.t, row, i)))
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

// shownIn is a cell as a person sees it: of a sheet, the day or the hour of a number that is
// shown as one.
func shownIn(t table.Table, row *table.Row, column int) string {
	text := row.At(column)
	if text == "" {
		return text
	}
	switch table.ShownAs(t, row.Cells[column]) {
	case table.AsDay:
		return written.ShowDay(text, table.Since1904(t))
	case table.AsHour:
		return written.ShowHour(text, table.Since1904(t))
	case table.AsMoment:
		return written.ShowMoment(text, table.Since1904(t))
	}
	return text
}

// done hands the table to whoever wants to see it.
func (w *watch) done() {
	if w == nil {
		return
	}
	for i := range w.columns {
		name := ""
		if i < len(w.a.h.Names) {
			name = w.a.h.Names[i]
		}
		w.as.Columns = append(w.as.Columns, w.columns[i].Column(i+1, name, w.a.h.ReadAs(i)))
	}
	w.a.r.asRead = append(w.a.r.asRead, w.as)
}
