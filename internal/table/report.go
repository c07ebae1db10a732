package table

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

// KeyedLines is a table made of lines such as "Loss: 0.35 dB": each record is a row,
// and each key a column. A record begins at certain keys.
//
// Several keys may stand in one line, parted by two spaces or more, or a tab. A
// key begins with a letter and ends at ":" or "="; dots before that lead the eye
// and are no part of it. Lines without a key are let be.
type KeyedLines struct {
	file   *source.File
	starts []string // headingName of the keys that begin a record
	filled []string // and of those among them that are filled down
	Names  []string
	index  map[string]int // of names by headingName
	loose  int            // lines that hold no key
	bad    *diag.Problem
}

// keyIn finds a key. Longer than that, it is prose; two spaces end it.
var keyIn = regexp.MustCompile(`(?:^[ \t]*|[ \t]{2,}|\t)(\pL(?:[^:=\t ]| [^:=\t ]){0,59}?)[ \t]*[:=]`)

// KeyValue is a key and its value in a line.
type KeyValue struct {
	Key        string
	start, end int // of the value, bytes in the text
}

// EntriesOf finds the keys and values of a line.
func EntriesOf(text []byte, at, end int) (list []KeyValue) {
	line := text[at:end]
	hits := keyIn.FindAllSubmatchIndex(line, MaxColumns)
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
		list = append(list, KeyValue{string(key), at + from, at + from + len(value)})
	}
	return list
}

