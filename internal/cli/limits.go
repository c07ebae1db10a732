package cli

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"spanseal/internal/limits"
	"spanseal/internal/load"
	"spanseal/internal/source"
)

func (a *app) limits() *cobra.Command {
	return a.group(&cobra.Command{
		Use:   "limits",
		Short: "the known limit sets, with their sources",
		Long: `Limit sets are YAML files: values with their clause and source, and the limits
calculated from them. A job names the sets that apply to it by id or, for its own
files, by path.`,
		Example: `  spanseal limits list splice
  spanseal limits show tia-568.3-e
  spanseal limits show harbour-library/owner.yaml
  spanseal limits test`,
	}, a.limitsList(), a.limitsShow(), a.limitsTest(), a.limitsConfirm())
}

func (a *app) limitsShow() *cobra.Command {
	return &cobra.Command{
		Use:     "show ID|FILE",
		Short:   "one set: every value with its clause and source",
		Example: "  spanseal limits show iso-11801-1",
		Args:    takes(1, 1, "the id of a set, or a file"),
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.findSet(args[0])
			if err != nil {
				return err
			}
			return a.print.LimitSet(s)
		},
	}
}

// findSet returns a built-in set by its id, or reads one from a file.
func (a *app) findSet(id string) (*limits.Set, error) {
	book, problems := load.BuiltIn()
	if load.NamesFile(id) {
		raw, err := os.ReadFile(id)
		if err != nil {
			return nil, refuse("", "the limit set cannot be read: %v", err)
		}
		id = filepath.ToSlash(id)
		problems.Join(book.Add(source.New(id, raw)))
	}
	if err := a.report(problems); err != nil {
		return nil, err
	}
	return inBook(book, id)
}

// inBook returns the set that a person asked for.
func inBook(book *limits.Book, id string) (*limits.Set, error) {
	if s, ok := book.Find(id); ok {
		return s, nil
	}
	fix := "`spanseal limits list` names them"
	if near := book.Near(id); near != "" {
		fix = fmt.Sprintf("did you mean %s?", near)
	}
	return nil, misuse(fix, "there is no limit set %q", id)
}
