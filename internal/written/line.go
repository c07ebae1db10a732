package written

import (
	"strings"

	"spanseal/internal/source"
)

// First returns so many characters of a text.
func First(text string, most int) string {
	n := 0
	for at := range text {
		if n++; n > most {
			return text[:at]
		}
	}
	return text
}

// OneLine puts a space in the place of line ends and other control characters.
func OneLine(text string) string {
	if strings.IndexFunc(text, source.IsControlInName) < 0 {
		return strings.TrimSpace(text)
	}
	return strings.Join(strings.FieldsFunc(text, func(r rune) bool { return r == ' ' || source.IsControlInName(r) }), " ")
}
