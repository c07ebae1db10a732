package cli

import (
	"fmt"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"spanseal/internal/diag"
	"spanseal/internal/judge"
	"spanseal/internal/keyfile"
	"spanseal/internal/seal"
	"spanseal/internal/terminal"
)

// The demonstration happens in its own time, so that its papers are the same
// whenever it is run.
var (
	demoKeyFrom = time.Date(2026, time.November, 2, 0, 0, 0, 0, time.UTC)
	demoIssued  = time.Date(2026, time.November, 25, 16, 0, 0, 0, time.UTC)
)

// demoPassphrase is public, and so is fit for nothing but the demonstration.
const demoPassphrase = "harbour lights"

func (a *app) demo() *cobra.Command {
	return &cobra.Command{
		Use:   "demo [DIR]",
		Short: "write a demonstration job, check it and issue it",
		Long: `Writes an invented job, the refit of a small harbour library, makes a key for it,
checks it and issues its certificates. Some links fail, so that you can see what
happens then; the exit code is still 0.`,
		Example: `  spanseal demo
  spanseal demo /tmp/harbour`,
		Args: takes(0, 1, "at most one folder"),
		RunE: func(c *cobra.Command, args []string) error {
			dir := "demo-job"
			if len(args) > 0 {
				dir = args[0]
			}
			if err := unpack(dir, "demo"); err != nil {
				return err
			}
			j, err := a.readJob(dir)
			if err != nil {
				return err
			}
			signer, err := seal.NewSigner("R. Lindqvist", j.Facts.Job.Contractor.Name, demoKeyFrom, keyYears)
			if err != nil {
				return err
			}
			key := filepath.Join(dir, "signer.p12")
			if err := a.storeKey(key, signer, demoPassphrase); err != nil {
				return err
			}
			rev, err := a.write(c.Context(), j, signer, demoIssued, issueFlags{out: filepath.Join(dir, "issued")})
			if err != nil {
				return err
			}

			s := a.onOut
			fmt.Fprintf(a.out, "%s\n", s.Strong("the refit of a small harbour library, all invented"))
			fmt.Fprintf(a.out, "  %s  %s, readings in %s of two shapes, terminations\n", dir,
				diag.Plural(len(j.Facts.Links), "link"), diag.Plural(len(j.Facts.Accounts), "file"))
			fmt.Fprintf(a.out, "  %s  its signing key; passphrase \"%s\", for this demonstration only\n", key, demoPassphrase)
			fmt.Fprintf(a.out, "  %s  %s, %s, a summary\n\n", rev.Dir,
				diag.Plural(rev.Certificates, "signed certificate"), diag.Plural(rev.Nonconformance, "nonconformance sheet"))
			fmt.Fprintf(a.out, "%s, on purpose\n", s.Bad("DOES NOT CONFORM"))
			a.print.Verdicts(j, judge.Fail, judge.Incomplete)
			fmt.Fprintf(a.out, "certified, but marginal\n")
			a.print.Verdicts(j, judge.Marginal)
			fmt.Fprintf(a.out, "\nopen %s in a browser, then try\n", filepath.Join(rev.Dir, "index.html"))
			a.print.Then(
				"explain "+terminal.Argument(dir)+" A-07",
				fmt.Sprintf("verify %s --trust %s", terminal.Argument(rev.Dir), terminal.Argument(keyfile.CertificatePath(key))),
				"check "+terminal.Argument(dir),
			)
			return nil
		},
	}
}
