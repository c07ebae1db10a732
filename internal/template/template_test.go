package template_test

import (
	"bytes"
	"maps"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/diag"
	"spanseal/internal/template"
	"spanseal/templates"
)

// base is a template as it comes with a program.
const base = `# how a label looks
title: Links
symbol: largest
A4: {width: 38.1, height: 21.2}
colours:
  ink: "#000000"
  verdict: {pass: green}
sections: [link, readings, terminations]
`

func files(text string) fstest.MapFS { return fstest.MapFS{"look.yaml": {Data: []byte(text)}} }

// said are all problems as a person reads them.
func said(t testing.TB, list *diag.List) string {
	t.Helper()
	var b bytes.Buffer
	if err := list.WriteAll(&b, nil); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// flat are the values of a template, lists joined.
func flat(t template.Template) map[string]string {
	all := map[string]string{}
	for key, e := range t {
		all[key] = e.Text
		if e.List != nil {
			var items []string
			for _, i := range e.List {
				items = append(items, i.Text)
			}
			all[key] = "[" + strings.Join(items, " ") + "]"
		}
	}
	return all
}

// TestReadOver: a job's own file changes single keys of the one that comes with the
// program, and what it does not name stays.
func TestReadOver(t *testing.T) {
	whole := map[string]string{"title": "Links", "symbol": "largest", "A4.width": "38.1", "A4.height": "21.2", "colours.ink": "#000000",
		"colours.verdict.pass": "green", "sections": "[link readings terminations]"}
	with := func(changes map[string]string) map[string]string {
		all := maps.Clone(whole)
		maps.Copy(all, changes)
		return all
	}
	for _, c := range []struct {
		name string
		own  *string
		want map[string]string
		are  []string // keys of the job's own
	}{
		{"no file", nil, whole, nil},
		{"one that says nothing", new("# all taken back\n\n   # yes\n"), whole, nil},
		{"an empty one", new(""), whole, nil},
		{"an empty object", new("{}\n"), whole, nil},
		{"one key", new("title: Strands\n"), with(map[string]string{"title": "Strands"}), []string{"title"}},
		{"one key of a group", new("A4: {width: 40}\n"), with(map[string]string{"A4.width": "40"}), []string{"A4.width"}},
		{"a key of a group in a group", new("colours:\n  verdict:\n    pass: blue\n"), with(map[string]string{"colours.verdict.pass": "blue"}), []string{"colours.verdict.pass"}},
		{"a list whole", new("sections: [readings]\n"), with(map[string]string{"sections": "[readings]"}), []string{"sections"}},
		{"an empty list", new("sections: []\n"), with(map[string]string{"sections": "[]"}), []string{"sections"}},
		{"a text of several lines", new("title: |\n  two\n  lines\n"), with(map[string]string{"title": "two\nlines\n"}), []string{"title"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			list := new(diag.List)
			over := fstest.MapFS{}
			if c.own != nil {
				over = files(*c.own)
			}
			ours := template.Read(files(base), "look.yaml", list)
			got := ours.Under(over, "look.yaml", list)
			if list.Len() > 0 {
				t.Fatal(said(t, list))
			}
			if diff := cmp.Diff(c.want, flat(got)); diff != "" {
				t.Error(diff)
			}
			var are []string
			for _, key := range slices.Sorted(maps.Keys(got)) {
				if got[key].Own {
					are = append(are, key)
				}
			}
			if !slices.Equal(are, c.are) {
				t.Errorf("the job's own are %q, want %q", are, c.are)
			}
			if diff := cmp.Diff(whole, flat(ours)); diff != "" { // which stays as it is
				t.Errorf("the one below was changed: %s", diff)
			}
			if again := template.ReadOver(files(base), over, "look.yaml", list); !cmp.Equal(flat(again), c.want) {
				t.Errorf("ReadOver: %v", flat(again))
			}
		})
	}
	if got := template.ReadOver(files(base), nil, "look.yaml", new(diag.List)); !cmp.Equal(flat(got), whole) {
		t.Errorf("without a folder of the job: %v", flat(got))
	}
}

// TestPlaces: a value knows where it stands, an item of a list too.
func TestPlaces(t *testing.T) {
	got := template.Read(files(base), "look.yaml", new(diag.List))
	for key, want := range map[string]string{"title": "look.yaml:2:1", "A4.height": "look.yaml:4:19", "colours.verdict.pass": "look.yaml:7:13", "sections": "look.yaml:8:1"} {
		if at := got[key].Place.String(); at != want {
			t.Errorf("%s stands at %s, want %s", key, at, want)
		}
	}
	if at := got["sections"].List[1].Place.String(); at != "look.yaml:8:18" {
		t.Errorf("the second section stands at %s", at)
	}
}

// TestRefused holds what is said of a file that is no template, to the letter.
func TestRefused(t *testing.T) {
	for _, c := range []struct{ name, own, want string }{
		{"a key that is none", "titel: Strands\n", `
look.yaml:1:1: error: "titel" is not a key of this file [unknown-key]
     |
   1 | titel: Strands
     | ^~~~~
     = keys like it: A4.height, A4.width, colours.ink, colours.verdict.pass, sections, symbol, title
     = fix: remove it, or correct the name
`},
		{"a key of a group that is none", "A4: {breadth: 3}\n", `
look.yaml:1:6: error: "A4.breadth" is not a key of this file [unknown-key]
     |
   1 | A4: {breadth: 3}
     |      ^~~~~~~
     = keys like it: A4.height, A4.width
     = fix: remove it, or correct the name
`},
		{"a key of another group", "label: {ink: red}\n", `
look.yaml:1:9: error: "label.ink" is not a key of this file [unknown-key]
     |
   1 | label: {ink: red}
     |         ^~~
     = keys like it: colours.ink
     = fix: remove it, or correct the name
`},
		{"a list", "- title\n", `
look.yaml:1:1: error: this is a list, not a group of keys and values [wrong-type]
     |
   1 | - title
     | ^
     = fix: write key: value
`},
		{"an item that is an object", "sections: [link, {readings: 1}]\n", `
look.yaml:1:18: error: an item of sections is a group of keys and values, not a single value [wrong-type]
     |
   1 | sections: [link, {readings: 1}]
     |                  ^
`},
		{"a key twice", "title: a\ntitle: b\n", `
look.yaml:2:1: error: "title" occurs here twice [duplicate-key]
     |
   2 | title: b
     | ^~~~~
     = fix: keep one of them
`},
		{"a key twice, once with a point", "A4: {width: 1}\nA4.width: 2\n", `
look.yaml:2:1: error: "A4.width" occurs here twice [duplicate-key]
     |
   2 | A4.width: 2
     | ^~~~~~~~
     = fix: keep one of them
`},
	} {
		t.Run(c.name, func(t *testing.T) {
			list := new(diag.List)
			template.ReadOver(files(base), files(c.own), "look.yaml", list)
			if diff := cmp.Diff(strings.TrimPrefix(c.want, "\n"), said(t, list)); diff != "" {
				t.Errorf("(- want, + got)\n%s", diff)
			}
		})
	}
	for _, c := range []struct{ name, text, code string }{
		{"no such file", "", "no-template"},
		{"more than 1 MB", "title: " + strings.Repeat("x", 1<<20) + "\n", "too-large"},
		{"not UTF-8", "title: \xff\n", ""},
		{"an alias", "title: &a x\nsymbol: *a\n", ""},
		{"two documents", "title: x\n---\ntitle: y\n", ""},
		{"no YAML", "title: [\n", ""},
		{"control characters", "title: \"\x01\"\n", ""},
	} {
		list := new(diag.List)
		folder := files(c.text)
		if c.text == "" {
			folder = fstest.MapFS{}
		}
		got := template.Read(folder, "look.yaml", list)
		if all := list.Sorted(); len(all) != 1 || all[0].Severity != diag.Error || c.code != "" && all[0].Code != c.code || all[0].Place.File != "look.yaml" {
			t.Errorf("%s: %s", c.name, said(t, list))
		}
		if c.code != "" && len(got) > 0 {
			t.Errorf("%s: read %v", c.name, flat(got))
		}
	}
}

// TestBuiltIn: a template of the program is read once, and whoever got it may change it
// without the next one seeing that.
func TestBuiltIn(t *testing.T) {
	list := new(diag.List)
	first := template.Read(templates.Files, "documents/labels.yaml", list)
	want := flat(first)
	clear(first)
	if again := template.Read(templates.Files, "documents/labels.yaml", list); list.Len() > 0 || len(want) == 0 || !cmp.Equal(want, flat(again)) {
		t.Errorf("%v, want %v", flat(again), want)
	}
}

// TestValues: what keys stand for, and how each is refused.
func TestValues(t *testing.T) {
	for _, c := range []struct {
		name, own string
		read      func(v template.Values) any
		want      any
		refused   string // place, message and what is wanted
	}{
		{"a text", "title: Strands\n", func(v template.Values) any { return v.Text("title") }, "Strands", ""},
		{"a number", "", func(v template.Values) any { return v.Number("A4.width", 10, 100) }, 38.1, ""},
		{"the least", "A4: {width: 10}", func(v template.Values) any { return v.Number("A4.width", 10, 100) }, 10.0, ""},
		{"the most", "A4: {width: 100}", func(v template.Values) any { return v.Number("A4.width", 10, 100) }, 100.0, ""},
		{"under the least", "A4: {width: 9.9}", func(v template.Values) any { return v.Number("A4.width", 10, 100) }, 9.9,
			`look.yaml:1:6 A4.width: "9.9" is not possible here: want a number from 10 to 100`},
		{"over the most", "A4: {width: 100.5}", func(v template.Values) any { return v.Number("A4.width", 10, 100) }, 100.5,
			`look.yaml:1:6 A4.width: "100.5" is not possible here: want a number from 10 to 100`},
		{"no number", "A4: {width: wide}", func(v template.Values) any { return v.Number("A4.width", 10, 100) }, 0.0,
			`look.yaml:1:6 A4.width: "wide" is not possible here: want a number from 10 to 100`},
		{"not a number by its name", "A4: {width: NaN}", func(v template.Values) any { v.Number("A4.width", 10, 100); return nil }, nil,
			`look.yaml:1:6 A4.width: "NaN" is not possible here: want a number from 10 to 100`},
		{"a number or a word", "symbol: small", func(v template.Values) any { return v.NumberOr("symbol", 8, 100, "largest") }, 0.0,
			`look.yaml:1:1 symbol: "small" is not possible here: want a number from 8 to 100, or largest`},
		{"one of some words", "symbol: small", func(v template.Values) any { return v.OneOf("symbol", "largest", "small") }, "small", ""},
		{"none of them", "symbol: tiny", func(v template.Values) any { return v.OneOf("symbol", "largest", "small") }, "largest",
			`look.yaml:1:1 symbol: "tiny" is not possible here: want largest or small`},
		{"some of a list", "sections: [terminations, link]", func(v template.Values) any {
			return strings.Join(v.Choice("sections", []string{"link", "readings", "terminations"}), " ")
		}, "terminations link", ""},
		{"one twice", "sections: [link, link]", func(v template.Values) any {
			return strings.Join(v.Choice("sections", []string{"link", "readings"}), " ")
		}, "link",
			`look.yaml:1:18 sections: "link" occurs here twice: want some of link, readings`},
		{"one that is none", "sections: [lynk]", func(v template.Values) any { return strings.Join(v.Choice("sections", []string{"link"}), " ") }, "",
			`look.yaml:1:12 sections: "lynk" is not known: want some of link`},
		{"all that is needed", "sections: [readings, link]", func(v template.Values) any {
			return strings.Join(v.Keeping("sections", []string{"readings", "link"}, []string{"link"}), " ")
		}, "readings link", ""},
		{"what is needed left out", "sections: [readings]", func(v template.Values) any {
			return strings.Join(v.Keeping("sections", []string{"readings"}, []string{"link", "terminations", "readings"}), " ")
		}, "readings",
			`look.yaml:1:1 sections: link, terminations cannot be left out: want at least link, terminations, readings, in any order`},
		{"a name that is none may be meant for it", "sections: [lynk]", func(v template.Values) any {
			return strings.Join(v.Keeping("sections", v.Choice("sections", []string{"link"}), []string{"link"}), " ")
		}, "",
			`look.yaml:1:12 sections: "lynk" is not known: want some of link`},
		{"of several keys the one that the job changed", "A4: {height: 3}", func(v template.Values) any { v.RefuseOne("want less", "A4.width", "A4.height"); return nil }, nil,
			`look.yaml:1:6 A4.height: "3" is not possible here: want less`},
		{"of several keys the first", "", func(v template.Values) any { v.RefuseOne("want less", "A4.width", "A4.height"); return nil }, nil,
			`look.yaml:4:6 A4.width: "38.1" is not possible here: want less`},
	} {
		t.Run(c.name, func(t *testing.T) {
			v := template.ReadValues(files(base), files(c.own), "look.yaml", new(diag.List))
			if got := c.read(v); got != c.want {
				t.Errorf("read %v, want %v", got, c.want)
			}
			var refused []string
			for _, p := range v.Problems.Sorted() {
				refused = append(refused, p.Place.String()+" "+p.Message+": "+p.Want)
				if p.Severity != diag.Error || p.Fix == "" {
					t.Errorf("%+v", p)
				}
			}
			if got := strings.Join(refused, "\n"); got != c.refused {
				t.Errorf("refused %q, want %q", got, c.refused)
			}
		})
	}
}

// FuzzRead: whatever the bytes are, they are read or refused; what is read has a place,
// and laid over itself it changes nothing.
func FuzzRead(f *testing.F) {
	f.Add(base)
	f.Add("a: {b: [1, 2], c: |\n  x\n}\n")
	f.Add("? [a]\n: b\n")
	f.Add("a: ~\nb: !!str 1\n")
	f.Fuzz(func(t *testing.T, text string) {
		list := new(diag.List)
		got := template.Read(files(text), "look.yaml", list)
		for key, e := range got {
			if e.Place.File != "look.yaml" || e.Place.Line == 0 {
				t.Fatalf("%q stands at %s", key, e.Place)
			}
		}
		if list.Len() > 0 {
			return
		}
		over := got.Under(files(text), "look.yaml", list)
		if list.Len() > 0 || !cmp.Equal(flat(got), flat(over)) {
			t.Fatalf("over itself: %v, %v\n%s", flat(got), flat(over), said(t, list))
		}
	})
}
