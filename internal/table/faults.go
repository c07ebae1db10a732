package table

import (
	"fmt"
	"strings"
	"unicode/utf8"

	"spanseal/internal/diag"
)

// What all readers of rows complain of in the same words.

// Hopeless is after how many faults the rest of a file is not read.
const Hopeless = 20_000

// NotRead says that a file has too many faults to be read on, and what became of the rest.
func NotRead(file string, faults int, rest string) diag.Problem {
	return diag.Problem{Code: "too-many-faults", Place: diag.Place{File: file}, Message: fmt.Sprintf("this file has %d faults so far; %s", faults, rest),
		Fix: "fix the first ones and run again: many faults usually have one cause"}
}

// Overlong returns the first cell with a text beyond the columns, or −1.
func Overlong(row *Row, columns int) int {
	for i := columns; i < len(row.Cells); i++ {
		if row.Cells[i].Text != "" {
			return i
		}
	}
	return -1
}

// TooManyCells is the problem of such a row.
func TooManyCells(cells, columns int) diag.Problem {
	return diag.Problem{Code: "too-many-cells", Message: fmt.Sprintf("this row has %s, but the heading names %s", diag.Plural(cells, "cell"), diag.Plural(columns, "column")),
		Fix: "export the file again with quotes around its cells, or with another delimiter; in a file of your own, put quotes around a text or a number that contains the delimiter"}
}

// ControlFault is the problem of a text with a control character at a byte of it.
func ControlFault(what, text string, at int) diag.Problem {
	c, _ := utf8.DecodeRuneInString(text[at:])
	return diag.Problem{Code: "control-character", Message: fmt.Sprintf("this %s contains the control character U+%04X", what, c),
		Fix: "type the " + what + " again; such characters are invisible and come from copying"}
}

// Texts are those that rows share.
type Texts map[string]string

// Keep returns a text that does not hold the whole row in memory.
func (t Texts) Keep(s string) string {
	if s == "" {
		return ""
	}
	if own, ok := t[s]; ok {
		return own
	}
	const most = 100_000 // distinct texts, such as notes, need not be shared for ever
	own := strings.Clone(s)
	if len(t) < most {
		t[own] = own
	}
	return own
}
