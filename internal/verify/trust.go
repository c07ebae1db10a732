package verify

import (
	"bufio"
	"bytes"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"spanseal/internal/seal"
)

// Trust is whom the reader believes: certificates, and keys that are not to be
// believed any more. The zero Trust believes nobody.
type Trust struct {
	// Now is the reader's clock. It tells whether a certificate has expired
	// since, and whether a date lies in the future; zero: neither is said.
	Now time.Time

	certs   []*x509.Certificate
	revoked map[seal.KeyID]revocation
}

// revocation is one line of a list of revoked keys.
type revocation struct {
	since  time.Time // zero: always
	reason string
}

func (r revocation) String() string {
	said := "revoked"
	if !r.since.IsZero() {
		said += " since " + r.since.Format(time.DateOnly)
	}
	if r.reason != "" {
		said += ": " + r.reason
	}
	return said
}

// RevokedName is the file of a trust folder that lists revoked keys: one a
// line, the key id, then optionally "since" and a day, then words. "#" begins
// a comment.
//
//	5F0C 91D2 07AA 3B1E since 2027-03-01 laptop stolen
const RevokedName = "revoked.txt"

// dayLike is a word that somebody meant for a day, in whatever order.
var dayLike = regexp.MustCompile(`^[0-9]{1,4}[-./][0-9]{1,2}[-./][0-9]{1,4}[.,:]?$`)

// TrustError reports a file or a folder from which trust cannot be taken: the
// place, the cause and the way out. To go on without a list of revoked keys
// would be to trust what somebody warned of.
type TrustError struct{ At, Problem, Mend string }

func (e *TrustError) Error() string { return e.At + ": " + e.Problem }

// unusable is a TrustError about what the system says of a file or a folder.
func unusable(at string, err error) error {
	if path := (*fs.PathError)(nil); errors.As(err, &path) {
		err = path.Err
	}
	return &TrustError{at, err.Error(), "name a certificate (.pem) or a folder of them, and allow reading it"}
}

// maxTrustFile bounds what is read of one file of a trust folder.
const maxTrustFile = 1 << 20

// ReadTrust reads certificates, PEM or DER, from files and from folders: of a
// folder the files named .pem, .crt, .cer and .der, and the list of revoked
// keys. It looks into no folder below. Its errors are of [TrustError].
func ReadTrust(paths ...string) (*Trust, error) {
	t := &Trust{}
	for _, p := range paths {
		info, err := os.Stat(p)
		if err != nil {
			return nil, unusable(p, err)
		}
		if !info.IsDir() {
			if err := t.readFile(p); err != nil {
				return nil, err
			}
			continue
		}
		entries, err := os.ReadDir(p)
		if err != nil {
			return nil, unusable(p, err)
		}
		before := len(t.certs)
		for _, e := range entries {
			switch name := e.Name(); strings.ToLower(filepath.Ext(name)) {
			case ".pem", ".crt", ".cer", ".der":
				err = t.readFile(filepath.Join(p, name))
			default:
				switch lower := strings.ToLower(name); {
				case lower == RevokedName:
					err = t.readRevoked(filepath.Join(p, name))
				case strings.HasPrefix(lower, "revoked"): // passed over, it would leave a key trusted
					err = &TrustError{filepath.Join(p, name), "a list of revoked keys is read from " + RevokedName + " alone",
						"rename it to " + RevokedName + ", or otherwise if it is no such list; without it, a key that it names would be trusted"}
				}
			}
			if err != nil {
				return nil, err
			}
		}
		if len(t.certs) == before {
			return nil, &TrustError{p, "no certificate in this folder", "put the signer's certificate into it, named .pem, .crt, .cer or .der"}
		}
	}
	return t, nil
}

// Add trusts certificates.
func (t *Trust) Add(certs ...*x509.Certificate) {
	for _, c := range certs {
		if !slices.ContainsFunc(t.certs, c.Equal) {
			t.certs = append(t.certs, c)
		}
	}
}

// Certificates are those trusted.
func (t *Trust) Certificates() []*x509.Certificate { return slices.Clone(t.certs) }

// Revoke takes trust from a key, from a day on or, with the zero time, always.
func (t *Trust) Revoke(k seal.KeyID, since time.Time, reason string) {
	if t.revoked == nil {
		t.revoked = map[seal.KeyID]revocation{}
	}
	t.revoked[k] = revocation{since, reason}
}

