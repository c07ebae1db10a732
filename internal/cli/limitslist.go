package cli

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"spanseal/internal/limits"
	"spanseal/internal/load"
	"spanseal/internal/report"
)

func (a *app) limitsList() *cobra.Command {
	var kind string
	var names []string
	for _, k := range report.LimitKinds() {
		names = append(names, string(k))
	}
	c := &cobra.Command{
		Use:   "list [WORD ...]",
		Short: "built-in sets by kind: all, or those with a word",
		Long: `Prints the built-in limit sets by kind, the most often used first. A WORD matches
part of the id, title, standard, edition or scope; all words must match.`,
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
			return a.print.LimitSets(sets)
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
