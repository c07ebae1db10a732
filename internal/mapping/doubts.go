package mapping

import (
	"fmt"
	"slices"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
)

// askHeadings asks about columns that are read as measured though their heading
// speaks of a limit or of what somebody worked out.
func (b *binder) askHeadings() {
	asked := map[int]bool{}
	for i := range b.h.Groups {
		for f := field.Loss; f < field.Count; f++ {
			column := b.h.Groups[i][f].Column
			if column < 0 || column >= len(b.h.Names) || asked[column] || f == field.Reference {
				continue
			}
			asked[column] = true
			name := b.h.Names[column]
			word := strings.Trim(field.WorkedOut.FindString(field.Joined.Replace(name)), " ()[].,:;/-_")
			if word == "" || field.FromHeading(name).Field != field.None {
				continue
			}
			b.list.Add(diag.Problem{Severity: diag.Question, Code: "limit-as-reading", Place: b.place(column),
				Message: fmt.Sprintf("column %d %q is read as a measured %s. Is %q a limit or a calculated value instead?", column+1, name, f.Noun(), word),
				Fix:     "if so, map the column with the measured values"})
		}
	}
}

// unreadNote lists the columns that are not read, once a table.
func (b *binder) unreadNote() {
	if len(b.h.Unread) == 0 {
		return
	}
	var names []string
	for _, i := range diag.First(b.h.Unread, 12) {
		names = append(names, fmt.Sprintf("%d %q", i+1, b.h.Names[i]))
	}
	if more := len(b.h.Unread) - len(names); more > 0 {
		names = append(names, fmt.Sprintf("and %d more", more))
	}
	verb := "are"
	if len(b.h.Unread) == 1 {
		verb = "is"
	}
	place := b.place(slices.Min(b.h.Unread))
	b.list.Add(diag.Problem{Severity: diag.Note, Code: "column-not-read", Place: place,
		Message: fmt.Sprintf("%s of this file %s not read: %s", diag.Plural(len(b.h.Unread), "column"), verb, strings.Join(names, ", "))})
}

// askBracket asks what the text in brackets behind a measured heading is: it is a
// unit until told otherwise. A column that the mapping names by its number was
// looked at by a person, but for texts that can be nothing else.
func (b *binder) askBracket(fu field.InUnit, column int, byNumber bool, place func() diag.Place) {
	if column >= len(b.h.Names) {
		return
	}
	text := field.UnitText(b.h.Names[column])
	if _, known := field.UnitNamed(text); text == "" || known || field.OtherThanUnits.MatchString(text) {
		return
	}
	is := field.OtherUnits.MatchString(text) || field.Bracketed(b.h.Names[column]) == ""
	if !is && byNumber {
		return
	}
	p := diag.Problem{Code: "unknown-unit", Place: place(), Also: b.beside(place, column),
		Message: fmt.Sprintf("column %d of %s is headed %q, and %s is not a unit in which %s is read", column+1, b.file, b.h.Names[column], text, fu.Field.Noun()),
		Want:    "want " + diag.Or(fu.Field.Names()),
		Fix:     "map another column"}
	if !is {
		p.Message = fmt.Sprintf("column %d of %s is headed %q, which is read as %s: is %q a unit?", column+1, b.file, b.h.Names[column], fu.Name(), text)
		p.Want = ""
		p.Fix = fmt.Sprintf("if it is no unit, name the column by its number: %s: %d, and say header_line: %d", fu.Name(), column+1, b.h.Line+1-b.m.HeaderRows)
	}
	b.list.Add(p)
}
