package verify

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/rsa"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"math/big"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/digitorus/timestamp"
	"software.sslmate.com/src/go-pkcs12"

	"spanseal/internal/outside"
	"spanseal/internal/seal"
)

func year(n int) time.Time { return time.Date(n, 6, 1, 12, 0, 0, 0, time.UTC) }

// signerFor makes a key that is valid from the year for a number of years.
func signerFor(t testing.TB, name string, from, years int) *seal.Signer {
	t.Helper()
	s, err := seal.NewSigner(name, "Tidewater Fibre Works", time.Date(from, 1, 1, 0, 0, 0, 0, time.UTC), years)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func successor(t testing.TB, s *seal.Signer, name string, from, years int) *seal.Signer {
	t.Helper()
	next, err := s.Successor(name, "Tidewater Fibre Works", time.Date(from, 1, 1, 0, 0, 0, 0, time.UTC), years)
	if err != nil {
		t.Fatal(err)
	}
	return next
}

// company is a bought certificate: root, intermediate, signer.
type company struct {
	root, middle *x509.Certificate
	signer       *seal.Signer
}

func certificate(t testing.TB, template, parent *x509.Certificate, key, by crypto.Signer) *x509.Certificate {
	t.Helper()
	if parent == nil {
		parent = template
	}
	der, err := x509.CreateCertificate(rand.Reader, template, parent, key.Public(), by)
	if err != nil {
		t.Fatal(err)
	}
	c, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func p256(t testing.TB) crypto.Signer {
	t.Helper()
	k, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func newCompany(t testing.TB, usage x509.KeyUsage) company { return newCompanyKey(t, usage, p256(t)) }

func newCompanyKey(t testing.TB, usage x509.KeyUsage, leafKey crypto.Signer) company {
	t.Helper()
	template := func(name string, serial int64, years int) *x509.Certificate {
		c := &x509.Certificate{SerialNumber: big.NewInt(serial), Subject: pkix.Name{CommonName: name}, NotBefore: year(2020), NotAfter: year(2020 + years), BasicConstraintsValid: true}
		if serial < 3 {
			c.IsCA, c.KeyUsage = true, x509.KeyUsageCertSign
		} else {
			c.KeyUsage = usage
		}
		return c
	}
	rootKey, middleKey := p256(t), p256(t)
	root := certificate(t, template("Root", 1, 20), nil, rootKey, rootKey)
	middle := certificate(t, template("Documents", 2, 15), root, middleKey, rootKey)
	leaf := certificate(t, template("R. Lindqvist", 3, 10), middle, leafKey, middleKey)
	data, err := pkcs12.Modern2023.WithIterations(1).Encode(leafKey, leaf, []*x509.Certificate{middle, root}, "x")
	if err != nil {
		t.Fatal(err)
	}
	s, err := seal.OpenPKCS12(data, "x")
	if err != nil {
		t.Fatal(err)
	}
	return company{root, middle, s}
}

func TestTrust(t *testing.T) {
	first := signerFor(t, "First", 2020, 5)          // to the end of 2024
	second := successor(t, first, "Second", 2024, 5) // to the end of 2028
	third := successor(t, second, "Third", 2028, 5)
	other := signerFor(t, "Other", 2020, 20)
	firm := newCompany(t, x509.KeyUsageContentCommitment)
	in := func(certs ...*x509.Certificate) *Trust {
		t := &Trust{Now: year(2030)}
		t.Add(certs...)
		return t
	}
	revoking := func(s *seal.Signer, since time.Time, certs ...*x509.Certificate) *Trust {
		t := in(certs...)
		t.Revoke(s.KeyID(), since, "laptop stolen")
		return t
	}
	cert := (*seal.Signer).Certificate
	for name, c := range map[string]struct {
		signer  *seal.Signer
		trust   *Trust
		at      time.Time
		proven  bool
		trusted bool
		expired bool
		why     string
	}{
		"itself":                                        {other, in(cert(other)), year(2026), false, true, false, "one of those trusted"},
		"itself, expired since":                         {first, in(cert(first)), year(2024), false, true, true, "one of those trusted"},
		"itself, after it expired":                      {first, in(cert(first)), year(2026), false, false, false, "not valid on 2026-06-01"},
		"itself, before it began":                       {first, in(cert(first)), year(2019), false, false, false, "not valid on 2019-06-01"},
		"nobody":                                        {other, in(), year(2026), false, false, false, "no trusted certificate was given"},
		"another":                                       {other, in(cert(first)), year(2026), false, false, false, "none of those trusted"},
		"same name, other key":                          {signerFor(t, "Other", 2020, 20), in(cert(other)), year(2026), false, false, false, "none of those trusted"},
		"successor":                                     {second, in(cert(first)), year(2026), false, true, true, "successor of First"},
		"successor's successor":                         {third, in(cert(first)), year(2029), false, true, false, "successor of First"},
		"successor by the middle one":                   {third, in(cert(second)), year(2029), false, true, false, "successor of Second"},
		"predecessor is not trusted":                    {first, in(cert(second)), year(2024), false, false, true, "none of those trusted"},
		"company by its root":                           {firm.signer, in(firm.root), year(2026), false, true, false, "issued by Root"},
		"company by the intermediate":                   {firm.signer, in(firm.middle), year(2026), false, true, false, "issued by Documents"},
		"company, before it began":                      {firm.signer, in(firm.root), year(2019), false, false, false, "not valid"},
		"revoked":                                       {other, revoking(other, time.Time{}, cert(other)), year(2026), false, false, false, "revoked: laptop stolen"},
		"revoked later, own word":                       {other, revoking(other, year(2027), cert(other)), year(2026), false, false, false, "revoked since 2027-06-01: laptop stolen; no time-stamp proves that it was signed before"},
		"revoked later, time proven":                    {other, revoking(other, year(2027), cert(other)), year(2026), true, true, false, "one of those trusted; the key " + other.KeyID().String() + " is revoked since 2027-06-01: laptop stolen; a time-stamp proves that it was signed before"},
		"revoked before, time proven":                   {other, revoking(other, year(2025), cert(other)), year(2026), true, false, false, "revoked since 2025-06-01: laptop stolen"},
		"revoked before, own word":                      {other, revoking(other, year(2025), cert(other)), year(2026), false, false, false, "revoked since 2025-06-01: laptop stolen"},
		"predecessor revoked later, time proven":        {second, revoking(first, year(2027), cert(first)), year(2026), true, true, true, "successor of First; the key " + first.KeyID().String() + " is revoked since 2027-06-01: laptop stolen; a time-stamp proves that it was signed before"},
		"predecessor revoked":                           {second, revoking(first, time.Time{}, cert(first)), year(2026), false, false, true, "revoked"},
		"predecessor revoked, successor trusted itself": {second, revoking(first, time.Time{}, cert(first), cert(second)), year(2026), false, true, true, "one of those trusted"},
		"middle of a succession revoked":                {third, revoking(second, time.Time{}, cert(first)), year(2029), false, false, false, "revoked"},
	} {
		t.Run(name, func(t *testing.T) {
			s := signer(c.signer.Certificate())
			var existed time.Time
			if c.proven {
				existed = c.at
			}
			c.trust.judge(s, c.signer.Chain(), c.at, existed)
			if s.Trusted != c.trusted || !strings.Contains(s.Why, c.why) || s.Expired != c.expired {
				t.Errorf("trusted %v, expired %v, %q; want %v, %v, %q", s.Trusted, s.Expired, s.Why, c.trusted, c.expired, c.why)
			}
		})
	}
}

// TestReaders has a PDF reader's library, and ours, check papers signed with
// every kind of key.
func TestReaders(t *testing.T) {
	pdfsig := outside.Program(t, "pdfsig")
	own := newSigner(t, "R. Lindqvist")
	next, err := own.Successor("R. Lindqvist", "Tidewater Fibre Works", issued.AddDate(0, 0, -1), 3)
	if err != nil {
		t.Fatal(err)
	}
	rsaKey, err := rsa.GenerateKey(rand.Reader, 2048)
	if err != nil {
		t.Fatal(err)
	}
	p384, err := ecdsa.GenerateKey(elliptic.P384(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	both := x509.KeyUsageDigitalSignature | x509.KeyUsageContentCommitment
	for name, c := range map[string]struct {
		signer *seal.Signer
		trust  *x509.Certificate
	}{
		"own":           {own, own.Certificate()},
		"successor":     {next, own.Certificate()},
		"company P-256": companyPair(newCompany(t, both)),
		"company P-384": companyPair(newCompanyKey(t, both, p384)),
		"company RSA":   companyPair(newCompanyKey(t, both, rsaKey)),
	} {
		t.Run(name, func(t *testing.T) {
			data := maker{signer: c.signer}.paper(t, "L-1")
			trust := &Trust{}
			trust.Add(c.trust)
			if r := PDF("a.pdf", data, trust); r.Conclusion() != Holds {
				t.Errorf("%s: %+v", r.Conclusion(), r.Items[0])
			}
			path := filepath.Join(t.TempDir(), "a.pdf")
			if err := os.WriteFile(path, data, 0o600); err != nil {
				t.Fatal(err)
			}
			out, err := exec.Command(pdfsig, path).CombinedOutput()
			if err != nil || !strings.Contains(string(out), "Signature is Valid.") || !strings.Contains(string(out), "Total document signed") {
				t.Errorf("pdfsig: %v\n%s", err, out)
			}
		})
	}
}

func companyPair(c company) (p struct {
	signer *seal.Signer
	trust  *x509.Certificate
}) {
	p.signer, p.trust = c.signer, c.root
	return p
}

// TestStampedPaper: a trusted authority's time-stamp proves the time of
// signing, an unknown one's is told and not believed.
func TestStampedPaper(t *testing.T) {
	me := newSigner(t, "R. Lindqvist")
	key := p256(t)
	root := certificate(t, &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "Clock root"}, NotBefore: year(2020), NotAfter: year(2040),
		KeyUsage: x509.KeyUsageCertSign, BasicConstraintsValid: true, IsCA: true}, nil, key, key)
	clock := certificate(t, &x509.Certificate{
		SerialNumber: big.NewInt(2), Subject: pkix.Name{CommonName: "Harbour clock"}, NotBefore: year(2020), NotAfter: year(2040),
		// extKeyUsage: critical, timeStamping (RFC 3161, 2.3).
		ExtraExtensions: []pkix.Extension{{Id: []int{2, 5, 29, 37}, Critical: true, Value: []byte{0x30, 0x0a, 0x06, 0x08, 0x2b, 6, 1, 5, 5, 7, 3, 8}}},
	}, root, key, key)
	at := issued.Add(3 * time.Second)
	stamp := func(cms []byte) []byte {
		stamped, err := seal.Stamp(cms, func(request []byte) ([]byte, error) {
			r, err := timestamp.ParseRequest(request)
			if err != nil {
				return nil, err
			}
			return (&timestamp.Timestamp{HashAlgorithm: r.HashAlgorithm, HashedMessage: r.HashedMessage, Time: at, Nonce: r.Nonce,
				Policy: []int{1, 2, 3}, Certificates: []*x509.Certificate{root}, AddTSACertificate: true}).CreateResponseWithOpts(clock, key, crypto.SHA256)
		})
		if err != nil {
			t.Fatal(err)
		}
		return stamped
	}
	paper := maker{signer: me, stamp: stamp}.paper(t, "L-1")

	both := trusting(me)
	both.AddTime(root)
	r := PDF("a.pdf", paper, both)
	s := r.Items[0].Signer
	if r.Conclusion() != Holds || s.Stamped != "Harbour clock" || !s.Signed.Equal(at) {
		t.Errorf("%s, stamped by %q at %v: %+v", r.Conclusion(), s.Stamped, s.Signed, r.Items[0])
	}
	r = PDF("a.pdf", paper, trusting(me))
	s = r.Items[0].Signer
	if r.Conclusion() != Holds || s.Stamped != "" || !strings.Contains(strings.Join(r.Items[0].Notes, "\n"), "its authority is not among those trusted") {
		t.Errorf("%s, stamped by %q: %+v", r.Conclusion(), s.Stamped, r.Items[0])
	}
	at = issued.AddDate(0, 0, 40)
	r = PDF("a.pdf", maker{signer: me, stamp: stamp}.paper(t, "L-1"), both)
	if notes := strings.Join(r.Items[0].Notes, "\n"); !strings.Contains(notes, "time-stamped 40 days later") {
		t.Errorf("back-dated: notes %q", notes)
	}
	at = issued.AddDate(0, 0, -40)
	r = PDF("a.pdf", maker{signer: me, stamp: stamp}.paper(t, "L-1"), both)
	if notes := strings.Join(r.Items[0].Notes, "\n"); !strings.Contains(notes, "time-stamped 40 days before that") {
		t.Errorf("postdated: notes %q", notes)
	}
	// The key is stolen later: what was provably signed before stays good.
	both.Revoke(me.KeyID(), issued.AddDate(0, 1, 0), "laptop stolen")
	const since = "is revoked since 2026-12-25: laptop stolen; "
	r = PDF("a.pdf", paper, both)
	if s := r.Items[0].Signer; r.Conclusion() != Holds || !strings.Contains(s.Why, since+"a time-stamp proves that it was signed before") {
		t.Errorf("revoked a month later: %s, %q", r.Conclusion(), s.Why)
	}
	r = PDF("a.pdf", maker{signer: me}.paper(t, "L-1"), both)
	if s := r.Items[0].Signer; r.Conclusion() != Untrusted || !strings.Contains(s.Why, since+"no time-stamp proves that it was signed before") {
		t.Errorf("revoked a month later, no time-stamp: %s, %q", r.Conclusion(), s.Why)
	}
	both.Revoke(me.KeyID(), issued.AddDate(0, -1, 0), "laptop stolen")
	r = PDF("a.pdf", paper, both)
	if s := r.Items[0].Signer; r.Conclusion() != Untrusted || !strings.HasSuffix(s.Why, "is revoked since 2026-10-25: laptop stolen") {
		t.Errorf("revoked a month before: %s, %q", r.Conclusion(), s.Why)
	}
}

// TestSuccessionRefuses: what a holder of some certificate must not be able to
// do for another key.
func TestSuccessionRefuses(t *testing.T) {
	old := signerFor(t, "Old", 2020, 5)
	firm := newCompany(t, x509.KeyUsageDigitalSignature|x509.KeyUsageContentCommitment)
	late := func() *x509.Certificate { // signed by the old key, but after it expired
		k := p256(t)
		template := &x509.Certificate{SerialNumber: big.NewInt(9), Subject: pkix.Name{CommonName: "Late"}, NotBefore: year(2026), NotAfter: year(2030),
			KeyUsage: old.Certificate().KeyUsage, BasicConstraintsValid: true, IsCA: true, AuthorityKeyId: old.Certificate().SubjectKeyId}
		return certificate(t, template, old.Certificate(), k, keyOf(t, old))
	}()
	// An end entity of a company signs another certificate.
	byLeaf := func() *x509.Certificate {
		k := p256(t)
		template := &x509.Certificate{SerialNumber: big.NewInt(9), Subject: pkix.Name{CommonName: "Sub"}, NotBefore: year(2026), NotAfter: year(2029),
			KeyUsage: old.Certificate().KeyUsage, BasicConstraintsValid: true, IsCA: true}
		return certificate(t, template, firm.signer.Certificate(), k, keyOf(t, firm.signer))
	}()
	for name, c := range map[string]struct {
		chain []*x509.Certificate
		trust *x509.Certificate
		at    time.Time
	}{
		"begun after the old key expired":  {[]*x509.Certificate{late, old.Certificate()}, old.Certificate(), year(2027)},
		"signed by a company's end entity": {[]*x509.Certificate{byLeaf, firm.signer.Certificate(), firm.middle, firm.root}, firm.root, year(2027)},
		"the same, end entity trusted":     {[]*x509.Certificate{byLeaf, firm.signer.Certificate()}, firm.signer.Certificate(), year(2027)},
	} {
		trust := &Trust{}
		trust.Add(c.trust)
		s := signer(c.chain[0])
		trust.judge(s, c.chain, c.at, time.Time{})
		if s.Trusted {
			t.Errorf("%s: trusted, %s", name, s.Why)
		}
	}
}

// keyOf takes the private key out of a signer by way of its key file.
func keyOf(t testing.TB, s *seal.Signer) crypto.Signer {
	t.Helper()
	data, err := s.PKCS12("x", 1)
	if err != nil {
		t.Fatal(err)
	}
	key, _, _, err := pkcs12.DecodeChain(data, "x")
	if err != nil {
		t.Fatal(err)
	}
	return key.(crypto.Signer)
}

func TestReadTrust(t *testing.T) {
	a, b := signerFor(t, "A", 2020, 20), signerFor(t, "B", 2020, 20)
	block := func(s *seal.Signer) []byte {
		return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: s.Certificate().Raw})
	}
	dir := t.TempDir()
	write := func(name string, data []byte) string {
		p := filepath.Join(dir, name)
		if err := os.WriteFile(p, data, 0o600); err != nil {
			t.Fatal(err)
		}
		return p
	}
	both := write("both.pem", append(block(a), block(b)...))
	der := write("A.DER", a.Certificate().Raw)
	write("README.txt", []byte("certificates of our contractors"))
	write("revoked.txt", []byte("\ufeff# stolen or lost\n\n"+b.KeyID().String()+" since 2027-03-01 laptop stolen\n"+strings.ReplaceAll(a.KeyID().String(), " ", "")+"\n"))

	trust, err := ReadTrust(year(2027), []string{dir}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if len(trust.Certificates()) != 2 {
		t.Errorf("%d certificates", len(trust.Certificates()))
	}
	if r := trust.revoked[b.KeyID()]; r.since.Format(time.DateOnly) != "2027-03-01" || r.reason != "laptop stolen" {
		t.Errorf("revocation %+v", r)
	}
	if r, ok := trust.revoked[a.KeyID()]; !ok || !r.since.IsZero() {
		t.Errorf("revocation %+v", r)
	}
	if trust, err := ReadTrust(year(2027), []string{der, both}, nil); err != nil || len(trust.Certificates()) != 2 {
		t.Errorf("%v", err)
	}
	if trust, err := ReadTrust(year(2027), nil, nil); err != nil || len(trust.Certificates()) != 0 {
		t.Errorf("%v", err)
	}

	write("revoked.txt", []byte(a.KeyID().String()+" Since 2027-03-01\n"+b.KeyID().String()+" laptop stolen on 2027-03-02\n"))
	if trust, err = ReadTrust(year(2027), []string{dir}, nil); err != nil {
		t.Fatal(err)
	}
	if r := trust.revoked[a.KeyID()]; r.since.Format(time.DateOnly) != "2027-03-01" || r.reason != "" {
		t.Errorf("revocation %+v", r)
	}
	if r := trust.revoked[b.KeyID()]; !r.since.IsZero() || r.reason != "laptop stolen on 2027-03-02" {
		t.Errorf("revocation %+v", r)
	}

	for name, want := range map[string]string{"Revoked.TXT": "", "revoked.txt.txt": "is read from revoked.txt alone", "revoked.csv": "is read from revoked.txt alone"} {
		other := t.TempDir()
		if err := errors.Join(os.WriteFile(filepath.Join(other, "a.pem"), block(a), 0o600), os.WriteFile(filepath.Join(other, name), []byte(a.KeyID().String()), 0o600)); err != nil {
			t.Fatal(err)
		}
		trust, err := ReadTrust(year(2027), []string{other}, nil)
		if want == "" && (err != nil || len(trust.revoked) != 1) || want != "" && (err == nil || !strings.Contains(err.Error(), want)) {
			t.Errorf("%s: %v", name, err)
		}
		if wrong := (*TrustError)(nil); want != "" && (!errors.As(err, &wrong) || !strings.Contains(wrong.Fix, "rename it to revoked.txt")) {
			t.Errorf("%s: %+v", name, wrong)
		}
	}

	empty := t.TempDir()
	for name, c := range map[string]struct{ path, want, fix string }{
		"missing":      {filepath.Join(dir, "nobody.pem"), "no such file", "name a certificate"},
		"empty folder": {empty, "no certificate of a signer in this folder", "put the signer's certificate into it"},
		"no PEM":       {write("x1.pem", []byte("hello")), "holds no certificate", "get the signer's certificate from them"},
		"broken PEM":   {write("x2.pem", pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: []byte{1}})), "a broken certificate", "get the signer's certificate from them"},
		"private key":  {write("x3.pem", append(block(a), pem.EncodeToMemory(&pem.Block{Type: "EC PRIVATE KEY", Bytes: []byte{1}})...)), "private key", "in a file of its own"},
		"huge":         {write("x4.pem", make([]byte, maxTrustFile+1)), "too large", "name a certificate"},
		"list":         {filepath.Join(dir, "revoked.txt"), "a list of revoked keys", "name the folder"},
		"key file":     {write("x5.p12", []byte("hello")), "a key file", "x5.pem"},
	} {
		_, err := ReadTrust(year(2027), []string{c.path}, nil)
		wrong := (*TrustError)(nil)
		if !errors.As(err, &wrong) || !strings.Contains(wrong.Problem, c.want) || !strings.Contains(wrong.Fix, c.fix) || wrong.At != c.path {
			t.Errorf("%s: %+v, want it to say %q, %q", name, wrong, c.want, c.fix)
		}
	}
	for _, name := range []string{"x1.pem", "x2.pem", "x3.pem", "x4.pem"} {
		if err := os.Remove(filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	for line, want := range map[string]string{
		"5F0C 91D2":                                      "revoked.txt:2: ",
		a.KeyID().String() + " since":                    "a day such as",
		a.KeyID().String() + " since May 2027":           "\"May\" is not a day",
		a.KeyID().String() + " 2027-03-01 laptop stolen": `revoked.txt:2: "2027-03-01" stands without "since"`,
		a.KeyID().String() + " from 1.3.2027":            `"1.3.2027" stands without "since"`,
		"not a key at all":                               "is not a key id",
	} {
		write("revoked.txt", []byte("# first\n"+line+"\n"))
		_, err := ReadTrust(year(2027), []string{dir}, nil)
		if wrong := (*TrustError)(nil); !errors.As(err, &wrong) || !strings.Contains(err.Error(), want) || !strings.Contains(wrong.Fix, "such as 5F0C 91D2 07AA 3B1E since 2027-03-01") {
			t.Errorf("%q: %v, want it to say %q", line, err, want)
		}
	}
}
