package intake

import (
	"fmt"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/mapping"
	"spanseal/internal/table"
)

// explain adds how the cell came to be read so.
func (a *assembler) explain(p *diag.Problem, row *table.Row, f field.Field, s *mapping.Slot, marks bool) {
	if a.full(p.Code) {
		return
	}
	var said []string
	for i := range a.groups {
		if &a.groups[i][f] == s {
			p.Also = append(p.Also, a.mapsField(i, f)...)
			if why := a.h.Because(a.t, &a.groups[i], f); why != "" {
				said = append(said, why)
			}
		}
	}
	if marks && a.whyMark != "" {
		said = append(said, a.whyMark)
		if a.m.Decimal != 0 && a.m.Places["decimal"].Line != p.Place.Line {
			p.Also = append(p.Also, a.m.Says("decimal", "the mapping says which mark is the decimal one")...)
		}
	}
	if len(said) > 0 {
		p.Because = append(p.Because, strings.Join(said, "; "))
	}
	if s.Column < 0 && s.Fixed != "" {
		p.Because = append(p.Because, fmt.Sprintf("%q is %s by the mapping, or by what a pattern found", s.Fixed, f))
	}
}

// mapsField is where the mapping says what a slot of a group is.
func (a *assembler) mapsField(i int, f field.Field) []diag.Beside {
	if i < len(a.m.Each) {
		if ref, ok := a.m.Each[i].Columns[f]; ok {
			return []diag.Beside{{Place: ref.Place, What: fmt.Sprintf("the mapping says that column %s is %s", ref, ref.Unit.Name())}}
		}
		if c, ok := a.m.Each[i].Constants[f]; ok {
			return []diag.Beside{{Place: c.Place, What: "the mapping gives it here"}}
		}
	}
	if ref, ok := a.m.Columns[f]; ok {
		return []diag.Beside{{Place: ref.Place, What: fmt.Sprintf("the mapping says that column %s is %s", ref, ref.Unit.Name())}}
	}
	if c, ok := a.m.Constants[f]; ok && c.Place.File != "" {
		return []diag.Beside{{Place: c.Place, What: "the mapping gives it here"}}
	}
	return nil
}

// aliasPatch is a line for the aliases of job.yaml.
func (r *reader) aliasPatch(condition, line string) *diag.Patch {
	if r.job.Aliases != nil {
		return &diag.Patch{Intro: condition + ", paste under aliases in job.yaml:", Line: line}
	}
	return &diag.Patch{Intro: condition + ", paste at the end of job.yaml:", Head: "aliases:", Line: line}
}
