package table

import (
	"bytes"
	"fmt"
	"iter"
	"unicode"
	"unicode/utf8"

	"spanseal/internal/diag"
	"spanseal/internal/source"
)

// FixedWidth is a table whose columns begin at the same characters of each line.
type FixedWidth struct {
	Delimited
	Starts []int // from one
}

// NewFixedWidth is a table whose columns begin at certain characters, from one.
func NewFixedWidth(f *source.File, starts []int) *FixedWidth {
	return &FixedWidth{Delimited{File: f}, starts}
}

func (t *FixedWidth) Rows() iter.Seq[*Row] {
	return func(yield func(*Row) bool) {
		t.bad = nil
		text := t.File.Text
		r := &Row{Whole: true}
		lf, cr := finder{'\n', -1}, finder{'\r', -1}
		for at := 0; at < len(text); {
			end := min(lf.from(text, at), cr.from(text, at))
			r.Number++
			if end-at > MaxRow {
				t.bad = tooLongRow(t.File.Name, r.Number)
				return
			}
			t.CutLine(r, at, end)
			at = behindLineEnd(text, end)
			if !yield(r) {
				return
			}
		}
	}
}

// CutLine cuts a line at the characters where columns begin. What stands before
// the first of them is let be if it is blank.
func (t *FixedWidth) CutLine(r *Row, at, end int) {
	r.clear()
	line := t.File.Text[at:end]
	r.Text = string(line)
	if i := bytes.IndexByte(line, '\t'); i >= 0 {
		r.Odd = append(r.Odd, Oddity{0, diag.Problem{Code: "tab-in-fixed-width", Message: "this line has a tab, so character positions do not show where columns begin",
			Fix: "set delimiter: tab in the file's readings entry if tabs separate the columns"}})
	}
	if IsRule(line) {
		r.Text = ""
		return
	}
	n, from, column := 0, 0, 0 // characters so far, where the cell begins, columns so far
	last := ' '
	for i := 0; i < len(line); {
		c, size := utf8.DecodeRune(line[i:])
		n++
		if column < len(t.Starts) && n == t.Starts[column] {
			if !unicode.IsSpace(last) && !unicode.IsSpace(c) {
				r.Odd = append(r.Odd, Oddity{max(column-1, 0), diag.Problem{Code: "text-across-columns",
					Message: fmt.Sprintf("text runs across character %d, where column %d begins", n, column+1),
					Fix:     "correct fixed_width in the file's readings entry, or leave the row out under ignore_rows"}})
			}
			switch {
			case column > 0:
				t.cell(r, at+from, at+i)
			case !Blank(line[:i]):
				r.Odd = append(r.Odd, t.before())
			}
			from = i
			column++
		}
		last = c
		i += size
	}
	if column == 0 && !Blank(line) {
		r.Odd = append(r.Odd, t.before())
	}
	if column > 0 || len(r.Odd) > 0 {
		t.cell(r, at+from, at+len(line))
	}
}

// before is a text that stands left of every column.
func (t *FixedWidth) before() Oddity {
	return Oddity{0, diag.Problem{Code: "text-across-columns", Message: fmt.Sprintf("there is text before character %d, where the first column begins", t.Starts[0]),
		Fix: "correct fixed_width in the file's readings entry, or leave the row out under ignore_rows"}}
}

// cell adds the text between two bytes, without the spaces around it.
func (t *FixedWidth) cell(r *Row, from, to int) {
	text := t.File.Text[from:to]
	trimmed := bytes.TrimSpace(text)
	if len(trimmed) > 0 {
		from += bytes.Index(text, trimmed)
	}
	r.Cells = append(r.Cells, Cell{Text: string(trimmed), Start: from, End: from + len(trimmed)})
}

// IsRule reports a line that only rules a table: ----- ----- or =====.
func IsRule(line []byte) bool {
	return len(line) >= 3 && len(bytes.Trim(line, "-=_+| \r")) == 0 && bytes.ContainsAny(line, "-=_")
}

// Blank reports a text of spaces alone.
func Blank(b []byte) bool { return len(bytes.TrimSpace(b)) == 0 }

// Column is in characters of the line.
func (t *FixedWidth) Column(r *Row, column int) int {
	if column < 0 || column >= len(r.Cells) {
		return 0
	}
	return t.File.Position(r.Cells[column].Start).Column
}

// Place points at the cell.
func (t *FixedWidth) Place(r *Row, column int) diag.Place {
	if column < 0 || column >= len(r.Cells) {
		return diag.AtLine(t.File, source.Position{Line: r.Number}, 0)
	}
	return t.Delimited.Place(r, column)
}

func tooLongRow(file string, line int) *diag.Problem {
	return &diag.Problem{Code: "row-too-long", Place: diag.Place{File: file, Line: line},
		Message: fmt.Sprintf("this row has more than %d bytes", MaxRow),
		Fix:     "check whether this file is an export of readings at all"}
}