// lines yields every line of a text with its number.
func LinesOf(text []byte) iter.Seq2[int, [2]int] {
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

// OpenReport finds the keys of a report and checks that its records can be told
// apart: a record begins at certain keys, and at those that are filled down.
func OpenReport(f *source.File, begins, filled []string) (*KeyedLines, string, *diag.Problem) {
	if problem := heldWhole(f); problem != nil {
		return nil, "", problem
	}
	t := &KeyedLines{file: f, index: map[string]int{}}
	for _, key := range begins {
		t.starts = append(t.starts, field.HeadingName(key))
	}
	for _, key := range filled {
		t.filled = append(t.filled, field.HeadingName(key))
	}
	t.starts = append(t.starts, t.filled...)
	before := map[string]int{} // keys before the first record, and their lines
	begun, records := false, 0
	for n, span := range LinesOf(f.Text) {
		if span[1]-span[0] > MaxRow {
			return nil, "", tooLongRow(f.Name, n)
		}
		entries := EntriesOf(f.Text, span[0], span[1])
		if len(entries) == 0 && !Blank(f.Text[span[0]:span[1]]) {
			t.loose++
		}
		for _, e := range entries {
			name := field.HeadingName(e.Key)
			if t.Begins(e.Key) {
				begun = true
				records++
			}
			if _, known := t.index[name]; !known && begun {
				if len(t.Names) == MaxColumns {
					return nil, "", &diag.Problem{Code: "too-many-columns", Place: diag.Place{File: f.Name, Line: n}, Message: fmt.Sprintf("this report has more than %d different keys", MaxColumns),
						Fix: "check whether this file is a report of readings at all"}
				}
				t.index[name] = len(t.Names)
				t.Names = append(t.Names, e.Key)
			}
			line, stood := before[name]
			switch {
			case !begun:
				before[name] = n
			case stood && !t.Begins(e.Key):
				return nil, "", &diag.Problem{Code: "which-record", Place: diag.At(f, source.Span{Start: e.start, End: e.end}),
					Message: fmt.Sprintf("%q is before the first record and also inside one: it could belong to the record above or below", e.Key),
					Because: []string{fmt.Sprintf("the first is at line %d; records begin at %s, as report says", line, diag.Or(quotedAll(begins)))},
					Fix:     fmt.Sprintf("add %q to report in the file's readings entry if a record begins there", e.Key)}
			}
		}
	}
	if !begun {
		return nil, "", &diag.Problem{Code: "no-record", Place: diag.Place{File: f.Name}, Message: fmt.Sprintf("no line of this file begins with %s", diag.Or(quotedAll(begins))),
			Because: []string{"its keys are " + strings.Join(diag.First(slices.Sorted(maps.Keys(before)), 20), ", ")},
			Fix:     "correct report in the file's readings entry: it names the keys that begin a record"}
	}
	how := fmt.Sprintf("%s of a report", diag.Plural(records, "record"))
	if t.loose > 0 {
		how += fmt.Sprintf("; %s without a key are not read", diag.Plural(t.loose, "line"))
	}
	return t, how, nil
}

// BeginAt makes records begin at other keys: at those that are filled down, and at
// one that is not.
func (t *KeyedLines) BeginAt(filled []string, begins string) {
	t.filled = nil
	for _, key := range filled {
		t.filled = append(t.filled, field.HeadingName(key))
	}
	t.starts = append(slices.Clone(t.filled), field.HeadingName(begins))
}

func quotedAll(texts []string) (list []string) {
	for _, s := range texts {
		list = append(list, fmt.Sprintf("%q", s))
	}
	return list
}

// Begins reports that a record begins at a key.
func (t *KeyedLines) Begins(key string) bool {
	return slices.Contains(t.starts, field.HeadingName(key))
}

func (t *KeyedLines) Fault() *diag.Problem      { return t.bad }
func (t *KeyedLines) RowWord() string           { return "line" }
func (t *KeyedLines) Stored() bool              { return false }
func (t *KeyedLines) CellDelimiter() byte       { return 0 }
func (t *KeyedLines) CellName(*Row, int) string { return "" }
func (t *KeyedLines) ColumnNames() []string     { return t.Names }

// Rows yields each line before the first record, and then each record.
func (t *KeyedLines) Rows() iter.Seq[*Row] {
	return func(yield func(*Row) bool) {
		text := t.file.Text
		r := &Row{}
		begun := false
		for n, span := range LinesOf(text) {
			entries := EntriesOf(text, span[0], span[1])
			if begun = begun || slices.ContainsFunc(entries, func(e KeyValue) bool { return t.Begins(e.Key) }); !begun {
				if !Blank(text[span[0]:span[1]]) && !yield(&Row{Number: n, Beside: true, Whole: true, Text: string(text[span[0]:span[1]])}) {
					return
				}
				continue
			}
			for _, e := range entries {
				if t.Begins(e.Key) && len(r.Cells) > 0 {
					if !yield(r) {
						return
					}
					r.clear()
				}
				if len(r.Cells) == 0 {
					r.Number, r.Carries = n, true
				}
				r.Carries = r.Carries && slices.Contains(t.filled, field.HeadingName(e.Key))
				i := t.index[field.HeadingName(e.Key)]
				for len(r.Cells) <= i {
					r.Cells = append(r.Cells, Cell{})
				}
				c := Cell{Text: string(text[e.start:e.end]), Start: e.start, End: e.end}
				switch was := r.Cells[i]; {
				case was.End == 0 || was.Text == "":
					r.Cells[i] = c
				case was.Text != c.Text:
					r.Odd = append(r.Odd, Oddity{i, diag.Problem{Code: "key-twice", Message: fmt.Sprintf("%q occurs twice in this record, with two values", e.Key),
						Because: []string{fmt.Sprintf("the second is %q at line %d", c.Text, n)},
						Fix:     fmt.Sprintf("add %q to report in the file's readings entry if a record begins there", e.Key)}})
				}
			}
		}
		if len(r.Cells) > 0 {
			yield(r)
		}
	}
}

func (t *KeyedLines) Place(r *Row, column int) diag.Place {
	if column < 0 || column >= len(r.Cells) || r.Cells[column].End == 0 {
		return diag.AtLine(t.file, source.Position{Line: r.Number}, 0)
	}
	return diag.At(t.file, source.Span{Start: r.Cells[column].Start, End: r.Cells[column].End})
}

func (t *KeyedLines) position(r *Row, column int) source.Position {
	if column < 0 || column >= len(r.Cells) || r.Cells[column].End == 0 {
		return source.Position{Line: r.Number}
	}
	return t.file.Position(r.Cells[column].Start)
}

func (t *KeyedLines) Column(r *Row, column int) int { return t.position(r, column).Column }
func (t *KeyedLines) RowOf(r *Row, column int) int  { return t.position(r, column).Line }
