// Package source holds input bytes once, as UTF-8, and turns any span into
// line and column.
//
// A [File] keeps the original bytes, which are evidence and are never changed,
// and the decoded text on which all spans are counted. Lines end at LF, CRLF
// or a lone CR and count from one. Columns count characters (Unicode code
// points) from one, as editors and YAML do, never bytes.
package source

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"sort"
	"sync"
	"unicode/utf8"
)

// File is one input, read whole.
type File struct {
	// Name is the path as the person knows it, relative to the job folder, with
	// forward slashes.
	Name string
	// Raw is the file as it lay on disk.
	Raw []byte
	// Text is Raw as UTF-8, without a byte-order mark. When the file is UTF-8
	// it shares Raw's memory.
	Text []byte
	sum  [sha256.Size]byte
	once sync.Once
	line []int // byte offset in Text of each line's start
}

// New holds a file whose text is already UTF-8 (or is a YAML or CSV that will
// be refused where it is not). A UTF-8 byte-order mark is left out of Text.
func New(name string, raw []byte) *File {
	text := raw
	if len(text) >= 3 && text[0] == 0xEF && text[1] == 0xBB && text[2] == 0xBF {
		text = text[3:]
	}
	return NewDecoded(name, raw, text)
}

// NewDecoded holds a file whose bytes were decoded to UTF-8 by the caller.
func NewDecoded(name string, raw, text []byte) *File {
	return &File{Name: name, Raw: raw, Text: text, sum: sha256.Sum256(raw)}
}

// SHA256 returns the digest of the original bytes.
func (f *File) SHA256() [sha256.Size]byte { return f.sum }

// SHA256Hex returns the digest in lower-case hex.
func (f *File) SHA256Hex() string { return hex.EncodeToString(f.sum[:]) }

// Span is a half-open range of byte offsets in Text.
type Span struct{ Start, End int }

// Position is a place in the text, both counted from one, the column in
// characters. The zero Position means the file as a whole.
type Position struct{ Line, Column int }

func (f *File) index() []int {
	f.once.Do(func() {
		ends := bytes.Count(f.Text, []byte{'\n'}) + bytes.Count(f.Text, []byte{'\r'})
		f.line = make([]int, 1, 1+ends) // growing would take several times as much
		for i := 0; i < len(f.Text); i++ {
			switch f.Text[i] {
			case '\r':
				if i+1 < len(f.Text) && f.Text[i+1] == '\n' {
					i++
				}
				fallthrough
			case '\n':
				f.line = append(f.line, i+1)
			}
		}
	})
	return f.line
}

// Position returns the line and column of a byte offset in Text. Offsets
// outside the text are taken as its nearest end.
func (f *File) Position(offset int) Position {
	offset = max(0, min(offset, len(f.Text)))
	lines := f.index()
	n := sort.SearchInts(lines, offset+1) // the first line that starts after offset
	start := lines[n-1]
	return Position{Line: n, Column: utf8.RuneCount(f.Text[start:offset]) + 1}
}

// Offset is the inverse of Position: the byte offset of a line and column. A
// column past the line's end gives the line's end.
func (f *File) Offset(p Position) int {
	lines := f.index()
	if p.Line < 1 {
		return 0
	}
	if p.Line > len(lines) {
		return len(f.Text)
	}
	start := lines[p.Line-1]
	rest := []byte(f.Line(p.Line))
	at := 0
	for c := 1; c < p.Column && at < len(rest); c++ {
		_, size := utf8.DecodeRune(rest[at:])
		at += size
	}
	return start + at
}

// Lines returns how many lines the text has; a final line end starts no line.
func (f *File) Lines() int {
	lines := f.index()
	n := len(lines)
	if n > 0 && lines[n-1] == len(f.Text) {
		n--
	}
	return n
}

// Line returns line n, counted from one, without its end; of a line that is
// not there it returns "".
func (f *File) Line(n int) string {
	lines := f.index()
	if n < 1 || n > len(lines) {
		return ""
	}
	end := len(f.Text)
	if n < len(lines) {
		end = lines[n]
	}
	b := f.Text[lines[n-1]:end]
	for len(b) > 0 && (b[len(b)-1] == '\n' || b[len(b)-1] == '\r') {
		b = b[:len(b)-1]
	}
	return string(b)
}
