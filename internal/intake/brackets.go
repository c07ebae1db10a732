package intake

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"spanseal/internal/diag"
)

// bracketed is the text in brackets at the end of a heading, such as "dB" of
// "Loss (dB)" or "mW" of "Power [mW]"; "" where there is none.
func bracketed(name string) string {
	name = strings.TrimSpace(name)
	open := strings.LastIndexAny(name, "([")
	if open <= 0 || !strings.HasSuffix(name, ")") && !strings.HasSuffix(name, "]") {
		return ""
	}
	return strings.TrimSpace(name[open+1 : len(name)-1])
}

var (
	// otherUnits are those that exports head columns with and that no field has:
	// powers and ratios that are not in decibels, and parts and multiples of our
	// own (ISO 80000-1, 6.5.4).
	otherUnits = regexp.MustCompile(`^(?:[munpkM\x{b5}\x{3bc}]?W|[mcdun\x{b5}\x{3bc}]dB[mr]?|dB[\x{b5}\x{3bc}u]|dBu?W|dBr|Np|%|\x{2030}|[cmunpM\x{b5}\x{3bc}]m|um|in|mi|yd|nmi|inch|inches|miles?|[mun\x{b5}\x{3bc}]?s|[MGT]?Hz|\x{b0}C|[mk]?V|[mun\x{b5}\x{3bc}]?A)$`)
	// otherThanUnits say of which reading a column is, so they are none.
	otherThanUnits = regexp.MustCompile(`(?i)^(?:\d{3,4}(?:\s*nm)?|[AB]\s*(?:to|vers|nach|hacia|[-–→>]*)\s*[AB]|[AB])$`)
)

// trailing are such units at the end of a heading without brackets, as in
// "Loss mdB"; the shorter ones could be words.
var trailing = regexp.MustCompile(`(?i)(?:^|[\s_,])([mun\x{b5}\x{3bc}]W|[mc]dB|dB[\x{b5}\x{3bc}u]|dBr|%|\x{2030})$`)

// unitText is what a heading says of its unit, if that stands at its end.
func unitText(name string) string {
	if text := bracketed(name); text != "" {
		return text
	}
	if m := trailing.FindStringSubmatch(strings.TrimSpace(name)); m != nil {
		return m[1]
	}
	return ""
}

// ofUnit heads columns that give the unit of each row's number.
var ofUnit = regexp.MustCompile(`(?i)^(?:units?|uom|einheit(?:en)?|unités?|unidad(?:es)?)$`)

// otherUnit complains of a row whose own column of units names one in which none
// of its numbers is read.
func (a *assembler) otherUnit(row *row) {
	for _, column := range a.unitColumns {
		text := row.at(column)
		unit, known := unitNamed(text)
		if !known && !otherUnits.MatchString(text) {
			continue
		}
		read, want := false, []string(nil)
		for i := range a.groups {
			for f := fLoss; f < fieldCount; f++ {
				if s := &a.groups[i][f]; s.column >= 0 && row.at(s.column) != "" {
					read = read || known && s.unit == unit
					if name := (fieldUnit{f, s.unit}).name(); !slices.Contains(want, name) {
						want = append(want, name)
					}
				}
			}
		}
		if !read && len(want) > 0 {
			a.fault(row, column, diag.Problem{Code: "unknown-unit", Message: fmt.Sprintf("the unit of this row is %s, and its numbers are read as %s", text, diag.Or(want)),
				Mend: leaveOut})
		}
	}
}

// askBracket asks what the text in brackets behind a measured heading is: it is a
// unit until told otherwise. A column that the mapping names by its number was
// looked at by a person, but for texts that can be nothing else.
func (b *binder) askBracket(fu fieldUnit, column int, byNumber bool, place func() diag.Place) {
	if column >= len(b.h.names) {
		return
	}
	text := unitText(b.h.names[column])
	if _, known := unitNamed(text); text == "" || known || otherThanUnits.MatchString(text) {
		return
	}
	is := otherUnits.MatchString(text) || bracketed(b.h.names[column]) == ""
	if !is && byNumber {
		return
	}
	p := diag.Problem{Code: "unknown-unit", Place: place(), Also: b.beside(place, column),
		Message: fmt.Sprintf("column %d of %s is headed %q, and %s is not a unit in which %s is read", column+1, b.file, b.h.names[column], text, nounOf(fu.field)),
		Want:    "want " + diag.Or(namesOf(fu.field)),
		Mend:    "map another column"}
	if !is {
		p.Message = fmt.Sprintf("column %d of %s is headed %q, which is read as %s: is %q a unit?", column+1, b.file, b.h.names[column], fu.name(), text)
		p.Want = ""
		p.Mend = fmt.Sprintf("if it is no unit, name the column by its number: %s: %d, and say header_line: %d", fu.name(), column+1, b.h.line+1-b.m.headerRows)
	}
	b.list.Add(p)
}
