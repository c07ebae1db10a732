package judge_test

import (
	"fmt"
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"testing"

	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/templates"
)

// TestSets runs the tests in YAML of every built-in set, and wants every value
// of every set tried at, just below and just above its limit.
func TestSets(t *testing.T) {
	book := builtIn(t)
	names, err := fs.Glob(templates.Files, "limits/tests/*.yaml")
	if err != nil || len(names) == 0 {
		t.Fatal("no tests", err)
	}
	var cases []limits.Case
	tested := map[string]bool{}
	for _, name := range names {
		raw, err := fs.ReadFile(templates.Files, name)
		if err != nil {
			t.Fatal(err)
		}
		c, problems := limits.ParseCases(source.New("templates/"+name, raw))
		report(t, problems)
		for i := range c {
			tested[c[i].Set] = true
		}
		cases = append(cases, c...)
	}
	outcomes, untested := judge.RunCases(book, cases)
	for _, o := range outcomes {
		for _, fault := range o.Faults {
			t.Errorf("%s:%d: %s: %s", o.Case.File, o.Line, o.Case.Name, fault)
		}
	}
	for _, v := range untested {
		if v.Group == "engineered_beyond" { // no limit: TestEngineered holds each
			continue
		}
		t.Errorf("no test uses %s of %s (line %d)", v.Group, v.Set, v.Line)
	}
	for _, s := range book.All() {
		if !tested[s.ID] && s.Kind.Binds() {
			t.Errorf("%s has no tests", s.ID)
		}
	}
	t.Log(fmt.Sprint(len(book.All()), " sets, ", len(outcomes), " expectations"))
}

// TestPlanningBindsNothing: typical figures are those of the page they come
// from (FOA, typical loss values for loss budgets), and no job is judged by them.
func TestPlanningBindsNothing(t *testing.T) {
	book := builtIn(t)
	s, _ := book.Find("planning-typical")
	for _, c := range []struct {
		group string
		at    limits.Situation
		want  string
	}{
		{"cable", limits.Situation{Mode: record.Multimode, WavelengthNM: 850}, "3.0"},
		{"cable", limits.Situation{Mode: record.Multimode, WavelengthNM: 1300}, "0.8"},
		{"cable", limits.Situation{Mode: record.Singlemode, WavelengthNM: 1310}, "0.4"},
		{"cable", limits.Situation{Mode: record.Singlemode, WavelengthNM: 1550}, "0.2"},
		{"mated_pair", limits.Situation{Mode: record.Singlemode}, "0.5"},
		{"mated_pair", limits.Situation{Mode: record.Multimode}, "0.5"},
		{"array_pair", limits.Situation{Mode: record.Multimode}, "0.75"},
		{"splice", limits.Situation{Mode: record.Singlemode}, "0.15"},
		{"splice", limits.Situation{Mode: record.Multimode}, "0.3"},
	} {
		if v := s.Value(c.group, &c.at); v == nil || v.Number.String() != c.want || v.Provenance != limits.Quoted {
			t.Errorf("%s at %+v: %+v, want %s", c.group, c.at, v, c.want)
		}
	}
	for _, id := range []string{"planning-typical"} {
		for name, facts := range map[string]*record.Facts{
			"job":         {Job: record.Job{Policy: record.Policy{Limits: []string{id}}}},
			"link":        {Links: []record.Link{{ID: "A-01", Limits: []string{id}}}},
			"application": {Links: []record.Link{{ID: "A-01", Applications: []string{id}}}},
		} {
			if judged, problems := judge.Judge(facts, book); judged != nil || problems.Sorted()[0].Code != "binds-nothing" {
				t.Errorf("%s, %s: %v", id, name, problems.Sorted())
			}
		}
		problems := book.Add(source.New("own.yaml", []byte("id: own\ntitle: t\nowner: o\nedition: e\nextends: "+id+"\nlimits: [{id: loss, quantity: insertion_loss, at_most: [{rate: cable, amount: length_km}]}]\n")))
		if _, known := book.Find("own"); known || problems.Errors() != 1 || problems.Sorted()[0].Code != "binds-nothing" {
			t.Errorf("a set extends %s: %v", id, problems.Sorted())
		}
	}
}

// TestDocumentedExample runs the owner's set and its tests that the README of
// limit sets shows, as they stand there.
func TestDocumentedExample(t *testing.T) {
	raw, err := fs.ReadFile(templates.Files, "limits/README.md")
	if err != nil {
		t.Fatal(err)
	}
	const indent = "      " // a block in a list
	var blocks []string
	inside := false
	for line := range strings.Lines(string(raw)) {
		code, ok := strings.CutPrefix(line, indent)
		switch {
		case ok && !inside:
			blocks = append(blocks, code)
		case ok:
			blocks[len(blocks)-1] += code
		}
		inside = ok
	}
	if len(blocks) != 2 {
		t.Fatalf("%d examples, want a set and its tests", len(blocks))
	}
	book := own(t, "port-ansel.yaml", blocks[0])
	cases, problems := limits.ParseCases(source.New("port-ansel-tests.yaml", []byte(blocks[1])))
	report(t, problems)
	outcomes, untested := judge.RunCases(book, cases)
	for _, o := range outcomes {
		for _, fault := range o.Faults {
			t.Errorf("%s:%d: %s: %s", o.Case.File, o.Line, o.Case.Name, fault)
		}
	}
	if len(outcomes) < 5 || len(untested) > 0 {
		t.Errorf("%d expectations, %d values untested", len(outcomes), len(untested))
	}
}

// TestConflictsAreTrue: where a set says that a figure is "here", it has it: in
// a row that some link is judged by, its own or one taken over.
func TestConflictsAreTrue(t *testing.T) {
	here := regexp.MustCompile(`([0-9]+(?:\.[0-9]+)?) (dB/km|dB|m) here`)
	said := 0
	for _, s := range builtIn(t).All() {
		for _, text := range s.Conflicts {
			for _, m := range here.FindAllStringSubmatch(text, -1) {
				said++
				if !slices.ContainsFunc(reached(s), func(v *limits.Value) bool {
					return string(v.Unit) == m[2] && v.Number.Abs().Equal(dec(m[1]))
				}) {
					t.Errorf("%s says %q, and no link is judged by %s", s.ID, text, m[0])
				}
			}
		}
	}
	if said < 30 {
		t.Errorf("only %d statements", said)
	}
}

// reached lists the values that are the first to fit for what they name.
func reached(s *limits.Set) (out []*limits.Value) {
	for _, g := range s.Groups {
		for _, v := range g.Rows {
			w := v.Where
			for _, fibre := range append(w.Fibre, "") {
				for _, nm := range append(w.Wavelengths, limits.Range{}) {
					at := limits.Situation{Fibre: fibre, Mode: w.Mode, WavelengthNM: nm.Min, TestCords: w.TestCords}
					if len(w.Polish) > 0 {
						at.Polish = w.Polish[0]
					}
					if s.Value(g.Name, &at) == v {
						out = append(out, v)
					}
				}
			}
		}
	}
	return out
}
