package seal_test

import (
	"bytes"
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/asn1"
	"encoding/pem"
	"math/big"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"software.sslmate.com/src/go-pkcs12"

	"spanseal/internal/outside"
	"spanseal/internal/seal"
)

var directoryAttributes = asn1.ObjectIdentifier{2, 5, 29, 9}

func successorOf(t testing.TB, s *seal.Signer, name string, from time.Time) *seal.Signer {
	t.Helper()
	next, err := s.Successor(name, "Tidewater Fibre Works", from, 10)
	if err != nil {
		t.Fatal(err)
	}
	return next
}

func TestSuccessor(t *testing.T) {
	first := newSigner(t)
	second := successorOf(t, first, "R. Lindqvist", day.AddDate(5, 0, 0))
	third := successorOf(t, second, "M. Okafor", day.AddDate(12, 0, 0))
	digest := sha256.Sum256([]byte("the paper"))
	der, err := third.SignCMS(digest, day.AddDate(13, 0, 0))
	if err != nil {
		t.Fatal(err)
	}
	by, err := seal.VerifyCMS(der, digest)
	if err != nil {
		t.Fatal(err)
	}
	line := seal.Lineage(by.Chain)
	want := []*x509.Certificate{third.Certificate(), second.Certificate(), first.Certificate()}
	if !slices.EqualFunc(line, want, (*x509.Certificate).Equal) {
		t.Errorf("the lineage has %d certificates", len(line))
	}
	for i, c := range want {
		if c.IsCA || c.KeyUsage&x509.KeyUsageCertSign != 0 {
			t.Errorf("certificate %d may issue certificates", i)
		}
	}
	t.Logf("certificates of %d, %d and %d bytes", len(first.Certificate().Raw), len(second.Certificate().Raw), len(third.Certificate().Raw))
	if len(seal.Lineage([]*x509.Certificate{first.Certificate()})) != 1 {
		t.Error("the first key has a predecessor")
	}
	if _, err := first.Successor("x", "", day.AddDate(11, 0, 0), 1); err == nil {
		t.Error("an expired key made a successor")
	}
}

// signedAnew is a certificate with the extensions of another, changed by
// somebody who holds the new key and not the old one.
func signedAnew(t testing.TB, key crypto.Signer, c *x509.Certificate, change func(c *x509.Certificate)) *x509.Certificate {
	t.Helper()
	template := &x509.Certificate{SerialNumber: c.SerialNumber, Subject: c.Subject, NotBefore: c.NotBefore, NotAfter: c.NotAfter, KeyUsage: c.KeyUsage, BasicConstraintsValid: true}
	for _, e := range c.Extensions {
		if e.Id.Equal(directoryAttributes) {
			template.ExtraExtensions = append(template.ExtraExtensions, pkix.Extension{Id: e.Id, Value: slices.Clone(e.Value)})
		}
	}
	change(template)
	der, err := x509.CreateCertificate(rand.Reader, template, template, key.Public(), key)
	if err != nil {
		t.Fatal(err)
	}
	made, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	return made
}

