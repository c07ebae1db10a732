package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"spanseal/internal/diag"
	"spanseal/internal/folder"
	"spanseal/internal/outline"
	"spanseal/internal/report"
	"spanseal/internal/terminal"
	"spanseal/templates"
)

func (a *app) create() *cobra.Command {
	var from []string
	var like string
	c := &cobra.Command{
		Use:   "new [DIR]",
		Short: "make a job folder with commented files to fill in",
		Long: `Makes a job folder with commented files to fill in.

With --from, once for each file, it drafts the folder from exports of your
instruments: how to read them, links.csv, people and instruments. It prints what
it recognised and how it reads the first rows: compare these with the file. The
list at the end names what you must still say, in the order in which you fill it
in. Without DIR it prints only the draft of how to read the files, for a job that
already exists.

With --like it makes the folder from an older job of your own. Contractor, people,
instruments, limits, how exports are read, pay items and the look of documents are
kept; what belonged to that job's own work is emptied.`,
		Example: `  spanseal new harbour-library
  spanseal new harbour-library --from day1.csv --from day2.xlsx
  spanseal new harbour-offices --like harbour-library
  spanseal new --from export.csv`,
		Args: func(c *cobra.Command, args []string) error {
			if len(from) > 0 && like == "" {
				return takes(0, 1, "at most one folder to make")(c, args)
			}
			return takes(1, 1, "the name of the folder to make")(c, args)
		},
		RunE: func(_ *cobra.Command, args []string) error {
			var draft *outline.Draft
			if len(from) > 0 {
				var err error
				if draft, err = a.draft(from, len(args) == 0); err != nil {
					return err
				}
				if len(args) == 0 {
					fmt.Fprintf(a.out, "%s", draft.Readings())
					return nil
				}
			}
			dir := args[0]
			if like != "" {
				return a.createLike(dir, like, draft)
			}
			if err := unpack(dir, "job"); err != nil {
				return err
			}
			fmt.Fprintf(a.out, "wrote %s\n\n", dir)
			if draft != nil {
				if err := adopt(dir, draft, draft.Job); err != nil {
					return err
				}
				a.stillToSay(draft.Points())
				fmt.Fprintf(a.out, "\nnext\n")
			} else {
				fmt.Fprintf(a.out, "next\n")
				fmt.Fprintf(a.out, "  fill in %s and %s\n", filepath.Join(dir, "job.yaml"), filepath.Join(dir, "links.csv"))
				fmt.Fprintf(a.out, "  put what the instruments exported into %s\n", filepath.Join(dir, "readings"))
			}
			a.print.Then(
				fmt.Sprintf("key new %s --name \"who signs\"", terminal.Argument(filepath.Join(dir, "signer.p12"))),
				"check "+terminal.Argument(dir),
			)
			return nil
		},
	}
	c.Flags().StringVar(&like, "like", "", "an older job to make the folder from")
	c.Flags().StringArrayVar(&from, "from", nil, "an export to draft the folder from; may be repeated")
	return c
}

// draft drafts a job from exports, and says on standard error how far it came:
// standard output holds the draft alone. needed: what it needs to be told is said too,
// since no list will.
func (a *app) draft(paths []string, needed bool) (*outline.Draft, error) {
	var samples []outline.Sample
	for _, path := range paths {
		raw, problems := folder.Sample(path)
		if err := a.report(problems); err != nil {
			return nil, err
		}
		samples = append(samples, outline.Sample{Path: path, Raw: raw})
	}
	leanly()
	from := outline.New
	if needed { // for a job that is there already
		from = outline.Entries
	}
	draft, problems := from(samples)
	if err := a.report(problems); err != nil {
		return nil, err
	}
	for i, p := range draft.Proposals {
		if i > 0 {
			fmt.Fprintln(a.err)
		}
		for _, s := range p.Recognised {
			fmt.Fprintf(a.err, "recognised: %s\n", diag.Safe(s))
		}
		for _, s := range p.Needed {
			if needed {
				fmt.Fprintf(a.err, "%s %s\n", a.onErr.Asked("still to say:"), diag.Safe(s))
			}
		}
		for k := range p.AsRead {
			fmt.Fprintln(a.err)
			report.AsRead(a.err, a.onErr, &p.AsRead[k])
		}
	}
	return draft, nil
}

// stillToSay lists what a person must say.
func (a *app) stillToSay(points []diag.Unsaid) {
	wide := 9
	for _, p := range points {
		wide = max(wide, diag.DisplayWidth(p.File))
	}
	fmt.Fprintf(a.out, "still to say, in this order\n")
	for i, p := range points {
		fmt.Fprintf(a.out, "  %*d  %s  %s\n", len(fmt.Sprint(len(points))), i+1, terminal.Pad(p.File, wide), diag.Safe(p.Text))
	}
}

// adopt puts a draft into a new job: the samples into its readings, links.csv, and
// the entries at the end of job.yaml, whose own remarks about readings name nothing.
func adopt(dir string, draft *outline.Draft, job func([]byte) []byte) error {
	file := filepath.Join(dir, "job.yaml")
	blank, err := os.ReadFile(file)
	if err != nil {
		return err
	}
	errs := []error{os.WriteFile(file, job(blank), 0o644), os.WriteFile(filepath.Join(dir, "links.csv"), draft.Links(), 0o644)}
	for _, s := range draft.Samples {
		errs = append(errs, os.WriteFile(filepath.Join(dir, filepath.FromSlash(s.File())), s.Raw, 0o644))
	}
	return errors.Join(errs...)
}

// unpack writes an embedded folder to dir, which must be new or empty.
func unpack(dir, name string) error {
	entries, err := os.ReadDir(dir)
	switch {
	case err == nil && len(entries) > 0:
		return refuse("name a folder that is empty or does not exist yet", "the folder %s is not empty", dir)
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return refuse("name a folder that is empty or does not exist yet", "%s cannot be used: %v", dir, err)
	}
	files, err := fs.Sub(templates.Files, name)
	if err != nil {
		return err
	}
	if err := os.CopyFS(dir, files); err != nil {
		return err
	}
	return os.MkdirAll(filepath.Join(dir, "readings"), 0o755)
}
