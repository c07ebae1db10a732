package intake

import "iter"

// few is the first rows of a table: a draft needs no more of a sample.
type few struct {
	table
	most int
}

// draftRows is how many rows of a sample a draft looks at.
const draftRows = 20_000

func (t *few) rows() iter.Seq[*row] {
	return func(yield func(*row) bool) {
		n := 0
		for r := range t.table.rows() {
			if n++; n > t.most || !yield(r) {
				return
			}
		}
	}
}

// fewNamed is few of a table whose cells stand beside their names.
type fewNamed struct{ few }

func (t *fewNamed) columnNames() []string { return t.table.(selfNamed).columnNames() }

// firstRows is a table that ends early.
func firstRows(t table) table {
	if _, named := t.(selfNamed); named {
		return &fewNamed{few{t, draftRows}}
	}
	return &few{t, draftRows}
}
