package mapping

import (
	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/strict"
)

// placed makes the keys of a mapping note where they stand: a fault in a file is
// as often one of the line that says how to read it.
func (m *Mapping) placed(d *strict.Document, ks strict.Keys) strict.Keys {
	if m.Places == nil {
		m.Places = map[string]diag.Place{}
	}
	for name, k := range ks {
		read := k.Read
		k.Read = func(n *yaml.Node) {
			m.Places[name] = d.At(n)
			read(n)
		}
		ks[name] = k
	}
	return ks
}

// Says is the place of a key of the mapping as a second place of a problem.
func (m *Mapping) Says(key, what string) []diag.Beside {
	if place, ok := m.Places[key]; ok && place.File != "" {
		return []diag.Beside{{Place: place, What: what}}
	}
	return nil
}
