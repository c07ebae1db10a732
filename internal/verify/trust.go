package verify

import (
	"bufio"
	"bytes"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"

	"spanseal/internal/plain"
	"spanseal/internal/seal"
)

// Trust is whom the reader believes: certificates of those who sign papers,
// certificates of those who say what time it was, and keys that are not to be
// believed any more. The two roles are apart: who signs papers vouches for no
// time, and who vouches for times signs no papers. The zero Trust believes
// nobody.
type Trust struct {
	// Now is the reader's clock. It tells whether a certificate has expired
	// since, and whether a date lies in the future; zero: neither is said.
	Now time.Time
	// Unread names what lies in the folders of trust and was not made use of,
	// each one sentence that begins with the path.
	Unread []string

	certs   []*x509.Certificate // of signers, and of authorities that certify them
	clocks  []*x509.Certificate // of time-stamp authorities, and of those that certify them
	revoked map[seal.KeyID]revocation
	lists   []*revocationList
	weak    map[string]revocation // by the name of an algorithm, see algorithm
	// existed is when trusted authorities saw all that is looked at, by renewed
	// time-stamps; zero: they did not.
	existed time.Time
}

// revocation is one line of a list of revoked keys, or an entry of a
// certificate revocation list.
type revocation struct {
	since  time.Time // of a key that others may have; zero: always
	until  time.Time // of a key that was retired, its last day; zero: since counts
	end    time.Time // of that day, wherever on earth it ends
	reason string
}

func (r revocation) String() string {
	said := "revoked"
	switch {
	case !r.until.IsZero():
		said = "retired, and good until " + r.until.Format(time.DateOnly)
	case !r.since.IsZero():
		said += " since " + r.since.Format(time.DateOnly)
	}
	if r.reason != "" {
		said += ": " + r.reason
	}
	return said
}

// RevokedName is the file of a trust folder that lists keys that are not to be
// believed any more: one a line, the key id, then optionally "since" or "until"
// and a day, then words. "#" begins a comment.
//
//	5F0C 91D2 07AA 3B1E since 2027-03-01 laptop stolen
//	77B0 0C4E 9A1D 52F3 until 2030-06-30 left the company
//
// Others may have a key that is revoked since a day, and can write any date:
// what it signed counts only if a time-stamp proves that this was before. A key
// that is good until a day was given up and is in nobody else's hands: what it
// says it signed up to then counts, and so do its successors.
//
// Instead of a key the name of an algorithm may stand there, P-256, P-384 or such
// as RSA-2048: from the day since which such keys can be broken, all of them are
// in anybody's hands.
//
//	P-256 since 2045-01-01 broken by computation
const RevokedName = "revoked.txt"

// algorithmLike is the name of an algorithm in a list of revoked keys.
var algorithmLike = regexp.MustCompile(`^(?i:P-(256|384|521)|RSA-[0-9]{3,5})$`)

// dayLike is a word that somebody meant for a day, in whatever order.
var dayLike = regexp.MustCompile(`^[0-9]{1,4}[-./][0-9]{1,2}[-./][0-9]{1,4}[.,:]?$`)

// TrustError reports a file or a folder from which trust cannot be taken: the
// place, the cause and the way out. To go on without a list of revoked keys
// would be to trust what somebody warned of.
type TrustError struct{ At, Problem, Fix string }

func (e *TrustError) Error() string { return e.At + ": " + e.Problem }

// unusable is a TrustError about what the system says of a file or a folder.
func unusable(at string, err error) error {
	return &TrustError{at, plain.Cause(err).Error(), "name a certificate (.pem) or a folder of them, and allow reading it"}
}

// maxTrustFile bounds what is read of one file of a trust folder.
const maxTrustFile = 1 << 20

// ReadTrust reads whom to believe today: certificates of those who sign papers,
// and of time-stamp authorities, or of those that certify the one or the other.
// They are PEM or DER, in files or in folders: of a folder the files named .pem,
// .crt, .cer and .der, certificate revocation lists (.crl), and the list of
// revoked keys. Both kinds of lists count for both roles. It looks into no
// folder below, and tells in Unread what it makes no use of. Its errors are of
// [TrustError].
func ReadTrust(today time.Time, papers, times []string) (*Trust, error) {
	t := &Trust{Now: today}
	if err := t.read(signers, papers); err != nil {
		return nil, err
	}
	if err := t.read(clocks, times); err != nil {
		return nil, err
	}
	return t, t.checkLists()
}

// role is what a certificate is trusted for.
type role struct {
	whose string // in messages
	// other says why a certificate is of the other role, or "".
	other func(c *x509.Certificate) string
	certs func(t *Trust) *[]*x509.Certificate
}

