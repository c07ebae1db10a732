// Package strict reads YAML files that a person wrote, and takes nothing for what it
// was not meant to be.
//
// A [Document] is read as nodes: every value keeps its place and its literal text, so
// 0.10 stays 0.10 and a serial 0042 keeps its zeros. Unknown, missing and repeated
// keys are problems, and so is a value of the wrong kind. Anchors and aliases are
// refused: nothing in a job needs them, and a few lines of them can stand for
// gigabytes. A text that may have been meant otherwise than YAML reads it, such as
// one with a remark behind it, is asked about. The size of a file is its reader's to
// bound: the whole of it is held as nodes.
package strict

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

// Document is one YAML file and the list of what is wrong with it.
type Document struct {
	File *source.File
	List *diag.List
	// NoBlanks: a key without a value is a problem even if it may be left out.
	NoBlanks bool
}

// Root returns the document's top node, or nil after adding a problem: for an empty
// file, bytes that are no UTF-8, a fault of syntax, a second document, an alias.
func (d *Document) Root() *yaml.Node {
	if at, ok := source.InvalidUTF8(d.File.Text); !ok {
		d.List.Add(diag.NotUTF8(d.File, at, "save the file as UTF-8"))
		return nil
	}
	dec := yaml.NewDecoder(bytes.NewReader(d.File.Text))
	var top, next yaml.Node
	err := dec.Decode(&top)
	if err == nil {
		if err := dec.Decode(&next); err == nil {
			d.Fault(next.Content[0], "second-document", "a second YAML document starts here", "", "keep one document in the file; remove the line ---")
			return nil
		} else if !errors.Is(err, io.EOF) {
			d.syntax(err)
			return nil
		}
	}
	switch {
	case errors.Is(err, io.EOF):
		d.List.Add(diag.Problem{Code: "empty-file", Place: diag.Place{File: d.File.Name}, Message: "the file is empty"})
		return nil
	case err != nil:
		d.syntax(err)
		return nil
	}
	if bad := aliased(&top); bad != nil {
		d.Fault(bad, "yaml-alias", "anchors and aliases (& and *) are not read", "", `write the value out, or quote a text that begins with & or *`)
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

func (d *Document) syntax(err error) {
	p := diag.Problem{Code: "yaml-syntax", Place: diag.Place{File: d.File.Name},
		Fix: "look at this line and its neighbours: a missing space after a colon, a bracket or a quote that is not closed"}
	for n := 1; n <= d.File.Lines(); n++ {
		line := d.File.Line(n)
		if at := len(line) - len(strings.TrimLeft(line, " ")); strings.HasPrefix(line[at:], "\t") {
			p.Place = diag.AtLine(d.File, source.Position{Line: n, Column: at + 1}, 1)
			p.Message, p.Want, p.Fix = "not valid YAML: a tab stands in the indentation", "want spaces", ""
			d.List.Add(p)
			return
		}
	}
	if d.colonInText(err, &p) || d.openQuote(&p) {
		d.List.Add(p)
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
		p.Place = diag.Place{File: d.File.Name, Line: line, Excerpt: d.File.Line(line)}
	}
	p.Message = "not valid YAML: " + m[2]
	d.List.Add(p)
}

// At is the place of a node, as wide as its text.
func (d *Document) At(n *yaml.Node) diag.Place {
	width := utf8.RuneCountInString(n.Value)
	switch {
	case n.Kind != yaml.ScalarNode:
		width = 1
	case n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0:
		width += 2
	}
	return diag.AtLine(d.File, source.Position{Line: n.Line, Column: n.Column}, max(1, width))
}

// Fault adds an error at a node. Of one code, a thousand of a file are kept.
func (d *Document) Fault(n *yaml.Node, code, message, want, fix string) {
	p := diag.Problem{Code: code, Place: diag.Place{File: d.File.Name}, Message: message, Want: want, Fix: fix}
	if !d.List.Full(p.Severity, code, d.File.Name) {
		p.Place = d.At(n)
	}
	d.List.Add(p)
}

// Key is one key of an object: how its value is read, and whether it must be
// there.
type Key struct {
	Read     func(*yaml.Node)
	Required bool
}

// Keys are those of an object.
type Keys map[string]Key

// Opt is a key that may be left out.
func Opt(read func(*yaml.Node)) Key { return Key{Read: read} }

// Must is a key that has to be there, and to have a value.
func Must(read func(*yaml.Node)) Key { return Key{Read: read, Required: true} }

// Object reads a mapping node by its keys; what names it in problems.
func (d *Document) Object(n *yaml.Node, what string, ks Keys) {
	if n.Kind != yaml.MappingNode {
		d.Fault(n, "wrong-type", what+" is "+KindOf(n)+", not a group of keys and values", "want keys such as "+strings.Join(diag.First(slices.Sorted(maps.Keys(ks)), 3), ", "), "")
		return
	}
	seen := map[string]int{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k, v := n.Content[i], n.Content[i+1]
		if i > 0 && d.cutAtComma(n.Content[i-1], k, v) {
			continue
		}
		if line, twice := seen[k.Value]; twice {
			d.Fault(k, "duplicate-key", fmt.Sprintf("%q stands twice in %s", k.Value, what), fmt.Sprintf("the first is at line %d", line), "keep one of them")
			continue
		}
		seen[k.Value] = k.Line
		known, ok := ks[k.Value]
		switch {
		case k.Kind != yaml.ScalarNode:
			d.Fault(k, "wrong-type", "a key of "+what+" is "+KindOf(k)+", not a plain word", "", "")
		case !ok:
			d.unknownKey(k, what, ks)
		case v.Tag == "!!null":
			if known.Required || d.NoBlanks {
				d.Fault(k, "missing-value", fmt.Sprintf("%q of %s has no value", k.Value, what), "write a value behind the colon", "")
			}
		default:
			known.Read(v)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(ks)) {
		if _, there := seen[name]; ks[name].Required && !there {
			d.Missing(n, what, name)
		}
	}
}

// Missing adds the problem of an object without a key that it needs.
func (d *Document) Missing(n *yaml.Node, what, key string) {
	d.Fault(n, "missing-key", fmt.Sprintf("%s has no %q", what, key), "add "+key+" here", "")
}

// cutAtComma recognises 0,12 between braces, where the comma ends the value.
func (d *Document) cutAtComma(before, k, v *yaml.Node) bool {
	_, whole := quantity.Whole(before.Value)
	_, fraction := quantity.Whole(k.Value)
	if !whole || !fraction || v.Tag != "!!null" || before.Line != k.Line {
		return false
	}
	d.Fault(k, "decimal-comma", fmt.Sprintf("between braces the comma parts %q from %q", before.Value, k.Value), "want a decimal point: "+before.Value+"."+k.Value, "")
	return true
}

func (d *Document) unknownKey(k *yaml.Node, what string, ks Keys) {
	want := "known here: " + strings.Join(slices.Sorted(maps.Keys(ks)), ", ")
	if near := near.New(slices.Sorted(maps.Keys(ks))).To(k.Value); near != "" {
		want = fmt.Sprintf("did you mean %q?", near)
	}
	d.Fault(k, "unknown-key", fmt.Sprintf("%q is not a key of %s", k.Value, what), want, "")
}

// Within is a key whose value is an object itself.
func (d *Document) Within(what string, ks Keys) func(*yaml.Node) {
	return func(n *yaml.Node) { d.Object(n, what, ks) }
}

// Items reads each item of a sequence.
func (d *Document) Items(what string, read func(*yaml.Node)) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if n.Kind != yaml.SequenceNode {
			d.Fault(n, "wrong-type", what+" is "+KindOf(n)+", not a list", "want a list: [one, two], or one a line after a dash", "")
			return
		}
		for _, item := range n.Content {
			read(item)
		}
	}
}

// Scalar returns the literal text of a single value, without spaces at its ends. It
// asks about a text that may have been meant otherwise.
func (d *Document) Scalar(n *yaml.Node, what string) (string, bool) {
	if n.Kind != yaml.ScalarNode || n.Tag == "!!null" {
		d.Fault(n, "wrong-type", what+" is "+KindOf(n)+", not a single value", "", "")
		return "", false
	}
	if at := strings.IndexFunc(n.Value, source.IsControl); at >= 0 {
		d.Fault(n, "control-character", what+" holds a control character", "", "remove it")
		return "", false
	}
	d.askText(n)
	return strings.TrimSpace(n.Value), true
}

// Text reads a text of one value.
func (d *Document) Text(what string, to *string) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if s, ok := d.Scalar(n, what); ok {
			*to = s
		}
	}
}

