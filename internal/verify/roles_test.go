package verify

import (
	"crypto"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/asn1"
	"encoding/pem"
	"errors"
	"math/big"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/digitorus/timestamp"
	"software.sslmate.com/src/go-pkcs12"

	"spanseal/internal/outside"
	"spanseal/internal/seal"
)

// timeStamping is extKeyUsage: critical, timeStamping (RFC 3161, 2.3).
var timeStamping = pkix.Extension{Id: []int{2, 5, 29, 37}, Critical: true, Value: []byte{0x30, 0x0a, 0x06, 0x08, 0x2b, 6, 1, 5, 5, 7, 3, 8}}

// held is a certificate with its key.
type held struct {
	*x509.Certificate
	key crypto.Signer
}

var serials int64 = 100

// certify makes a certificate signed by another, or by itself for nil.
func certify(t testing.TB, name string, by *held, change func(c *x509.Certificate)) held {
	t.Helper()
	serials++
	c := &x509.Certificate{SerialNumber: big.NewInt(serials), Subject: pkix.Name{CommonName: name}, NotBefore: year(2020), NotAfter: year(2040), BasicConstraintsValid: true}
	change(c)
	key := p256(t)
	if by == nil {
		by = &held{c, key}
	}
	return held{certificate(t, c, by.Certificate, key, by.key), key}
}

func authorityUse(c *x509.Certificate) {
	c.IsCA, c.KeyUsage = true, x509.KeyUsageCertSign|x509.KeyUsageCRLSign
}
func clockUse(c *x509.Certificate) {
	c.KeyUsage, c.ExtraExtensions = x509.KeyUsageDigitalSignature, []pkix.Extension{timeStamping}
}
func signerUse(c *x509.Certificate) {
	c.KeyUsage = x509.KeyUsageDigitalSignature | x509.KeyUsageContentCommitment
}
func oldUse(c *x509.Certificate) { // as keys were made before successions were statements
	c.IsCA, c.KeyUsage = true, x509.KeyUsageDigitalSignature|x509.KeyUsageContentCommitment|x509.KeyUsageCertSign
}

