package cli

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"spanseal/internal/limits"
	"spanseal/internal/load"
)

// kinds are the kinds of limit sets in the order in which people choose from them,
// each with what it is about.
var kinds = []struct {
	limits.Kind
	about string
}{
	{limits.Cabling, "what a link may lose or reflect, by its parts"},
	{limits.Splices, "acceptance of splices"},
	{limits.Population, "many connections together"},
	{limits.Fibre, "fibre alone"},
	{limits.Application, "what a transmission system needs"},
	{limits.Planning, "typical figures, which bind nothing"},
	{limits.Constants, "figures of glass, which bind nothing"},
}

func (a *app) limitsList() *cobra.Command {
	var kind string
	var names []string
	for _, k := range kinds {
		names = append(names, string(k.Kind))
	}
	c := &cobra.Command{
		Use:   "list [WORD ...]",
		Short: "built-in sets by kind: all, or those with a word",
		Long: `Prints the built-in limit sets by kind, those that a job most often names first. A
WORD fits a part of the id, title, standard, edition or scope; all words must fit.`,
		Example: `  spanseal limits list
  spanseal limits list --kind splice
  spanseal limits list return loss`,
		Args: takes(0, -1, "words that the sets must have"),
		RunE: func(_ *cobra.Command, words []string) error {
			if kind != "" && !slices.Contains(names, kind) {
				return misuse("want one of "+strings.Join(names, ", "), "there is no kind %q of limit set", kind)
			}
			book, problems := load.BuiltIn()
			if err := a.report(problems); err != nil {
				return err
			}
			sets := slices.DeleteFunc(book.All(), func(s *limits.Set) bool {
				return kind != "" && string(s.Kind) != kind || !hasWords(s, words)
			})
			if len(sets) == 0 {
				return refuse("`spanseal limits list` prints all; for figures of your own see `spanseal limits --help`", "no built-in set has %s", quoted(words))
			}
			return a.listSets(sets)
		},
	}
	c.Flags().StringVar(&kind, "kind", "", "only sets of this `KIND`: "+strings.Join(names, ", "))
	return c
}

// hasWords reports whether all words stand in what a set says of itself.
func hasWords(s *limits.Set, words []string) bool {
	text := strings.ToLower(strings.Join([]string{s.ID, s.Title, s.Standard, s.Edition, s.Scope, s.Owner}, "\n"))
	return !slices.ContainsFunc(words, func(w string) bool { return !strings.Contains(text, strings.ToLower(w)) })
}

func quoted(words []string) string {
	out := make([]string, len(words))
	for i, w := range words {
		out[i] = fmt.Sprintf("%q", w)
	}
	return strings.Join(out, " and ")
}

// listSets prints sets below the name of their kind, examples of an owner's last.
func (a *app) listSets(sets []*limits.Set) error {
	slices.SortStableFunc(sets, func(x, y *limits.Set) int {
		if example := x.Owner != ""; example != (y.Owner != "") {
			if example {
				return 1
			}
			return -1
		}
		return byNumber(x.ID, y.ID)
	})
	gap := ""
	for _, k := range kinds {
		t := a.table()
		some := false
		for _, s := range sets {
			if s.Kind != k.Kind {
				continue
			}
			if !some {
				fmt.Fprintf(a.out, "%s%s: %s\n", gap, a.onOut.Strong(string(k.Kind)), k.about)
				some, gap = true, "\n"
			}
			newer := ""
			if s.Newer != "" {
				newer = "; newer: " + s.Newer
			}
			fmt.Fprintf(t, "  %s\t%s\t%s (%s)%s\n", s.ID, s.Title, s.Standard, s.Edition, newer)
		}
		if err := t.Flush(); err != nil {
			return err
		}
	}
	return nil
}

// byNumber orders names as a person would: runs of digits by their number.
func byNumber(x, y string) int {
	for x != "" && y != "" {
		a, b := leadingDigits(x), leadingDigits(y)
		if a > 0 && b > 0 {
			m, n := strings.TrimLeft(x[:a], "0"), strings.TrimLeft(y[:b], "0")
			if c := len(m) - len(n); c != 0 {
				return c
			}
			if c := strings.Compare(m, n); c != 0 {
				return c
			}
			x, y = x[a:], y[b:]
			continue
		}
		if x[0] != y[0] {
			return int(x[0]) - int(y[0])
		}
		x, y = x[1:], y[1:]
	}
	return len(x) - len(y)
}

func leadingDigits(s string) int {
	n := 0
	for n < len(s) && '0' <= s[n] && s[n] <= '9' {
		n++
	}
	return n
}
