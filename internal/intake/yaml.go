package intake

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/near"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// document reads one YAML file strictly, as nodes: every value keeps its place
// and its literal text, so 0.10 stays 0.10 and a serial 0042 keeps its zeros.
// Unknown, missing and repeated keys are problems. Anchors and aliases are
// refused: nothing in a job needs them, and a few lines of them can stand for
// gigabytes.
type document struct {
	file *source.File
	list *diag.List
}

// root returns the document's top node, or nil after adding a problem.
func (d *document) root() *yaml.Node {
	if at, ok := source.InvalidUTF8(d.file.Text); !ok {
		d.list.Add(diag.NotUTF8(d.file, at, "save the file as UTF-8"))
		return nil
	}
	dec := yaml.NewDecoder(bytes.NewReader(d.file.Text))
	var top, next yaml.Node
	err := dec.Decode(&top)
	if err == nil {
		if err := dec.Decode(&next); err == nil {
			d.fault(next.Content[0], "second-document", "a second YAML document starts here", "", "keep one document in the file; remove the line ---")
			return nil
		} else if !errors.Is(err, io.EOF) {
			d.syntax(err)
			return nil
		}
	}
	switch {
	case errors.Is(err, io.EOF):
		d.list.Add(diag.Problem{Code: "empty-file", Place: diag.Place{File: d.file.Name}, Message: "the file is empty"})
		return nil
	case err != nil:
		d.syntax(err)
		return nil
	}
	if bad := aliased(&top); bad != nil {
		d.fault(bad, "yaml-alias", "anchors and aliases (& and *) are not read", "", `write the value out, or quote a text that begins with & or *`)
		return nil
	}
	return top.Content[0]
}

// aliased returns the first anchor or alias.
func aliased(n *yaml.Node) *yaml.Node {
	if n.Kind == yaml.AliasNode || n.Anchor != "" {
		return n
	}
	for _, c := range n.Content {
		if bad := aliased(c); bad != nil {
			return bad
		}
	}
	return nil
}

var yamlLine = regexp.MustCompile(`^yaml: (?:line (\d+): )?(.*)`)

func (d *document) syntax(err error) {
	p := diag.Problem{Code: "yaml-syntax", Place: diag.Place{File: d.file.Name},
		Mend: "look at this line and its neighbours: a missing space after a colon, a bracket or a quote that is not closed"}
	for n := 1; n <= d.file.Lines(); n++ {
		line := d.file.Line(n)
		if at := len(line) - len(strings.TrimLeft(line, " ")); strings.HasPrefix(line[at:], "\t") {
			p.Place = diag.AtLine(d.file, source.Position{Line: n, Column: at + 1}, 1)
			p.Message, p.Want, p.Mend = "not valid YAML: a tab stands in the indentation", "want spaces", ""
			d.list.Add(p)
			return
		}
	}
	if d.colonInText(err, &p) || d.openQuote(&p) {
		d.list.Add(p)
		return
	}
	m := yamlLine.FindStringSubmatch(strings.SplitN(err.Error(), "\n", 2)[0])
	if m == nil {
		m = []string{"", "", err.Error()}
	}
	if line, err := strconv.Atoi(m[1]); err == nil {
		if strings.HasPrefix(m[2], "did not find expected") {
			line++ // yaml.v3 counts lines from zero in errors of its parser, from one in those of its scanner
		}
		p.Place = diag.Place{File: d.file.Name, Line: line, Excerpt: d.file.Line(line)}
	}
	p.Message = "not valid YAML: " + m[2]
	d.list.Add(p)
}

// at is the place of a node.
func (d *document) at(n *yaml.Node) diag.Place {
	width := utf8.RuneCountInString(n.Value)
	switch {
	case n.Kind != yaml.ScalarNode:
		width = 1
	case n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0:
		width += 2
	}
	return diag.AtLine(d.file, source.Position{Line: n.Line, Column: n.Column}, max(1, width))
}

func (d *document) fault(n *yaml.Node, code, message, want, mend string) {
	p := diag.Problem{Code: code, Place: diag.Place{File: d.file.Name}, Message: message, Want: want, Mend: mend}
	if !d.list.Full(p.Severity, code, d.file.Name) {
		p.Place = d.at(n)
	}
	d.list.Add(p)
}

// key is one key of an object: how its value is read, and whether it must be
// there.
type key struct {
	read func(*yaml.Node)
	must bool
}

type keys map[string]key

func opt(read func(*yaml.Node)) key  { return key{read: read} }
func must(read func(*yaml.Node)) key { return key{read: read, must: true} }

