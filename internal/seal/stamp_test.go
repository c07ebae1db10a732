package seal_test

import (
	"crypto"
	"crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"io"
	"math/big"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/digitorus/timestamp"

	"spanseal/internal/outside"
	"spanseal/internal/seal"
)

// authority is a time-stamp authority of OpenSSL in a folder, behind HTTP on
// the loopback interface.
type authority struct {
	openssl, dir string
	url          string
}

// The authority's own configuration: a root, and a key for time-stamps alone.
const authorityConfig = `
[req]
distinguished_name = dn
prompt = no
[dn]
CN = placeholder
[root]
basicConstraints = critical,CA:TRUE
keyUsage = critical,keyCertSign,cRLSign
[stamp]
extendedKeyUsage = critical,timeStamping
keyUsage = critical,digitalSignature
[tsa]
default_tsa = tsa1
[tsa1]
serial = $dir/serial
signer_digest = sha256
default_policy = 1.2.3.4.1
digests = sha256, sha512
accuracy = secs:1, millisecs:500
clock_precision_digits = 3
ordering = yes
tsa_name = yes
ess_cert_id_chain = no
ess_cert_id_alg = sha256
`

func newAuthority(t *testing.T) *authority {
	t.Helper()
	a := &authority{openssl: outside.Program(t, "openssl"), dir: t.TempDir()}
	a.write(t, "openssl.cnf", []byte(strings.ReplaceAll(authorityConfig, "$dir", a.dir)))
	a.write(t, "serial", []byte("01\n"))
	a.run(t, "req", "-config", a.path("openssl.cnf"), "-new", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes",
		"-subj", "/CN=Harbour clock root", "-extensions", "root", "-days", "36500", "-keyout", a.path("root.key"), "-out", a.path("root.pem"))
	for _, kind := range []struct{ name, option string }{{"ec", "ec_paramgen_curve:P-256"}, {"rsa", "rsa_keygen_bits:2048"}} {
		a.run(t, "req", "-config", a.path("openssl.cnf"), "-new", "-newkey", kind.name, "-pkeyopt", kind.option, "-nodes",
			"-subj", "/CN=Harbour clock "+kind.name, "-keyout", a.path(kind.name+".key"), "-out", a.path("request.pem"))
		a.run(t, "x509", "-req", "-in", a.path("request.pem"), "-CA", a.path("root.pem"), "-CAkey", a.path("root.key"), "-CAcreateserial",
			"-days", "36500", "-extfile", a.path("openssl.cnf"), "-extensions", "stamp", "-out", a.path(kind.name+".pem"))
	}
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		request, _ := io.ReadAll(r.Body)
		if r.Header.Get("Content-Type") != "application/timestamp-query" {
			http.Error(w, "not a query", http.StatusUnsupportedMediaType)
			return
		}
		w.Header().Set("Content-Type", "application/timestamp-reply")
		w.Write(a.answer(t, request, "ec"))
	}))
	t.Cleanup(server.Close)
	a.url = server.URL
	return a
}

func (a *authority) path(name string) string { return filepath.Join(a.dir, name) }

func (a *authority) write(t *testing.T, name string, data []byte) {
	t.Helper()
	if err := os.WriteFile(a.path(name), data, 0o600); err != nil {
		t.Fatal(err)
	}
}

func (a *authority) run(t *testing.T, args ...string) {
	t.Helper()
	if out, err := exec.Command(a.openssl, args...).CombinedOutput(); err != nil {
		t.Fatalf("openssl %s: %v\n%s", strings.Join(args, " "), err, out)
	}
}

// answer has openssl ts answer a request with the key of that name.
func (a *authority) answer(t *testing.T, request []byte, key string, more ...string) []byte {
	a.write(t, "query.tsq", request)
	a.run(t, append([]string{"ts", "-reply", "-config", a.path("openssl.cnf"), "-queryfile", a.path("query.tsq"), "-signer", a.path(key + ".pem"),
		"-inkey", a.path(key + ".key"), "-chain", a.path("root.pem"), "-out", a.path("reply.tsr")}, more...)...)
	reply, err := os.ReadFile(a.path("reply.tsr"))
	if err != nil {
		t.Error(err)
	}
	return reply
}

