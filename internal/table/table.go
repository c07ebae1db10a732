// Package table turns bytes into rows of cells, each with its place, and says how it
// came to them. It knows headings by their words alone: what a column means is its
// caller's to say.
//
//	Decode         bytes as UTF-8 text: by a mark, by proof, or by a name that was given
//	OpenText       delimited text (RFC 4180), columns cut by characters, a report of
//	               keys, a list of objects in JSON (RFC 8259)
//	OpenBook       a workbook (ECMA-376), whose sheets are tables
//	NewListed      a list in YAML, whose items are rows
//	Turn           a table whose readings stand in columns, turned
//
// A [Table] yields its rows in order, and again if it is asked again. A [Row] is valid
// only until the next is read. Where the bytes leave more than one honest answer, or
// cannot be trusted, there is a problem and no table; a fault in the middle ends the
// rows, and [Table].Fault tells of it. A row may carry what cannot be trusted in it.
//
// # Bounds
//
// [Largest] is how many bytes a file may have. A row has at most 1 MB and 4096 columns,
// a JSON file 800,000 values, a turned table a million cells. A workbook is unpacked up
// to 20 MB, or 60 times its size up to 2 GB.
package table

import (
	"iter"
	"strings"

	"spanseal/internal/diag"
)

// MaxColumns is the most columns a row may have.
const MaxColumns = 4096

// Row is one record of a table. It is valid only until the next is read.
type Row struct {
	Number  int // the line, or the sheet's row, from one
	Text    string
	Cells   []Cell
	Unsaved []int // columns that hold a formula without its value
	Whole   bool  // text is all of the row, and its cells may be cut from words
	Beside  bool  // it stands beside the table, as what is above a heading does
	Carries bool  // it holds only what is filled down into the rows below
	Odd     []Oddity
}

// Oddity is why a cell of a row cannot be trusted.
type Oddity struct {
	Column  int
	Problem diag.Problem
}

// Cell is one cell: its text without quotes and without spaces at its ends, and
// where it stands.
type Cell struct {
	Text       string
	Start, End int // bytes in the file's text; unused in sheets

	style  int32 // of a sheet's cell: in which format it is shown
	number bool
}

// At returns the text of a column counted from zero; rows may end early.
func (r *Row) At(column int) string {
	if column < 0 || column >= len(r.Cells) {
		return ""
	}
	return r.Cells[column].Text
}

// Blank reports that no cell holds anything.
func (r *Row) Blank() bool {
	for i := range r.Cells {
		if r.Cells[i].Text != "" {
			return false
		}
	}
	return true
}

// Joined is the row as a person would read it out: its texts with a space
// between. Patterns match on it.
func (r *Row) Joined() string {
	if r.Whole {
		return strings.Join(strings.Fields(r.Text), " ")
	}
	var b strings.Builder
	for i := range r.Cells {
		if t := r.Cells[i].Text; t != "" {
			if b.Len() > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(t)
		}
	}
	return b.String()
}

// Table is rows of cells, wherever they come from.
type Table interface {
	// Rows yields every row in order. It may be called again.
	Rows() iter.Seq[*Row]
	// Fault is why the rows ended early, or nil.
	Fault() *diag.Problem
	// Place is where a cell of the current row stands; column −1 is the row.
	Place(r *Row, column int) diag.Place
	// Column is the origin's column of a cell, in characters or sheet columns.
	Column(r *Row, column int) int
	// CellName is such as "Sheet1!B7" in a sheet, or "".
	CellName(r *Row, column int) string
	// RowWord says what a row's number counts: "line", "row" or "column".
	RowWord() string
	// Stored reports that numbers and times are as a spreadsheet stores them,
	// not as a person wrote them.
	Stored() bool
	// CellDelimiter is the delimiter between the cells of a row, or 0.
	CellDelimiter() byte
	// RowOf is the line or the sheet's row of a cell, which is that of the row
	// but where a row is made of several lines.
	RowOf(r *Row, column int) int
}
