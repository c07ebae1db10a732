package form

import (
	"bytes"
	"encoding/json"
	"io"
	"sync"
)

// broken is how many levels of an attached document are broken into lines: each
// reading or finding stands on a line of its own, as in a table.
const broken = 2

// Encode writes JSON in the one form of attached documents.
func Encode(v any) ([]byte, error) {
	s := spare.Get().(*scratch)
	defer spare.Put(s)
	s.compact.Reset()
	if err := newEncoder(&s.compact).Encode(v); err != nil {
		return nil, err
	}
	s.indented = indent(s.indented[:0], s.compact.Bytes(), 0, broken)
	return bytes.Clone(s.indented), nil
}

// scratch is what a record is written in before it is copied: the two take three
// times its own bytes.
type scratch struct {
	compact  bytes.Buffer
	indented []byte
}

var spare = sync.Pool{New: func() any { return new(scratch) }}

func newEncoder(w io.Writer) *json.Encoder {
	e := json.NewEncoder(w)
	e.SetEscapeHTML(false) // the file is read by people too
	return e
}

// indent appends compact JSON to a text, broken into lines, two spaces a level,
// from a level on; what is deeper than the last level stays on its line. It needs
// a fifth of the time of json.Indent, as it need not doubt what a json.Encoder
// wrote.
func indent(to, compact []byte, level, last int) []byte {
	for i := 0; i < len(compact); i++ {
		c := compact[i]
		switch c {
		case '"':
			end := i + 1 + bytes.IndexByte(compact[i+1:], '"')
			for escaped(compact[i+1 : end]) {
				end += 1 + bytes.IndexByte(compact[end+1:], '"')
			}
			to = append(to, compact[i:end]...)
			i = end
		case '{', '[':
			if next := compact[i+1]; next == '}' || next == ']' {
				to = append(to, c, next)
				i++
				continue
			}
			level++
		case '}', ']':
			if level--; level < last {
				to = newLine(to, level)
			}
		}
		to = append(to, c)
		switch {
		case c == ':' || c == ',' && level > last:
			to = append(to, ' ')
		case (c == '{' || c == '[' || c == ',') && level <= last:
			to = newLine(to, level)
		}
	}
	return to
}

func newLine(to []byte, level int) []byte {
	to = append(to, '\n')
	for range level {
		to = append(to, "  "...)
	}
	return to
}

// escaped reports whether the text of a string ends in an odd number of
// backslashes, so that the quotation mark after it belongs to the text.
func escaped(text []byte) bool {
	return (len(text)-len(bytes.TrimRight(text, `\`)))%2 == 1
}
