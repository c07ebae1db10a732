package table

import (
	"bytes"
	"fmt"
	"iter"
	"slices"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/source"
)

// Delimiters that a file may use without naming it.
var Delimiters = []byte{',', ';', '\t', '|'}

// OpenDelimited makes a table of delimited text. Where no delimiter is given, each one
// is tried on the whole file; the one under which most rows agree on their number of
// columns, and hold a heading, is taken.
func OpenDelimited(f *source.File, s Shape) (*Delimited, string, *diag.Problem) {
	if s.Delimiter != 0 {
		return &Delimited{File: f, Delimiter: s.Delimiter}, "", nil
	}
	if rest, ok := bytes.CutPrefix(f.Text, []byte("sep=")); ok && len(rest) > 1 && (rest[1] == '\n' || rest[1] == '\r') && slices.Contains(Delimiters, rest[0]) {
		return &Delimited{File: f, Delimiter: rest[0]}, fmt.Sprintf("delimiter %s: stated in the file's first line", strings.TrimPrefix(DelimiterName(rune(rest[0])), "a ")), nil
	}
	type trial struct {
		delimiter byte
		heading   int // names of fields found in one row
		rows      int // rows that agree on the number of columns
	}
	var trials []trial
	present := slices.DeleteFunc(slices.Clone(Delimiters), func(c byte) bool { return bytes.IndexByte(f.Text, c) < 0 })
	if len(present) == 1 {
		return &Delimited{File: f, Delimiter: present[0]}, fmt.Sprintf("delimiter %s: no other delimiter occurs in the file", strings.TrimPrefix(DelimiterName(rune(present[0])), "a ")), nil
	}
	for _, c := range present {
		heading, rows := tryDelimiter(f, c, s)
		if rows > 0 {
			trials = append(trials, trial{c, heading, rows})
		}
	}
	if len(trials) == 0 {
		return &Delimited{File: f, Delimiter: ','}, "", nil // one column
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
			Message: fmt.Sprintf("the columns could be separated by %s or by %s", DelimiterName(rune(best.delimiter)), DelimiterName(rune(trials[1].delimiter))),
			Fix:     "name the delimiter in the file's readings entry"}
	}
	how := fmt.Sprintf("delimiter %s: %s agree", strings.TrimPrefix(DelimiterName(rune(best.delimiter)), "a "), diag.Plural(best.rows, "row"))
	return &Delimited{File: f, Delimiter: best.delimiter}, how, nil
}

// tryDelimiter counts what a delimiter would make of the file: the names of
// fields in the row that has most of them, and the rows that agree on their
// number of columns.
func tryDelimiter(f *source.File, c byte, s Shape) (heading, agree int) {
	t := &Delimited{File: f, Delimiter: c}
	n := 0
	for r := range t.Rows() {
		if n++; n > HeadingSearch {
			break
		}
		found := 0
		for _, c := range r.Cells {
			if s.Knows != nil && s.Knows(c.Text) {
				found++
			}
		}
		heading = max(heading, found)
	}
	least := max(2, s.Least) // columns that a row must have to count
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
func (t *Delimited) widths() iter.Seq[int] {
	return func(yield func(int) bool) {
		if bytes.IndexByte(t.File.Text, '"') < 0 {
			for line := range bytes.Lines(t.File.Text) {
				if !yield(bytes.Count(line, []byte{t.Delimiter}) + 1) {
					return
				}
			}
			return
		}
		for r := range t.Rows() {
			if !yield(len(r.Cells)) {
				return
			}
		}
	}
}
