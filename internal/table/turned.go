package table

import (
	"fmt"
	"iter"
	"slices"
	"strings"

	"spanseal/internal/diag"
)

// SelfNamed is a table whose cells stand beside their names, so that it has no
// row of headings.
type SelfNamed interface{ ColumnNames() []string }

// Turned is a table whose readings stand in columns, with the names of what they
// are in the first: each of its columns is read as a row.
type Turned struct {
	Table
	lines []Row // of the file
	width int
}

// maxTurned is how many cells a table may have that is turned, since it is held
// in memory as a whole.
const maxTurned = 1_000_000

// Turn reads a table to its end and turns it.
func Turn(t Table, file string) (*Turned, *diag.Problem) {
	v := &Turned{Table: t}
	cells := 0
	for r := range t.Rows() {
		if cells += len(r.Cells); len(v.lines) == MaxColumns || cells > maxTurned {
			return nil, &diag.Problem{Code: "too-large", Place: diag.Place{File: file}, Message: fmt.Sprintf("a transposed table has at most %d %ss and %d cells", MaxColumns, t.RowWord(), maxTurned),
				Fix: "split the export into several files, each with its names"}
		}
		v.lines = append(v.lines, Row{Number: r.Number, Text: r.Text, Cells: cloned(r.Cells), Unsaved: slices.Clone(r.Unsaved)})
		v.width = max(v.width, len(r.Cells), slices.Max(append(r.Unsaved, -1))+1)
	}
	return v, t.Fault()
}

// cloned are cells that do not hold the file in memory.
func cloned(cells []Cell) []Cell {
	list := slices.Clone(cells)
	for i := range list {
		list[i].Text = strings.Clone(list[i].Text)
	}
	return list
}

func (t *Turned) Fault() *diag.Problem { return nil }
func (t *Turned) RowWord() string      { return "column" }

func (t *Turned) Rows() iter.Seq[*Row] {
	return func(yield func(*Row) bool) {
		r := &Row{}
		for c := range t.width {
			r.Number = c + 1
			r.clear()
			for i := range t.lines {
				line := &t.lines[i]
				text := Cell{}
				if c < len(line.Cells) {
					text = line.Cells[c]
				}
				r.Cells = append(r.Cells, text)
				if slices.Contains(line.Unsaved, c) {
					r.Unsaved = append(r.Unsaved, i)
				}
			}
			if !yield(r) {
				return
			}
		}
	}
}

// in is the line of the file that a column is.
func (t *Turned) in(column int) *Row {
	if column < 0 || column >= len(t.lines) {
		column = 0
	}
	return &t.lines[column]
}

func (t *Turned) Place(r *Row, column int) diag.Place {
	if len(t.lines) == 0 {
		return t.Table.Place(r, -1)
	}
	return t.Table.Place(t.in(column), r.Number-1)
}

func (t *Turned) Column(r *Row, column int) int { return t.Table.Column(t.in(column), r.Number-1) }
func (t *Turned) CellName(r *Row, column int) string {
	return t.Table.CellName(t.in(column), r.Number-1)
}
func (t *Turned) RowOf(_ *Row, column int) int { return t.in(column).Number }

// SheetIn is the sheet that a table is or was made of, or nil.
func SheetIn(t Table) *Worksheet {
	switch t := t.(type) {
	case *Worksheet:
		return t
	case *Turned:
		return SheetIn(t.Table)
	case *few:
		return SheetIn(t.Table)
	}
	return nil
}

// Since1904 reports that days of a table count from the beginning of 1904, not from
// the end of 1899.
func Since1904(t Table) bool {
	s := SheetIn(t)
	return s != nil && s.book.since1904
}