var (
	signers = &role{"signer", func(c *x509.Certificate) string {
		if seal.IsAuthority(c) {
			return "is for time-stamps and cannot sign documents; to trust its times, name it with --trust-time"
		}
		return ""
	}, func(t *Trust) *[]*x509.Certificate { return &t.certs }}
	clocks = &role{"time-stamp authority", func(c *x509.Certificate) string {
		if signsPapers(c) {
			return "is for signing documents and cannot vouch for a time; to trust what it signs, name it with --trust"
		}
		return ""
	}, func(t *Trust) *[]*x509.Certificate { return &t.clocks }}
)

// signsPapers reports whether a certificate is that of a signer, and not of
// somebody who certifies others: an end entity's, or one of those that could
// certify their own successors.
func signsPapers(c *x509.Certificate) bool {
	return seal.MaySign(c) == nil && (!c.IsCA || seal.OwnMade(c))
}

func (t *Trust) read(as *role, paths []string) error {
	certs := as.certs(t)
	for _, p := range paths {
		info, err := os.Stat(p)
		if err != nil {
			return unusable(p, err)
		}
		if !info.IsDir() {
			if err := t.readFile(as, p); err != nil {
				return err
			}
			continue
		}
		entries, err := os.ReadDir(p)
		if err != nil {
			return unusable(p, err)
		}
		before := len(*certs)
		for _, e := range entries {
			if err := t.readEntry(as, filepath.Join(p, e.Name())); err != nil {
				return err
			}
		}
		if len(*certs) == before {
			return &TrustError{p, "no certificate of a " + as.whose + " in this folder", "put the " + as.whose + "'s certificate into it, named .pem, .crt, .cer or .der"}
		}
	}
	return nil
}

// readEntry reads what lies in a folder of trust.
func (t *Trust) readEntry(as *role, path string) error {
	name := strings.ToLower(filepath.Base(path))
	unread := func(format string, args ...any) error {
		t.Unread = append(t.Unread, path+" "+fmt.Sprintf(format, args...))
		return nil
	}
	switch info, err := os.Stat(path); {
	case err != nil:
		return unusable(path, err)
	case info.IsDir():
		return unread("is a folder, and was not looked into")
	}
	switch ext := filepath.Ext(name); {
	case ext == ".pem", ext == ".crt", ext == ".cer", ext == ".der":
		data, err := readBounded(path, maxTrustFile)
		if err != nil {
			return unusable(path, err)
		}
		certs, err := ParseCertificates(data)
		if err != nil {
			return unfit(as, path, err)
		}
		for _, c := range certs {
			if why := as.other(c); why != "" {
				unread("holds a certificate, %s, that %s", seal.CommonName(c), why)
				continue
			}
			t.add(as, c)
		}
		return nil
	case ext == ".crl":
		return t.readList(path)
	case name == RevokedName:
		return t.readRevoked(path)
	case strings.HasPrefix(name, "revoked"): // passed over, it would leave a key trusted
		return &TrustError{path, "a list of revoked keys is read from " + RevokedName + " alone",
			"rename it to " + RevokedName + ", or otherwise if it is no such list; without it, a key that it names would be trusted"}
	case name == ".ds_store", name == "thumbs.db", name == "desktop.ini", strings.HasPrefix(name, "._"):
		return nil // nobody put it there; nor would it be read under another name
	}
	return unread("was not read: it is named neither as a certificate (.pem, .crt, .cer, .der) nor as a list (.crl, %s)", RevokedName)
}

// Add trusts certificates of signers, or of authorities that certify them.
func (t *Trust) Add(certs ...*x509.Certificate) { t.add(signers, certs...) }

// AddTime trusts certificates of time-stamp authorities, or of those that
// certify them.
func (t *Trust) AddTime(certs ...*x509.Certificate) { t.add(clocks, certs...) }

func (t *Trust) add(as *role, certs ...*x509.Certificate) {
	list := as.certs(t)
	for _, c := range certs {
		if !slices.ContainsFunc(*list, c.Equal) {
			*list = append(*list, c)
		}
	}
}

// Revoked are the keys of the list of revoked keys, by their ids.
func (t *Trust) Revoked() []seal.RevokedKey {
	var keys []seal.RevokedKey
	for id, r := range t.revoked {
		k := seal.RevokedKey{KeyID: id, Reason: r.reason}
		if !r.until.IsZero() {
			k.Until = r.until.Format(time.DateOnly)
		}
		keys = append(keys, k)
	}
	slices.SortFunc(keys, func(a, b seal.RevokedKey) int { return bytes.Compare(a.KeyID[:], b.KeyID[:]) })
	return keys
}

// Certificates are those trusted to sign papers.
func (t *Trust) Certificates() []*x509.Certificate { return slices.Clone(t.certs) }

// Revoke takes trust from a key that others may have, from a day on or, with
// the zero time, always.
func (t *Trust) Revoke(k seal.KeyID, since time.Time, reason string) {
	t.revoke(k, revocation{since: since, reason: reason})
}

