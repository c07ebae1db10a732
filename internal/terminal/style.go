// Package terminal prints for a screen: in colour where one can show it, in columns
// of its cells, with one line of progress that is written over, and with words that
// can be typed as they stand.
//
// A stream that is no terminal gets plain text and no progress. Nothing is said by
// colour alone.
package terminal

import (
	"io"
	"os"
	"strings"

	"golang.org/x/term"

	"spanseal/internal/diag"
)

// File returns the stream's file where it is a terminal.
func File(stream any) (*os.File, bool) {
	f, ok := stream.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return nil, false
	}
	return f, true
}

// Style colours text, or does not: meaning never hangs on colour alone.
type Style struct{ Colour bool }

// StyleFor colours only on a terminal that can, and never with NO_COLOR set
// (no-color.org).
func StyleFor(w io.Writer, getenv func(string) string) Style {
	f, ok := File(w)
	return Style{ok && getenv("NO_COLOR") == "" && getenv("TERM") != "dumb" && enableColour(f)}
}

// sgr wraps text in an ECMA-48 graphic rendition.
func (s Style) sgr(code, text string) string {
	if !s.Colour || text == "" {
		return text
	}
	return "\x1b[" + code + "m" + text + "\x1b[0m"
}

func (s Style) Bad(t string) string    { return s.sgr("1;31", t) }
func (s Style) Asked(t string) string  { return s.sgr("1;33", t) }
func (s Style) Good(t string) string   { return s.sgr("32", t) }
func (s Style) Strong(t string) string { return s.sgr("1", t) }
func (s Style) Dim(t string) string    { return s.sgr("2", t) }

// Paint colours the pieces of a report of problems.
func (s Style) Paint(role diag.Tone, t string) string {
	switch role {
	case diag.RoleError:
		return s.Bad(t)
	case diag.RoleQuestion, diag.RoleCaret:
		return s.Asked(t)
	case diag.RoleNote:
		return s.Strong(t)
	}
	return s.Dim(t)
}

// Pad fills a text with spaces to a width in terminal cells.
func Pad(s string, width int) string {
	s = diag.Safe(s)
	return s + strings.Repeat(" ", max(width-diag.DisplayWidth(s), 0))
}
