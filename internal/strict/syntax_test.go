package strict

import (
	"testing"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/source"
)

// TestUnclosed finds quotes that a line opens and does not close, and no others.
func TestUnclosed(t *testing.T) {
	for _, c := range []struct {
		name, line string
		at         int
	}{
		{"closed", `title: "Reading rooms"`, -1},
		{"open", `title: "Reading rooms`, 7},
		{"single", `name: 'M. Okafor, role: x`, 6},
		{"an apostrophe in a text", `name: O'Brien's`, -1},
		{"doubled single quote", `name: 'O''Brien'`, -1},
		{"escaped quote", `name: "a \" b"`, -1},
		{"escaped at the end", `name: "a \"`, 6},
		{"inches in a text", `note: a 19" rack`, -1},
		{"in a list", `  - ["---", "OL]`, 12},
		{"in braces", `{name: "a", b: "c}`, 15},
		{"behind a remark", `name: a # it is "so`, -1},
		{"a dash in a word", `date: 2026-11-18`, -1},
	} {
		if got := unclosed(c.line); got != c.at {
			t.Errorf("%s: %d, want %d", c.name, got, c.at)
		}
	}
}

// TestCutRemark tells what may be the rest of a text from remarks.
func TestCutRemark(t *testing.T) {
	for remark, want := range map[string]bool{"#2 Ltd": true, "# 2": true, "#B": true, "# as on the order": false, "#": false, "## heading": false} {
		if cutRemark.MatchString(remark) != want {
			t.Errorf("%q may be the rest of a text: %t", remark, !want)
		}
	}
}

// TestPart: in a part of a whole nothing is missing, but in items of lists; and a node
// of another file has its place there.
func TestPart(t *testing.T) {
	list := &diag.List{}
	d := &YAML{File: source.New("a.yaml", []byte("job: {title: }\npeople: [{id: a}]\n")), List: list, Part: true}
	other := &YAML{File: source.New("b.yaml", []byte("# b\n- wrong\n")), List: list}
	theirs := other.Root()
	d.Others = map[*yaml.Node]*source.File{theirs: other.File}
	var text string
	d.Object(d.Root(), "a.yaml", Keys{
		"job": Must(d.Within("job", Keys{"title": Must(d.Text("title", &text)), "number": Must(d.Text("number", &text))})),
		"people": Must(d.Items("people", func(n *yaml.Node) {
			d.Object(n, "a person", Keys{"id": Must(d.Text("id", &text)), "name": Must(d.Text("name", &text))})
		})),
		"judge": Must(d.Text("judge", &text)),
	})
	d.Fault(theirs, "wrong", "wrong", "", "")
	var got []string
	for _, p := range list.Sorted() {
		got = append(got, p.Error())
	}
	if len(got) != 2 || got[0] != `a.yaml:2:10: a person has no "name" [missing-key]` || got[1] != "b.yaml:2:1: wrong [wrong]" {
		t.Errorf("%q", got)
	}
}
