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
	"spanseal/internal/propose"
	"spanseal/internal/report"
	"spanseal/internal/terminal"
	"spanseal/templates"
)

func (a *app) create() *cobra.Command {
	var from string
	c := &cobra.Command{
		Use:   "new [DIR]",
		Short: "a job folder with commented files to fill in",
		Long: `Makes a job folder with commented files to fill in.

With --from it drafts how to read the exports of your instrument from a sample,
and says what it recognised, what it needs to be told, and what it makes of the
first rows: compare these with the file. Without a folder the draft is printed,
for a job that is there already.`,
		Example: `  spanseal new harbour-library
  spanseal new harbour-library --from export.csv
  spanseal new --from export.csv`,
		Args: func(c *cobra.Command, args []string) error {
			if from != "" {
				return takes(0, 1, "at most one folder to make")(c, args)
			}
			return takes(1, 1, "the name of the folder to make")(c, args)
		},
		RunE: func(_ *cobra.Command, args []string) error {
			var sample []byte
			var draft *propose.Proposal
			if from != "" {
				var err error
				if sample, draft, err = a.draft(from); err != nil {
					return err
				}
				if len(args) == 0 {
					fmt.Fprintf(a.out, "%s", draft.YAML())
					return nil
				}
			}
			dir := args[0]
			if err := unpack(dir, "job"); err != nil {
				return err
			}
			if draft != nil {
				if err := adopt(dir, filepath.Base(from), sample, draft); err != nil {
					return err
				}
			}
			fmt.Fprintf(a.out, "wrote %s\n\nnext\n", dir)
			fmt.Fprintf(a.out, "  fill in %s and %s\n", filepath.Join(dir, "job.yaml"), filepath.Join(dir, "links.csv"))
			fmt.Fprintf(a.out, "  put what the instruments exported into %s\n", filepath.Join(dir, "readings"))
			a.print.Then(
				fmt.Sprintf("key new %s --name \"who signs\"", terminal.Argument(filepath.Join(dir, "signer.p12"))),
				"check "+terminal.Argument(dir),
			)
			return nil
		},
	}
	c.Flags().StringVar(&from, "from", "", "draft how to read the exports from this sample")
	return c
}

// draft drafts a mapping from a sample, and says on standard error how far it
// came: standard output holds the draft alone.
func (a *app) draft(path string) (sample []byte, draft *propose.Proposal, err error) {
	sample, problems := folder.Sample(path)
	if err := a.report(problems); err != nil {
		return nil, nil, err
	}
	defer leanly()()
	draft, problems = propose.Propose(filepath.ToSlash(path), sample)
	if err := a.report(problems); err != nil {
		return nil, nil, err
	}
	for _, s := range draft.Recognised {
		fmt.Fprintf(a.err, "recognised: %s\n", diag.Safe(s))
	}
	for _, s := range draft.Needed {
		fmt.Fprintf(a.err, "%s %s\n", a.onErr.Asked("to be told:"), diag.Safe(s))
	}
	for i := range draft.AsRead {
		fmt.Fprintln(a.err)
		report.AsRead(a.err, a.onErr, &draft.AsRead[i])
	}
	return sample, draft, nil
}

// adopt puts a draft at the end of a new job.yaml, whose own remarks about
// readings name nothing, and the sample into the job's readings.
func adopt(dir, name string, sample []byte, draft *propose.Proposal) error {
	job, err := os.OpenFile(filepath.Join(dir, "job.yaml"), os.O_WRONLY|os.O_APPEND, 0)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(job, "\n%s", draft.YAML())
	return errors.Join(err, job.Close(), os.WriteFile(filepath.Join(dir, "readings", name), sample, 0o644))
}

// unpack writes an embedded folder to dir, which must be new or empty.
func unpack(dir, name string) error {
	entries, err := os.ReadDir(dir)
	switch {
	case err == nil && len(entries) > 0:
		return refuse("name a folder that is empty or not there yet", "the folder %s holds something already", dir)
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return refuse("name a folder that is empty or not there yet", "%s cannot be used: %v", dir, err)
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
