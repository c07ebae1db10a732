package cli

import (
	"bytes"
	"cmp"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"spanseal/internal/diag"
	"spanseal/internal/fault"
	"spanseal/internal/folder"
	"spanseal/internal/jobfile"
	"spanseal/internal/keyfile"
	"spanseal/internal/load"
	"spanseal/internal/plain"
	"spanseal/internal/seal"
	"spanseal/internal/terminal"
	"spanseal/internal/verify"
)

// keyYears is how long a new key's certificate is valid unless asked
// otherwise. A key may be used for years; papers signed with it verify for
// ever, because validity is judged at the time of signing.
const keyYears = 10

func (a *app) key() *cobra.Command {
	return a.group(&cobra.Command{
		Use:   "key",
		Short: "make or show the signing key",
		Long: `The signing key is one PKCS#12 file with a passphrase. A company's own
document-signing certificate in that form can be used unchanged. The certificate
beside it (.pem) contains no secret: give it to everybody who checks your documents.

The program asks for the passphrase, or reads it from --passphrase-file or the
environment variable ` + passphraseVariable + `. It is never an argument.`,
		Example: `  spanseal key new signer.p12 --name "R. Lindqvist" --organisation "Tidewater Fibre Works"
  spanseal key show signer.p12
  spanseal key rotate signer.p12 signer-2030.p12
  spanseal key retire signer.pem trust --on 2030-06-30 --because "left the company"`,
	}, a.keyNew(), a.keyShow(), a.keyRotate(), a.keyRetire())
}

func (a *app) keyNew() *cobra.Command {
	var name, organisation, passFile string
	var years int
	c := &cobra.Command{
		Use:   "new FILE",
		Short: "make a key, with its certificate beside it",
		Args:  takes(1, 1, "the name of the key file to write"),
		RunE: func(_ *cobra.Command, args []string) error {
			if strings.TrimSpace(name) == "" {
				return misuse(`say who signs, such as --name "R. Lindqvist"`, "a key needs a name")
			}
			if err := errors.Join(yearsFit(years), free(args[0])); err != nil {
				return err
			}
			pass, err := a.passphrase(passFile, args[0], true)
			if err != nil {
				return err
			}
			signer, err := seal.NewSigner(name, organisation, a.today(), years)
			if err != nil {
				return err
			}
			return a.saveKey(args[0], signer, pass)
		},
	}
	c.Flags().StringVar(&name, "name", "", "the signer's name, as printed on the documents")
	c.Flags().StringVar(&organisation, "organisation", "", "the organisation the signer acts for")
	c.Flags().IntVar(&years, "years", keyYears, "how long the certificate is valid")
	c.Flags().StringVar(&passFile, "passphrase-file", "", "a file whose first line is the passphrase")
	return c
}

func (a *app) keyShow() *cobra.Command {
	var passFile string
	c := &cobra.Command{
		Use:   "show FILE [ARCHIVE]",
		Short: "show whose key or certificate a file holds, and what it signed",
		Long: `Prints whose key or certificate a file holds. With ARCHIVE, a folder that holds jobs,
it also lists every revision there that the key signed.`,
		Example: `  spanseal key show signer.p12
  spanseal key show signer.pem /srv/jobs`,
		Args: takes(1, 2, "a key file or a certificate, and perhaps a folder of jobs"),
		RunE: func(cmd *cobra.Command, args []string) error {
			data, err := keyfile.Read(args[0], "name a key file (.p12) or a certificate (.pem); `spanseal key new` makes both")
			if err != nil {
				return err
			}
			if len(args) == 2 && !isFolder(args[1]) {
				return refuse("name the folder that holds the jobs", "there is no folder %s", diag.Safe(args[1]))
			}
			cert, signer, pass, err := keyfile.Certificate(args[0], data, a.secret(passFile))
			switch {
			case err != nil:
				return err
			case signer == nil:
				a.print.Certificate(cert, "")
			default:
				a.print.Certificate(cert, signer.LabelAlgorithm())
				a.noteUnled(signer)
				a.noteCareless(args[0], pass)
			}
			if len(args) == 2 {
				return a.signedWith(cmd.Context(), seal.KeyIDOf(cert), args[1])
			}
			return nil
		},
	}
	c.Flags().StringVar(&passFile, "passphrase-file", "", "a file whose first line is the passphrase")
	return c
}

// noteUnled tells whoever signs with a certificate of an authority that its key
// file lacks the authority's own: a receiver who trusts what stands above that
// cannot follow.
func (a *app) noteUnled(s *seal.Signer) {
	if s.Unled() {
		a.note("the key file does not hold the certificate of %s, who issued that of %s: receivers who trust a root above it cannot follow; export the key with its chain of certificates",
			diag.Safe(seal.IssuerName(s.Certificate())), diag.Safe(seal.CommonName(s.Certificate())))
	}
}

