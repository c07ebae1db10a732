package pdf

import (
	"encoding/hex"
	"strconv"
	"time"
	"unicode/utf16"
)

// file is a PDF being written. Objects follow one another without gaps.
type file struct {
	buf    []byte
	places []location // of object n at n-1
}

// location is where an object stands: at an offset of the file, or, with so many
// before it, in an object stream.
type location struct {
	at int
	in ref // 0: in none
}

// ref is an object number; all generations are 0.
type ref int

// reserve gives out the next object number.
func (f *file) reserve() ref {
	f.places = append(f.places, location{})
	return ref(len(f.places))
}

// begin starts object r; what is appended to buf until end is its value.
func (f *file) begin(r ref) {
	f.places[r-1] = location{at: len(f.buf)}
	f.buf = strconv.AppendInt(f.buf, int64(r), 10)
	f.buf = append(f.buf, " 0 obj\n"...)
}

func (f *file) end() { f.buf = append(f.buf, "\nendobj\n"...) }

// str appends text as it is.
func (f *file) str(parts ...string) {
	for _, s := range parts {
		f.buf = append(f.buf, s...)
	}
}

func (f *file) int(n int) { f.buf = strconv.AppendInt(f.buf, int64(n), 10) }

// ref appends a key and a reference.
func (f *file) ref(key string, r ref) {
	f.buf = append(append(f.buf, key...), ' ')
	f.buf = append(strconv.AppendInt(f.buf, int64(r), 10), " 0 R"...)
}

// entry appends a key and a text string, or nothing where the text is empty.
func (f *file) entry(key, text string) {
	if text != "" {
		f.str(key)
		f.text(text)
	}
}

// text appends a text string.
func (f *file) text(s string) {
	if isASCII(s) {
		f.literal(s)
		return
	}
	f.buf = append(f.buf, '<')
	f.buf = hex.AppendEncode(f.buf, encodeText(s))
	f.buf = append(f.buf, '>')
}

// encodeText is the value of a text string: ASCII as it is, else UTF-16 with
// its mark (ISO 32000-1, 7.9.2.2).
func encodeText(s string) []byte {
	if isASCII(s) {
		return []byte(s)
	}
	raw := []byte{0xFE, 0xFF}
	for _, u := range utf16.Encode([]rune(s)) {
		raw = append(raw, byte(u>>8), byte(u))
	}
	return raw
}

func (f *file) literal(s string) {
	f.buf = append(f.buf, '(')
	for i := range len(s) {
		switch c := s[i]; c {
		case '(', ')', '\\':
			f.buf = append(f.buf, '\\', c)
		case '\r':
			f.buf = append(f.buf, `\r`...)
		case '\n':
			f.buf = append(f.buf, `\n`...)
		default:
			f.buf = append(f.buf, c)
		}
	}
	f.buf = append(f.buf, ')')
}

func isASCII(s string) bool {
	for i := range len(s) {
		if s[i] >= 0x80 {
			return false
		}
	}
	return true
}

// name appends a name object, escaped (ISO 32000-1, 7.3.5).
func (f *file) name(s string) {
	f.buf = append(f.buf, '/')
	for i := range len(s) {
		switch c := s[i]; {
		case c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' ||
			c == '-' || c == '.' || c == '_' || c == '+':
			f.buf = append(f.buf, c)
		default:
			f.buf = append(f.buf, '#')
			f.buf = hex.AppendEncode(f.buf, []byte{c})
		}
	}
}

// date appends a key and a date string (ISO 32000-1, 7.9.4), in UTC.
func (f *file) date(key string, t time.Time) {
	f.str(key, "(")
	f.buf = t.UTC().AppendFormat(f.buf, dateForm)
	f.str(")")
}

const dateForm = "D:20060102150405+00'00'" // in UTC; pdfcpu refuses a bare Z

// points appends a length in millimetres as points.
func (f *file) points(mm float64) {
	f.buf = strconv.AppendFloat(f.buf, mm*72/25.4, 'f', 3, 64)
}

// stream writes object r: the dictionary's entries and the data as they are.
func (f *file) stream(r ref, entries string, data []byte) {
	f.begin(r)
	f.str("<<", entries)
	f.data(data)
}

// data ends an object that has begun with a dictionary as a stream.
func (f *file) data(data []byte) {
	f.str("/Length ")
	f.int(len(data))
	f.str(">>\nstream\n")
	f.buf = append(f.buf, data...)
	f.str("\nendstream")
	f.end()
}
