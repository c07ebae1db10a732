package intake

import (
	"bytes"
	"fmt"
	"iter"
	"unicode"
	"unicode/utf8"

	"spanseal/internal/diag"
	"spanseal/internal/source"
)

// fixedWidth is a table whose columns begin at the same characters of each line.
type fixedWidth struct {
	delimited
	starts []int // from one
}

func (t *fixedWidth) rows() iter.Seq[*row] {
	return func(yield func(*row) bool) {
		t.bad = nil
		text := t.file.Text
		r := &row{whole: true}
		lf, cr := finder{'\n', -1}, finder{'\r', -1}
		for at := 0; at < len(text); {
			end := min(lf.from(text, at), cr.from(text, at))
			r.number++
			if end-at > maxRow {
				t.bad = tooLongRow(t.file.Name, r.number)
				return
			}
			t.cutLine(r, at, end)
			at = behindLineEnd(text, end)
			if !yield(r) {
				return
			}
		}
	}
}

// cutLine cuts a line at the characters where columns begin. What stands before
// the first of them is let be if it is blank.
func (t *fixedWidth) cutLine(r *row, at, end int) {
	r.clear()
	line := t.file.Text[at:end]
	r.text = string(line)
	if i := bytes.IndexByte(line, '\t'); i >= 0 {
		r.odd = append(r.odd, oddity{0, diag.Problem{Code: "tab-in-fixed-width", Message: "this line holds a tab, so its characters do not show where columns begin",
			Mend: "say delimiter: tab in the file's entry of readings if the columns are parted by tabs"}})
	}
	if ruled(line) {
		r.text = ""
		return
	}
	n, from, column := 0, 0, 0 // characters so far, where the cell begins, columns so far
	last := ' '
	for i := 0; i < len(line); {
		c, size := utf8.DecodeRune(line[i:])
		n++
		if column < len(t.starts) && n == t.starts[column] {
			if !unicode.IsSpace(last) && !unicode.IsSpace(c) {
				r.odd = append(r.odd, oddity{max(column-1, 0), diag.Problem{Code: "text-across-columns",
					Message: fmt.Sprintf("a text goes on across character %d, where column %d begins", n, column+1),
					Mend:    "correct fixed_width in the file's entry of readings, or leave the row out under ignore_rows"}})
			}
			switch {
			case column > 0:
				t.cell(r, at+from, at+i)
			case !blankBytes(line[:i]):
				r.odd = append(r.odd, t.before())
			}
			from = i
			column++
		}
		last = c
		i += size
	}
	if column == 0 && !blankBytes(line) {
		r.odd = append(r.odd, t.before())
	}
	if column > 0 || len(r.odd) > 0 {
		t.cell(r, at+from, at+len(line))
	}
}

// before is a text that stands left of every column.
func (t *fixedWidth) before() oddity {
	return oddity{0, diag.Problem{Code: "text-across-columns", Message: fmt.Sprintf("a text stands before character %d, where the first column begins", t.starts[0]),
		Mend: "correct fixed_width in the file's entry of readings, or leave the row out under ignore_rows"}}
}

// cell adds the text between two bytes, without the spaces around it.
func (t *fixedWidth) cell(r *row, from, to int) {
	text := t.file.Text[from:to]
	trimmed := bytes.TrimSpace(text)
	if len(trimmed) > 0 {
		from += bytes.Index(text, trimmed)
	}
	r.cells = append(r.cells, cell{text: string(trimmed), start: from, end: from + len(trimmed)})
}

// ruled reports a line that only rules a table: ----- ----- or =====.
func ruled(line []byte) bool {
	return len(line) >= 3 && len(bytes.Trim(line, "-=_+| \r")) == 0 && bytes.ContainsAny(line, "-=_")
}

func blankBytes(b []byte) bool { return len(bytes.TrimSpace(b)) == 0 }

// column is in characters of the line.
func (t *fixedWidth) column(r *row, column int) int {
	if column < 0 || column >= len(r.cells) {
		return 0
	}
	return t.file.Position(r.cells[column].start).Column
}

// place points at the cell.
func (t *fixedWidth) place(r *row, column int) diag.Place {
	if column < 0 || column >= len(r.cells) {
		return diag.AtLine(t.file, source.Position{Line: r.number}, 0)
	}
	return t.delimited.place(r, column)
}

func tooLongRow(file string, line int) *diag.Problem {
	return &diag.Problem{Code: "row-too-long", Place: diag.Place{File: file, Line: line},
		Message: fmt.Sprintf("this row has more than %d bytes", maxRow),
		Mend:    "check whether this file is an export of readings at all"}
}