func (a *app) keyRotate() *cobra.Command {
	var name, organisation, passFile string
	var years int
	c := &cobra.Command{
		Use:   "rotate OLD NEW",
		Short: "make a new key that the old one names as its successor",
		Long: `A successor is a new key. Its certificate contains a statement, signed by the old
key, that it is the successor. A receiver who trusts the old certificate can
therefore trust the new one. Both files have the same passphrase.`,
		Example: `  spanseal key rotate signer.p12 signer-2030.p12`,
		Args:    takes(2, 2, "the old key file and the new one to write"),
		RunE: func(cmd *cobra.Command, args []string) error {
			data, err := keyfile.Read(args[0], "name the key file that is to have a successor")
			if err := errors.Join(err, yearsFit(years), free(args[1])); err != nil {
				return err
			}
			old, pass, err := keyfile.Unlock(args[0], data, a.secret(passFile))
			if err != nil {
				return err
			}
			subject := old.Certificate().Subject
			if name == "" {
				name = seal.CommonName(old.Certificate())
			}
			if !cmd.Flags().Changed("organisation") {
				organisation = strings.Join(subject.Organization, ", ")
			}
			next, err := old.Successor(name, organisation, a.today(), years)
			if err != nil {
				return refuse("see `spanseal key show`; or make a key without a predecessor: `spanseal key new`", "no successor: %v", err)
			}
			return a.saveKey(args[1], next, pass)
		},
	}
	c.Flags().StringVar(&name, "name", "", "the new signer's name (default: as before)")
	c.Flags().StringVar(&organisation, "organisation", "", "the organisation the signer acts for (default: as before)")
	c.Flags().IntVar(&years, "years", keyYears, "how long the certificate is valid")
	c.Flags().StringVar(&passFile, "passphrase-file", "", "a file whose first line is the passphrase")
	return c
}

// today is when the day began: papers of the day on which a key is made may be
// dated a few hours earlier than the key.
func (a *app) today() time.Time {
	now := a.sys.Now()
	y, m, d := now.Date()
	return time.Date(y, m, d, 0, 0, 0, 0, now.Location())
}

// yearsFit refuses a validity that no certificate is given.
func yearsFit(years int) error {
	if years < 1 || years > 30 {
		return misuse("such as --years 10", "a certificate can be valid for 1 to 30 years, not %d", years)
	}
	return nil
}

// free refuses to write a key over anything, or to where nothing can be.
func free(path string) error {
	if err := hasPlace(path); err != nil {
		return err
	}
	for _, p := range []string{path, keyfile.CertificatePath(path)} {
		if _, err := os.Lstat(p); err == nil {
			return refuse("choose another name: a key is never overwritten, because documents were signed with it",
				"%s already exists", p)
		}
	}
	if keyfile.CertificatePath(path) == path {
		return misuse("such as signer.p12", "the key file cannot be named %s: that is the name of the certificate beside it", path)
	}
	return nil
}

// saveKey stores a key and says so.
func (a *app) saveKey(path string, signer *seal.Signer, pass string) error {
	if pass == "" {
		return refuse("choose one; a sentence is easier to remember than a word", "a key needs a passphrase")
	}
	if err := a.storeKey(path, signer, pass); err != nil {
		return err
	}
	a.noteCareless(path, pass)
	a.print.Certificate(signer.Certificate(), signer.LabelAlgorithm())
	fmt.Fprintf(a.out, "\nwrote %s: secret; keep it, with a copy\nwrote %s: give it to everybody who checks your documents\n",
		path, keyfile.CertificatePath(path))
	return nil
}

// storeKey writes a key file, readable by its owner alone, and beside it the
// certificate.
func (a *app) storeKey(path string, signer *seal.Signer, pass string) error {
	data, err := signer.PKCS12(pass, cmp.Or(a.sys.KeyRounds, seal.Rounds))
	if err != nil {
		return err
	}
	if err := writeNew(path, data, 0o600); err != nil {
		return err
	}
	cert := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: signer.Certificate().Raw})
	return writeNew(keyfile.CertificatePath(path), cert, 0o644)
}

// hasPlace fails early where a file is to be written: there is no folder for it,
// or the folder is one of a revision, to which nothing is ever added.
func hasPlace(path string) error {
	dir := filepath.Dir(path)
	if !isFolder(dir) {
		return &failure{ExitTool, fmt.Sprintf("nothing was written: there is no folder %s", diag.Safe(dir)), "make it first, or name a file in another"}
	}
	if whole := verify.RevisionOf(path); whole != "" {
		return misuse("name a file elsewhere", "%s is an issued revision and cannot be added to", diag.Safe(whole))
	}
	return nil
}

