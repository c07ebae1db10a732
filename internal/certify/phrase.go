package certify

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"spanseal/internal/quantity"
)

// fixed writes a loss with so many places, "" for none.
func (sh *sheet) fixed(d *quantity.Decimal, places int) string {
	if d == nil {
		return ""
	}
	return sh.words.Fixed(*d, places)
}

// db is a loss with its unit, which no line end parts from it.
func (sh *sheet) db(d *quantity.Decimal, places int) string {
	if d == nil {
		return ""
	}
	return sh.fixed(d, places) + "\u00A0dB"
}

// length is the link's length in metres and feet.
func (sh *sheet) length() string {
	l := sh.l.Link
	m := sh.words.Short(l.Length.Round(min(l.Length.Places(), 3))) + " m"
	ft := sh.words.Short(quantity.Feet(l.Length)) + " ft"
	if strings.HasSuffix(strings.TrimSpace(l.LengthText), "ft") {
		return ft + " (" + m + ")"
	}
	return m + " (" + ft + ")"
}

func upperFirst(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

func joinComma(texts ...string) string { return strings.Join(unique(texts...), ", ") }

func firstOf(texts ...string) string { return append(unique(texts...), "")[0] }

// abbreviate shortens a digest for the eye; the whole one is in the record.
func abbreviate(sum string) string {
	if len(sum) <= 12 {
		return sum
	}
	return sum[:8] + "…" + sum[len(sum)-4:]
}
