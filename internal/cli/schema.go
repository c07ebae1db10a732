package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"github.com/spf13/cobra"

	"spanseal/internal/diag"
	"spanseal/internal/schema"
	"spanseal/templates"
)

func (a *app) schema() *cobra.Command {
	var names, lines []string
	for _, d := range schema.All(templates.Files) {
		names = append(names, d.Name)
		lines = append(lines, fmt.Sprintf("  %-15s %s", d.Name, d.Files))
	}
	return &cobra.Command{
		Use:   "schema NAME",
		Short: "print what a file may hold, for editors and other programs",
		Long: `Prints what a file may hold: a JSON Schema (draft 2020-12) of YAML and JSON, CSV on
the Web metadata (W3C, 2015) of tables. An editor that knows the schema of job.yaml
completes its keys and marks mistakes.

` + strings.Join(lines, "\n"),
		Example:   `  spanseal schema job > job.schema.json`,
		ValidArgs: names,
		Args:      takes(1, 1, "one of "+strings.Join(names, ", ")),
		RunE: func(_ *cobra.Command, args []string) error {
			data, err := schema.Of(templates.Files, args[0])
			if errors.Is(err, fs.ErrNotExist) {
				return misuse("choose one of "+strings.Join(names, ", "), "there is no schema %q", diag.Safe(args[0]))
			}
			fmt.Fprint(a.out, string(data))
			return err
		},
	}
}