func TestStamp(t *testing.T) {
	a := newAuthority(t)
	digest := sha256.Sum256([]byte("the paper"))
	plain, err := newSigner(t).SignCMS(digest, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	stamped, err := seal.Stamp(plain, seal.HTTPAuthority(t.Context(), http.DefaultClient, a.url))
	if err != nil {
		t.Fatal(err)
	}
	by, err := seal.VerifyCMS(stamped, digest)
	if err != nil {
		t.Fatal(err)
	}
	if by.Timestamp == nil || time.Since(by.Timestamp.Time).Abs() > time.Minute || seal.CommonName(by.Timestamp.Chain[0]) != "Harbour clock ec" || len(by.Timestamp.Chain) != 2 {
		t.Fatalf("got %+v", by.Timestamp)
	}
	if len(stamped)-len(plain) > seal.MaxTimestamp {
		t.Errorf("the time-stamp takes %d bytes", len(stamped)-len(plain))
	}
	t.Logf("the time-stamp takes %d bytes", len(stamped)-len(plain))

	t.Run("every byte", func(t *testing.T) {
		everyByte(t, "stamped", stamped, 5, func(b []byte) error {
			_, err := seal.VerifyCMS(b, digest)
			return err
		})
	})
	t.Run("openssl", func(t *testing.T) {
		a.write(t, "stamped.p7s", stamped)
		a.write(t, "content", []byte("the paper"))
		chain := by.Chain[len(by.Chain)-1]
		a.write(t, "signer.pem", pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: chain.Raw}))
		a.run(t, "cms", "-verify", "-binary", "-cades", "-inform", "DER", "-in", a.path("stamped.p7s"), "-content", a.path("content"),
			"-CAfile", a.path("signer.pem"), "-attime", "1795737600", "-out", os.DevNull)
	})
}

// TestStampKinds has openssl answer in several ways; a second implementation
// reads the same token.
func TestStampKinds(t *testing.T) {
	a := newAuthority(t)
	digest := sha256.Sum256([]byte("the paper"))
	plain, err := newSigner(t).SignCMS(digest, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		key    string
		change [2]string // in the authority's configuration
		more   []string
	}{
		"EC, SHA-256":            {key: "ec"},
		"RSA, SHA-256":           {key: "rsa"},
		"RSA, SHA-512":           {key: "rsa", more: []string{"-sha512"}},
		"EC, SHA-384":            {key: "ec", more: []string{"-sha384"}},
		"certificate by SHA-1":   {key: "ec", change: [2]string{"ess_cert_id_alg = sha256", "ess_cert_id_alg = sha1"}},
		"certificate by SHA-512": {key: "ec", change: [2]string{"ess_cert_id_alg = sha256", "ess_cert_id_alg = sha512"}},
		"no accuracy":            {key: "ec", change: [2]string{"accuracy = secs:1, millisecs:500", ""}},
		"whole seconds":          {key: "ec", change: [2]string{"clock_precision_digits = 3", "clock_precision_digits = 0"}},
	} {
		t.Run(name, func(t *testing.T) {
			a.write(t, "openssl.cnf", []byte(strings.Replace(strings.ReplaceAll(authorityConfig, "$dir", a.dir), c.change[0], c.change[1], 1)))
			var reply []byte
			stamped, err := seal.Stamp(plain, func(request []byte) ([]byte, error) {
				if _, err := timestamp.ParseRequest(request); err != nil {
					t.Errorf("digitorus/timestamp refuses the request: %v", err)
				}
				reply = a.answer(t, request, c.key, c.more...)
				return reply, nil
			})
			if err != nil {
				t.Fatal(err)
			}
			by, err := seal.VerifyCMS(stamped, digest)
			if err != nil {
				t.Fatal(err)
			}
			other, err := timestamp.ParseResponse(reply)
			if err != nil {
				t.Fatal(err)
			}
			if !other.Time.Equal(by.Timestamp.Time) {
				t.Errorf("digitorus/timestamp reads %v, we read %v", other.Time, by.Timestamp.Time)
			}
		})
	}
}