// Retire takes trust from a key for what it signs after a day, its last.
func (t *Trust) Retire(k seal.KeyID, until time.Time, reason string) {
	t.revoke(k, revocation{until: until, end: lastHour(until), reason: reason})
}

// lastHour is when a day has ended everywhere, UTC−12 included: a day has no zone.
func lastHour(day time.Time) time.Time { return day.AddDate(0, 0, 1).Add(12 * time.Hour) }

func (t *Trust) revoke(k seal.KeyID, r revocation) {
	if t.revoked == nil {
		t.revoked = map[seal.KeyID]revocation{}
	}
	t.revoked[k] = r
}

func readBounded(path string, most int64) ([]byte, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() || info.Size() > most {
		return nil, errors.New("too large, or no plain file")
	}
	return os.ReadFile(path)
}

// readFile reads a certificate that somebody named.
func (t *Trust) readFile(as *role, path string) error {
	switch ext := filepath.Ext(path); strings.ToLower(ext) {
	case ".p12", ".pfx":
		beside := strings.TrimSuffix(filepath.Base(path), ext) + ".pem"
		return &TrustError{path, "a key file, which holds a secret", "name the certificate beside it, " + beside}
	}
	if strings.EqualFold(filepath.Base(path), RevokedName) {
		return &TrustError{path, "a list of revoked keys, not a certificate", "name the folder that contains it and the certificates"}
	}
	if strings.EqualFold(filepath.Ext(path), ".crl") {
		return t.readList(path)
	}
	data, err := readBounded(path, maxTrustFile)
	if err != nil {
		return unusable(path, err)
	}
	certs, err := ParseCertificates(data)
	if err != nil {
		return unfit(as, path, err)
	}
	for _, c := range certs {
		if why := as.other(c); why != "" {
			cause, fix, _ := strings.Cut(why, "; ")
			return &TrustError{path, fmt.Sprintf("the certificate of %s %s", seal.CommonName(c), cause), fix}
		}
	}
	t.add(as, certs...)
	return nil
}

// unfit is a TrustError about what a file holds instead of a certificate.
func unfit(as *role, path string, err error) error {
	if errors.Is(err, errSecret) {
		return &TrustError{path, err.Error(), "name the certificate in a file of its own"}
	}
	return &TrustError{path, err.Error(), "get the " + as.whose + "'s certificate from them, as a file in PEM or DER"}
}

// errSecret reports a private key among certificates.
var errSecret = errors.New("holds a private key: to trust somebody, only the certificate is needed")

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
	data, err := readBounded(path, maxTrustFile)
	if err != nil {
		return unusable(path, err)
	}
	lines := bufio.NewScanner(bytes.NewReader(data))
	for n := 1; lines.Scan(); n++ {
		wrong := func(format string, args ...any) error {
			return &TrustError{fmt.Sprintf("%s:%d", path, n), fmt.Sprintf(format, args...),
				"write such as 5F0C 91D2 07AA 3B1E since 2027-03-01 laptop stolen, \"until\" for a key that was retired, or the key alone if it is revoked for all time; without the line that key would be trusted"}
		}
		line, _, _ := strings.Cut(strings.TrimPrefix(lines.Text(), "\ufeff"), "#")
		if strings.TrimSpace(line) == "" {
			continue
		}
		name, rest, _ := strings.Cut(strings.TrimSpace(line), " ")
		weak := algorithmLike.MatchString(name)
		var k seal.KeyID
		if !weak {
			name, rest = splitKeyID(line)
			if k, err = seal.ParseKeyID(name); err != nil {
				return wrong("%v", err)
			}
		}
		var r revocation
		words := strings.Fields(rest)
		if len(words) > 0 && (strings.EqualFold(words[0], "since") || strings.EqualFold(words[0], "until")) {
			word := strings.ToLower(words[0])
			if len(words) == 1 {
				return wrong("a day such as 2027-03-01 is missing after %q", word)
			}
			day, err := time.Parse(time.DateOnly, words[1])
			if err != nil {
				return wrong("%q is not a day such as 2027-03-01", words[1])
			}
			if word == "since" {
				r.since = day
			} else {
				r.until, r.end = day, lastHour(day)
			}
			words = words[2:]
		} else if i := slices.IndexFunc(words[:min(len(words), 2)], dayLike.MatchString); i >= 0 {
			// Taken for a reason, it would revoke the key for all time.
			return wrong("%q stands without \"since\" or \"until\"", words[i])
		}
		r.reason = strings.Join(words, " ")
		if weak {
			if r.since.IsZero() {
				return wrong("%q stands without the day since which such keys are broken", name)
			}
			if t.weak == nil {
				t.weak = map[string]revocation{}
			}
			t.weak[strings.ToUpper(name)] = r
			continue
		}
		if _, twice := t.revoked[k]; twice && t.revoked[k] != r {
			return wrong("the key %s is listed twice, in different words", k)
		}
		t.revoke(k, r)
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
