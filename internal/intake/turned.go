package intake

import (
	"fmt"
	"iter"
	"slices"
	"strings"

	"spanseal/internal/diag"
)

// selfNamed is a table whose cells stand beside their names, so that it has no
// row of headings.
type selfNamed interface{ columnNames() []string }

// turned is a table whose readings stand in columns, with the names of what they
// are in the first: each of its columns is read as a row.
type turned struct {
	table
	lines []row // of the file
	width int
}

// maxTurned is how many cells a table may have that is turned, since it is held
// in memory as a whole.
const maxTurned = 1_000_000

// turn reads a table to its end and turns it.
func turn(t table, file string) (*turned, *diag.Problem) {
	v := &turned{table: t}
	cells := 0
	for r := range t.rows() {
		if cells += len(r.cells); len(v.lines) == maxColumns || cells > maxTurned {
			return nil, &diag.Problem{Code: "too-large", Place: diag.Place{File: file}, Message: fmt.Sprintf("a transposed table has at most %d %ss and %d cells", maxColumns, t.line(), maxTurned),
				Mend: "split the export into several files, each with its names"}
		}
		v.lines = append(v.lines, row{number: r.number, text: r.text, cells: cloned(r.cells), unsaved: slices.Clone(r.unsaved)})
		v.width = max(v.width, len(r.cells), slices.Max(append(r.unsaved, -1))+1)
	}
	return v, t.fault()
}

// cloned are cells that do not hold the file in memory.
func cloned(cells []cell) []cell {
	list := slices.Clone(cells)
	for i := range list {
		list[i].text = strings.Clone(list[i].text)
	}
	return list
}

func (t *turned) fault() *diag.Problem { return nil }
func (t *turned) line() string         { return "column" }

func (t *turned) rows() iter.Seq[*row] {
	return func(yield func(*row) bool) {
		r := &row{}
		for c := range t.width {
			r.number = c + 1
			r.clear()
			for i := range t.lines {
				line := &t.lines[i]
				text := cell{}
				if c < len(line.cells) {
					text = line.cells[c]
				}
				r.cells = append(r.cells, text)
				if slices.Contains(line.unsaved, c) {
					r.unsaved = append(r.unsaved, i)
				}
			}
			if !yield(r) {
				return
			}
		}
	}
}

// in is the line of the file that a column is.
func (t *turned) in(column int) *row {
	if column < 0 || column >= len(t.lines) {
		column = 0
	}
	return &t.lines[column]
}

func (t *turned) place(r *row, column int) diag.Place {
	if len(t.lines) == 0 {
		return t.table.place(r, -1)
	}
	return t.table.place(t.in(column), r.number-1)
}

func (t *turned) column(r *row, column int) int { return t.table.column(t.in(column), r.number-1) }
func (t *turned) cellName(r *row, column int) string {
	return t.table.cellName(t.in(column), r.number-1)
}
func (t *turned) rowOf(_ *row, column int) int { return t.in(column).number }

// sheetIn is the sheet that a table is or was made of, or nil.
func sheetIn(t table) *sheet {
	switch t := t.(type) {
	case *sheet:
		return t
	case *turned:
		return sheetIn(t.table)
	case *few:
		return sheetIn(t.table)
	}
	return nil
}
