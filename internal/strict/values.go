package strict

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/near"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

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
func (y *YAML) Object(n *yaml.Node, what string, ks Keys) {
	if n.Kind != yaml.MappingNode {
		y.Fault(n, "wrong-type", what+" is "+KindOf(n)+", not a group of keys and values", "want keys such as "+strings.Join(diag.First(slices.Sorted(maps.Keys(ks)), 3), ", "), "")
		return
	}
	seen := map[string]int{}
	for i := 0; i+1 < len(n.Content); i += 2 {
		k, v := n.Content[i], n.Content[i+1]
		if i > 0 && y.cutAtComma(n.Content[i-1], k, v) {
			continue
		}
		if line, twice := seen[k.Value]; twice {
			y.Fault(k, "duplicate-key", fmt.Sprintf("%q occurs twice in %s", k.Value, what), fmt.Sprintf("the first is at line %d", line), "keep one of them")
			continue
		}
		seen[k.Value] = k.Line
		known, ok := ks[k.Value]
		switch {
		case k.Kind != yaml.ScalarNode:
			y.Fault(k, "wrong-type", "a key of "+what+" is "+KindOf(k)+", not a plain word", "", "")
		case !ok:
			y.unknownKey(k, what, ks)
		case v.Tag == "!!null":
			if known.Required && !y.Part || y.NoBlanks {
				y.Fault(k, "missing-value", fmt.Sprintf("%s has no value for %q", what, k.Value), "write a value after the colon", "")
			}
		default:
			known.Read(v)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(ks)) {
		if _, there := seen[name]; ks[name].Required && !there && !y.Part {
			y.Missing(n, what, name)
		}
	}
}

// Missing adds the problem of an object without a key that it needs.
func (y *YAML) Missing(n *yaml.Node, what, key string) {
	y.Fault(n, "missing-key", fmt.Sprintf("%s has no %q", what, key), "add "+key+" here", "")
}

// cutAtComma recognises 0,12 between braces, where the comma ends the value.
func (y *YAML) cutAtComma(before, k, v *yaml.Node) bool {
	_, whole := quantity.Whole(before.Value)
	_, fraction := quantity.Whole(k.Value)
	if !whole || !fraction || v.Tag != "!!null" || before.Line != k.Line {
		return false
	}
	y.Fault(k, "decimal-comma", fmt.Sprintf("inside braces the comma separates %q from %q", before.Value, k.Value), "want a decimal point: "+before.Value+"."+k.Value, "")
	return true
}

func (y *YAML) unknownKey(k *yaml.Node, what string, ks Keys) {
	want := "known here: " + strings.Join(slices.Sorted(maps.Keys(ks)), ", ")
	if near := near.New(slices.Sorted(maps.Keys(ks))).To(k.Value); near != "" {
		want = fmt.Sprintf("did you mean %q?", near)
	}
	y.Fault(k, "unknown-key", fmt.Sprintf("%q is not a key of %s", k.Value, what), want, "")
}

// Within is a key whose value is an object itself.
func (y *YAML) Within(what string, ks Keys) func(*yaml.Node) {
	return func(n *yaml.Node) { y.Object(n, what, ks) }
}

// Items reads each item of a sequence.
func (y *YAML) Items(what string, read func(*yaml.Node)) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if n.Kind != yaml.SequenceNode {
			y.Fault(n, "wrong-type", what+" is "+KindOf(n)+", not a list", "want a list: [one, two], or one per line after a dash", "")
			return
		}
		part := y.Part
		y.Part = false
		for _, item := range n.Content {
			read(item)
		}
		y.Part = part
	}
}

// Scalar returns the literal text of a single value, without spaces at its ends. It
// asks about a text that may have been meant otherwise.
func (y *YAML) Scalar(n *yaml.Node, what string) (string, bool) {
	if n.Kind != yaml.ScalarNode || n.Tag == "!!null" {
		y.Fault(n, "wrong-type", what+" is "+KindOf(n)+", not a single value", "", "")
		return "", false
	}
	if at := strings.IndexFunc(n.Value, source.IsControl); at >= 0 {
		y.Fault(n, "control-character", what+" contains a control character", "", "remove it")
		return "", false
	}
	y.askText(n)
	return strings.TrimSpace(n.Value), true
}

// Text reads a text of one value.
func (y *YAML) Text(what string, to *string) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if s, ok := y.Scalar(n, what); ok {
			*to = s
		}
	}
}

// Texts reads a list of texts behind those that are there.
func (y *YAML) Texts(what string, to *[]string) func(*yaml.Node) {
	return y.Items(what, func(n *yaml.Node) {
		if s, ok := y.Scalar(n, "an item of "+what); ok {
			*to = append(*to, s)
		}
	})
}

// Date reads a day.
func (y *YAML) Date(what string, to *record.Date) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := y.Scalar(n, what)
		if !ok {
			return
		}
		v, err := record.ParseDate(s)
		if err != nil {
			y.Fault(n, "not-a-date", fmt.Sprintf("%q is not a date", s), "want year-month-day, such as 2026-11-18", "")
			return
		}
		*to = v
	}
}

// Number reads a decimal within bounds.
func (y *YAML) Number(what string, lo, hi int, set func(quantity.Decimal)) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := y.Scalar(n, what)
		if !ok {
			return
		}
		v, err := quantity.Parse(s)
		switch {
		case err != nil:
			y.Fault(n, "not-a-number", fmt.Sprintf("%q is not a number", s), "want digits with at most one point, such as 0.12", "")
		case v.Less(quantity.Int(lo)) || quantity.Int(hi).Less(v):
			y.Fault(n, "out-of-range", fmt.Sprintf("%s %s is out of range", what, s), fmt.Sprintf("want %d to %d", lo, hi), "")
		default:
			set(v)
		}
	}
}

// Count reads a whole number within bounds.
func (y *YAML) Count(what string, lo, hi int, to *int) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := y.Scalar(n, what)
		if !ok {
			return
		}
		v, err := strconv.Atoi(s)
		switch {
		case err != nil:
			y.Fault(n, "not-a-number", fmt.Sprintf("%q is not a whole number", s), "want digits only, such as 2", "")
		case v < lo || v > hi:
			y.Fault(n, "out-of-range", fmt.Sprintf("%s %s is out of range", what, s), fmt.Sprintf("want %d to %d", lo, hi), "")
		default:
			*to = v
		}
	}
}

// Yes reads true or false, yes or no.
func (y *YAML) Yes(what string, to *bool) func(*yaml.Node) {
	return func(n *yaml.Node) {
		switch s, ok := y.Scalar(n, what); {
		case !ok:
		case s == "true" || s == "yes":
			*to = true
		case s == "false" || s == "no":
			*to = false
		default:
			y.Fault(n, "unknown-value", fmt.Sprintf("%q is neither yes nor no", s), "want true or false", "")
		}
	}
}

// OneOf reads a word out of a few.
func OneOf[S ~string](d *YAML, what string, to *S, words ...S) func(*yaml.Node) {
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
