package diag

import (
	"fmt"
	"strings"

	"spanseal/internal/source"
)

// Plural prints a count with its noun, such as "3 rows".
func Plural(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// Or prints "one, two or three".
func Or(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:len(words)-1], ", ") + " or " + words[len(words)-1]
}

// First is as much of a list as a sentence has room for.
func First[T any](s []T, n int) []T { return s[:min(n, len(s))] }

// Few prints the first few names, and how many more there are.
func Few(names []string, few int) string {
	text := strings.Join(First(names, few), ", ")
	if more := len(names) - few; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

// NotUTF8 is the problem of a file that stops being UTF-8 at a byte.
func NotUTF8(f *source.File, at int, fix string) Problem {
	place := AtLine(f, f.Position(at), 1)
	place.Excerpt = strings.ToValidUTF8(place.Excerpt, "\uFFFD")
	return Problem{Code: "not-utf-8", Place: place, Message: "the file is not UTF-8 text from here on", Want: "no UTF-8 character starts with this byte", Fix: fix}
}
