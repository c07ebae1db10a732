package cli

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"

	"spanseal/internal/statement"
	"spanseal/templates"
)

// manDate is that of every manual page: it must not hang on the day of the
// build.
var manDate = time.Date(2026, time.November, 1, 0, 0, 0, 0, time.UTC)

// docs writes what a package of the program holds beside it. It is for those
// who make packages, and so is not listed.
func (a *app) docs() *cobra.Command {
	return &cobra.Command{
		Use:    "docs DIR",
		Short:  "write manual pages, shell completions and the table of codes",
		Long:   "Writes manual pages to DIR/man1, completions for bash, zsh, fish and PowerShell to\nDIR/completions, the pages of `spanseal help TOPIC` to DIR/topics, and the table of all that is\nsaid, by code, to DIR/codes.md.",
		Hidden: true,
		Args:   takes(1, 1, "a folder"),
		RunE: func(c *cobra.Command, args []string) error {
			man, completions := filepath.Join(args[0], "man1"), filepath.Join(args[0], "completions")
			for _, dir := range []string{man, completions} {
				if err := os.MkdirAll(dir, 0o755); err != nil {
					return err
				}
			}
			root := a.root() // a tree of its own, whose texts may be changed
			root.InitDefaultHelpCmd()
			forManual(root)
			if err := doc.GenManTree(root, &doc.GenManHeader{Section: "1", Source: "spanseal", Manual: "spanseal", Date: &manDate}, man); err != nil {
				return err
			}
			root = c.Root()
			for name, write := range map[string]func(string) error{
				"spanseal.bash": func(f string) error { return root.GenBashCompletionFileV2(f, true) },
				"_spanseal":     root.GenZshCompletionFile,
				"spanseal.fish": func(f string) error { return root.GenFishCompletionFile(f, true) },
				"spanseal.ps1":  root.GenPowerShellCompletionFileWithDesc,
			} {
				if err := write(filepath.Join(completions, name)); err != nil {
					return err
				}
			}
			codes := filepath.Join(args[0], "codes.md")
			if err := os.WriteFile(codes, a.codesPage(), 0o644); err != nil {
				return err
			}
			pages := filepath.Join(args[0], "topics")
			if err := os.MkdirAll(pages, 0o755); err != nil {
				return err
			}
			for _, t := range topics {
				page, err := fs.ReadFile(templates.Files, t.file)
				if err == nil {
					err = os.WriteFile(filepath.Join(pages, t.name+filepath.Ext(t.file)), page, 0o644)
				}
				if err != nil {
					return err
				}
			}
			fmt.Fprintf(a.out, "wrote %s, %s, %s and %s\n", man, completions, pages, codes)
			return nil
		},
	}
}

// codesPage is the table of all that is said, for contributors and for whoever reads
// records by program.
func (a *app) codesPage() []byte {
	var b bytes.Buffer
	b.WriteString("# What spanseal says\n\nEvery question, advice, change and first sentence is a code with typed arguments. The example is in English; " +
		"a wording file holds one form for each code.\n\n| code | arguments | rests on | example |\n|---|---|---|---|\n")
	cell := strings.NewReplacer("|", "\\|", "\u00a0", " ")
	for _, e := range statement.Codes() {
		args := make([]string, len(e.Params))
		for i, p := range e.Params {
			args[i] = p.Name + ": " + string(p.Kind)
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s |\n", e.Code, strings.Join(args, ", "), cell.Replace(e.Rests), cell.Replace(a.print.Words().State(statement.New(e.Code, e.Example...))))
	}
	return b.Bytes()
}

// exitStatus stands in every manual page.
const exitStatus = `

# EXIT STATUS

**0** all well; **1** the tool failed; **2** usage; **3** input refused, nothing written; **4** read well, but some link is neither pass nor marginal; **5** a signature or hash is wrong; **6** all intact, but the signer is not among those trusted.`

// forManual turns the texts of a tree of commands into the Markdown that the
// generator of manual pages wants: indented lines are kept as they are, and
// characters with a meaning in Markdown are plain.
func forManual(c *cobra.Command) {
	c.DisableAutoGenTag = true
	var b strings.Builder
	indented := false
	for line := range strings.Lines(c.Long) {
		if in := strings.HasPrefix(line, "  "); in != indented {
			indented = in
			b.WriteByte('\n')
		}
		if indented {
			b.WriteString("    " + strings.TrimPrefix(line, "  "))
		} else {
			b.WriteString(strings.NewReplacer("*", `\*`, "_", `\_`, "<", `\<`).Replace(line))
		}
	}
	c.Long = b.String() + exitStatus
	for _, sub := range c.Commands() {
		forManual(sub)
	}
}