// asSigner makes a signer of a certificate and its key.
func (h held) asSigner(t testing.TB, chain ...held) *seal.Signer {
	t.Helper()
	var above []*x509.Certificate
	for _, c := range chain {
		above = append(above, c.Certificate)
	}
	data, err := pkcs12.Modern2023.WithIterations(1).Encode(h.key, h.Certificate, above, "x")
	if err != nil {
		t.Fatal(err)
	}
	s, err := seal.OpenPKCS12(data, "x")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// stamps has a clock stamp signatures at a time.
func (h held) stamps(t testing.TB, at time.Time, chain ...held) func([]byte) []byte {
	return func(cms []byte) []byte {
		stamped, err := seal.Stamp(cms, func(request []byte) ([]byte, error) { return h.answer(request, at, chain...) })
		if err != nil {
			t.Fatal(err)
		}
		return stamped
	}
}

// answer is what a clock says to a request.
func (h held) answer(request []byte, at time.Time, chain ...held) ([]byte, error) {
	r, err := timestamp.ParseRequest(request)
	if err != nil {
		return nil, err
	}
	var above []*x509.Certificate
	for _, c := range chain {
		above = append(above, c.Certificate)
	}
	return (&timestamp.Timestamp{HashAlgorithm: r.HashAlgorithm, HashedMessage: r.HashedMessage, Time: at, Nonce: r.Nonce,
		Policy: []int{1, 2, 3}, Certificates: above, AddTSACertificate: true}).CreateResponseWithOpts(h.Certificate, h.key, crypto.SHA256)
}

// TestAttacksOnRoles: what the holders of some key might do beyond their role,
// and what verify exits with. The signer's key was stolen on 25 December
// 2026, so a paper of 25 November counts only if somebody trusted saw it then.
func TestAttacksOnRoles(t *testing.T) {
	me := certify(t, "R. Lindqvist", nil, signerUse)
	old := certify(t, "R. Lindqvist, before", nil, oldUse)
	other := certify(t, "M. Okafor, before", nil, oldUse)
	timeRoot := certify(t, "Clock root", nil, authorityUse)
	clock := certify(t, "Harbour clock", &timeRoot, clockUse)
	ended := certify(t, "Harbour clock of before", &timeRoot, func(c *x509.Certificate) { clockUse(c); c.NotAfter = year(2025) })
	firm := certify(t, "Root", nil, authorityUse)
	forTime := certify(t, "Clocks", &firm, func(c *x509.Certificate) {
		authorityUse(c)
		c.ExtKeyUsage = []x509.ExtKeyUsage{x509.ExtKeyUsageTimeStamping}
	})
	clerk := certify(t, "S. Varga", &firm, signerUse)
	stolen := issued.AddDate(0, 1, 0)

	mine := certify(t, "Own clock", &me, clockUse)
	ofOld := certify(t, "Own clock", &old, clockUse)
	ofOther := certify(t, "Own clock", &other, clockUse)
	sameKey := held{certificate(t, &x509.Certificate{SerialNumber: big.NewInt(7), Subject: pkix.Name{CommonName: "Own clock"}, NotBefore: year(2020), NotAfter: year(2040),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtraExtensions: []pkix.Extension{timeStamping}}, timeRoot.Certificate, me.key, timeRoot.key), me.key}

	for _, c := range []struct {
		name          string
		signer        *seal.Signer
		stamp         func([]byte) []byte
		papers, times []held
		outcome       Conclusion
		says          string // in why, or in a note
	}{
		{"nothing wrong: seen by a trusted clock", me.asSigner(t), clock.stamps(t, issued), []held{me}, []held{timeRoot}, Holds, "a time-stamp proves that it was signed before"},
		{"the clock itself is trusted", me.asSigner(t), clock.stamps(t, issued), []held{me}, []held{clock}, Holds, "a time-stamp proves that it was signed before"},
		{"no stamp", me.asSigner(t), nil, []held{me}, []held{timeRoot}, Untrusted, "no time-stamp proves"},
		{"nobody is trusted for the time", me.asSigner(t), clock.stamps(t, issued), []held{me}, nil, Untrusted, "its authority is not among those trusted"},
		{"the clock is trusted for papers alone", me.asSigner(t), clock.stamps(t, issued), []held{me, clock, timeRoot}, nil, Untrusted, "its authority is not among those trusted"},
		{"the signer certifies a clock", me.asSigner(t), mine.stamps(t, issued), []held{me}, []held{timeRoot}, Untrusted, "its authority is not among those trusted"},
		{"the signer certifies a clock, which is trusted by itself", me.asSigner(t), mine.stamps(t, issued), []held{me}, []held{mine}, Untrusted, "it leads to a key that signs documents"},
		{"another signer does", me.asSigner(t), ofOther.stamps(t, issued), []held{me, other}, []held{ofOther}, Untrusted, "it leads to a key that signs documents"},
		{"the same, signer trusted for the time too", me.asSigner(t), mine.stamps(t, issued), []held{me}, []held{me}, Untrusted, "its authority is not among those trusted"},
		{"an old key certifies a clock", old.asSigner(t), ofOld.stamps(t, issued, old), []held{old}, []held{timeRoot}, Untrusted, "its authority is not among those trusted"},
		{"the same, old key trusted for the time too", old.asSigner(t), ofOld.stamps(t, issued, old), []held{old}, []held{old}, Untrusted, "it leads to a key that signs documents"},
		{"the same, clock trusted by mistake", me.asSigner(t), ofOther.stamps(t, issued, other), []held{me, other}, []held{other}, Untrusted, "it leads to a key that signs documents"},
		{"the signer's key has a clock's certificate", me.asSigner(t), sameKey.stamps(t, issued), []held{me}, []held{timeRoot}, Untrusted, "it leads to a key that signs documents"},
		{"the clock was stopped before", me.asSigner(t), func(cms []byte) []byte { // seal.Stamp refuses it, so it is put in by hand
			return stampedBy(t, ended, cms, issued)
		}, []held{me}, []held{timeRoot}, Untrusted, "the certificate was not valid on 2026-11-25"},
		{"the root of clocks certifies a signer", certify(t, "R. Lindqvist", &timeRoot, signerUse).asSigner(t), nil, []held{me}, []held{timeRoot}, Untrusted, "none of those trusted"},
		{"a signer certifies another", certify(t, "S. Varga", &old, signerUse).asSigner(t, old), nil, []held{old}, nil, Untrusted, "none of those trusted"},
		{"an end entity certifies another", certify(t, "S. Varga", &me, signerUse).asSigner(t), nil, []held{me}, nil, Untrusted, "none of those trusted"},
		{"a company certifies a signer", clerk.asSigner(t, firm), nil, []held{firm}, nil, Holds, "issued by Root"},
		{"its department for clocks certifies one", certify(t, "S. Varga", &forTime, signerUse).asSigner(t, forTime), nil, []held{firm}, nil, Untrusted, "none of those trusted"},
		{"a certificate for web servers, issued by the company", certify(t, "intranet", &firm, signerUse).asSigner(t, firm), nil, nil, []held{firm}, Untrusted, "no trusted certificate was given"},
	} {
		t.Run(c.name, func(t *testing.T) {
			trust := &Trust{Now: year(2028)}
			for _, h := range c.papers {
				trust.Add(h.Certificate)
			}
			for _, h := range c.times {
				trust.AddTime(h.Certificate)
			}
			for _, h := range []held{me, old} {
				trust.Revoke(seal.KeyIDOf(h.Certificate), stolen, "laptop stolen")
			}
			f := maker{signer: c.signer, stamp: c.stamp}.paper(t, "L-1")
			r := PDF("a.pdf", f, trust)
			item := r.Items[0]
			said := item.Signer.Why + "\n" + strings.Join(item.Notes, "\n")
			if r.Conclusion() != c.outcome || !strings.Contains(said, c.says) {
				t.Errorf("%s, want %s; it says %q, want %q", r.Conclusion(), c.outcome, said, c.says)
			}
		})
	}

	// A key that may stamp or serve pages, and sign nothing else, is refused
	// where papers are made (see seal), and by whoever reads one made elsewhere.
	for name, c := range map[string]held{
		"a clock signs": clock,
		"a web server's signs": certify(t, "intranet", nil, func(c *x509.Certificate) {
			signerUse(c)
			c.ExtKeyUsage = []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth}
		}),
		"an authority's signs": timeRoot,
	} {
		trust := &Trust{Now: year(2028)}
		trust.Add(c.Certificate)
		s := signer(c.Certificate)
		if trust.judge(s, []*x509.Certificate{c.Certificate}, issued, time.Time{}); s.Trusted || !strings.Contains(s.Why, "not for signing") {
			t.Errorf("%s: trusted %v, %q", name, s.Trusted, s.Why)
		}
	}
}

