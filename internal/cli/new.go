package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"spanseal/templates"
)

func (a *app) create() *cobra.Command {
	return &cobra.Command{
		Use:     "new DIR",
		Short:   "a job folder with commented files to fill in",
		Example: `  spanseal new harbour-library`,
		Args:    takes(1, 1, "the name of the folder to make"),
		RunE: func(_ *cobra.Command, args []string) error {
			dir := args[0]
			if err := unpack(dir, "job"); err != nil {
				return err
			}
			fmt.Fprintf(a.out, "wrote %s\n\nnext\n", dir)
			fmt.Fprintf(a.out, "  fill in %s and %s\n", filepath.Join(dir, "job.yaml"), filepath.Join(dir, "links.csv"))
			fmt.Fprintf(a.out, "  put what the instruments exported into %s\n", filepath.Join(dir, "readings"))
			a.then(
				fmt.Sprintf("key new %s --name \"who signs\"", argument(filepath.Join(dir, "signer.p12"))),
				"check "+argument(dir),
			)
			return nil
		},
	}
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
