package source

import (
	"unicode"
	"unicode/utf8"
)

// IsControl reports characters that have no place in a text of a job: they are
// invisible and could steer a terminal, or show a name in another order than it
// is written.
func IsControl(r rune) bool {
	switch {
	case r == '\n', r == '\r', r == '\t':
		return false
	case r >= 0x202a && r <= 0x202e, r >= 0x2066 && r <= 0x2069, r == 0x2028, r == 0x2029, r == utf8.RuneError:
		return true
	}
	return unicode.IsControl(r)
}

// IsControlInName is IsControl for names, which have one line.
func IsControlInName(r rune) bool { return r == '\n' || r == '\r' || r == '\t' || IsControl(r) }

// InvalidUTF8 returns where text stops being UTF-8; ok when it never does.
func InvalidUTF8(text []byte) (at int, ok bool) {
	if utf8.Valid(text) {
		return 0, true
	}
	for at < len(text) {
		r, size := utf8.DecodeRune(text[at:])
		if r == utf8.RuneError && size == 1 {
			break
		}
		at += size
	}
	return at, false
}
