package written

import (
	"strings"

	"spanseal/internal/quantity"
)

// MarkIn returns the mark of a plain number with a fraction, or 0. A number is
// doubtful where its mark could part thousands as well: 1,234 but not 0,350.
func MarkIn(text string) (mark rune, doubtful bool) {
	body := strings.TrimLeft(text, "+-\u2212")
	at := strings.IndexAny(body, ".,")
	if at < 0 || at+1 == len(body) || len(body) > 40 {
		return 0, false
	}
	for i := range len(body) {
		if i != at && (body[i] < '0' || body[i] > '9') {
			return 0, false
		}
	}
	return rune(body[at]), len(body)-at == 4 && at >= 1 && at <= 3 && body[0] != '0'
}

// Numeric reports a number with either mark.
func Numeric(s string) bool {
	_, point := quantity.ParseStored(s)
	_, comma := quantity.ParseStored(strings.Replace(s, ",", ".", 1))
	return point == nil || comma == nil
}

// ThousandsIn returns the mark that parts a number's thousands, or 0.
func ThousandsIn(text string, decimal rune) rune {
	for _, mark := range []rune{'.', ',', ' ', '\''} {
		if mark == decimal {
			continue
		}
		if body, ok := WithoutThousands(text, mark, decimal); ok && body != text {
			if _, err := quantity.ParseMark(body, decimal); err == nil {
				return mark
			}
		}
	}
	return 0
}

// hardBlanks are those that do not end a line, which part thousands too.
var hardBlanks = strings.NewReplacer("\u00a0", " ", "\u202f", " ")

// WithoutThousands takes the marks out of 1.234.567,8; ok only where they part
// groups of three.
func WithoutThousands(text string, thousands, mark rune) (string, bool) {
	whole, fraction, has := strings.Cut(text, string(mark))
	if thousands == ' ' {
		whole = hardBlanks.Replace(whole)
	}
	parts := strings.Split(whole, string(thousands))
	for i, p := range parts[1:] {
		first := strings.TrimLeft(parts[0], "+-\u2212")
		if len(p) != 3 || i == 0 && (len(first) < 1 || len(first) > 3) {
			return "", false
		}
	}
	whole = strings.Join(parts, "")
	if has {
		whole += string(mark) + fraction
	}
	return whole, true
}