// unwritable is a failure to write a file that somebody named.
func unwritable(path string, err error) error {
	return &failure{ExitTool, fmt.Sprintf("%s cannot be written: %v", diag.Safe(path), plain.Cause(err)),
		"name a file in a folder that is there and that you may write to"}
}

// writeNew writes a file that must not be there yet, whole or not at all.
func writeNew(path string, data []byte, mode fs.FileMode) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if errors.Is(err, fs.ErrExist) {
		return refuse("choose another name", "%s already exists", path)
	}
	if err != nil {
		return unwritable(path, err)
	}
	_, err = f.Write(data)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		err = errors.Join(err, os.Remove(path))
	}
	return err
}

// rewrite writes a file by way of a new one beside it, so that no half one is ever
// left.
func rewrite(path string, data []byte) error {
	next := path + ".new"
	if err := os.Remove(next); err != nil && !errors.Is(err, fs.ErrNotExist) { // of a run that was killed; or a link, which itself goes
		return unwritable(next, err)
	}
	if err := writeNew(next, data, 0o644); err != nil {
		return err
	}
	return os.Rename(next, path)
}

// openKey reads a key file, asking for its passphrase where need be.
func (a *app) openKey(path, passFile string) (*seal.Signer, error) {
	return a.openKeyBy(keyfile.Unlock, path, passFile)
}

// unlock opens what a key file holds, as [keyfile.Unlock] does.
type unlock func(path string, data []byte, ask keyfile.Prompt) (*seal.Signer, string, error)

func (a *app) openKeyBy(open unlock, path, passFile string) (*seal.Signer, error) {
	data, err := keyfile.Read(path, fmt.Sprintf("make one with `spanseal key new %s --name \"who signs\"`, or name one with --key", path))
	if err != nil {
		return nil, err
	}
	signer, pass, err := open(path, data, a.secret(passFile))
	if err == nil {
		a.noteCareless(path, pass)
	}
	return signer, err
}

// unlockAhead begins to open the key of a job before the job is read, which takes a third
// of a second on one processor, unless somebody must be asked for its passphrase. What
// stands in the way of it is told only when the key is opened in its turn.
func (a *app) unlockAhead(dir, path, passFile string) unlock {
	if passFile == "" && a.sys.Getenv(passphraseVariable) == "" {
		return keyfile.Unlock
	}
	if path == "" {
		path = keyOf(dir)
	}
	data, err := keyfile.Read(path, "")
	if err != nil {
		return keyfile.Unlock
	}
	pass, err := a.passphrase(passFile, path, false)
	if err != nil {
		return keyfile.Unlock
	}
	var signer *seal.Signer
	done := make(chan struct{})
	go func() {
		defer close(done)
		err = fault.Guard(func() (err error) {
			signer, _, err = keyfile.Unlock(path, data, func(string) (string, error) { return pass, nil })
			return err
		})
	}()
	return func(path string, now []byte, ask keyfile.Prompt) (*seal.Signer, string, error) {
		<-done
		if said, failed := ask(path); err != nil || failed != nil || said != pass || !bytes.Equal(now, data) {
			return keyfile.Unlock(path, now, ask)
		}
		return signer, pass, nil
	}
}

// keyOf is the key that the job in a folder names, as far as its job.yaml can be read.
func keyOf(dir string) string {
	var problems diag.List // which are told when the job is read
	in, err := folder.Open(dir, &problems)
	if err != nil {
		return ""
	}
	defer in.Close()
	return load.KeyOf(dir, &jobfile.Read(in, &problems).Job)
}

// noteCareless tells of a key that others can take: its file may be read, or its
// passphrase guessed.
func (a *app) noteCareless(path, pass string) {
	a.noteReadable("key file", path)
	if n, short := keyfile.Short(pass); short {
		a.note("the passphrase of %s has %s: whoever gets the file soon has the key; choose a sentence", diag.Safe(path), diag.Plural(n, "character"))
	}
}

// noteReadable tells of a file with a secret that others may read.
func (a *app) noteReadable(what, path string) {
	if info, err := os.Stat(path); err == nil && runtime.GOOS != "windows" && info.Mode().Perm()&0o077 != 0 {
		a.note("others on this computer may read or change the %s %s (mode %03o): allow it to its owner alone, such as with: chmod 600 %s", what, diag.Safe(path), info.Mode().Perm(), diag.Safe(terminal.Argument(path)))
	}
}
