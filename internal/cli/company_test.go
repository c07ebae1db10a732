package cli_test

import (
	"crypto/rand"
	"crypto/rsa"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"math/big"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"software.sslmate.com/src/go-pkcs12"

	"spanseal/internal/cli"
)

// A company's own document-signing certificate, RSA and issued by somebody
// else, drops in as it is; that its labels must be larger is said.
func TestCompanyCertificate(t *testing.T) {
	certify := func(name string, ca bool, parent *x509.Certificate, parentKey *rsa.PrivateKey) (*rsa.PrivateKey, *x509.Certificate) {
		key, err := rsa.GenerateKey(rand.Reader, 2048)
		if err != nil {
			t.Fatal(err)
		}
		template := &x509.Certificate{
			SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: name, Organization: []string{"Tidewater Fibre Works"}},
			NotBefore: now().AddDate(-1, 0, 0), NotAfter: now().AddDate(2, 0, 0), BasicConstraintsValid: true, IsCA: ca,
		}
		if ca {
			template.KeyUsage = x509.KeyUsageCertSign
		} else {
			template.KeyUsage = x509.KeyUsageContentCommitment
		}
		if parent == nil {
			parent, parentKey = template, key
		}
		der, err := x509.CreateCertificate(rand.Reader, template, parent, key.Public(), parentKey)
		if err != nil {
			t.Fatal(err)
		}
		cert, err := x509.ParseCertificate(der)
		if err != nil {
			t.Fatal(err)
		}
		return key, cert
	}
	rootKey, root := certify("Harbour registry", true, nil, nil)
	key, cert := certify("Office of Tidewater", false, root, rootKey)
	p12, err := pkcs12.Modern.Encode(key, cert, []*x509.Certificate{root}, passphrase)
	if err != nil {
		t.Fatal(err)
	}
	job := bigJob(t, 1)
	for name, data := range map[string][]byte{
		"office.p12":   p12,
		"registry.pem": pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: root.Raw}),
	} {
		if err := os.WriteFile(filepath.Join(job, name), data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if out := must(t, cli.ExitOK, "key", "show", filepath.Join(job, "office.p12")); !strings.Contains(out, "issued by     CN=Harbour registry") || !strings.Contains(out, "PS256") {
		t.Error(out)
	}
	code, _, stderr := run(t, "issue", job, "--key", filepath.Join(job, "office.p12"))
	if code != cli.ExitOK || !strings.HasPrefix(stderr, "note: symbols signed with an RSA key may need more than 20 mm") {
		t.Errorf("exit code %d: %s", code, stderr)
	}
	// Whoever trusts the registry trusts the office.
	must(t, cli.ExitOK, "verify", filepath.Join(job, "issued", "r1"), "--trust", filepath.Join(job, "registry.pem"))
	must(t, cli.ExitUntrusted, "verify", filepath.Join(job, "issued", "r1"))
}
