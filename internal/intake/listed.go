package intake

import (
	"fmt"
	"iter"
	"slices"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/strict"
)

// listed is a table made of a YAML list: each item is a row, each key a column.
type listed struct {
	d     *strict.Document
	names []string
	items []*yaml.Node
	cells [][]*yaml.Node // by item and column; nil where an item lacks the key
	keys  strict.Keys    // of an item, whose values go to the last of cells
}

func (t *listed) fault() *diag.Problem      { return nil }
func (t *listed) line() string              { return "line" }
func (t *listed) stored() bool              { return false }
func (t *listed) parted() byte              { return 0 }
func (t *listed) rowOf(r *row, _ int) int   { return r.number }
func (t *listed) columnNames() []string     { return t.names }
func (t *listed) cellName(*row, int) string { return "" }

func (t *listed) rows() iter.Seq[*row] {
	return func(yield func(*row) bool) {
		for i, item := range t.items {
			r := &row{number: item.Line}
			for c, n := range t.cells[i] {
				text := ""
				if n != nil {
					text = n.Value
				}
				// The row's own index finds its nodes again.
				r.cells = append(r.cells, cell{text: text, start: i, end: c})
			}
			if !yield(r) {
				return
			}
		}
	}
}

func (t *listed) node(r *row, column int) *yaml.Node {
	if len(r.cells) == 0 {
		return nil
	}
	i := r.cells[0].start
	if column >= 0 && column < len(r.cells) && t.cells[i][column] != nil {
		return t.cells[i][column]
	}
	return t.items[i]
}

func (t *listed) place(r *row, column int) diag.Place {
	if n := t.node(r, column); n != nil {
		return t.d.At(n)
	}
	return diag.Place{File: t.d.File.Name}
}

func (t *listed) column(r *row, column int) int {
	if n := t.node(r, column); n != nil {
		return n.Column
	}
	return 0
}

// readYAMLReadings reads a file that is a list, or has one under readings and
// fields beside it that hold for all of them.
func (r *reader) readYAMLReadings(f *source.File, m *mapping, account *record.Account) {
	r.sources[f.Name] = f
	d := &strict.Document{File: f, List: r.list}
	top := d.Root()
	if top == nil {
		return
	}
	t := &listed{d: d}
	own := *m
	own.constants = map[field.Field]constant{}
	for k, v := range m.constants {
		own.constants[k] = v
	}
	before := r.list.Errors()
	if items := d.Items("readings", t.add); top.Kind == yaml.SequenceNode {
		items(top)
	} else {
		ks := constantKeys(d, own.constants, false)
		ks["readings"] = strict.Must(items)
		d.Object(top, f.Name, ks)
	}
	if r.list.Errors() > before {
		account.Rows, account.Refused = len(t.items), len(t.items)
		return
	}
	for i := range t.cells { // items may lack the keys that later ones brought
		for len(t.cells[i]) < len(t.names) {
			t.cells[i] = append(t.cells[i], nil)
		}
	}
	r.assemble(t, &own, f, account)
}

// add adds one item as a row. Its keys are checked here, since a YAML file of
// readings has no columns of no interest.
func (t *listed) add(n *yaml.Node) {
	if t.keys == nil {
		t.keys = strict.Keys{}
		for name := range field.ByName {
			t.keys[name] = strict.Opt(func(v *yaml.Node) { t.put(name, v) })
		}
	}
	t.items, t.cells = append(t.items, n), append(t.cells, make([]*yaml.Node, len(t.names)))
	t.d.Object(n, fmt.Sprintf("reading %d", len(t.items)), t.keys)
}

// put puts a value into the last row.
func (t *listed) put(name string, v *yaml.Node) {
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