func readBounded(path string) ([]byte, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() || info.Size() > maxTrustFile {
		return nil, errors.New("too large, or no plain file")
	}
	return os.ReadFile(path)
}

func (t *Trust) readFile(path string) error {
	switch ext := filepath.Ext(path); strings.ToLower(ext) {
	case ".p12", ".pfx":
		beside := strings.TrimSuffix(filepath.Base(path), ext) + ".pem"
		return &TrustError{path, "a key file, which holds a secret", "name the certificate beside it, " + beside}
	}
	if strings.EqualFold(filepath.Base(path), RevokedName) {
		return &TrustError{path, "a list of revoked keys, not a certificate", "name the folder in which it lies with the certificates"}
	}
	data, err := readBounded(path)
	if err != nil {
		return unusable(path, err)
	}
	certs, err := ParseCertificates(data)
	switch {
	case errors.Is(err, errSecret):
		return &TrustError{path, err.Error(), "name the certificate in a file of its own"}
	case err != nil:
		return &TrustError{path, err.Error(), "get the signer's certificate from them, as a file in PEM or DER"}
	}
	t.Add(certs...)
	return nil
}

// errSecret reports a private key among certificates.
var errSecret = errors.New("holds a private key: to trust somebody takes the certificate alone")

// ParseCertificates reads one DER certificate or any number in PEM.
func ParseCertificates(data []byte) ([]*x509.Certificate, error) {
	if c, err := x509.ParseCertificate(data); err == nil {
		return []*x509.Certificate{c}, nil
	}
	var certs []*x509.Certificate
	for {
		var block *pem.Block
		if block, data = pem.Decode(data); block == nil {
			break
		}
		switch {
		case block.Type == "CERTIFICATE":
			c, err := x509.ParseCertificate(block.Bytes)
			if err != nil {
				return nil, fmt.Errorf("a broken certificate: %w", err)
			}
			certs = append(certs, c)
		case strings.Contains(block.Type, "PRIVATE KEY"):
			return nil, errSecret
		}
	}
	if certs == nil {
		return nil, errors.New("holds no certificate, neither PEM nor DER")
	}
	return certs, nil
}

func (t *Trust) readRevoked(path string) error {
	data, err := readBounded(path)
	if err != nil {
		return unusable(path, err)
	}
	lines := bufio.NewScanner(bytes.NewReader(data))
	for n := 1; lines.Scan(); n++ {
		wrong := func(format string, args ...any) error {
			return &TrustError{fmt.Sprintf("%s:%d", path, n), fmt.Sprintf(format, args...),
				"write such as 5F0C 91D2 07AA 3B1E since 2027-03-01 laptop stolen, or the key alone if it is revoked for all time; without the line that key would be trusted"}
		}
		line, _, _ := strings.Cut(strings.TrimPrefix(lines.Text(), "\ufeff"), "#")
		if strings.TrimSpace(line) == "" {
			continue
		}
		id, rest := splitKeyID(line)
		k, err := seal.ParseKeyID(id)
		if err != nil {
			return wrong("%v", err)
		}
		var since time.Time
		words := strings.Fields(rest)
		if len(words) > 0 && strings.EqualFold(words[0], "since") {
			if len(words) == 1 {
				return wrong("a day such as 2027-03-01 is missing after \"since\"")
			}
			if since, err = time.Parse(time.DateOnly, words[1]); err != nil {
				return wrong("%q is not a day such as 2027-03-01", words[1])
			}
			words = words[2:]
		} else if i := slices.IndexFunc(words[:min(len(words), 2)], dayLike.MatchString); i >= 0 {
			// Taken for a reason, it would revoke the key for all time.
			return wrong("%q stands without \"since\"", words[i])
		}
		t.Revoke(k, since, strings.Join(words, " "))
	}
	if lines.Err() != nil {
		return unusable(path, lines.Err())
	}
	return nil
}

// splitKeyID cuts a line after sixteen hex digits, however they are spaced.
func splitKeyID(line string) (id, rest string) {
	digits := 0
	for i, r := range line {
		if r != ' ' && r != '\t' {
			digits++
		}
		if digits == 16 {
			return strings.ReplaceAll(line[:i+1], "\t", " "), line[i+1:]
		}
	}
	return line, ""
}

