package intake

import (
	"fmt"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/mapping"
	"spanseal/internal/quantity"
	"spanseal/internal/table"
)

// A reference power that stands above the table, for each wavelength, is read by
// a pattern of the preamble that names both: "Ref {wavelength_nm} {reference_dbm}".
// It may name them several times.

// referenceAbove is a reference power and where it stands.
type referenceAbove struct {
	mapping.Slot
	row int
}

// captureReferences puts the reference powers of a row into the assembler, and
// reports whether there are any.
func (a *assembler) captureReferences(p *mapping.Pattern, row *table.Row) (any bool) {
	texts, ok := p.Match(row.Joined())
	if !ok {
		return false
	}
	for i := 0; i+1 < len(texts); i += 2 {
		s := mapping.Slot{Unit: p.Fields[i+1].Unit, Column: -1, Fixed: strings.Clone(texts[i+1])}
		if s.Unit == "" {
			s.Unit = quantity.DBm
		}
		nm, ok := a.nanometres(texts[i], &mapping.Slot{Unit: p.Fields[i].Unit})
		if !ok || nm < field.MinWavelength || nm > field.MaxWavelength {
			continue // another row that happens to fit
		}
		any = true
		if was, twice := a.references[nm]; twice && was.Fixed != s.Fixed {
			problem := diag.Problem{Code: "two-references", Place: a.t.Place(row, -1), Message: fmt.Sprintf("this row gives another reference power for %d nm: %s, not %s", nm, s.Fixed, was.Fixed),
				Because: []string{fmt.Sprintf("the first is at %s %d", a.t.RowWord(), was.row)},
				Fix:     "make the preamble pattern more specific"}
			a.r.list.Add(problem)
			continue
		}
		if a.references == nil {
			a.references = map[int]*referenceAbove{}
		}
		a.references[nm] = &referenceAbove{s, row.Number}
	}
	return any
}

// reference returns the slot of a row's reference power: its group's, or the one
// above the table for its wavelength.
func (a *assembler) reference(row *table.Row, g *mapping.ReadingSlots) *mapping.Slot {
	s := &g[field.Reference]
	if s.Given() || len(a.references) == 0 || !g[field.Received].Given() {
		return s
	}
	w := &g[field.Wavelength]
	if nm, ok := a.nanometres(a.text(row, w), w); ok {
		if above, found := a.references[nm]; found {
			return &above.Slot
		}
	}
	return s
}
