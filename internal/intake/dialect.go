package intake

import (
	"bytes"
	"fmt"
	"iter"
	"slices"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/source"
)

// delimiters that a file may use without naming it.
var delimiters = []byte{',', ';', '\t', '|'}

// openDelimited makes a table of a text file. Where the mapping names no
// delimiter, each one is tried on the whole file; the one under which most rows
// agree on their number of columns, and hold a heading, is taken.
func openDelimited(f *source.File, m *mapping) (*delimited, string, *diag.Problem) {
	if m.delimiter != 0 {
		return &delimited{file: f, delimiter: byte(m.delimiter)}, "", nil
	}
	if rest, ok := bytes.CutPrefix(f.Text, []byte("sep=")); ok && len(rest) > 1 && (rest[1] == '\n' || rest[1] == '\r') && slices.Contains(delimiters, rest[0]) {
		return &delimited{file: f, delimiter: rest[0]}, fmt.Sprintf("cells are parted by %s, as the file's first line says", delimiterName(rune(rest[0]))), nil
	}
	type trial struct {
		delimiter byte
		heading   int // names of fields found in one row
		rows      int // rows that agree on the number of columns
	}
	var trials []trial
	present := slices.DeleteFunc(slices.Clone(delimiters), func(c byte) bool { return bytes.IndexByte(f.Text, c) < 0 })
	if len(present) == 1 {
		return &delimited{file: f, delimiter: present[0]}, fmt.Sprintf("cells are parted by %s, as no other delimiter stands in the file", delimiterName(rune(present[0]))), nil
	}
	for _, c := range present {
		heading, rows := tryDelimiter(f, c, m)
		if rows > 0 {
			trials = append(trials, trial{c, heading, rows})
		}
	}
	if len(trials) == 0 {
		return &delimited{file: f, delimiter: ','}, "", nil // one column
	}
	slices.SortStableFunc(trials, func(a, b trial) int {
		if a.heading != b.heading {
			return b.heading - a.heading
		}
		return b.rows - a.rows
	})
	best := trials[0]
	if len(trials) > 1 && trials[1].heading == best.heading && trials[1].rows == best.rows {
		return nil, "", &diag.Problem{Code: "which-delimiter", Place: diag.Place{File: f.Name},
			Message: fmt.Sprintf("the columns could be cut at %s or at %s", delimiterName(rune(best.delimiter)), delimiterName(rune(trials[1].delimiter))),
			Mend:    "name the delimiter in the file's entry of readings"}
	}
	how := fmt.Sprintf("cells are parted by %s, as %s agree", delimiterName(rune(best.delimiter)), diag.Plural(best.rows, "row"))
	return &delimited{file: f, delimiter: best.delimiter}, how, nil
}

// tryDelimiter counts what a delimiter would make of the file: the names of
// fields in the row that has most of them, and the rows that agree on their
// number of columns.
func tryDelimiter(f *source.File, c byte, m *mapping) (heading, agree int) {
	t := &delimited{file: f, delimiter: c}
	n := 0
	for r := range t.rows() {
		if n++; n > headingSearch {
			break
		}
		found := 0
		for _, c := range r.cells {
			if m.knows(c.text) {
				found++
			}
		}
		heading = max(heading, found)
	}
	least := 2 // columns that a row must have to count
	for ref := range m.refs() {
		if m.numbered() {
			least = max(least, ref.number)
		}
	}
	widths := map[int]int{}
	for width := range t.widths() {
		if width >= least {
			widths[width]++
		}
	}
	for _, count := range widths {
		agree = max(agree, count)
	}
	return heading, agree
}

// widths yields the number of columns of every row. Where no quote can hide a
// delimiter, counting bytes is enough.
func (t *delimited) widths() iter.Seq[int] {
	return func(yield func(int) bool) {
		if bytes.IndexByte(t.file.Text, '"') < 0 {
			for line := range bytes.Lines(t.file.Text) {
				if !yield(bytes.Count(line, []byte{t.delimiter}) + 1) {
					return
				}
			}
			return
		}
		for r := range t.rows() {
			if !yield(len(r.cells)) {
				return
			}
		}
	}
}

// knows reports whether a text is the heading of a column that the mapping or
// its own name binds.
func (m *mapping) knows(text string) bool {
	if text == "" {
		return false
	}
	if _, ok := field.ByName[field.HeadingName(text)]; ok {
		return true
	}
	for ref := range m.refs() {
		if ref.number == 0 && (field.SameHeading(ref.heading, text) || field.SameHeading(ref.heading, field.WithoutUnit(text))) {
			return true
		}
	}
	return false
}