// judge decides whether the signer, the first of the chain, is to be believed
// for a signature made at the time; proven says that a trusted time-stamp, not
// the signer alone, vouches for the time.
//
// A certificate is trusted when it is one of the trusted ones, when it leads
// to one of them by the rules of RFC 5280 at the time of signing, or when it
// is a successor: each key signed the next while it was valid, from a trusted
// one to the signer's.
func (t *Trust) judge(s *Signer, chain []*x509.Certificate, at time.Time, proven bool) {
	leaf := chain[0]
	if at.Before(leaf.NotBefore) || at.After(leaf.NotAfter) {
		s.Why = fmt.Sprintf("the certificate was not valid on %s", at.UTC().Format(time.DateOnly))
		return
	}
	s.Expired = !t.Now.IsZero() && t.Now.After(leaf.NotAfter)
	path, why := t.path(chain, at)
	if path == nil {
		s.Why = why
		return
	}
	for _, c := range path {
		id := seal.KeyIDOf(c)
		r, ok := t.revoked[id]
		if !ok {
			continue
		}
		// A thief can write any earlier time; only a time-stamp proves it.
		said := fmt.Sprintf("the key %s is %s", id, r)
		switch before := at.Before(r.since); {
		case before && proven:
			why += "; " + said + "; a time-stamp proves that it was signed before"
			continue
		case before:
			said += "; no time-stamp proves that it was signed before"
		}
		s.Why = said
		return
	}
	s.Trusted, s.Why = true, why
}

// ahead is how far the reader's clock may be behind a time of signing before
// that is noted. A day of issue stands for its noon, a token's day has no zone,
// and clocks differ.
const ahead = 24 * time.Hour

// future says that a time of signing has not come yet, or "". It takes nothing
// from the signature: which of the two clocks is wrong is not for us to say.
func (t *Trust) future(at time.Time) string {
	if t.Now.IsZero() || at.Sub(t.Now) <= ahead {
		return ""
	}
	return fmt.Sprintf("signed with a date in the future, %s: this computer's clock says %s", at.UTC().Format(time.DateOnly), t.Now.UTC().Format(time.DateOnly))
}

// path returns the certificates from the signer's to a trusted one, and how
// trust was reached, or nil and why not.
func (t *Trust) path(chain []*x509.Certificate, at time.Time) ([]*x509.Certificate, string) {
	leaf := chain[0]
	if slices.ContainsFunc(t.certs, leaf.Equal) {
		return chain[:1], "the certificate is one of those trusted"
	}
	if len(t.certs) == 0 {
		return nil, "no trusted certificate was given"
	}
	if p := t.succession(chain); p != nil {
		return p, "successor of " + seal.CommonName(p[len(p)-1])
	}
	roots, between := x509.NewCertPool(), x509.NewCertPool()
	for _, c := range t.certs {
		roots.AddCert(c)
	}
	for _, c := range chain[1:] {
		between.AddCert(c)
	}
	paths, err := leaf.Verify(x509.VerifyOptions{Roots: roots, Intermediates: between, CurrentTime: at, KeyUsages: []x509.ExtKeyUsage{x509.ExtKeyUsageAny}})
	if err == nil {
		p := paths[0]
		return p, "issued by " + seal.CommonName(p[len(p)-1])
	}
	return nil, "the certificate is none of those trusted, nor issued or succeeded by one"
}

// succession follows the chain from the signer's certificate to a trusted one
// by [seal.Succeeds].
func (t *Trust) succession(chain []*x509.Certificate) []*x509.Certificate {
	for i, c := range chain {
		if slices.ContainsFunc(t.certs, c.Equal) {
			return chain[:i+1]
		}
		if j := slices.IndexFunc(t.certs, func(p *x509.Certificate) bool { return seal.Succeeds(c, p) }); j >= 0 {
			return append(slices.Clone(chain[:i+1]), t.certs[j])
		}
		if i+1 == len(chain) || !seal.Succeeds(c, chain[i+1]) {
			break
		}
	}
	return nil
}

// keys returns the trusted certificates with the key id.
func (t *Trust) keys(id seal.KeyID) []*x509.Certificate {
	var found []*x509.Certificate
	for _, c := range t.certs {
		if seal.KeyIDOf(c) == id {
			found = append(found, c)
		}
	}
	return found
}
