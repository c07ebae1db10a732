// Package keyfile reads signing keys from files: PKCS#12 files (RFC 7292) behind a
// passphrase, and the certificates that lie beside them.
//
// A key file is bounded before it is read (1 MiB), is a regular file, and is never
// written here. Nobody is asked for the passphrase of a file that cannot be a key.
package keyfile

import (
	"bytes"
	"crypto/x509"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"unicode/utf8"

	"spanseal/internal/diag"
	"spanseal/internal/plain"
	"spanseal/internal/seal"
	"spanseal/internal/verify"
)

// Refusal is why a file gives no key, and the way out.
type Refusal struct{ What, Fix string }

func (r *Refusal) Error() string { return r.What }

func refuse(fix, format string, args ...any) error {
	return &Refusal{fmt.Sprintf(format, args...), fix}
}

// Prompt finds the passphrase of the key file at a path.
type Prompt func(path string) (string, error)

// CertificatePath is where the certificate of a key lies: beside it.
func CertificatePath(key string) string {
	return strings.TrimSuffix(key, filepath.Ext(key)) + ".pem"
}

// largestKey bounds what is read of a key file: a key and a chain of
// certificates are a few kilobytes.
const largestKey = 1 << 20

// Read reads the bytes of a key file or a certificate; absent is the way out if there
// is none.
func Read(path, absent string) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, refuse(absent, "there is no key at %s", diag.Safe(path))
	case err == nil && info.IsDir():
		return nil, refuse("name the key file itself, such as signer.p12", "%s is a folder", diag.Safe(path))
	case err == nil && (!info.Mode().IsRegular() || info.Size() > largestKey):
		return nil, refuse(nameKey, "%s: not a key file: too large, or no plain file", diag.Safe(path))
	}
	var data []byte
	if err == nil {
		data, err = os.ReadFile(path)
	}
	if err != nil {
		return nil, refuse("allow reading it, or name another", "the key %s cannot be read: %v", diag.Safe(path), plain.Cause(err))
	}
	return data, nil
}

const nameKey = "name a key file as `spanseal key new` makes it, or a company's own (.p12, .pfx)"

// Unlock opens what the key file at a path holds, and returns its passphrase too.
func Unlock(path string, data []byte, ask Prompt) (*seal.Signer, string, error) {
	if _, err := verify.ParseCertificates(data); err == nil {
		return nil, "", refuse("name the key file that it belongs to, such as signer.p12", "%s: this is a certificate, and only a key can sign", diag.Safe(path))
	}
	if !bytes.HasPrefix(data, []byte{0x30}) { // PKCS#12 is a SEQUENCE in DER or BER (RFC 7292, 4)
		return nil, "", refuse(nameKey, "%s: not a key file (PKCS#12)", diag.Safe(path))
	}
	pass, err := ask(path)
	if err != nil {
		return nil, "", err
	}
	signer, err := seal.OpenPKCS12(data, pass)
	switch {
	case errors.Is(err, seal.ErrPassphrase):
		return nil, "", refuse("try again; without its passphrase nobody can use a key", "the passphrase does not open %s", diag.Safe(path))
	case err != nil:
		return nil, "", refuse(nameKey, "%s: %v", diag.Safe(path), err)
	}
	return signer, pass, nil
}

// Certificate returns the certificate that a file holds, or that of the key in it, which
// is returned too with its passphrase.
func Certificate(path string, data []byte, ask Prompt) (*x509.Certificate, *seal.Signer, string, error) {
	if certs, err := verify.ParseCertificates(data); err == nil {
		return certs[0], nil, "", nil
	}
	signer, pass, err := Unlock(path, data, ask)
	if err != nil {
		return nil, nil, "", err
	}
	return signer.Certificate(), signer, pass, nil
}

// leastPassphrase is the fewest characters that a secret may have that somebody
// chose to remember (NIST SP 800-63B, 5.1.1.2, recalled).
const leastPassphrase = 8

// Short reports that a passphrase is soon guessed, and how many characters it has.
func Short(pass string) (characters int, short bool) {
	n := utf8.RuneCountInString(pass)
	return n, n < leastPassphrase
}
