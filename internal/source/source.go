// Package source holds input bytes once, as UTF-8, and turns any span into
// line and column.
//
// A [File] keeps the original bytes, which are evidence and are never changed,
// and the decoded text on which all spans are counted. Lines end at LF, CRLF
// or a lone CR and count from one. Columns count characters (Unicode code
// points) from one, as editors and YAML do, never bytes.
package source

import (
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
	Text  []byte
	sum   [sha256.Size]byte
	once  sync.Once
	marks []milestone // one for each stretch of the text
	lines int         // starts of lines in all; one may lie at the end of the text
}

// milestone is what lies before a stretch of the text: how many lines start there,
// and the byte at which the last of them starts. A hundred million short lines
// would take a gigabyte if the start of each were kept.
type milestone struct{ lines, last int }

// stretch is how many bytes lie between two marks.
const stretch = 512

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

// starts reports that a line starts at a byte, which may be the text's end.
func (f *File) starts(at int) bool {
	if at == 0 {
		return true
	}
	before := f.Text[at-1]
	return before == '\n' || before == '\r' && (at == len(f.Text) || f.Text[at] != '\n')
}

// index makes the marks.
func (f *File) index() {
	f.once.Do(func() {
		f.marks = make([]milestone, 0, len(f.Text)/stretch+1)
		last := 0
		for at := 0; at <= len(f.Text); at++ {
			if at%stretch == 0 {
				f.marks = append(f.marks, milestone{f.lines, last})
			}
			if f.starts(at) {
				f.lines++
				last = at
			}
		}
	})
}

// start returns the byte at which line n starts, from one to f.lines.
func (f *File) start(n int) int {
	i := sort.Search(len(f.marks), func(i int) bool { return f.marks[i].lines >= n }) - 1
	at, lines := i*stretch, f.marks[i].lines
	for {
		if f.starts(at) {
			if lines++; lines == n {
				return at
			}
		}
		at++
	}
}

// Position returns the line and column of a byte offset in Text. Offsets
// outside the text are taken as its nearest end.
func (f *File) Position(offset int) Position {
	offset = max(0, min(offset, len(f.Text)))
	f.index()
	m := f.marks[offset/stretch]
	n, start := m.lines, m.last
	for at := offset / stretch * stretch; at <= offset; at++ {
		if f.starts(at) {
			n, start = n+1, at
		}
	}
	return Position{Line: n, Column: utf8.RuneCount(f.Text[start:offset]) + 1}
}

// Offset is the inverse of Position: the byte offset of a line and column. A
// column past the line's end gives the line's end.
func (f *File) Offset(p Position) int {
	f.index()
	if p.Line < 1 {
		return 0
	}
	if p.Line > f.lines {
		return len(f.Text)
	}
	start := f.start(p.Line)
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
	f.index()
	if f.starts(len(f.Text)) { // a line end, or nothing at all
		return f.lines - 1
	}
	return f.lines
}

// Line returns line n, counted from one, without its end; of a line that is
// not there it returns "".
func (f *File) Line(n int) string {
	f.index()
	if n < 1 || n > f.lines {
		return ""
	}
	end := len(f.Text)
	if n < f.lines {
		end = f.start(n + 1)
	}
	b := f.Text[f.start(n):end]
	for len(b) > 0 && (b[len(b)-1] == '\n' || b[len(b)-1] == '\r') {
		b = b[:len(b)-1]
	}
	return string(b)
}
