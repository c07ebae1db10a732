package mapping

import (
	"spanseal/internal/diag"
	"spanseal/internal/table"
)

// binder finds a table's heading and binds its columns.
type binder struct {
	t    table.Table
	m    *Mapping
	list *diag.List
	file string
	h    *Heading
	used map[int]bool
	said []string // what was concluded of the file so far
	// before is how many errors the list held; more of them end the binding.
	before int
}

// Place is the heading of a column; −1 is the heading as a whole.
func (b *binder) place(column int) diag.Place {
	for r := range b.t.Rows() {
		if r.Number == b.h.Line {
			return b.t.Place(r, column)
		}
	}
	return diag.Place{File: b.file}
}

// beside is the heading of a column as a second place, where the first is in the
// mapping.
func (b *binder) beside(place func() diag.Place, column int) []diag.Beside {
	heading := b.place(column)
	if place().File == heading.File {
		return nil
	}
	return []diag.Beside{{Place: heading, What: "the heading"}}
}
