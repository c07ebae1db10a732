package keyfile_test

import (
	"encoding/pem"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"spanseal/internal/keyfile"
	"spanseal/internal/seal"
)

// A file that gives no key is refused for what it is, with a way out, and nobody is
// asked for the passphrase of one that cannot be a key.
func TestRefusals(t *testing.T) {
	signer, err := seal.NewSigner("R. Invented", "", time.Date(2027, 3, 1, 0, 0, 0, 0, time.UTC), 10)
	if err != nil {
		t.Fatal(err)
	}
	p12, err := signer.PKCS12("a sentence to remember", 2)
	if err != nil {
		t.Fatal(err)
	}
	cert := pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: signer.Certificate().Raw})
	large := make([]byte, 1<<20+1)

	tests := []struct {
		name  string
		data  []byte
		pass  string
		what  string // "" where the file opens
		fix   string
		asked bool
	}{
		{"its key", p12, "a sentence to remember", "", "", true},
		{"another passphrase", p12, "another sentence", "the passphrase does not open", "try again", true},
		{"a certificate", cert, "", "this is a certificate, and only a key can sign", "name the key file that it belongs to", false},
		{"text", []byte("not a key"), "", "not a key file (PKCS#12)", "name a key file", false},
		{"nothing", nil, "", "not a key file (PKCS#12)", "name a key file", false},
		{"cut short", p12[:len(p12)/2], "a sentence to remember", "", "name a key file", true},
		{"one byte over a mebibyte", large, "", "too large", "name a key file", false},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "signer.p12")
			if err := os.WriteFile(path, tt.data, 0o600); err != nil {
				t.Fatal(err)
			}
			asked := false
			open := func() (*seal.Signer, error) {
				data, err := keyfile.Read(path, "make one")
				if err != nil {
					return nil, err
				}
				s, pass, err := keyfile.Unlock(path, data, func(p string) (string, error) {
					asked = p == path
					return tt.pass, nil
				})
				if err == nil && pass != tt.pass {
					t.Errorf("passphrase %q, want %q", pass, tt.pass)
				}
				return s, err
			}
			s, err := open()
			if asked != tt.asked {
				t.Errorf("asked for a passphrase: %v, want %v", asked, tt.asked)
			}
			if tt.fix == "" {
				if err != nil || seal.KeyIDOf(s.Certificate()) != seal.KeyIDOf(signer.Certificate()) {
					t.Fatalf("another key, or %v", err)
				}
				return
			}
			r := (*keyfile.Refusal)(nil)
			if !errors.As(err, &r) || !strings.Contains(r.What, tt.what) || !strings.HasPrefix(r.Fix, tt.fix) {
				t.Errorf("refused with %#v, want %q and the way out %q", err, tt.what, tt.fix)
			}
		})
	}
}

func TestReadSaysWhatIsThere(t *testing.T) {
	dir := t.TempDir()
	for _, tt := range []struct{ name, path, what, fix string }{
		{"absent", filepath.Join(dir, "none.p12"), "there is no key at", "make one"},
		{"a folder", dir, "is a folder", "name the key file itself"},
	} {
		_, err := keyfile.Read(tt.path, "make one")
		if r := (*keyfile.Refusal)(nil); !errors.As(err, &r) || !strings.Contains(r.What, tt.what) || !strings.HasPrefix(r.Fix, tt.fix) {
			t.Errorf("%s: %#v, want %q and %q", tt.name, err, tt.what, tt.fix)
		}
	}
}

// A certificate gives itself, unasked; a key file gives its own.
func TestCertificate(t *testing.T) {
	signer, err := seal.NewSigner("R. Invented", "", time.Date(2027, 3, 1, 0, 0, 0, 0, time.UTC), 10)
	if err != nil {
		t.Fatal(err)
	}
	p12, err := signer.PKCS12("a sentence to remember", 2)
	if err != nil {
		t.Fatal(err)
	}
	want := seal.KeyIDOf(signer.Certificate())
	got, key, _, err := keyfile.Certificate("signer.pem", pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: signer.Certificate().Raw}),
		func(string) (string, error) { return "", errors.New("asked") })
	if err != nil || key != nil || seal.KeyIDOf(got) != want {
		t.Errorf("of the certificate: key %v, %v", key != nil, err)
	}
	got, key, pass, err := keyfile.Certificate("signer.p12", p12, func(string) (string, error) { return "a sentence to remember", nil })
	if err != nil || key == nil || pass != "a sentence to remember" || seal.KeyIDOf(got) != want {
		t.Errorf("of the key file: key %v, passphrase %q, %v", key != nil, pass, err)
	}
	if got := keyfile.CertificatePath(filepath.Join("keys", "signer.p12")); got != filepath.Join("keys", "signer.pem") {
		t.Errorf("CertificatePath = %s", got)
	}
	for pass, want := range map[string]bool{"sevench": true, "eightcha": false, "äöüäöüä": true} {
		if n, short := keyfile.Short(pass); short != want || n != len([]rune(pass)) {
			t.Errorf("Short(%q) = %d, %v", pass, n, short)
		}
	}
}
