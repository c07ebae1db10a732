package asset

import (
	"bytes"
	"encoding/csv"
	"slices"

	"spanseal/internal/form"
)

// table is the table, keyed by the owner's ids. Columns that no link fills are left out,
// but for asset, link and verdict, which every link has.
func (e *Export) table() ([]byte, error) {
	filled := map[string]bool{}
	var losses, further []string
	for r := range e.links(registered) {
		for _, m := range e.members(r) {
			switch {
			case filled[m.key]:
			case isLoss(m.key):
				losses = append(losses, m.key)
			case !slices.Contains(fixed, m.key):
				further = append(further, m.key)
			}
			filled[m.key] = true
		}
	}
	slices.SortFunc(losses, compareLosses)
	columns := slices.DeleteFunc(slices.Clone(fixed[1:]), func(key string) bool { return !filled[key] || key == "asset" })
	at := slices.Index(columns, "splices") + 1
	columns = slices.Concat([]string{"asset"}, slices.Insert(columns, at, losses...), further)
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	cells := make([]string, len(columns))
	for i, key := range columns {
		cells[i] = form.Plain(key)
	}
	if err := w.Write(cells); err != nil {
		return nil, err
	}
	for r := range e.links(registered) {
		clear(cells)
		for _, m := range e.members(r) {
			text, number := m.text()
			if !number {
				text = form.Plain(text)
			}
			cells[slices.Index(columns, m.key)] = text
		}
		if err := w.Write(cells); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}