// stampedBy puts a token into a CMS message that seal.Stamp would refuse to
// put there.
func stampedBy(t testing.TB, clock held, cms []byte, at time.Time) []byte {
	t.Helper()
	return grow(t, cms, 4, func(signerInfo []byte) []byte {
		var signature asn1.RawValue // the last element so far
		for rest := signerInfo; len(rest) > 0; {
			var err error
			if rest, err = asn1.Unmarshal(rest, &signature); err != nil {
				t.Fatal(err)
			}
		}
		h := sha256.Sum256(signature.Bytes)
		reply, err := (&timestamp.Timestamp{HashAlgorithm: crypto.SHA256, HashedMessage: h[:], Time: at,
			Policy: []int{1, 2, 3}, AddTSACertificate: true}).CreateResponseWithOpts(clock.Certificate, clock.key, crypto.SHA256)
		if err != nil {
			t.Fatal(err)
		}
		var response struct{ Status, Token asn1.RawValue }
		if _, err := asn1.Unmarshal(reply, &response); err != nil {
			t.Fatal(err)
		}
		stamp, err := asn1.Marshal(struct {
			Type   asn1.ObjectIdentifier
			Values []asn1.RawValue `asn1:"set"`
		}{asn1.ObjectIdentifier{1, 2, 840, 113549, 1, 9, 16, 2, 14}, []asn1.RawValue{response.Token}})
		if err != nil {
			t.Fatal(err)
		}
		unsigned, err := asn1.Marshal(asn1.RawValue{Class: asn1.ClassContextSpecific, Tag: 1, IsCompound: true, Bytes: stamp})
		if err != nil {
			t.Fatal(err)
		}
		return append(slices.Clone(signerInfo), unsigned...)
	})
}

