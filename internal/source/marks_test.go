package source

import (
	"math/rand/v2"
	"strings"
	"testing"
)

// TestMarks compares places in long texts with those counted byte by byte.
func TestMarks(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for _, ends := range []string{"\n", "\r", "\r\n", "\n\r", "\r\n\r\r\n\n"} {
		var b strings.Builder
		for b.Len() < 5*stretch {
			b.WriteString(strings.Repeat("ä", random.IntN(40)))
			b.WriteString(ends)
		}
		text := b.String()
		f := New("a", []byte(text))
		line, start := 1, 0
		for at := range len(text) + 1 {
			if at > 0 && (text[at-1] == '\n' || text[at-1] == '\r' && (at == len(text) || text[at] != '\n')) {
				line, start = line+1, at
			}
			p := f.Position(at)
			if want := strings.ToValidUTF8(text[start:at], "?"); p.Line != line || p.Column != len([]rune(want))+1 {
				t.Fatalf("%q: byte %d is %v, want line %d, column %d", ends, at, p, line, len([]rune(want))+1)
			}
			if at == start && f.Offset(Position{Line: line, Column: 1}) != at {
				t.Fatalf("%q: line %d starts at %d, want %d", ends, line, f.Offset(Position{Line: line, Column: 1}), at)
			}
		}
		if f.Lines() != line-1 {
			t.Errorf("%q: %d lines, want %d", ends, f.Lines(), line-1)
		}
	}
}
