package intake

import (
	"bytes"
	"fmt"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/table"
	"spanseal/internal/written"
)

// decideMark settles the file's decimal mark: the mapping's, or what its
// numbers show. A column of lengths that only holds the likes of 1,234 is asked
// about: then ok is false. No loss or power is so large that its mark could part
// thousands.
func (a *assembler) decideMark() (ok bool) {
	name := map[rune]string{'.': "point", ',': "comma"}
	if a.m.Decimal != 0 {
		a.mark, a.whyMark = a.m.Decimal, "decimal "+name[a.m.Decimal]+", as the mapping says"
		return true
	}
	a.mark = '.'
	delimiter := a.t.CellDelimiter()
	if delimiter == ',' && bytes.IndexByte(a.file.Text, '"') < 0 {
		a.whyMark = `decimal point, because the delimiter is ","`
		return true
	}
	if _, isYAML := a.t.(*table.Listed); isYAML || a.t.Stored() { // spreadsheets store a point, YAML is written with one
		return true
	}
	columns := make([]field.Field, len(a.h.Names)) // what is measured in each, or noField
	for i := range a.groups {
		for f := field.Loss; f < field.Count; f++ {
			if column := a.groups[i][f].Column; column >= 0 {
				columns = append(columns, make([]field.Field, max(0, column+1-len(columns)))...)
				columns[column] = f
			}
		}
	}
	var shows [2]int // point, comma
	var doubt *diag.Problem
	for row := range a.t.Rows() {
		if row.Number <= a.h.Line || row.Number == a.h.Skip {
			continue
		}
		for column, f := range columns {
			if f == field.None {
				continue
			}
			for _, text := range a.numbersIn(row.At(column)) {
				switch mark, doubtful := written.MarkIn(text); {
				case mark == 0:
				case f == field.Length && doubtful:
					if doubt == nil {
						doubt = &diag.Problem{Code: "which-decimal", Place: a.t.Place(row, column),
							Message: fmt.Sprintf("%q could be a fraction or thousands", text),
							Fix:     `set decimal: "." or decimal: "," in the file's readings entry, and thousands if the file has such marks`}
					}
				case mark == '.':
					shows[0]++
				default:
					shows[1]++
				}
			}
		}
	}
	total := shows[0] + shows[1]
	switch {
	case total > 0 && shows[1] > shows[0]:
		a.mark, a.whyMark = ',', "decimal comma, as "+show(shows[1], total)
	case total > 0:
		a.whyMark = "decimal point, as " + show(shows[0], total)
	case doubt != nil:
		a.r.list.Add(*doubt)
		return false
	case delimiter == ';':
		a.mark, a.whyMark = ',', `decimal comma, because the delimiter is ";"`
	}
	if total > 0 {
		a.account.Concluded = append(a.account.Concluded, a.whyMark)
	}
	return true
}

// numbersIn is what may be numbers in a cell.
func (a *assembler) numbersIn(text string) []string {
	if a.m.Split == "" {
		return []string{text}
	}
	return strings.Split(text, a.m.Split)
}

// show prints how many fractions have the mark.
func show(n, total int) string {
	if n < total {
		return fmt.Sprintf("%d of %d fractions show", n, total)
	}
	return fmt.Sprintf("every fraction shows (%d)", total)
}
