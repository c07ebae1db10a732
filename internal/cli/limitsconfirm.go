package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"spanseal/internal/diag"
	"spanseal/internal/limits"
	"spanseal/internal/load"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

func (a *app) limitsConfirm() *cobra.Command {
	var by, note string
	c := &cobra.Command{
		Use:   "confirm JOB SET",
		Short: "record that somebody compared a set with the standard",
		Long: `Standards are sold, so many built-in values are recalled or quoted. Once somebody
has compared every value of a set with their own copy of the standard, this command
records who and when in the job's file ` + load.Confirmations + `, and the documents
say so.

The record applies to the set's file as it is now, by its SHA-256: an altered file
is no longer confirmed. It is kept in the job, so the documents do not depend on the
machine that issues them.`,
		Example: `  spanseal limits show tia-568.3-e
  spanseal limits confirm harbour-library tia-568.3-e --by "R. Lindqvist" --note "copy bought in 2024"`,
		Args: takes(2, 2, "a job folder and the id or file of a limit set"),
		RunE: func(_ *cobra.Command, args []string) error {
			if strings.TrimSpace(by) == "" {
				return misuse(`say who compared it, such as --by "R. Lindqvist"`, "a confirmation needs a name")
			}
			dir := args[0]
			s, err := a.setOf(dir, args[1])
			if err != nil {
				return err
			}
			c := limits.Confirmation{Set: s.ID, SHA256: s.SHA256, By: by, On: record.DateOf(a.sys.Now()), Note: note}
			if err := a.addConfirmation(filepath.Join(dir, load.Confirmations), c); err != nil {
				return err
			}
			fmt.Fprintf(a.out, "%s confirmed by %s (file SHA-256 %s)\n", s.ID, c, s.SHA256)
			if s.Base != nil {
				fmt.Fprintf(a.out, "it extends %s, which wants its own confirmation\n", s.Extends)
			}
			return nil
		},
	}
	c.Flags().StringVar(&by, "by", "", "who compared the set with the standard")
	c.Flags().StringVar(&note, "note", "", "which copy was used, or another remark")
	return c
}

// setOf returns a set that a job may name: a built-in one, or one of the job's
// own by its id or by its file. The rest of the job may still be wrong.
func (a *app) setOf(dir, id string) (*limits.Set, error) {
	if load.NamesFile(id) {
		return a.findSet(filepath.Join(dir, filepath.FromSlash(id)))
	}
	book, problems := load.BuiltIn()
	if err := a.report(problems); err != nil {
		return nil, err
	}
	if _, ok := book.Find(id); !ok {
		book = load.Sets(dir)
	}
	return inBook(book, id)
}

// addConfirmation appends to a file of confirmations.
func (a *app) addConfirmation(path string, c limits.Confirmation) error {
	var all []limits.Confirmation
	if info, err := os.Lstat(path); err == nil && !info.Mode().IsRegular() {
		return refuse("replace it with what it points to, if that belongs to the job", "%s is a symbolic link or no file, and links are not followed", diag.Safe(path))
	}
	raw, err := os.ReadFile(path)
	switch {
	case err == nil:
		confirmed, problems := limits.ParseConfirmations(source.New(filepath.ToSlash(path), raw))
		if err := a.report(problems); err != nil {
			return err
		}
		all = confirmed
	case !errors.Is(err, fs.ErrNotExist):
		return refuse("", "the confirmations cannot be read: %v", err)
	}
	if _, err := os.Stat(filepath.Dir(path)); err != nil {
		return refuse("", "there is no job folder at %s", filepath.Dir(path))
	}
	return rewrite(path, limits.FormatConfirmations(append(all, c)))
}
