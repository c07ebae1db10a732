package table

import (
	"bytes"
	"fmt"
	"iter"
	"strings"
	"unicode/utf8"

	"spanseal/internal/diag"
	"spanseal/internal/source"
)

// finder remembers where a byte comes next, so that each stretch of the text is
// searched once however the rows lie in it.
type finder struct {
	char byte
	at   int // of the next char at or after the last question, or the text's end
}

func (f *finder) from(text []byte, at int) int {
	if f.at < at {
		if i := bytes.IndexByte(text[at:], f.char); i >= 0 {
			f.at = at + i
		} else {
			f.at = len(text)
		}
	}
	return f.at
}

// scanner cuts delimited text into records.
type scanner struct {
	*Delimited
	lf, cr, quote finder
}

func (t *Delimited) scanner() *scanner {
	return &scanner{t, finder{'\n', -1}, finder{'\r', -1}, finder{'"', -1}}
}

// scan reads the record that starts at a byte of the text into r, and returns
// where the next one starts and how many line ends lie between.
func (t *scanner) scan(r *Row, at int) (next, lines int) {
	text := t.File.Text
	end := min(t.lf.from(text, at), t.cr.from(text, at))
	if end-at > MaxRow {
		t.tooLong(r)
		return len(text), 0
	}
	if t.quote.from(text, at) < end {
		return t.scanQuoted(r, at)
	}
	next = behindLineEnd(text, end)
	// No quote: cut at the delimiters. One string a row, cut into cells, is one
	// allocation a row.
	r.Text = string(text[at:end])
	rest, from := r.Text, at
	for t.bad == nil {
		i := strings.IndexByte(rest, t.Delimiter)
		if i < 0 {
			t.cut(r, rest, from, end)
			break
		}
		t.cut(r, rest[:i], from, from+i)
		rest, from = rest[i+1:], from+i+1
	}
	return next, 1
}

// MaxRow is how many bytes a row may have.
const MaxRow = 1_000_000

func (t *scanner) tooLong(r *Row) {
	t.bad = &diag.Problem{Code: "row-too-long", Place: diag.Place{File: t.File.Name, Line: r.Number},
		Message: fmt.Sprintf("this row has more than %d bytes", MaxRow),
		Fix:     "check whether a quote is not closed, or whether this file is an export of readings at all"}
}

// behindLineEnd returns the byte behind the LF, CRLF or CR at a byte.
func behindLineEnd(text []byte, at int) int {
	if at < len(text) && text[at] == '\r' && at+1 < len(text) && text[at+1] == '\n' {
		at++
	}
	return min(at+1, len(text))
}

// scanQuoted is scan for records with quotes.
func (t *scanner) scanQuoted(r *Row, at int) (next, lines int) {
	text := t.File.Text
	start := at
	for {
		if at < len(text) && text[at] == '"' {
			at = t.quoted(r, at)
		} else {
			end := at
			for end < len(text) && text[end] != t.Delimiter && text[end] != '\n' && text[end] != '\r' {
				end++
			}
			t.cut(r, string(text[at:end]), at, end)
			at = end
		}
		if t.bad != nil {
			return len(text), 0
		}
		if at-start > MaxRow {
			t.tooLong(r)
			return len(text), 0
		}
		if at >= len(text) || text[at] != t.Delimiter {
			break
		}
		at++
	}
	r.Text = string(text[start:at])
	return behindLineEnd(text, at), lineEnds(text[start:at]) + 1
}