// object reads a mapping node by its keys; what names it in problems.
func (d *document) object(n *yaml.Node, what string, ks keys) {
	if n.Kind != yaml.MappingNode {
		d.fault(n, "wrong-type", what+" is "+kindOf(n)+", not a list of keys and values", "want keys such as "+strings.Join(diag.First(slices.Sorted(maps.Keys(ks)), 3), ", "), "")
		return
	}
	seen := map[string]int{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k, v := n.Content[i], n.Content[i+1]
		if i > 0 && d.cutAtComma(n.Content[i-1], k, v) {
			continue
		}
		if line, twice := seen[k.Value]; twice {
			d.fault(k, "duplicate-key", fmt.Sprintf("%q stands twice in %s", k.Value, what), fmt.Sprintf("the first is at line %d", line), "keep one of them")
			continue
		}
		seen[k.Value] = k.Line
		known, ok := ks[k.Value]
		switch {
		case k.Kind != yaml.ScalarNode:
			d.fault(k, "wrong-type", "a key of "+what+" is "+kindOf(k)+", not a plain word", "", "")
		case !ok:
			d.unknownKey(k, what, ks)
		case v.Tag == "!!null":
			if known.must {
				d.fault(k, "missing-value", fmt.Sprintf("%q of %s has no value", k.Value, what), "write a value behind the colon", "")
			}
		default:
			known.read(v)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(ks)) {
		if _, there := seen[name]; ks[name].must && !there {
			d.fault(n, "missing-key", fmt.Sprintf("%s has no %q", what, name), "add "+name+" here", "")
		}
	}
}

// cutAtComma recognises 0,12 between braces, where the comma ends the value.
func (d *document) cutAtComma(before, k, v *yaml.Node) bool {
	_, whole := quantity.Whole(before.Value)
	_, fraction := quantity.Whole(k.Value)
	if !whole || !fraction || v.Tag != "!!null" || before.Line != k.Line {
		return false
	}
	d.fault(k, "decimal-comma", fmt.Sprintf("between braces the comma parts %q from %q", before.Value, k.Value), "want a decimal point: "+before.Value+"."+k.Value, "")
	return true
}

func (d *document) unknownKey(k *yaml.Node, what string, ks keys) {
	want := "known here: " + strings.Join(slices.Sorted(maps.Keys(ks)), ", ")
	if near := near.New(slices.Sorted(maps.Keys(ks))).To(k.Value); near != "" {
		want = fmt.Sprintf("did you mean %q?", near)
	}
	d.fault(k, "unknown-key", fmt.Sprintf("%q is not a key of %s", k.Value, what), want, "")
}

// within is a key whose value is an object itself.
func (d *document) within(what string, ks keys) func(*yaml.Node) {
	return func(n *yaml.Node) { d.object(n, what, ks) }
}

// list reads each item of a sequence.
func (d *document) items(what string, read func(*yaml.Node)) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if n.Kind != yaml.SequenceNode {
			d.fault(n, "wrong-type", what+" is "+kindOf(n)+", not a list", "want a list: [one, two], or one a line after a dash", "")
			return
		}
		for _, item := range n.Content {
			read(item)
		}
	}
}

// scalar returns the literal text of a scalar node.
func (d *document) scalar(n *yaml.Node, what string) (string, bool) {
	if n.Kind != yaml.ScalarNode || n.Tag == "!!null" {
		d.fault(n, "wrong-type", what+" is "+kindOf(n)+", not a single value", "", "")
		return "", false
	}
	if at := strings.IndexFunc(n.Value, source.IsControl); at >= 0 {
		d.fault(n, "control-character", what+" holds a control character", "", "remove it")
		return "", false
	}
	d.askText(n)
	return strings.TrimSpace(n.Value), true
}

func (d *document) text(what string, to *string) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if s, ok := d.scalar(n, what); ok {
			*to = s
		}
	}
}

func (d *document) texts(what string, to *[]string) func(*yaml.Node) {
	return d.items(what, func(n *yaml.Node) {
		if s, ok := d.scalar(n, "an item of "+what); ok {
			*to = append(*to, s)
		}
	})
}

func (d *document) date(what string, to *record.Date) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := d.scalar(n, what)
		if !ok {
			return
		}
		v, err := record.ParseDate(s)
		if err != nil {
			d.fault(n, "not-a-date", fmt.Sprintf("%q is not a date", s), "want year-month-day, such as 2026-11-18", "")
			return
		}
		*to = v
	}
}

// number reads a decimal within bounds.
func (d *document) number(what string, lo, hi int, set func(quantity.Decimal)) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := d.scalar(n, what)
		if !ok {
			return
		}
		v, err := quantity.Parse(s)
		switch {
		case err != nil:
			d.fault(n, "not-a-number", fmt.Sprintf("%q is not a number", s), "want digits with at most one point, such as 0.12", "")
		case v.Less(quantity.Int(lo)) || quantity.Int(hi).Less(v):
			d.fault(n, "out-of-range", fmt.Sprintf("%s %s is out of range", what, s), fmt.Sprintf("want %d to %d", lo, hi), "")
		default:
			set(v)
		}
	}
}

func (d *document) count(what string, lo, hi int, to *int) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := d.scalar(n, what)
		if !ok {
			return
		}
		v, err := strconv.Atoi(s)
		switch {
		case err != nil:
			d.fault(n, "not-a-number", fmt.Sprintf("%q is not a whole number", s), "want digits only, such as 2", "")
		case v < lo || v > hi:
			d.fault(n, "out-of-range", fmt.Sprintf("%s %s is out of range", what, s), fmt.Sprintf("want %d to %d", lo, hi), "")
		default:
			*to = v
		}
	}
}

func (d *document) yes(what string, to *bool) func(*yaml.Node) {
	return func(n *yaml.Node) {
		switch s, ok := d.scalar(n, what); {
		case !ok:
		case s == "true" || s == "yes":
			*to = true
		case s == "false" || s == "no":
			*to = false
		default:
			d.fault(n, "unknown-value", fmt.Sprintf("%q is neither yes nor no", s), "want true or false", "")
		}
	}
}

// oneOf reads a word out of a few.
func oneOf[S ~string](d *document, what string, to *S, words ...S) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := d.scalar(n, what)
		if !ok {
			return
		}
		if slices.Contains(words, S(s)) {
			*to = S(s)
			return
		}
		list := make([]string, len(words))
		for i, w := range words {
			list[i] = string(w)
		}
		d.fault(n, "unknown-value", fmt.Sprintf("%q is not a value of %s", s, what), "want "+diag.Or(list), "")
	}
}

func kindOf(n *yaml.Node) string {
	switch {
	case n.Kind == yaml.MappingNode:
		return "a group of keys and values"
	case n.Kind == yaml.SequenceNode:
		return "a list"
	case n.Tag == "!!null":
		return "empty"
	}
	return "a single value"
}
