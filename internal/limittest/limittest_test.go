package limittest_test

import (
	"fmt"
	"io/fs"
	"strings"
	"testing"

	"spanseal/internal/judge/testjob"
	"spanseal/internal/limits"
	"spanseal/internal/limittest"
	"spanseal/internal/source"
	"spanseal/templates"
)

var builtIn, report = testjob.Book, testjob.Report

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
	outcomes, untested := limittest.Run(book, cases)
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
	book := builtIn(t)
	report(t, book.Add(source.New("port-ansel.yaml", []byte(blocks[0]))))
	cases, problems := limits.ParseCases(source.New("port-ansel-tests.yaml", []byte(blocks[1])))
	report(t, problems)
	outcomes, untested := limittest.Run(book, cases)
	for _, o := range outcomes {
		for _, fault := range o.Faults {
			t.Errorf("%s:%d: %s: %s", o.Case.File, o.Line, o.Case.Name, fault)
		}
	}
	if len(outcomes) < 5 || len(untested) > 0 {
		t.Errorf("%d expectations, %d values untested", len(outcomes), len(untested))
	}
}
