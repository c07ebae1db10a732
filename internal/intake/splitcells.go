package intake

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/mapping"
	"spanseal/internal/table"
)

// parted complains of a row whose cells hold more or fewer values than others
// that they go with: nobody could say which belongs to which.
func (a *assembler) parted(row *table.Row) bool {
	if a.m.Split == "" {
		return false
	}
	for i := range a.groups {
		a.partsAgree(row, &a.groups[i])
	}
	return a.bad()
}

func (a *assembler) partsAgree(row *table.Row, g *mapping.ReadingSlots) {
	count, of, told := 0, -1, false
	for f := field.Link; f < field.Count; f++ {
		s := &g[f]
		if s.Composed == nil || s.Composed.Part == 0 {
			continue
		}
		told = told || f < field.Loss
		text := row.At(s.Column)
		if text == "" || slices.Contains(a.m.NotMeasured, text) {
			continue
		}
		n := len(strings.Split(text, s.Composed.Mark))
		switch {
		case n > s.Composed.Parts:
			a.fault(row, s.Column, diag.Problem{Code: "parts-differ", Message: fmt.Sprintf("%q holds %d values, but the mapping reads %d", text, n, s.Composed.Parts),
				Fix: "add an item with part: " + strconv.Itoa(n) + " to each, in the file's readings entry"})
			return
		case count > 0 && n != count:
			a.fault(row, s.Column, diag.Problem{Code: "parts-differ", Message: fmt.Sprintf("%q holds %s, but %q holds %s", text, diag.Plural(n, "value"), row.At(of), diag.Plural(count, "value")),
				Fix: "leave the row out under ignore_rows, or keep the file as evidence and write its readings to another"})
			return
		}
		count, of = n, s.Column
	}
	if count > 0 && count < a.m.Parts() && !told { // of which of the readings of the row is it?
		a.fault(row, of, diag.Problem{Code: "parts-differ", Message: fmt.Sprintf("%q holds %s, but the mapping reads %d", row.At(of), diag.Plural(count, "value"), a.m.Parts()),
			Fix: "leave the row out under ignore_rows, or keep the file as evidence and write its readings to another"})
	}
}