// Texts reads a list of texts behind those that are there.
func (d *Document) Texts(what string, to *[]string) func(*yaml.Node) {
	return d.Items(what, func(n *yaml.Node) {
		if s, ok := d.Scalar(n, "an item of "+what); ok {
			*to = append(*to, s)
		}
	})
}

// Date reads a day.
func (d *Document) Date(what string, to *record.Date) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := d.Scalar(n, what)
		if !ok {
			return
		}
		v, err := record.ParseDate(s)
		if err != nil {
			d.Fault(n, "not-a-date", fmt.Sprintf("%q is not a date", s), "want year-month-day, such as 2026-11-18", "")
			return
		}
		*to = v
	}
}

// Number reads a decimal within bounds.
func (d *Document) Number(what string, lo, hi int, set func(quantity.Decimal)) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := d.Scalar(n, what)
		if !ok {
			return
		}
		v, err := quantity.Parse(s)
		switch {
		case err != nil:
			d.Fault(n, "not-a-number", fmt.Sprintf("%q is not a number", s), "want digits with at most one point, such as 0.12", "")
		case v.Less(quantity.Int(lo)) || quantity.Int(hi).Less(v):
			d.Fault(n, "out-of-range", fmt.Sprintf("%s %s is out of range", what, s), fmt.Sprintf("want %d to %d", lo, hi), "")
		default:
			set(v)
		}
	}
}

