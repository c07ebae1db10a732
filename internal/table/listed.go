package table

import (
	"fmt"
	"iter"
	"slices"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/strict"
)

// Listed is a table made of a YAML list: each item is a row, each key a column.
type Listed struct {
	d     *strict.YAML
	names []string
	items []*yaml.Node
	cells [][]*yaml.Node // by item and column; nil where an item lacks the key
	keys  strict.Keys    // of an item, whose values go to the last of cells
}

// NewListed is a table of no items yet, whose columns are keys out of known ones.
func NewListed(d *strict.YAML, known iter.Seq[string]) *Listed {
	t := &Listed{d: d, keys: strict.Keys{}}
	for name := range known {
		t.keys[name] = strict.Opt(func(v *yaml.Node) { t.put(name, v) })
	}
	return t
}

func (t *Listed) Fault() *diag.Problem      { return nil }
func (t *Listed) RowWord() string           { return "line" }
func (t *Listed) Stored() bool              { return false }
func (t *Listed) CellDelimiter() byte       { return 0 }
func (t *Listed) RowOf(r *Row, _ int) int   { return r.Number }
func (t *Listed) ColumnNames() []string     { return t.names }
func (t *Listed) CellName(*Row, int) string { return "" }

// Count is how many items there are.
func (t *Listed) Count() int { return len(t.items) }

func (t *Listed) Rows() iter.Seq[*Row] {
	return func(yield func(*Row) bool) {
		for i, item := range t.items {
			r := &Row{Number: item.Line}
			for c := range t.names { // items may lack the keys that later ones brought
				text := ""
				if c < len(t.cells[i]) && t.cells[i][c] != nil {
					text = t.cells[i][c].Value
				}
				// The row's own index finds its nodes again.
				r.Cells = append(r.Cells, Cell{Text: text, Start: i, End: c})
			}
			if !yield(r) {
				return
			}
		}
	}
}

func (t *Listed) node(r *Row, column int) *yaml.Node {
	if len(r.Cells) == 0 {
		return nil
	}
	i := r.Cells[0].Start
	if column >= 0 && column < len(t.cells[i]) && t.cells[i][column] != nil {
		return t.cells[i][column]
	}
	return t.items[i]
}

func (t *Listed) Place(r *Row, column int) diag.Place {
	if n := t.node(r, column); n != nil {
		return t.d.At(n)
	}
	return diag.Place{File: t.d.File.Name}
}

func (t *Listed) Column(r *Row, column int) int {
	if n := t.node(r, column); n != nil {
		return n.Column
	}
	return 0
}

// Add adds one item as a row. Its keys are checked here, since a YAML file of
// readings has no columns of no interest.
func (t *Listed) Add(n *yaml.Node) {
	t.items, t.cells = append(t.items, n), append(t.cells, make([]*yaml.Node, len(t.names)))
	t.d.Object(n, fmt.Sprintf("reading %d", len(t.items)), t.keys)
}

// put puts a value into the last row.
func (t *Listed) put(name string, v *yaml.Node) {
	if _, ok := t.d.Scalar(v, name); !ok {
		return
	}
	last := len(t.cells) - 1
	i := slices.Index(t.names, name)
	if i < 0 {
		i = len(t.names)
		t.names = append(t.names, name)
	}
	for len(t.cells[last]) <= i {
		t.cells[last] = append(t.cells[last], nil)
	}
	t.cells[last][i] = v
}
