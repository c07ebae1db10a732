package intake

import (
	"bytes"
	"fmt"
	"iter"
	"maps"
	"regexp"
	"slices"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/source"
)

// report is a table made of lines such as "Loss: 0.35 dB": each record is a row,
// and each key a column. A record begins at certain keys.
//
// Several keys may stand in one line, parted by two spaces or more, or a tab. A
// key begins with a letter and ends at ":" or "="; dots before that lead the eye
// and are no part of it. Lines without a key are let be.
type report struct {
	file   *source.File
	starts []string // headingName of the keys that begin a record
	filled []string // and of those among them that are filled down
	names  []string
	index  map[string]int // of names by headingName
	loose  int            // lines that hold no key
	bad    *diag.Problem
}

// keyIn finds a key. Longer than that, it is prose; two spaces end it.
var keyIn = regexp.MustCompile(`(?:^[ \t]*|[ \t]{2,}|\t)(\pL(?:[^:=\t ]| [^:=\t ]){0,59}?)[ \t]*[:=]`)

// entry is a key and its value in a line.
type entry struct {
	key        string
	start, end int // of the value, bytes in the text
}

// entriesOf finds the keys and values of a line.
func entriesOf(text []byte, at, end int) (list []entry) {
	line := text[at:end]
	hits := keyIn.FindAllSubmatchIndex(line, maxColumns)
	for i, hit := range hits {
		key := bytes.TrimRight(line[hit[2]:hit[3]], " .")
		to := len(line)
		if i+1 < len(hits) {
			to = hits[i+1][0]
		}
		value := bytes.TrimSpace(line[hit[1]:to])
		from := hit[1]
		if len(value) > 0 {
			from += bytes.Index(line[hit[1]:to], value)
		}
		list = append(list, entry{string(key), at + from, at + from + len(value)})
	}
	return list
}

// lines yields every line of a text with its number.
func linesOf(text []byte) iter.Seq2[int, [2]int] {
	return func(yield func(int, [2]int) bool) {
		lf, cr, n := finder{'\n', -1}, finder{'\r', -1}, 0
		for at := 0; at < len(text); {
			end := min(lf.from(text, at), cr.from(text, at))
			if n++; !yield(n, [2]int{at, end}) {
				return
			}
			at = behindLineEnd(text, end)
		}
	}
}

// openReport finds the keys of a report and checks that its records can be told
// apart.
func openReport(f *source.File, m *mapping) (table, string, *diag.Problem) {
	if problem := heldWhole(f); problem != nil {
		return nil, "", problem
	}
	t := &report{file: f, index: map[string]int{}}
	for _, s := range m.report {
		t.starts = append(t.starts, field.HeadingName(s))
	}
	for _, fd := range m.fillDown { // what holds for several records stands before each of them
		mapped := false
		for ref := range m.refs() {
			if ref.unit.Field == fd && ref.number == 0 {
				t.filled, mapped = append(t.filled, field.HeadingName(ref.heading)), true
			}
		}
		if !mapped {
			for name, fu := range field.ByName {
				if fu.Field == fd {
					t.filled = append(t.filled, name)
				}
			}
		}
	}
	t.starts = append(t.starts, t.filled...)
	before := map[string]int{} // keys before the first record, and their lines
	begun, records := false, 0
	for n, span := range linesOf(f.Text) {
		if span[1]-span[0] > maxRow {
			return nil, "", tooLongRow(f.Name, n)
		}
		entries := entriesOf(f.Text, span[0], span[1])
		if len(entries) == 0 && !blankBytes(f.Text[span[0]:span[1]]) {
			t.loose++
		}
		for _, e := range entries {
			name := field.HeadingName(e.key)
			if t.begins(e.key) {
				begun = true
				records++
			}
			if _, known := t.index[name]; !known && begun {
				if len(t.names) == maxColumns {
					return nil, "", &diag.Problem{Code: "too-many-columns", Place: diag.Place{File: f.Name, Line: n}, Message: fmt.Sprintf("this report has more than %d different keys", maxColumns),
						Mend: "check whether this file is a report of readings at all"}
				}
				t.index[name] = len(t.names)
				t.names = append(t.names, e.key)
			}
			line, stood := before[name]
			switch {
			case !begun:
				before[name] = n
			case stood && !t.begins(e.key):
				return nil, "", &diag.Problem{Code: "which-record", Place: diag.At(f, source.Span{Start: e.start, End: e.end}),
					Message: fmt.Sprintf("%q stands before the first record and inside one: it could belong to the record above or below", e.key),
					Because: []string{fmt.Sprintf("the first is at line %d; records begin at %s, as report says", line, diag.Or(quotedAll(m.report)))},
					Mend:    fmt.Sprintf("add %q to report in the file's entry of readings if a record begins there", e.key)}
			}
		}
	}
	if !begun {
		return nil, "", &diag.Problem{Code: "no-record", Place: diag.Place{File: f.Name}, Message: fmt.Sprintf("no line of this file begins with %s", diag.Or(quotedAll(m.report))),
			Because: []string{"its keys are " + strings.Join(diag.First(slices.Sorted(maps.Keys(before)), 20), ", ")},
			Mend:    "correct report in the file's entry of readings: it names the keys that begin a record"}
	}
	how := fmt.Sprintf("%s of a report", diag.Plural(records, "record"))
	if t.loose > 0 {
		how += fmt.Sprintf("; %s without a key are not read", diag.Plural(t.loose, "line"))
	}
	return t, how, nil
}

