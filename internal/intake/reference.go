package intake

import (
	"fmt"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/quantity"
	"spanseal/internal/table"
)

// A reference power that stands above the table, for each wavelength, is read by
// a pattern of the preamble that names both: "Ref {wavelength_nm} {reference_dbm}".
// It may name them several times.

// referenceAbove is a reference power and where it stands.
type referenceAbove struct {
	slot
	row int
}

// perWavelength reports a pattern that gives reference powers by wavelength.
func (p *pattern) perWavelength() bool {
	powers := 0
	for i, fu := range p.fields {
		switch {
		case fu.Field == field.Wavelength:
		case fu.Field == field.Reference && i > 0 && p.fields[i-1].Field == field.Wavelength:
			powers++
		default:
			return false
		}
	}
	return powers > 0 && len(p.fields) == 2*powers
}

// captureReferences puts the reference powers of a row into the assembler, and
// reports whether there are any.
func (a *assembler) captureReferences(p *pattern, row *table.Row) (any bool) {
	texts, ok := p.match(row.Joined())
	if !ok {
		return false
	}
	for i := 0; i+1 < len(texts); i += 2 {
		s := slot{unit: p.fields[i+1].Unit, column: -1, fixed: strings.Clone(texts[i+1])}
		if s.unit == "" {
			s.unit = quantity.DBm
		}
		nm, ok := a.nanometres(texts[i], &slot{unit: p.fields[i].Unit})
		if !ok || nm < field.MinWavelength || nm > field.MaxWavelength {
			continue // another row that happens to fit
		}
		any = true
		if was, twice := a.references[nm]; twice && was.fixed != s.fixed {
			problem := diag.Problem{Code: "two-references", Place: a.t.Place(row, -1), Message: fmt.Sprintf("this row gives another reference power for %d nm: %s, not %s", nm, s.fixed, was.fixed),
				Because: []string{fmt.Sprintf("the first stands at %s %d", a.t.Line(), was.row)},
				Mend:    "make the pattern of preamble say more of the row that counts"}
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
func (a *assembler) reference(row *table.Row, g *group) *slot {
	s := &g[field.Reference]
	if s.given() || len(a.references) == 0 || !g[field.Received].given() {
		return s
	}
	w := &g[field.Wavelength]
	if nm, ok := a.nanometres(a.text(row, w), w); ok {
		if above, found := a.references[nm]; found {
			return &above.slot
		}
	}
	return s
}