func TestStampRefused(t *testing.T) {
	a := newAuthority(t)
	digest := sha256.Sum256([]byte("the paper"))
	plain, err := newSigner(t).SignCMS(digest, time.Time{})
	if err != nil {
		t.Fatal(err)
	}
	var first []byte
	if _, err := seal.Stamp(plain, func(request []byte) ([]byte, error) {
		first = a.answer(t, request, "ec")
		return first, nil
	}); err != nil {
		t.Fatal(err)
	}
	offline := errors.New("network is unreachable")
	for name, c := range map[string]struct {
		ask  seal.Ask
		want string
	}{
		"offline":       {func([]byte) ([]byte, error) { return nil, offline }, "network is unreachable"},
		"nothing":       {func([]byte) ([]byte, error) { return nil, nil }, "not a time-stamp response"},
		"a web page":    {func([]byte) ([]byte, error) { return []byte("<html>"), nil }, "not a time-stamp response"},
		"an old answer": {func([]byte) ([]byte, error) { return first, nil }, "another request"},
		"cut":           {func([]byte) ([]byte, error) { return first[:len(first)-1], nil }, "not a time-stamp response"},
		"bytes after":   {func([]byte) ([]byte, error) { return append(slices.Clone(first), 0), nil }, "not a time-stamp response"},
		"refusal": {func([]byte) ([]byte, error) {
			return timestamp.CreateErrorResponse(timestamp.Rejection, timestamp.TimeNotAvailable)
		}, "refuses a time-stamp"},
		"SHA-512 instead": {func(request []byte) ([]byte, error) {
			r, err := timestamp.ParseRequest(request)
			if err != nil {
				return nil, err
			}
			r.HashedMessage[0]++ // of another signature
			changed, err := r.Marshal()
			if err != nil {
				return nil, err
			}
			return a.answer(t, changed, "ec"), nil
		}, "over something else"},
		"no certificate": {func(request []byte) ([]byte, error) {
			r, err := timestamp.ParseRequest(request)
			if err != nil {
				return nil, err
			}
			r.Certificates = false
			changed, err := r.Marshal()
			if err != nil {
				return nil, err
			}
			return a.answer(t, changed, "ec"), nil
		}, "a certificate"},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := seal.Stamp(plain, c.ask)
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want it to say %q", err, c.want)
			}
		})
	}

	// A key that is not for time-stamps; openssl would not sign with it.
	timeStamping := pkix.Extension{Id: []int{2, 5, 29, 37}, Value: []byte{0x30, 0x0a, 0x06, 0x08, 0x2b, 6, 1, 5, 5, 7, 3, 8}}
	for name, extension := range map[string][]pkix.Extension{
		"no purpose":           nil,
		"web server":           {{Id: []int{2, 5, 29, 37}, Critical: true, Value: []byte{0x30, 0x0a, 0x06, 0x08, 0x2b, 6, 1, 5, 5, 7, 3, 1}}},
		"purpose not critical": {timeStamping},
	} {
		t.Run(name, func(t *testing.T) {
			key := p256()
			template := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: name}, NotBefore: day.AddDate(-9, 0, 0), NotAfter: day.AddDate(9, 0, 0),
				BasicConstraintsValid: true, IsCA: true, ExtraExtensions: extension}
			der, err := x509.CreateCertificate(rand.Reader, template, template, key.Public(), key)
			if err != nil {
				t.Fatal(err)
			}
			cert, err := x509.ParseCertificate(der)
			if err != nil {
				t.Fatal(err)
			}
			_, err = seal.Stamp(plain, func(request []byte) ([]byte, error) {
				r, err := timestamp.ParseRequest(request)
				if err != nil {
					return nil, err
				}
				return (&timestamp.Timestamp{HashAlgorithm: r.HashAlgorithm, HashedMessage: r.HashedMessage, Time: day, Nonce: r.Nonce,
					Policy: []int{1, 2, 3}, AddTSACertificate: true}).CreateResponseWithOpts(cert, key, crypto.SHA256)
			})
			if err == nil || !strings.Contains(err.Error(), "is not for time-stamps") {
				t.Errorf("got %v", err)
			}
		})
	}

	t.Run("over HTTP", func(t *testing.T) {
		site := httptest.NewServer(http.NotFoundHandler())
		defer site.Close()
		if _, err := seal.Stamp(plain, seal.HTTPAuthority(t.Context(), http.DefaultClient, site.URL)); err == nil || !strings.Contains(err.Error(), "404") {
			t.Errorf("got %v", err)
		}
		site.Close()
		if _, err := seal.Stamp(plain, seal.HTTPAuthority(t.Context(), http.DefaultClient, site.URL)); err == nil {
			t.Error("a closed server gave a time-stamp")
		}
	})
}
