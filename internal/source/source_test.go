package source

import (
	"crypto/sha256"
	"encoding/hex"
	"strings"
	"testing"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func TestLinesAndColumns(t *testing.T) {
	tests := []struct {
		name, text string
		offset     int
		want       Position
		line       string
	}{
		{"empty file", "", 0, Position{1, 1}, ""},
		{"first", "ab\ncd", 0, Position{1, 1}, "ab"},
		{"LF belongs to its line", "ab\ncd", 2, Position{1, 3}, "ab"},
		{"behind LF", "ab\ncd", 3, Position{2, 1}, "cd"},
		{"behind CRLF", "ab\r\ncd", 4, Position{2, 1}, "cd"},
		{"between CR and LF", "ab\r\ncd", 3, Position{1, 4}, "ab"},
		{"behind a lone CR", "ab\rcd", 4, Position{2, 2}, "cd"},
		{"columns are characters", "é€😀x", 9, Position{1, 4}, "é€😀x"},
		{"before the start", "ab", -5, Position{1, 1}, "ab"},
		{"beyond the end", "ab\n", 99, Position{2, 1}, ""},
		{"empty lines", "\n\n\n", 2, Position{3, 1}, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			f := New("x", []byte(tt.text))
			got := f.Position(tt.offset)
			if got != tt.want {
				t.Errorf("Position(%d) = %v, want %v", tt.offset, got, tt.want)
			}
			if line := f.Line(got.Line); line != tt.line {
				t.Errorf("Line(%d) = %q, want %q", got.Line, line, tt.line)
			}
		})
	}
}

func TestLineCount(t *testing.T) {
	for text, want := range map[string]int{"": 0, "a": 1, "a\n": 1, "a\nb": 2, "a\r\nb\r\n": 2, "a\rb\r": 2, "\n": 1, "\r\r\n\n": 3} {
		if got := New("x", []byte(text)).Lines(); got != want {
			t.Errorf("Lines of %q = %d, want %d", text, got, want)
		}
	}
}

func TestByteOrderMark(t *testing.T) {
	raw := []byte("\ufeffab")
	f := New("x", raw)
	if string(f.Text) != "ab" || string(f.Raw) != string(raw) {
		t.Errorf("Text %q, Raw %q", f.Text, f.Raw)
	}
	sum := sha256.Sum256(raw) // of the original, mark included
	if f.SHA256() != sum || f.SHA256Hex() != hex.EncodeToString(sum[:]) {
		t.Error("the digest is not that of the original bytes")
	}
}

// TestPositionOffset holds that Offset undoes Position at every character, and
// that lines and their ends make up the text.
func TestPositionOffset(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.RuneFrom([]rune("ab,é漢😀\r\n"))).Draw(t, "text")
		f := New("x", []byte(text))
		var lines []string
		for n := 1; n <= f.Lines(); n++ {
			lines = append(lines, f.Line(n))
		}
		split := strings.Split(strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(text), "\n")
		if split[len(split)-1] == "" {
			split = split[:len(split)-1]
		}
		if strings.Join(lines, "|") != strings.Join(split, "|") {
			t.Fatalf("lines %q, want %q", lines, split)
		}
		for at, r := range text {
			if r == '\r' || r == '\n' {
				continue // Offset goes no further than the line's end
			}
			p := f.Position(at)
			if back := f.Offset(p); back != at {
				t.Fatalf("Offset(Position(%d) = %v) = %d in %q", at, p, back, text)
			}
			if p.Column > utf8.RuneCountInString(f.Line(p.Line)) {
				t.Fatalf("column %d beyond line %q", p.Column, f.Line(p.Line))
			}
		}
	})
}