func quotedAll(texts []string) (list []string) {
	for _, s := range texts {
		list = append(list, fmt.Sprintf("%q", s))
	}
	return list
}

func (t *report) begins(key string) bool { return slices.Contains(t.starts, field.HeadingName(key)) }

func (t *report) fault() *diag.Problem      { return t.bad }
func (t *report) line() string              { return "line" }
func (t *report) stored() bool              { return false }
func (t *report) parted() byte              { return 0 }
func (t *report) cellName(*row, int) string { return "" }
func (t *report) columnNames() []string     { return t.names }

// rows yields each line before the first record, and then each record.
func (t *report) rows() iter.Seq[*row] {
	return func(yield func(*row) bool) {
		text := t.file.Text
		r := &row{}
		begun := false
		for n, span := range linesOf(text) {
			entries := entriesOf(text, span[0], span[1])
			if begun = begun || slices.ContainsFunc(entries, func(e entry) bool { return t.begins(e.key) }); !begun {
				if !blankBytes(text[span[0]:span[1]]) && !yield(&row{number: n, beside: true, whole: true, text: string(text[span[0]:span[1]])}) {
					return
				}
				continue
			}
			for _, e := range entries {
				if t.begins(e.key) && len(r.cells) > 0 {
					if !yield(r) {
						return
					}
					r.clear()
				}
				if len(r.cells) == 0 {
					r.number, r.carries = n, true
				}
				r.carries = r.carries && slices.Contains(t.filled, field.HeadingName(e.key))
				i := t.index[field.HeadingName(e.key)]
				for len(r.cells) <= i {
					r.cells = append(r.cells, cell{})
				}
				c := cell{text: string(text[e.start:e.end]), start: e.start, end: e.end}
				switch was := r.cells[i]; {
				case was.end == 0 || was.text == "":
					r.cells[i] = c
				case was.text != c.text:
					r.odd = append(r.odd, oddity{i, diag.Problem{Code: "key-twice", Message: fmt.Sprintf("%q stands twice in this record, with two values", e.key),
						Because: []string{fmt.Sprintf("the second is %q at line %d", c.text, n)},
						Mend:    fmt.Sprintf("add %q to report in the file's entry of readings if a record begins there", e.key)}})
				}
			}
		}
		if len(r.cells) > 0 {
			yield(r)
		}
	}
}

func (t *report) place(r *row, column int) diag.Place {
	if column < 0 || column >= len(r.cells) || r.cells[column].end == 0 {
		return diag.AtLine(t.file, source.Position{Line: r.number}, 0)
	}
	return diag.At(t.file, source.Span{Start: r.cells[column].start, End: r.cells[column].end})
}

func (t *report) position(r *row, column int) source.Position {
	if column < 0 || column >= len(r.cells) || r.cells[column].end == 0 {
		return source.Position{Line: r.number}
	}
	return t.file.Position(r.cells[column].start)
}

func (t *report) column(r *row, column int) int { return t.position(r, column).Column }
func (t *report) rowOf(r *row, column int) int  { return t.position(r, column).Line }
