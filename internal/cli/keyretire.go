package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"spanseal/internal/archive"
	"spanseal/internal/diag"
	"spanseal/internal/keyfile"
	"spanseal/internal/plain"
	"spanseal/internal/seal"
	"spanseal/internal/verify"
)

func (a *app) keyRetire() *cobra.Command {
	var on, because, passFile string
	var stolen bool
	c := &cobra.Command{
		Use:   "retire KEY FOLDER",
		Short: "list a key that is no longer used to sign",
		Long: `Adds a line to ` + verify.RevokedName + ` in FOLDER, the folder of certificates that receivers
trust (verify --trust). What the key signed up to the day stays trusted; what it signs
later is not. Use --stolen if others may have the key, because they can write any date:
what it signed counts only if a time-stamp proves that it was before the day.

KEY is the key file or, if that is lost, its certificate (.pem). Give the folder to
everybody who checks your documents, and issue with a new key.`,
		Example: `  spanseal key retire signer.pem trust --on 2030-06-30 --because "left the company"
  spanseal key retire signer.pem trust --on 2027-03-01 --stolen --because "laptop stolen"`,
		Args: takes(2, 2, "the key file or certificate, and the folder of those who are trusted"),
		RunE: func(_ *cobra.Command, args []string) error {
			day := a.today()
			if on != "" {
				var err error
				if day, err = time.Parse(time.DateOnly, on); err != nil {
					return misuse("such as --on 2030-06-30", "--on: %q is not a day", on)
				}
			}
			if strings.ContainsFunc(because, func(r rune) bool { return r < ' ' || r == '#' }) {
				return misuse("write one line without #", "--because: these words do not fit into a line of %s", verify.RevokedName)
			}
			if !isFolder(args[1]) {
				return refuse("make the folder, and put the certificates that are trusted into it", "there is no folder %s", diag.Safe(args[1]))
			}
			path := filepath.Join(args[1], verify.RevokedName)
			if err := hasPlace(path); err != nil {
				return err
			}
			data, err := keyfile.Read(args[0], "name the key file (.p12) or its certificate (.pem)")
			if err != nil {
				return err
			}
			cert, _, _, err := keyfile.Certificate(args[0], data, a.secret(passFile))
			if err != nil {
				return err
			}
			key := seal.KeyIDOf(cert)
			before, err := os.ReadFile(path)
			if err != nil && !errors.Is(err, fs.ErrNotExist) {
				return refuse("make it readable", "%s: %v", diag.Safe(path), plain.Cause(err))
			}
			trust, err := a.readTrust(trusted{papers: args[1:]})
			if err != nil {
				return err
			}
			for _, k := range trust.Revoked() {
				if k.KeyID == key {
					return refuse("change its line by hand if the day is another", "the key %s is already in %s", key, diag.Safe(path))
				}
			}
			word := "until"
			if stolen {
				word = "since"
			}
			line := strings.TrimSpace(fmt.Sprintf("%s %s %s %s", key, word, day.Format(time.DateOnly), because))
			text := string(before)
			if text != "" && !strings.HasSuffix(text, "\n") {
				text += "\n"
			}
			if err := rewrite(path, []byte(text+line+"\n")); err != nil {
				return err
			}
			fmt.Fprintf(a.out, "wrote into %s: %s\n", diag.Safe(path), diag.Safe(line))
			fmt.Fprintf(a.out, "give the folder %s to everybody who checks your documents\n", diag.Safe(args[1]))
			return nil
		},
	}
	c.Flags().StringVar(&on, "on", "", "the last `DAY` of the key, such as 2030-06-30; with --stolen, the day from which others may have it (default: today)")
	c.Flags().BoolVar(&stolen, "stolen", false, "others may have the key")
	c.Flags().StringVar(&because, "because", "", "why, in a few words")
	c.Flags().StringVar(&passFile, "passphrase-file", "", "a file whose first line is the passphrase")
	return c
}

// signedWith lists what a key signed below a folder.
func (a *app) signedWith(ctx context.Context, key seal.KeyID, dir string) error {
	arch, err := archive.Open(ctx, dir, archive.Options{NoIndex: true})
	if err != nil {
		return refuse("name the folder that holds the jobs", "%s cannot be searched: %s", diag.Safe(dir), diag.Safe(err.Error()))
	}
	a.print.SignedWith(key, arch)
	return nil
}
