package cli

import (
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"spanseal/internal/diag"
	"spanseal/internal/seal"
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
		Long: `The signing key is one PKCS#12 file behind a passphrase. A company's own
document-signing certificate in that form serves as it is. The certificate
beside it (.pem) holds no secret: give it to whoever checks your papers.

The passphrase is asked for, or read from --passphrase-file, or taken from the
environment variable ` + passphraseVariable + `. It is never an argument.`,
		Example: `  spanseal key new signer.p12 --name "R. Lindqvist" --organisation "Tidewater Fibre Works"
  spanseal key show signer.p12
  spanseal key rotate signer.p12 signer-2030.p12`,
	}, a.keyNew(), a.keyShow(), a.keyRotate())
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
			if years < 1 || years > 30 {
				return misuse("such as --years 10", "a certificate for %d years is not made: want 1 to 30", years)
			}
			if err := free(args[0]); err != nil {
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
	c.Flags().StringVar(&name, "name", "", "who signs, as it stands on the papers")
	c.Flags().StringVar(&organisation, "organisation", "", "for whom")
	c.Flags().IntVar(&years, "years", keyYears, "how long the certificate is valid")
	c.Flags().StringVar(&passFile, "passphrase-file", "", "a file whose first line is the passphrase")
	return c
}

func (a *app) keyShow() *cobra.Command {
	var passFile string
	c := &cobra.Command{
		Use:   "show FILE",
		Short: "say whose key or certificate a file holds",
		Args:  takes(1, 1, "a key file or a certificate"),
		RunE: func(_ *cobra.Command, args []string) error {
			if data, err := os.ReadFile(args[0]); err == nil {
				if certs, err := verify.ParseCertificates(data); err == nil {
					a.describe(certs[0], "")
					return nil
				}
			}
			signer, err := a.openKey(args[0], passFile)
			if err != nil {
				return err
			}
			a.describe(signer.Certificate(), signer.LabelAlgorithm())
			return nil
		},
	}
	c.Flags().StringVar(&passFile, "passphrase-file", "", "a file whose first line is the passphrase")
	return c
}

func (a *app) keyRotate() *cobra.Command {
	var name, organisation, passFile string
	var years int
	c := &cobra.Command{
		Use:   "rotate OLD NEW",
		Short: "make a successor whose certificate the old key signs",
		Long: `A successor is a new key whose certificate the old key signs. Whoever trusts the
old certificate can follow to the new one. Both files have the same passphrase.`,
		Example: `  spanseal key rotate signer.p12 signer-2030.p12`,
		Args:    takes(2, 2, "the old key file and the new one to write"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := free(args[1]); err != nil {
				return err
			}
			pass, err := a.passphrase(passFile, args[0], false)
			if err != nil {
				return err
			}
			old, err := readKey(args[0], pass)
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
				return refuse("", "no successor: %v", err)
			}
			return a.saveKey(args[1], next, pass)
		},
	}
	c.Flags().StringVar(&name, "name", "", "who signs from now on (default: as before)")
	c.Flags().StringVar(&organisation, "organisation", "", "for whom (default: as before)")
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

// certificatePath is where the certificate of a key lies: beside it.
func certificatePath(key string) string {
	return strings.TrimSuffix(key, filepath.Ext(key)) + ".pem"
}

// free refuses to write a key over anything.
func free(path string) error {
	for _, p := range []string{path, certificatePath(path)} {
		if _, err := os.Lstat(p); err == nil {
			return refuse("choose another name: a key is never overwritten, since papers were signed with it",
				"%s is there already", p)
		}
	}
	if certificatePath(path) == path {
		return misuse("such as signer.p12", "the key file cannot be called %s: the certificate beside it is called so", path)
	}
	return nil
}

// saveKey stores a key and says so.
func (a *app) saveKey(path string, signer *seal.Signer, pass string) error {
	if pass == "" {
		return refuse("choose one; a sentence is easier to remember than a word", "a key needs a passphrase")
	}
	if err := storeKey(path, signer, pass); err != nil {
		return err
	}
	a.describe(signer.Certificate(), signer.LabelAlgorithm())
	fmt.Fprintf(a.out, "\nwrote %s: secret; keep it, with a copy\nwrote %s: give it to whoever checks your papers\n",
		path, certificatePath(path))
	return nil
}

// storeKey writes a key file, readable by its owner alone, and beside it the
// certificate.
func storeKey(path string, signer *seal.Signer, pass string) error {
	data, err := signer.PKCS12(pass)
	if err != nil {
		return err
	}
	if err := writeNew(path, data, 0o600); err != nil {
		return err
	}
	cert := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: signer.Certificate().Raw})
	return writeNew(certificatePath(path), cert, 0o644)
}

// writeNew writes a file that must not be there yet, whole or not at all.
func writeNew(path string, data []byte, mode fs.FileMode) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, mode)
	if errors.Is(err, fs.ErrExist) {
		return refuse("choose another name", "%s is there already", path)
	}
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		err = errors.Join(err, os.Remove(path))
	}
	return err
}

// openKey reads a key file, asking for its passphrase where need be.
func (a *app) openKey(path, passFile string) (*seal.Signer, error) {
	if _, err := os.Stat(path); err != nil {
		return nil, refuse(fmt.Sprintf("make one with `spanseal key new %s --name \"who signs\"`, or name one with --key", path),
			"there is no key at %s", path)
	}
	pass, err := a.passphrase(passFile, path, false)
	if err != nil {
		return nil, err
	}
	return readKey(path, pass)
}

func readKey(path, pass string) (*seal.Signer, error) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, refuse("", "the key cannot be read: %v", err)
	}
	signer, err := seal.OpenPKCS12(data, pass)
	switch {
	case errors.Is(err, seal.ErrPassphrase):
		return nil, refuse("try again; without its passphrase nobody can use a key", "the passphrase does not open %s", path)
	case err != nil:
		return nil, refuse("", "%s: %v", path, err)
	}
	return signer, nil
}

// rsaLabels is the algorithm whose signatures are too long for a 20 mm label
// unless the key is of 2048 bits and all names are short.
const rsaLabels = "PS256"

const fineSymbols = "symbols signed with an RSA key may need more than 20 mm: they grow where a label has room, and a label without it is refused (documents/labels.yaml)"

// describe prints a certificate.
func (a *app) describe(c *x509.Certificate, algorithm string) {
	row := func(label, value string) {
		if value != "" {
			fmt.Fprintf(a.out, "%-13s %s\n", label, diag.Safe(value))
		}
	}
	row("signer", seal.CommonName(c))
	row("organisation", strings.Join(c.Subject.Organization, ", "))
	if c.CheckSignature(c.SignatureAlgorithm, c.RawTBSCertificate, c.Signature) != nil { // not by itself
		row("issued by", c.Issuer.String())
	}
	row("valid", c.NotBefore.Format(time.DateOnly)+" to "+c.NotAfter.Format(time.DateOnly))
	row("key", seal.KeyIDOf(c).String())
	row("labels", algorithm)
	if algorithm == rsaLabels {
		row("", fineSymbols)
	}
	row("fingerprint", seal.FingerprintOf(c))
}
