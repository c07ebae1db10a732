package table

import "iter"

// few is the first rows of a table: a draft needs no more of a sample.
type few struct {
	Table
	most int
}

// draftRows is how many rows of a sample a draft looks at.
const draftRows = 20_000

func (t *few) Rows() iter.Seq[*Row] {
	return func(yield func(*Row) bool) {
		n := 0
		for r := range t.Table.Rows() {
			if n++; n > t.most || !yield(r) {
				return
			}
		}
	}
}

// fewNamed is few of a table whose cells stand beside their names.
type fewNamed struct{ few }

func (t *fewNamed) ColumnNames() []string { return t.Table.(SelfNamed).ColumnNames() }

// FirstRows is a table that ends early.
func FirstRows(t Table) Table {
	if _, named := t.(SelfNamed); named {
		return &fewNamed{few{t, draftRows}}
	}
	return &few{t, draftRows}
}