// grow changes the content of the last element so many levels down.
func grow(t testing.TB, der []byte, levels int, change func(content []byte) []byte) []byte {
	t.Helper()
	var v asn1.RawValue
	if _, err := asn1.Unmarshal(der, &v); err != nil {
		t.Fatal(err)
	}
	content := v.Bytes
	if levels == 0 {
		content = change(content)
	} else {
		last := 0
		for rest := content; len(rest) > 0; {
			var child asn1.RawValue
			last = len(content) - len(rest)
			var err error
			if rest, err = asn1.Unmarshal(rest, &child); err != nil {
				t.Fatal(err)
			}
		}
		content = append(slices.Clone(content[:last]), grow(t, content[last:], levels-1, change)...)
	}
	out, err := asn1.Marshal(asn1.RawValue{Class: v.Class, Tag: v.Tag, IsCompound: true, Bytes: content})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// TestRetired: a key that was given up is another thing than one that was
// stolen. What it says it signed up to its last day counts, and so do the keys
// that follow it.
func TestRetired(t *testing.T) {
	first := signerFor(t, "First", 2020, 20)
	second := successor(t, first, "Second", 2026, 10)
	late := successor(t, first, "Late", 2031, 5)
	last := time.Date(2030, 6, 30, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		name    string
		signer  *seal.Signer
		at      time.Time
		trusted bool
		why     string
	}{
		{"before", first, year(2029), true, "is retired, and good until 2030-06-30: left"},
		{"on the last day, where it ends last", first, last.Add(35 * time.Hour), true, "good until"},
		{"after", first, year(2031), false, "good until"},
		{"its successor, later", second, year(2032), true, "successor of First"},
		{"a successor that it named after", late, year(2032), false, "good until"},
	} {
		trust := &Trust{Now: year(2033)}
		trust.Add(first.Certificate())
		trust.Retire(first.KeyID(), last, "left the company")
		s := signer(c.signer.Certificate())
		if trust.judge(s, c.signer.Chain(), c.at, time.Time{}); s.Trusted != c.trusted || !strings.Contains(s.Why, c.why) {
			t.Errorf("%s: trusted %v, %q", c.name, s.Trusted, s.Why)
		}
	}
}

// crl signs a revocation list.
func (h held) crl(t testing.TB, next time.Time, entries ...x509.RevocationListEntry) []byte {
	t.Helper()
	der, err := x509.CreateRevocationList(rand.Reader, &x509.RevocationList{Number: big.NewInt(1), ThisUpdate: year(2027), NextUpdate: next, RevokedCertificateEntries: entries}, h.Certificate, h.key)
	if err != nil {
		t.Fatal(err)
	}
	return der
}

// folderOf writes files into a folder.
func folderOf(t testing.TB, files map[string][]byte) string {
	t.Helper()
	dir := t.TempDir()
	for name, data := range files {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func (h held) pem() []byte {
	return pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: h.Raw})
}

// TestRevocationLists: what stands on a list of an authority is refused as the
// reason has it (RFC 5280, 5.3.1; for time-stamps RFC 3161, 4).
func TestRevocationLists(t *testing.T) {
	root := certify(t, "Root", nil, authorityUse)
	middle := certify(t, "Documents", &root, authorityUse)
	clerk := certify(t, "R. Lindqvist", &middle, signerUse)
	clockRoot := certify(t, "Clock root", nil, authorityUse)
	clock := certify(t, "Harbour clock", &clockRoot, clockUse)
	entry := func(h held, day time.Time, reason int) x509.RevocationListEntry {
		return x509.RevocationListEntry{SerialNumber: h.SerialNumber, RevocationTime: day, ReasonCode: reason}
	}
	invalid := entry(clerk, year(2027), 1) // known to be in other hands since an earlier day
	invalid.ExtraExtensions = []pkix.Extension{{Id: []int{2, 5, 29, 24}, Value: append([]byte{0x18, 15}, "20260101000000Z"...)}}
	stamped := clock.stamps(t, issued, clockRoot)
	for _, c := range []struct {
		name    string
		by      held
		entry   x509.RevocationListEntry
		stamp   func([]byte) []byte
		outcome Conclusion
		says    string
	}{
		{"another is listed", middle, entry(clock, year(2027), 1), nil, Holds, "issued by Root"},
		{"stolen later, own word", middle, entry(clerk, year(2027), 1), nil, Untrusted, "is revoked since 2027-06-01: key compromise, says the revocation list of CN=Documents; no time-stamp proves"},
		{"stolen later, seen before", middle, entry(clerk, year(2027), 1), stamped, Holds, "a time-stamp proves that it was signed before"},
		{"stolen before", middle, entry(clerk, year(2025), 1), stamped, Untrusted, "key compromise"},
		{"no reason, own word", middle, entry(clerk, year(2027), 0), nil, Untrusted, "no reason stated"},
		{"left the company later", middle, entry(clerk, year(2027), 3), nil, Holds, "retired, and good until 2027-06-01: affiliation changed"},
		{"left the company before", middle, entry(clerk, year(2025), 3), nil, Untrusted, "affiliation changed"},
		{"replaced later", middle, entry(clerk, year(2027), 4), nil, Holds, "superseded"},
		{"in other hands since a day before", middle, invalid, stamped, Untrusted, "since 2026-01-01"},
		{"on hold", middle, entry(clerk, year(2027), 6), stamped, Untrusted, "on hold"},
		{"the intermediate is stolen", root, entry(middle, year(2027), 2), nil, Untrusted, "compromise of the authority"},
		{"the clock is stolen", clockRoot, entry(clock, year(2027), 1), stamped, Holds, "does not count: the key"},
		{"the clock was switched off later", clockRoot, entry(clock, year(2027), 5), stamped, Holds, "a time-stamp by Harbour clock"},
		{"a list of an issuer that is not here", middle, entry(clerk, year(2025), 1), nil, Untrusted, "key compromise"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := folderOf(t, map[string][]byte{"root.pem": root.pem(), "list.crl": c.by.crl(t, year(2040), c.entry)})
			times := folderOf(t, map[string][]byte{"clock.pem": clockRoot.pem()})
			trust, err := ReadTrust(year(2028), []string{dir}, []string{times})
			if err != nil {
				t.Fatal(err)
			}
			r := PDF("a.pdf", maker{signer: clerk.asSigner(t, middle, root), stamp: c.stamp}.paper(t, "L-1"), trust)
			item := r.Items[0]
			said := item.Signer.Why + "\n" + strings.Join(item.Notes, "\n")
			if item.Signer.Stamped != "" {
				said += "\na time-stamp by " + item.Signer.Stamped
			}
			if r.Conclusion() != c.outcome || !strings.Contains(said, c.says) {
				t.Errorf("%s, want %s; it says %q, want %q", r.Conclusion(), c.outcome, said, c.says)
			}
		})
	}

	// Reason 0, stated: the standard library writes no such list.
	stated := &x509.RevocationListEntry{SerialNumber: clock.SerialNumber, RevocationTime: year(2027), Extensions: []pkix.Extension{{Id: oidReasonCode, Value: []byte{0x0a, 1, 0}}}}
	lists := &Trust{lists: []*revocationList{{list: &x509.RevocationList{RawIssuer: clock.RawIssuer}, by: map[string]*x509.RevocationListEntry{clock.SerialNumber.String(): stated}}}}
	if found := lists.listed(clock.Certificate); len(found) != 1 || !found[0].until.Equal(year(2027)) {
		t.Errorf("a clock for a reason that is stated to be none: %+v", found)
	}

	t.Run("openssl", func(t *testing.T) { // the second opinion on list, signature and path
		openssl := outside.Program(t, "openssl")
		list := func(h held, entries ...x509.RevocationListEntry) []byte {
			return pem.EncodeToMemory(&pem.Block{Type: "X509 CRL", Bytes: h.crl(t, year(2040), entries...)})
		}
		none := list(root)
		for name, c := range map[string]struct {
			lists []byte
			good  bool
		}{
			"listed":         {append(list(middle, entry(clerk, year(2027), 1)), none...), false},
			"another":        {append(list(middle, entry(clock, year(2027), 1)), none...), true},
			"not its issuer": {append(clockRoot.crlPEM(t, entry(clerk, year(2027), 1)), append(list(middle), none...)...), true},
		} {
			dir := folderOf(t, map[string][]byte{"root.pem": root.pem(), "lists.crl": c.lists})
			others := folderOf(t, map[string][]byte{"middle.pem": middle.pem(), "clerk.pem": clerk.pem()})
			out, err := exec.Command(openssl, "verify", "-attime", "1843000000", "-crl_check_all", "-CAfile", filepath.Join(dir, "root.pem"),
				"-CRLfile", filepath.Join(dir, "lists.crl"), "-untrusted", filepath.Join(others, "middle.pem"), filepath.Join(others, "clerk.pem")).CombinedOutput()
			if (err == nil) != c.good || !c.good && !strings.Contains(string(out), "certificate revoked") {
				t.Errorf("%s: openssl: %v\n%s", name, err, out)
			}
			trust, err := ReadTrust(year(2028), []string{dir}, nil)
			if err != nil {
				t.Fatal(err)
			}
			s := signer(clerk.Certificate)
			if trust.judge(s, []*x509.Certificate{clerk.Certificate, middle.Certificate, root.Certificate}, year(2028), time.Time{}); s.Trusted != c.good {
				t.Errorf("%s: trusted %v, %q", name, s.Trusted, s.Why)
			}
		}
	})
}

