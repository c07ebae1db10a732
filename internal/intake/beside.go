package intake

import (
	"fmt"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/strict"
)

// placed makes the keys of a mapping note where they stand: a fault in a file is
// as often one of the line that says how to read it.
func (m *mapping) placed(d *strict.Document, ks strict.Keys) strict.Keys {
	if m.places == nil {
		m.places = map[string]diag.Place{}
	}
	for name, k := range ks {
		read := k.Read
		k.Read = func(n *yaml.Node) {
			m.places[name] = d.At(n)
			read(n)
		}
		ks[name] = k
	}
	return ks
}

// says is the place of a key of the mapping as a second place of a problem.
func (m *mapping) says(key, what string) []diag.Beside {
	if place, ok := m.places[key]; ok && place.File != "" {
		return []diag.Beside{{Place: place, What: what}}
	}
	return nil
}

// mapsField is where the mapping says what a slot of a group is.
func (a *assembler) mapsField(i int, f field.Field) []diag.Beside {
	if i < len(a.m.each) {
		if ref, ok := a.m.each[i].columns[f]; ok {
			return []diag.Beside{{Place: ref.place, What: fmt.Sprintf("the mapping says that column %s is %s", ref, ref.unit.Name())}}
		}
		if c, ok := a.m.each[i].constants[f]; ok {
			return []diag.Beside{{Place: c.place, What: "the mapping gives it here"}}
		}
	}
	if ref, ok := a.m.columns[f]; ok {
		return []diag.Beside{{Place: ref.place, What: fmt.Sprintf("the mapping says that column %s is %s", ref, ref.unit.Name())}}
	}
	if c, ok := a.m.constants[f]; ok && c.place.File != "" {
		return []diag.Beside{{Place: c.place, What: "the mapping gives it here"}}
	}
	return nil
}

// aliasPatch is a line for the aliases of job.yaml.
func (r *reader) aliasPatch(condition, line string) *diag.Patch {
	if r.aliases != nil {
		return &diag.Patch{Intro: condition + ", paste under aliases in job.yaml:", Line: line}
	}
	return &diag.Patch{Intro: condition + ", paste at the end of job.yaml:", Head: "aliases:", Line: line}
}
