package limits

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/near"
	"spanseal/internal/quantity"
	"spanseal/internal/source"
)

// maxFile bounds a limit set: the largest built-in one has 20 kB.
const maxFile = 1 << 20

// reader walks the nodes of one YAML file and collects problems.
type reader struct {
	file  *source.File
	list  *diag.List
	found int // errors of this file
}

var yamlLine = regexp.MustCompile(`^yaml: (?:line (\d+): )?(.*)$`)

// root parses the file into its one mapping, or reports why not.
func (r *reader) root() *yaml.Node {
	if len(r.file.Text) > maxFile {
		r.whole("too-large", fmt.Sprintf("the file is %d bytes long", len(r.file.Text)), "a limit set has at most 1 MB")
		return nil
	}
	if !utf8.Valid(r.file.Text) {
		r.whole("not-utf8", "the file is not UTF-8 text", "save it as UTF-8")
		return nil
	}
	var doc, more yaml.Node
	decoder := yaml.NewDecoder(bytes.NewReader(r.file.Text))
	err := decoder.Decode(&doc)
	if err == nil {
		if err = decoder.Decode(&more); err == nil {
			r.at(&more, "yaml-shape", "a second document begins here", "put it into a file of its own")
			return nil
		}
	}
	if !errors.Is(err, io.EOF) {
		m := yamlLine.FindStringSubmatch(strings.SplitN(err.Error(), "\n", 2)[0])
		p := diag.Problem{Code: "yaml-syntax", Place: diag.Place{File: r.file.Name}, Message: err.Error(), Mend: "correct the YAML; indent with spaces"}
		if m != nil {
			p.Message = m[2]
			if n, err := strconv.Atoi(m[1]); err == nil {
				p.Place = diag.AtLine(r.file, source.Position{Line: n, Column: 1}, 1)
			}
		}
		r.add(p)
		return nil
	}
	if doc.Kind != yaml.DocumentNode || len(doc.Content) != 1 || doc.Content[0].Kind != yaml.MappingNode {
		r.whole("yaml-shape", "the file does not hold keys and values", "begin with id: and title:")
		return nil
	}
	return doc.Content[0]
}

func (r *reader) add(p diag.Problem) {
	r.found++
	r.list.Add(p)
}

func (r *reader) whole(code, message, mend string) {
	r.add(diag.Problem{Code: code, Place: diag.Place{File: r.file.Name}, Message: message, Mend: mend})
}

// at reports a problem at a node.
func (r *reader) at(n *yaml.Node, code, message, want string) {
	r.add(diag.Problem{Code: code, Place: r.place(n), Message: message, Want: want})
}

// place is where a node stands, as wide as its text.
func (r *reader) place(n *yaml.Node) diag.Place {
	width := max(1, len([]rune(n.Value)))
	if n.Kind == yaml.ScalarNode && n.Style&(yaml.SingleQuotedStyle|yaml.DoubleQuotedStyle) != 0 {
		width += 2
	}
	return diag.AtLine(r.file, source.Position{Line: n.Line, Column: n.Column}, width)
}

// fields are the keys of a mapping, ticked off as they are read.
type fields struct {
	r    *reader
	node *yaml.Node
	what string // such as "a limit", for messages
	val  map[string]*yaml.Node
	key  map[string]*yaml.Node
}

// mapping checks that n is a mapping without unknown or repeated keys.
func (r *reader) mapping(n *yaml.Node, what string, known []string) (*fields, bool) {
	if n.Kind != yaml.MappingNode {
		r.at(n, "yaml-shape", what+" must hold keys and values", "want key: value")
		return nil, false
	}
	f := &fields{r, n, what, map[string]*yaml.Node{}, map[string]*yaml.Node{}}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k, v := n.Content[i], n.Content[i+1]
		switch {
		case v.Kind == yaml.AliasNode || k.Kind != yaml.ScalarNode:
			r.at(k, "yaml-shape", "anchors and aliases are not used here", "write the value out")
		case f.val[k.Value] != nil:
			r.at(k, "repeated-key", fmt.Sprintf("%q is given twice in %s", k.Value, what), "keep one")
		case !slices.Contains(known, k.Value):
			want := "known here: " + strings.Join(known, ", ")
			if near := near.Word(k.Value, known); near != "" {
				want = fmt.Sprintf("did you mean %q?", near)
			}
			r.at(k, "unknown-key", fmt.Sprintf("%q is not a key of %s", k.Value, what), want)
		default:
			f.val[k.Value], f.key[k.Value] = v, k
		}
	}
	return f, true
}

func (f *fields) has(key string) bool { return f.val[key] != nil }

// need reports a key that is not there.
func (f *fields) need(keys ...string) bool {
	ok := true
	for _, k := range keys {
		if f.val[k] == nil {
			f.r.at(f.node, "missing-key", fmt.Sprintf("%s has no %q", f.what, k), "add "+k+":")
			ok = false
		}
	}
	return ok
}

// text reads a scalar as it was written; "" when it is not there.
func (f *fields) text(key string) string {
	n := f.val[key]
	if n == nil {
		return ""
	}
	return f.r.scalar(n, key)
}

func (r *reader) scalar(n *yaml.Node, what string) string {
	if n.Kind != yaml.ScalarNode || n.Tag == "!!null" {
		r.at(n, "yaml-shape", what+" must be one text or number", "want a text")
		return ""
	}
	return strings.TrimSpace(n.Value)
}

// texts reads a scalar or a list of scalars.
func (f *fields) texts(key string) []string {
	var out []string
	for _, n := range f.items(key) {
		if s := f.r.scalar(n, key); s != "" {
			out = append(out, s)
		}
	}
	return out
}

// items returns the nodes of a list, or the one node that stands for it.
func (f *fields) items(key string) []*yaml.Node {
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
func choice[T ~string](f *fields, key string, from ...T) T {
	s := T(f.text(key))
	if n := f.val[key]; n != nil && !slices.Contains(from, s) {
		f.r.notOne(n, key, string(s), texts(from))
		return ""
	}
	return s
}

func (r *reader) notOne(n *yaml.Node, key, have string, from []string) {
	want := "want one of " + strings.Join(from, ", ")
	if near := near.Word(have, from); near != "" {
		want = fmt.Sprintf("did you mean %q?", near)
	}
	r.at(n, "unknown-value", fmt.Sprintf("%s cannot be %q", key, have), want)
}

func texts[T ~string](from []T) []string {
	out := make([]string, len(from))
	for i, s := range from {
		out[i] = string(s)
	}
	return out
}

// flag reads true or false.
func (f *fields) flag(key string) bool {
	switch n := f.val[key]; {
	case n == nil, n.Value == "false":
		return false
	case n.Value == "true":
		return true
	default:
		f.r.at(n, "unknown-value", fmt.Sprintf("%s cannot be %q", key, n.Value), "want true or false")
		return false
	}
}

// number reads a plain decimal.
func (f *fields) number(key string) *quantity.Decimal {
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
		r.at(n, "not-a-number", fmt.Sprintf("%s: %q is not a number", what, s), want)
		return nil
	}
	return &d
}