func privateKey(t testing.TB, s *seal.Signer) crypto.Signer {
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

// TestSuccessionRefused: whoever holds the new key cannot stretch the old
// key's statement, and nobody else can use it.
func TestSuccessionRefused(t *testing.T) {
	first := newSigner(t)
	second := successorOf(t, first, "R. Lindqvist", day.AddDate(5, 0, 0))
	key := privateKey(t, second)
	if same := signedAnew(t, key, second.Certificate(), func(*x509.Certificate) {}); seal.Predecessor(same) == nil {
		t.Fatal("what is signed anew and unchanged is refused: the rows below prove nothing")
	}
	for name, change := range map[string]func(c *x509.Certificate){
		"a longer validity":       func(c *x509.Certificate) { c.NotAfter = c.NotAfter.AddDate(1, 0, 0) },
		"an earlier beginning":    func(c *x509.Certificate) { c.NotBefore = c.NotBefore.AddDate(-1, 0, 0) },
		"another name":            func(c *x509.Certificate) { c.Subject.CommonName = "The Harbour Board" },
		"another serial number":   func(c *x509.Certificate) { c.SerialNumber = big.NewInt(7) },
		"an authority":            func(c *x509.Certificate) { c.IsCA, c.KeyUsage = true, x509.KeyUsageCertSign|c.KeyUsage },
		"bytes after":             func(c *x509.Certificate) { e := &c.ExtraExtensions[0]; e.Value = append(e.Value, 0) },
		"no statement":            func(c *x509.Certificate) { c.ExtraExtensions[0].Value = []byte{0x30, 0} },
		"a byte of the signature": func(c *x509.Certificate) { e := c.ExtraExtensions[0].Value; e[len(e)-1] ^= 1 },
	} {
		t.Run(name, func(t *testing.T) {
			if p := seal.Predecessor(signedAnew(t, key, second.Certificate(), change)); p != nil {
				t.Errorf("it succeeds %s", seal.CommonName(p))
			}
		})
	}
	t.Run("every byte", func(t *testing.T) {
		i := slices.IndexFunc(second.Certificate().Extensions, func(e pkix.Extension) bool { return e.Id.Equal(directoryAttributes) })
		for at := range second.Certificate().Extensions[i].Value {
			changed := signedAnew(t, key, second.Certificate(), func(c *x509.Certificate) { c.ExtraExtensions[0].Value[at] ^= 4 })
			if p := seal.Predecessor(changed); p != nil {
				t.Errorf("byte %d changed: it succeeds %s", at, seal.CommonName(p))
			}
		}
	})
	t.Run("another key", func(t *testing.T) {
		if p := seal.Predecessor(signedAnew(t, p256(), second.Certificate(), func(*x509.Certificate) {})); p != nil {
			t.Error("a stranger's key succeeds")
		}
	})
}

// TestSuccessionOpenSSL reads a statement with the decoder of the standard
// library, by the structure of RFC 5755, and has openssl check its signature.
func TestSuccessionOpenSSL(t *testing.T) {
	openssl := outside.Program(t, "openssl")
	first := newSigner(t)
	second := successorOf(t, first, "R. Lindqvist", day.AddDate(5, 0, 0))
	var list []struct {
		Type   asn1.ObjectIdentifier
		Values []asn1.RawValue `asn1:"set"`
	}
	i := slices.IndexFunc(second.Certificate().Extensions, func(e pkix.Extension) bool { return e.Id.Equal(directoryAttributes) })
	if rest, err := asn1.Unmarshal(second.Certificate().Extensions[i].Value, &list); err != nil || len(rest) > 0 || len(list) != 2 {
		t.Fatal(err, list)
	}
	var ac struct { // AttributeCertificate, RFC 5755, 4.1
		Info struct {
			Raw     asn1.RawContent
			Version int
			Holder  struct {
				Name   asn1.RawValue `asn1:"tag:1"`
				Digest struct {
					Type      asn1.Enumerated
					Algorithm pkix.AlgorithmIdentifier
					Digest    asn1.BitString
				} `asn1:"tag:2"`
			}
			Issuer     asn1.RawValue `asn1:"tag:0"`
			Signature  pkix.AlgorithmIdentifier
			Serial     *big.Int
			Validity   struct{ From, To time.Time }
			Attributes []asn1.RawValue
		}
		Algorithm pkix.AlgorithmIdentifier
		Signature asn1.BitString
	}
	if rest, err := asn1.Unmarshal(list[1].Values[0].FullBytes, &ac); err != nil || len(rest) > 0 {
		t.Fatal(err)
	}
	c := second.Certificate()
	h := sha256.Sum256(c.RawSubjectPublicKeyInfo)
	if i := ac.Info; i.Version != 1 || i.Holder.Digest.Type != 0 || !bytes.Equal(i.Holder.Digest.Digest.Bytes, h[:]) || i.Serial.Cmp(c.SerialNumber) != 0 ||
		!i.Validity.From.Equal(c.NotBefore) || !i.Validity.To.Equal(c.NotAfter) || len(i.Attributes) != 1 {
		t.Errorf("it says %+v", i)
	}
	dir := t.TempDir()
	spki, err := x509.MarshalPKIXPublicKey(first.Certificate().PublicKey)
	if err != nil {
		t.Fatal(err)
	}
	for name, data := range map[string][]byte{
		"info": ac.Info.Raw, "signature": ac.Signature.Bytes,
		"old.pem": pem.EncodeToMemory(&pem.Block{Type: "PUBLIC KEY", Bytes: spki}),
		"new.pem": pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: c.Raw}),
	} {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	for _, args := range [][]string{
		{"dgst", "-sha256", "-verify", "old.pem", "-signature", "signature", "info"},
		{"verify", "-attime", "1960000000", "-CAfile", "new.pem", "new.pem"}, // 2032: the extension does not keep others from reading it
	} {
		run := exec.Command(openssl, args...)
		run.Dir = dir
		if out, err := run.CombinedOutput(); err != nil {
			t.Errorf("openssl %v: %v\n%s", args, err, out)
		}
	}
}

