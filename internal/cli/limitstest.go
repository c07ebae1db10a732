package cli

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"github.com/spf13/cobra"

	"spanseal/internal/diag"
	"spanseal/internal/limits"
	"spanseal/internal/limittest"
	"spanseal/internal/load"
	"spanseal/internal/source"
	"spanseal/templates"
)

func (a *app) limitsTest() *cobra.Command {
	return &cobra.Command{
		Use:   "test [FILE ...]",
		Short: "run the tests of limit sets",
		Long: `Runs tests written in YAML: for a given link, each expects a limit and the verdicts
at it, just below it and just above it. Without a file the built-in sets are tested.
You may name test files together with limit sets of your own.

The exit code is 4 if a test fails.`,
		Example: `  spanseal limits test
  spanseal limits test owner.yaml owner-tests.yaml`,
		RunE: func(_ *cobra.Command, args []string) error {
			book, cases, problems, err := testFiles(args)
			if err != nil {
				return err
			}
			if err := a.report(problems); err != nil {
				return err
			}
			outcomes, untested := limittest.Run(book, cases)
			if !a.print.Cases(cases, outcomes, untested) {
				a.status = ExitOpen
			}
			return nil
		},
	}
}

// holdsTests tells a file of tests from a limit set.
var holdsTests = regexp.MustCompile(`(?m)^tests:`)

// testFiles reads the named files, or the built-in tests.
func testFiles(names []string) (*limits.Book, []limits.Case, *diag.List, error) {
	book, problems := load.BuiltIn()
	var tests, sets []*source.File
	if len(names) == 0 {
		own, err := fs.Glob(templates.Files, "limits/tests/*.yaml")
		if err != nil {
			return nil, nil, nil, err
		}
		for _, name := range own {
			raw, err := fs.ReadFile(templates.Files, name)
			if err != nil {
				return nil, nil, nil, err
			}
			tests = append(tests, source.New(strings.TrimPrefix(name, "limits/"), raw))
		}
	}
	for _, name := range names {
		raw, err := os.ReadFile(name)
		if err != nil {
			return nil, nil, nil, refuse("name files of tests, and the limit sets that they are about", "a file cannot be read: %v", err)
		}
		f := source.New(filepath.ToSlash(name), raw)
		if holdsTests.Match(f.Text) {
			tests = append(tests, f)
		} else {
			sets = append(sets, f)
		}
	}
	problems.Join(book.Add(sets...))
	var cases []limits.Case
	for _, f := range tests {
		found, list := limits.ParseCases(f)
		problems.Join(list)
		cases = append(cases, found...)
	}
	return book, cases, problems, nil
}
