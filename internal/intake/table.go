package intake

import (
	"iter"
	"strings"
	"unicode/utf8"

	"spanseal/internal/diag"
	"spanseal/internal/source"
)

// maxColumns is the most columns a row may have.
const maxColumns = 4096

// row is one record of a table. It is valid only until the next is read.
type row struct {
	number  int // the line, or the sheet's row, from one
	text    string
	cells   []cell
	unsaved []int // columns that hold a formula without its value
	whole   bool  // text is all of the row, and its cells may be cut from words
	beside  bool  // it stands beside the table, as what is above a heading does
	carries bool  // it holds only what is filled down into the rows below
	odd     []oddity
}

// oddity is why a cell of a row cannot be trusted.
type oddity struct {
	column  int
	problem diag.Problem
}

// cell is one cell: its text without quotes and without spaces at its ends, and
// where it stands.
type cell struct {
	text       string
	start, end int // bytes in the file's text; unused in sheets
}

// at returns the text of a column counted from zero; rows may end early.
func (r *row) at(column int) string {
	if column < 0 || column >= len(r.cells) {
		return ""
	}
	return r.cells[column].text
}

// blank reports that no cell holds anything.
func (r *row) blank() bool {
	for i := range r.cells {
		if r.cells[i].text != "" {
			return false
		}
	}
	return true
}

// joined is the row as a person would read it out: its texts with a space
// between. Patterns match on it.
func (r *row) joined() string {
	if r.whole {
		return strings.Join(strings.Fields(r.text), " ")
	}
	var b strings.Builder
	for i := range r.cells {
		if t := r.cells[i].text; t != "" {
			if b.Len() > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(t)
		}
	}
	return b.String()
}

// table is rows of cells, wherever they come from.
type table interface {
	// rows yields every row in order. It may be called again.
	rows() iter.Seq[*row]
	// fault is why the rows ended early, or nil.
	fault() *diag.Problem
	// place is where a cell of the current row stands; column −1 is the row.
	place(r *row, column int) diag.Place
	// column is the origin's column of a cell, in characters or sheet columns.
	column(r *row, column int) int
	// cellName is such as "Sheet1!B7" in a sheet, or "".
	cellName(r *row, column int) string
	// line says what a row's number counts: "line" or "row".
	line() string
	// stored reports that numbers and times are as a spreadsheet stores them,
	// not as a person wrote them.
	stored() bool
	// parted is the delimiter between the cells of a row, or 0.
	parted() byte
	// rowOf is the line or the sheet's row of a cell, which is that of the row
	// but where a row is made of several lines.
	rowOf(r *row, column int) int
}

// delimited is a table of delimited text by the rules of RFC 4180, with any
// delimiter and any of the three line ends. A quote counts only where it opens
// a cell.
type delimited struct {
	file      *source.File
	delimiter byte
	bad       *diag.Problem
}

func (t *delimited) stored() bool              { return false }
func (t *delimited) parted() byte              { return t.delimiter }
func (t *delimited) rowOf(r *row, _ int) int   { return r.number }
func (t *delimited) fault() *diag.Problem      { return t.bad }
func (t *delimited) line() string              { return "line" }
func (t *delimited) cellName(*row, int) string { return "" }

func (t *delimited) place(r *row, column int) diag.Place {
	if column < 0 || len(r.cells) == 0 {
		return diag.AtLine(t.file, source.Position{Line: r.number}, 0)
	}
	if column >= len(r.cells) { // the row ended early: point at its end
		end := r.cells[len(r.cells)-1].end
		return diag.At(t.file, source.Span{Start: end, End: end})
	}
	c := r.cells[column]
	return diag.At(t.file, source.Span{Start: c.start, End: c.end})
}

func (t *delimited) column(r *row, column int) int {
	if column < 0 || column >= len(r.cells) {
		return 0
	}
	before := r.text[:r.cells[column].start-(r.cells[0].start)]
	if strings.ContainsAny(before, "\r\n") {
		return t.file.Position(r.cells[column].start).Column
	}
	return utf8.RuneCountInString(before) + 1
}

func (t *delimited) rows() iter.Seq[*row] {
	return func(yield func(*row) bool) {
		t.bad = nil
		text := t.file.Text
		scan := t.scanner()
		r := &row{}
		line := 1
		for at := 0; at < len(text); {
			r.number, r.cells = line, r.cells[:0]
			next, lines := scan.scan(r, at)
			if t.bad != nil {
				return
			}
			line += lines
			at = next
			if !yield(r) {
				return
			}
		}
	}
}