// oldSigner is a key as NewSigner made it before successions were statements.
func oldSigner(t testing.TB, from time.Time, by *x509.Certificate, byKey crypto.Signer) (*x509.Certificate, crypto.Signer) {
	t.Helper()
	key := mustKey(ecdsa.GenerateKey(elliptic.P256(), rand.Reader))
	c := &x509.Certificate{SerialNumber: big.NewInt(from.Unix()), Subject: pkix.Name{CommonName: "R. Lindqvist"}, NotBefore: from, NotAfter: from.AddDate(10, 0, 0),
		KeyUsage: x509.KeyUsageDigitalSignature | x509.KeyUsageContentCommitment | x509.KeyUsageCertSign, BasicConstraintsValid: true, IsCA: true}
	if by == nil {
		by, byKey = c, key
	}
	der, err := x509.CreateCertificate(rand.Reader, c, by, key.Public(), byKey)
	if err != nil {
		t.Fatal(err)
	}
	made, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	return made, key
}

// TestOldSuccession: papers of keys made before are still followed, and such a
// key may have a successor of today.
func TestOldSuccession(t *testing.T) {
	first, firstKey := oldSigner(t, day, nil, nil)
	second, _ := oldSigner(t, day.AddDate(5, 0, 0), first, firstKey)
	if line := seal.Lineage([]*x509.Certificate{second, first}); len(line) != 2 || !line[1].Equal(first) {
		t.Errorf("the lineage has %d certificates", len(line))
	}
	data, err := pkcs12.Modern2023.WithIterations(1).Encode(firstKey, first, nil, "x")
	if err != nil {
		t.Fatal(err)
	}
	s, err := seal.OpenPKCS12(data, "x")
	if err != nil {
		t.Fatal(err)
	}
	next := successorOf(t, s, "R. Lindqvist", day.AddDate(5, 0, 0))
	if line := seal.Lineage(next.Chain()); len(line) != 2 || !line[1].Equal(first) {
		t.Errorf("the lineage of today's successor has %d certificates", len(line))
	}
}

// TestMaySign reads the extended key usage (RFC 5280, 4.2.1.12; RFC 3161, 2.3;
// document signing is 1.3.6.1.5.5.7.3.36 of RFC 9336).
func TestMaySign(t *testing.T) {
	documents := asn1.ObjectIdentifier{1, 3, 6, 1, 5, 5, 7, 3, 36}
	for name, c := range map[string]struct {
		known   []x509.ExtKeyUsage
		unknown []asn1.ObjectIdentifier
		may     bool
	}{
		"none":                            {nil, nil, true},
		"any":                             {[]x509.ExtKeyUsage{x509.ExtKeyUsageAny}, nil, true},
		"document signing":                {nil, []asn1.ObjectIdentifier{documents}, true},
		"electronic mail":                 {[]x509.ExtKeyUsage{x509.ExtKeyUsageClientAuth, x509.ExtKeyUsageEmailProtection}, nil, true},
		"time-stamps":                     {[]x509.ExtKeyUsage{x509.ExtKeyUsageTimeStamping}, nil, false},
		"time-stamps and documents":       {[]x509.ExtKeyUsage{x509.ExtKeyUsageTimeStamping}, []asn1.ObjectIdentifier{documents}, false},
		"web server":                      {[]x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth, x509.ExtKeyUsageClientAuth}, nil, false},
		"programs":                        {[]x509.ExtKeyUsage{x509.ExtKeyUsageCodeSigning}, nil, false},
		"answers about revocation (OCSP)": {[]x509.ExtKeyUsage{x509.ExtKeyUsageOCSPSigning}, nil, false},
	} {
		t.Run(name, func(t *testing.T) {
			key := p256()
			template := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "x"}, NotBefore: day, NotAfter: day.AddDate(1, 0, 0),
				KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: c.known, UnknownExtKeyUsage: c.unknown}
			der, err := x509.CreateCertificate(rand.Reader, template, template, key.Public(), key)
			if err != nil {
				t.Fatal(err)
			}
			cert, err := x509.ParseCertificate(der)
			if err != nil {
				t.Fatal(err)
			}
			if err := seal.MaySign(cert); (err == nil) != c.may {
				t.Errorf("got %v", err)
			}
			data, err := pkcs12.Modern2023.WithIterations(1).Encode(key, cert, nil, "x")
			if err != nil {
				t.Fatal(err)
			}
			if _, err := seal.OpenPKCS12(data, "x"); (err == nil) != c.may {
				t.Errorf("as a key file: %v", err)
			}
		})
	}
}