// Count reads a whole number within bounds.
func (d *Document) Count(what string, lo, hi int, to *int) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := d.Scalar(n, what)
		if !ok {
			return
		}
		v, err := strconv.Atoi(s)
		switch {
		case err != nil:
			d.Fault(n, "not-a-number", fmt.Sprintf("%q is not a whole number", s), "want digits only, such as 2", "")
		case v < lo || v > hi:
			d.Fault(n, "out-of-range", fmt.Sprintf("%s %s is out of range", what, s), fmt.Sprintf("want %d to %d", lo, hi), "")
		default:
			*to = v
		}
	}
}

// Yes reads true or false, yes or no.
func (d *Document) Yes(what string, to *bool) func(*yaml.Node) {
	return func(n *yaml.Node) {
		switch s, ok := d.Scalar(n, what); {
		case !ok:
		case s == "true" || s == "yes":
			*to = true
		case s == "false" || s == "no":
			*to = false
		default:
			d.Fault(n, "unknown-value", fmt.Sprintf("%q is neither yes nor no", s), "want true or false", "")
		}
	}
}

// OneOf reads a word out of a few.
func OneOf[S ~string](d *Document, what string, to *S, words ...S) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if s, ok := d.Scalar(n, what); !ok {
			return
		} else if slices.Contains(words, S(s)) {
			*to = S(s)
			return
		}
		list := make([]string, len(words))
		for i, w := range words {
			list[i] = string(w)
		}
		want := "want " + diag.Or(list)
		if near := near.Word(n.Value, list); near != "" {
			want = fmt.Sprintf("did you mean %q?", near)
		}
		d.Fault(n, "unknown-value", fmt.Sprintf("%q is not a value of %s", n.Value, what), want, "")
	}
}

// KindOf says what a node is, such as "a list".
func KindOf(n *yaml.Node) string {
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