func (h held) crlPEM(t testing.TB, entries ...x509.RevocationListEntry) []byte {
	return pem.EncodeToMemory(&pem.Block{Type: "X509 CRL", Bytes: h.crl(t, year(2040), entries...)})
}

// TestTrustFolder: what lies in a folder of trust is used, named or refused;
// nothing is passed over in silence.
func TestTrustFolder(t *testing.T) {
	me, root := certify(t, "R. Lindqvist", nil, signerUse), certify(t, "Root", nil, authorityUse)
	clock := certify(t, "Harbour clock", nil, clockUse)
	impostor := certify(t, "Root", nil, authorityUse)
	listed := x509.RevocationListEntry{SerialNumber: me.SerialNumber, RevocationTime: year(2027)}
	delta := func() []byte {
		der, err := x509.CreateRevocationList(rand.Reader, &x509.RevocationList{Number: big.NewInt(2), ThisUpdate: year(2027), NextUpdate: year(2040),
			ExtraExtensions: []pkix.Extension{{Id: []int{2, 5, 29, 27}, Critical: true, Value: []byte{2, 1, 1}}}}, root.Certificate, root.key)
		if err != nil {
			t.Fatal(err)
		}
		return der
	}()
	for _, c := range []struct {
		name   string
		files  map[string][]byte
		unread string // what is named
		err    string
	}{
		{"a text", map[string][]byte{"README.txt": []byte("our contractors")}, "README.txt was not read", ""},
		{"a clock among signers", map[string][]byte{"clock.pem": clock.pem()}, "clock.pem holds a certificate, Harbour clock, that is for time-stamps and cannot sign documents", ""},
		{"a key", map[string][]byte{"old.p12": {0x30}}, "old.p12 was not read", ""},
		{"left by a desktop", map[string][]byte{".DS_Store": {0}}, "", ""},
		{"a list of a trusted authority", map[string][]byte{"root.crl": root.crl(t, year(2040), listed)}, "", ""},
		{"a list of a stranger", map[string][]byte{"x.crl": certify(t, "Stranger", nil, authorityUse).crl(t, year(2040), listed)}, "x.crl is a revocation list of CN=Stranger, whose certificate is not here", ""},
		{"a list out of date", map[string][]byte{"root.crl": root.crl(t, year(2027).AddDate(0, 0, 7), listed)}, "root.crl is out of date", ""},
		{"a list in another's name", map[string][]byte{"root.crl": impostor.crl(t, year(2040), listed)}, "", "the list is not signed by the trusted certificate of CN=Root"},
		{"changes to a list alone", map[string][]byte{"root.crl": delta}, "", "a critical extension, 2.5.29.27, that is not known here"},
		{"no list", map[string][]byte{"root.crl": []byte("none")}, "", "not a certificate revocation list"},
		{"a key listed twice", map[string][]byte{"revoked.txt": []byte(seal.KeyIDOf(me.Certificate).String() + "\n" + seal.KeyIDOf(me.Certificate).String() + " until 2027-01-01\n")}, "", "is listed twice"},
		{"until without a day", map[string][]byte{"revoked.txt": []byte(seal.KeyIDOf(me.Certificate).String() + " until\n")}, "", `a day such as 2027-03-01 is missing after "until"`},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.files["me.pem"], c.files["root.pem"] = me.pem(), root.pem()
			trust, err := ReadTrust(year(2028), []string{folderOf(t, c.files)}, nil)
			if c.err != "" {
				if err == nil || !strings.Contains(err.Error(), c.err) {
					t.Errorf("got %v, want %q", err, c.err)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			said := strings.Join(trust.Unread, "\n")
			if (c.unread == "") != (said == "") || !strings.Contains(said, c.unread) {
				t.Errorf("it names %q, want %q", said, c.unread)
			}
		})
	}
	for name, c := range map[string]struct {
		papers, times []string
		err, fix      string
	}{
		"a clock for papers":    {[]string{filepath.Join(folderOf(t, map[string][]byte{"a.pem": clock.pem()}), "a.pem")}, nil, "cannot sign documents", "--trust-time"},
		"a signer for the time": {nil, []string{filepath.Join(folderOf(t, map[string][]byte{"a.pem": me.pem()}), "a.pem")}, "cannot vouch for a time", "name it with --trust"},
		"a folder without one":  {nil, []string{folderOf(t, map[string][]byte{"a.pem": me.pem()})}, "no certificate of a time-stamp authority in this folder", "put the time-stamp authority's certificate"},
	} {
		_, err := ReadTrust(year(2028), c.papers, c.times)
		wrong := (*TrustError)(nil)
		if !errors.As(err, &wrong) || !strings.Contains(wrong.Problem, c.err) || !strings.Contains(wrong.Fix, c.fix) {
			t.Errorf("%s: %+v", name, wrong)
		}
	}
}
