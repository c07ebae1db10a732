package intake

import (
	"fmt"
	"regexp"
	"slices"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/table"
)

// ofUnit heads columns that give the unit of each row's number.
var ofUnit = regexp.MustCompile(`(?i)^(?:units?|uom|einheit(?:en)?|unités?|unidad(?:es)?)$`)

// otherUnit complains of a row whose own column of units names one in which none
// of its numbers is read.
func (a *assembler) otherUnit(row *table.Row) {
	for _, column := range a.unitColumns {
		text := row.At(column)
		unit, known := field.UnitNamed(text)
		if !known && !field.OtherUnits.MatchString(text) {
			continue
		}
		read, want := false, []string(nil)
		for i := range a.groups {
			for f := field.Loss; f < field.Count; f++ {
				if s := &a.groups[i][f]; s.column >= 0 && row.At(s.column) != "" {
					read = read || known && s.unit == unit
					if name := (field.InUnit{Field: f, Unit: s.unit}).Name(); !slices.Contains(want, name) {
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
func (b *binder) askBracket(fu field.InUnit, column int, byNumber bool, place func() diag.Place) {
	if column >= len(b.h.names) {
		return
	}
	text := field.UnitText(b.h.names[column])
	if _, known := field.UnitNamed(text); text == "" || known || field.OtherThanUnits.MatchString(text) {
		return
	}
	is := field.OtherUnits.MatchString(text) || field.Bracketed(b.h.names[column]) == ""
	if !is && byNumber {
		return
	}
	p := diag.Problem{Code: "unknown-unit", Place: place(), Also: b.beside(place, column),
		Message: fmt.Sprintf("column %d of %s is headed %q, and %s is not a unit in which %s is read", column+1, b.file, b.h.names[column], text, fu.Field.Noun()),
		Want:    "want " + diag.Or(fu.Field.Names()),
		Mend:    "map another column"}
	if !is {
		p.Message = fmt.Sprintf("column %d of %s is headed %q, which is read as %s: is %q a unit?", column+1, b.file, b.h.names[column], fu.Name(), text)
		p.Want = ""
		p.Mend = fmt.Sprintf("if it is no unit, name the column by its number: %s: %d, and say header_line: %d", fu.Name(), column+1, b.h.line+1-b.m.headerRows)
	}
	b.list.Add(p)
}
