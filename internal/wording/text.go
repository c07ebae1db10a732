package wording

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Distinct returns the texts that are not empty, each once, in order of first appearance.
func Distinct(texts ...string) []string {
	var out []string
	for _, t := range texts {
		if t = strings.TrimSpace(t); t != "" && !slices.Contains(out, t) {
			out = append(out, t)
		}
	}
	return out
}

// UpperFirst begins a text with a capital.
func UpperFirst(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

// Comma lists what is distinct, with commas.
func Comma(texts ...string) string { return strings.Join(Distinct(texts...), ", ") }

// FirstOf is the first text that is not empty, or "".
func FirstOf(texts ...string) string { return append(Distinct(texts...), "")[0] }

// Abbreviate shortens a digest for the eye; the whole one is in the record.
func Abbreviate(sum string) string {
	if len(sum) <= 12 {
		return sum
	}
	return sum[:8] + "…" + sum[len(sum)-4:]
}
