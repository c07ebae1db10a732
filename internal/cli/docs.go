package cli

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"spanseal/internal/manual"
	"spanseal/templates"
)

// docs writes what a package of the program holds beside it. It is for those
// who make packages, and so is not listed.
func (a *app) docs() *cobra.Command {
	return &cobra.Command{
		Use:    "docs DIR",
		Short:  "write manual pages, shell completions, topics and the table of codes",
		Long:   "Writes manual pages to DIR/man1, completions for bash, zsh, fish and PowerShell to\nDIR/completions, the pages of `spanseal help TOPIC` to DIR/topics, and the table of all that is\nsaid, by code, to DIR/codes.md.",
		Hidden: true,
		Args:   takes(1, 1, "a folder"),
		RunE: func(c *cobra.Command, args []string) error {
			man, completions, topics := filepath.Join(args[0], "man1"), filepath.Join(args[0], "completions"), filepath.Join(args[0], "topics")
			for _, part := range []struct {
				dir   string
				write func(dir string) error
			}{
				{man, func(dir string) error { return manual.Pages(a.root(), dir, exitStatus) }}, // a tree of its own, whose texts may be changed
				{completions, func(dir string) error { return manual.Completions(c.Root(), dir) }},
				{topics, func(dir string) error { return manual.Topics(templates.Files, dir) }},
			} {
				if err := os.MkdirAll(part.dir, 0o755); err != nil {
					return err
				}
				if err := part.write(part.dir); err != nil {
					return err
				}
			}
			codes := filepath.Join(args[0], "codes.md")
			if err := os.WriteFile(codes, a.print.CodesPage(), 0o644); err != nil {
				return err
			}
			fmt.Fprintf(a.out, "wrote %s, %s, %s and %s\n", man, completions, topics, codes)
			return nil
		},
	}
}

// exitStatus stands in every manual page.
const exitStatus = `

# EXIT STATUS

**0** all well; **1** the tool failed; **2** usage; **3** input refused, nothing written; **4** read well, but some link is neither pass nor marginal; **5** a signature or hash is wrong; **6** all intact, but the signer is not among those trusted.`
