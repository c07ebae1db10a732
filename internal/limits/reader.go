package limits

import (
	"errors"
	"fmt"
	"slices"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/quantity"
	"spanseal/internal/source"
	"spanseal/internal/strict"
)

// maxFile bounds a limit set: the largest built-in one has 20 kB.
const maxFile = 1 << 20

// reader reads one YAML file of limits. What is given has a value: a key that was
// left blank could loosen a limit without a word.
type reader struct{ strict.YAML }

func newReader(f *source.File) *reader {
	return &reader{strict.YAML{File: f, List: new(diag.List), NoBlanks: true}}
}

// root parses the file into its one mapping, or reports why not.
func (r *reader) root() *yaml.Node {
	if len(r.File.Text) > maxFile {
		r.List.Add(diag.Problem{Code: "too-large", Place: diag.Place{File: r.File.Name}, Message: fmt.Sprintf("the file is %d bytes long", len(r.File.Text)),
			Fix: "a limit set has at most 1 MB"})
		return nil
	}
	return r.Root()
}

// ticked are the keys of a mapping, ticked off as they are read.
type ticked struct {
	r    *reader
	node *yaml.Node
	what string // such as "a limit", for messages
	val  map[string]*yaml.Node
}

// mapping checks that n is a mapping without unknown or repeated keys. It is not ok
// where n is none, or lacks a key that it needs.
func (r *reader) mapping(n *yaml.Node, what string, known []string, needs ...string) (*ticked, bool) {
	f := &ticked{r, n, what, map[string]*yaml.Node{}}
	ks := strict.Keys{}
	for _, k := range known {
		ks[k] = strict.Key{Required: slices.Contains(needs, k), Read: func(v *yaml.Node) { f.val[k] = v }}
	}
	r.Object(n, what, ks)
	return f, n.Kind == yaml.MappingNode && !slices.ContainsFunc(needs, func(k string) bool { return !f.has(k) })
}

func (f *ticked) has(key string) bool { return f.val[key] != nil }

// key is the node of a key, for a fault that is not its value's.
func (f *ticked) key(name string) *yaml.Node {
	for i := 0; i+1 < len(f.node.Content); i += 2 {
		if k := f.node.Content[i]; k.Value == name {
			return k
		}
	}
	return f.node
}

// need reports a key that is not there, and has to be because of others.
func (f *ticked) need(key string) {
	if !f.has(key) {
		f.r.Missing(f.node, f.what, key)
	}
}

// text reads a scalar as it was written; "" when it is not there.
func (f *ticked) text(key string) string {
	n := f.val[key]
	if n == nil {
		return ""
	}
	return f.r.scalar(n, key)
}

func (r *reader) scalar(n *yaml.Node, what string) string {
	s, _ := r.Scalar(n, what)
	return s
}

// texts reads a scalar or a list of scalars.
func (f *ticked) texts(key string) []string {
	var out []string
	for _, n := range f.items(key) {
		if s := f.r.scalar(n, key); s != "" {
			out = append(out, s)
		}
	}
	return out
}

// items returns the nodes of a list, or the one node that stands for it.
func (f *ticked) items(key string) []*yaml.Node {
	n := f.val[key]
	switch {
	case n == nil:
		return nil
	case n.Kind == yaml.SequenceNode:
		return n.Content
	}
	return []*yaml.Node{n}
}

// choice reads one of a closed list.
func choice[T ~string](f *ticked, key string, from ...T) (v T) {
	if n := f.val[key]; n != nil {
		strict.OneOf(&f.r.YAML, key, &v, from...)(n)
	}
	return v
}

// flag reads true or false.
func (f *ticked) flag(key string) (v bool) {
	if n := f.val[key]; n != nil {
		f.r.Yes(key, &v)(n)
	}
	return v
}

// number reads a plain decimal.
func (f *ticked) number(key string) *quantity.Decimal {
	n := f.val[key]
	if n == nil {
		return nil
	}
	return f.r.decimal(n, f.r.scalar(n, key), key)
}

func (r *reader) decimal(n *yaml.Node, s, what string) *quantity.Decimal {
	d, err := quantity.Parse(s)
	if err != nil {
		want := "want digits with at most one point, such as 0.75"
		if errors.Is(err, quantity.ErrTooLong) {
			want = fmt.Sprintf("want at most %d digits", quantity.MaxDigits)
		}
		r.Fault(n, "not-a-number", fmt.Sprintf("%s: %q is not a number", what, s), want, "")
		return nil
	}
	return &d
}