// quoted reads a quoted cell and returns the byte behind it.
func (t *Delimited) quoted(r *Row, open int) int {
	text := t.File.Text
	var b []byte
	from := open + 1
	for {
		i := bytes.IndexByte(text[from:], '"')
		if i < 0 {
			t.bad = &diag.Problem{Code: "unclosed-quote", Place: diag.At(t.File, source.Span{Start: open, End: open + 1}),
				Message: "a quote opens here and is never closed, so the rest of the file would be one cell",
				Fix:     `export the file again; in a file of your own, close the quote, or write "" for a quote inside a quoted cell`}
			return len(text)
		}
		b = append(b, text[from:from+i]...)
		at := from + i + 1
		if at < len(text) && text[at] == '"' {
			b = append(b, '"')
			from = at + 1
			continue
		}
		end := at // spaces may follow a closing quote
		for at < len(text) && text[at] == ' ' {
			at++
		}
		if at < len(text) && text[at] != t.Delimiter && text[at] != '\n' && text[at] != '\r' {
			t.bad = &diag.Problem{Code: "text-after-quote", Place: diag.At(t.File, source.Span{Start: at, End: at + 1}),
				Message: "text follows a closing quote", Want: fmt.Sprintf("want %s or the end of the line", DelimiterName(rune(t.Delimiter))),
				Fix: `export the file again; in a file of your own, write "" for a quote inside a quoted cell`}
			return len(text)
		}
		t.cut(r, string(b), open, end)
		return at
	}
}

// cut adds a cell.
func (t *Delimited) cut(r *Row, s string, start, end int) {
	if len(r.Cells) == MaxColumns {
		t.bad = &diag.Problem{Code: "too-many-columns", Place: diag.AtLine(t.File, source.Position{Line: r.Number}, 0),
			Message: fmt.Sprintf("this row has more than %d columns", MaxColumns),
			Fix:     "check the delimiter of the mapping, or whether this file is an export of readings at all"}
		t.bad.Place.Excerpt = ""
		return
	}
	if n := len(s); n > 0 && (s[0] <= ' ' || s[0] >= 0x80 || s[n-1] <= ' ' || s[n-1] >= 0x80) {
		s = strings.TrimSpace(s)
	}
	r.Cells = append(r.Cells, Cell{Text: s, Start: start, End: end})
}

// lineEnds counts LF, CRLF and lone CR.
func lineEnds(b []byte) int {
	return bytes.Count(b, []byte{'\n'}) + bytes.Count(b, []byte{'\r'}) - bytes.Count(b, []byte("\r\n"))
}

// DelimiterName is how problems name a delimiter.
func DelimiterName(r rune) string {
	if r == '\t' {
		return "a tab"
	}
	return fmt.Sprintf("%q", string(r))
}

// Delimited is a table of delimited text by the rules of RFC 4180, with any
// delimiter and any of the three line ends. A quote counts only where it opens
// a cell.
type Delimited struct {
	File      *source.File
	Delimiter byte
	bad       *diag.Problem
}

func (t *Delimited) Stored() bool { return false }

func (t *Delimited) CellDelimiter() byte { return t.Delimiter }

func (t *Delimited) RowOf(r *Row, _ int) int { return r.Number }

func (t *Delimited) Fault() *diag.Problem { return t.bad }

func (t *Delimited) RowWord() string { return "line" }

func (t *Delimited) CellName(*Row, int) string { return "" }

func (t *Delimited) Place(r *Row, column int) diag.Place {
	if column < 0 || len(r.Cells) == 0 {
		return diag.AtLine(t.File, source.Position{Line: r.Number}, 0)
	}
	if column >= len(r.Cells) { // the row ended early: point at its end
		end := r.Cells[len(r.Cells)-1].End
		return diag.At(t.File, source.Span{Start: end, End: end})
	}
	c := r.Cells[column]
	return diag.At(t.File, source.Span{Start: c.Start, End: c.End})
}

func (t *Delimited) Column(r *Row, column int) int {
	if column < 0 || column >= len(r.Cells) {
		return 0
	}
	before := r.Text[:r.Cells[column].Start-(r.Cells[0].Start)]
	if strings.ContainsAny(before, "\r\n") {
		return t.File.Position(r.Cells[column].Start).Column
	}
	return utf8.RuneCountInString(before) + 1
}

func (t *Delimited) Rows() iter.Seq[*Row] {
	return func(yield func(*Row) bool) {
		t.bad = nil
		text := t.File.Text
		scan := t.scanner()
		r := &Row{}
		line := 1
		for at := 0; at < len(text); {
			r.Number, r.Cells = line, r.Cells[:0]
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
