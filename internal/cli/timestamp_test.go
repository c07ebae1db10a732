package cli_test

import (
	"crypto"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/asn1"
	"encoding/pem"
	"io"
	"math/big"
	"net/http"
	"net/http/httptest"
	"net/http/httputil"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/digitorus/timestamp"
	"software.sslmate.com/src/go-pkcs12"

	"spanseal/internal/cli"
)

// authority is a time-stamp server made with a library that we did not write.
// It returns its address and the file of its certificate.
func authority(t *testing.T) (url, certificate string) { return authorityAt(t, now) }

// authorityAt is one with a clock of its own, whose certificate ends in an hour.
func authorityAt(t *testing.T, clock func() time.Time) (url, certificate string) {
	t.Helper()
	return authorityOf(t, clock, clock(), nil, nil)
}

// authorityOf is one whose certificate is of a day, and issued by another, or by
// itself for nil.
func authorityOf(t *testing.T, clock func() time.Time, day time.Time, issuer *x509.Certificate, by crypto.Signer) (url, certificate string) {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	// A certificate for time-stamping says so in a critical extension, alone
	// (RFC 3161, 2.3).
	usage, err := asn1.Marshal([]asn1.ObjectIdentifier{{1, 3, 6, 1, 5, 5, 7, 3, 8}})
	if err != nil {
		t.Fatal(err)
	}
	template := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "Harbour clock"},
		NotBefore: day.Add(-time.Hour), NotAfter: day.Add(time.Hour),
		KeyUsage:        x509.KeyUsageDigitalSignature,
		ExtraExtensions: []pkix.Extension{{Id: asn1.ObjectIdentifier{2, 5, 29, 37}, Critical: true, Value: usage}},
	}
	if issuer == nil {
		issuer, by = template, key
	}
	der, err := x509.CreateCertificate(rand.Reader, template, issuer, key.Public(), by)
	if err != nil {
		t.Fatal(err)
	}
	cert, err := x509.ParseCertificate(der)
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(r.Body)
		if err != nil {
			t.Error(err)
			return
		}
		q, err := timestamp.ParseRequest(body)
		if err != nil {
			t.Error(err)
			return
		}
		stamp := timestamp.Timestamp{
			HashAlgorithm: q.HashAlgorithm, HashedMessage: q.HashedMessage, Nonce: q.Nonce,
			Time: clock(), Policy: asn1.ObjectIdentifier{1, 2, 3}, AddTSACertificate: q.Certificates,
		}
		reply, err := stamp.CreateResponseWithOpts(cert, key, crypto.SHA256)
		if err != nil {
			t.Error(err)
			return
		}
		w.Header().Set("Content-Type", "application/timestamp-reply")
		_, _ = w.Write(reply)
	}))
	t.Cleanup(server.Close)
	certificate = filepath.Join(t.TempDir(), "clock.pem")
	if err := os.WriteFile(certificate, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der}), 0o644); err != nil {
		t.Fatal(err)
	}
	return server.URL, certificate
}

func certificatePath(key string) string { return strings.TrimSuffix(key, ".p12") + ".pem" }

func copyFile(t *testing.T, from, to string) {
	t.Helper()
	data, err := os.ReadFile(from)
	if err == nil {
		err = os.WriteFile(to, data, 0o644)
	}
	if err != nil {
		t.Fatal(err)
	}
}

// sign replaces the line of job.yaml about signing.
func sign(t *testing.T, job, line string) {
	t.Helper()
	path := filepath.Join(job, "job.yaml")
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	before, _, _ := strings.Cut(string(text), "sign:")
	if err := os.WriteFile(path, []byte(before+"sign: "+line+"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
}

// Papers are time-stamped where the job names an authority; without the
// network there are none, or none with a stamp, as the job says.
func TestTimestamps(t *testing.T) {
	job := bigJob(t, 2)
	key := filepath.Join(job, "signer.p12")
	must(t, cli.ExitOK, "key", "new", key, "--name", "R. Lindqvist")
	url, clock := authority(t)

	sign(t, job, "{key: signer.p12, timestamp_url: '"+url+"'}")
	must(t, cli.ExitOK, "issue", job)
	paper := filepath.Join(job, "issued", "r1", "certificates", "L-00001.pdf")
	if out := must(t, cli.ExitOK, "verify", paper, "--trust", certificatePath(key), "--trust-time", clock); !strings.Contains(out, "a time that Harbour clock vouches for") {
		t.Errorf("the time-stamp is not seen:\n%s", out)
	}

	nobody := "http://127.0.0.1:1/" // no server listens on the port of tcpmux
	sign(t, job, "{key: signer.p12, timestamp_url: '"+nobody+"'}")
	code, _, stderr := run(t, "issue", job, "--again", "--reason", "a test")
	if code != cli.ExitTool || !strings.HasPrefix(stderr, "error: nothing was issued: ") || !strings.Contains(stderr, "the job asks for time-stamps: no time-stamp: ") {
		t.Errorf("exit code %d: %s", code, stderr)
	}
	sign(t, job, "{key: signer.p12, timestamp: when-reachable, timestamp_url: '"+nobody+"'}")
	code, _, stderr = run(t, "issue", job, "--again", "--reason", "a test")
	if code != cli.ExitOK || !strings.Contains(stderr, "note: documents are signed without a time-stamp of "+nobody+": ") ||
		!strings.Contains(stderr, "note: the time-stamp authority "+nobody+" is asked without encryption: ") {
		t.Errorf("exit code %d: %s", code, stderr)
	}
	// The key is lost later: what an authority saw before holds, the signer's
	// own word about the time does not.
	trusted := t.TempDir()
	copyFile(t, certificatePath(key), filepath.Join(trusted, "signer.pem"))
	_, shown, _ := run(t, "key", "show", certificatePath(key))
	_, id, _ := strings.Cut(shown, "\nkey")
	id, _, _ = strings.Cut(id, "\n")
	since := time.Now().AddDate(0, 0, 2).Format(time.DateOnly)
	if err := os.WriteFile(filepath.Join(trusted, "revoked.txt"), []byte(strings.TrimSpace(id)+" since "+since+" laptop stolen\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	revoked := "is revoked since " + since + ": laptop stolen; "
	if out := must(t, cli.ExitOK, "verify", paper, "--trust", trusted, "--trust-time", clock); !strings.Contains(out, revoked+"a time-stamp proves that it was signed before\n") {
		t.Errorf("stamped before the key was revoked:\n%s", out)
	}
	later := filepath.Join(job, "issued", "r2", "certificates", "L-00001.pdf")
	if out := must(t, cli.ExitUntrusted, "verify", later, "--trust", trusted, "--trust-time", clock); !strings.Contains(out, revoked+"no time-stamp proves that it was signed before\n") {
		t.Errorf("not stamped:\n%s", out)
	}

	sign(t, job, "{key: signer.p12, timestamp_url: ftp.example}")
	code, _, stderr = run(t, "issue", job, "--again", "--reason", "a test")
	if code != cli.ExitRefused || !strings.Contains(stderr, "[not-a-url]") {
		t.Errorf("exit code %d: %s", code, stderr)
	}
}

// A job that requires time-stamps is not issued with one that nobody would count.
func TestRequiredStamps(t *testing.T) {
	job := bigJob(t, 1)
	keyPath := filepath.Join(job, "signer.p12")
	must(t, cli.ExitOK, "key", "new", keyPath, "--name", "R. Lindqvist")
	data, err := os.ReadFile(keyPath)
	check(t, err)
	private, own, err := pkcs12.Decode(data, passphrase)
	check(t, err)
	before := now().AddDate(-1, 0, 0)
	for _, test := range []struct {
		name   string
		clock  func() time.Time
		day    time.Time // of the authority's certificate
		issuer *x509.Certificate
		says   string
	}{
		{"its certificate ended a year ago", now, before, nil, "the time-stamp is worth nothing: it is of 2026-11-25, and the certificate of Harbour clock is valid from 2025-11-25 to 2025-11-25"},
		{"the same, and its clock stands in those days", func() time.Time { return before }, before, nil, "the authority says that it is 2025-11-25, this computer's clock 2026-11-25"},
		{"its certificate is not valid yet", now, now().AddDate(1, 0, 0), nil, "the time-stamp is worth nothing"},
		{"the signer made it", now, now(), own, "the time-stamp leads to the key that signs the documents"},
	} {
		t.Run(test.name, func(t *testing.T) {
			url, clock := authorityOf(t, test.clock, test.day, test.issuer, private.(crypto.Signer))
			sign(t, job, "{key: signer.p12, timestamp: required, timestamp_url: '"+url+"'}")
			code, _, stderr := run(t, "issue", job)
			if code != cli.ExitTool || !strings.Contains(stderr, ": the job asks for time-stamps: ") || !strings.Contains(stderr, test.says) {
				t.Errorf("exit code %d: %s", code, stderr)
			}
			if _, err := os.Stat(filepath.Join(job, "issued")); err == nil {
				t.Error("something was issued")
			}
			// Without the demand the papers are issued, and say that they have none.
			sign(t, job, "{key: signer.p12, timestamp: when-reachable, timestamp_url: '"+url+"'}")
			code, _, stderr = run(t, "issue", job)
			if code != cli.ExitOK || !strings.Contains(stderr, "documents are signed without a time-stamp") || !strings.Contains(stderr, test.says) {
				t.Errorf("when reachable: exit code %d: %s", code, stderr)
			}
			// Nor does renew take one, whoever trusts the authority.
			code, _, stderr = run(t, "renew", job, "--authority", url, "--trust-time", clock)
			if code != cli.ExitTool && code != cli.ExitUntrusted || !strings.Contains(stderr, "was not stamped") {
				t.Errorf("renew: exit code %d: %s", code, stderr)
			}
			check(t, os.RemoveAll(filepath.Join(job, "issued")))
		})
	}
}

// An authority that sends requests on is told, since the papers were seen by
// another than the job names; from https to http nobody is sent.
func TestSentOn(t *testing.T) {
	job := bigJob(t, 1)
	key := filepath.Join(job, "signer.p12")
	must(t, cli.ExitOK, "key", "new", key, "--name", "R. Lindqvist")
	url, clock := authority(t)
	door := httptest.NewServer(http.RedirectHandler(url, http.StatusTemporaryRedirect))
	defer door.Close()
	sign(t, job, "{key: signer.p12, timestamp_url: '"+door.URL+"'}")
	code, _, stderr := run(t, "issue", job)
	if code != cli.ExitOK || strings.Count(stderr, "note: the time-stamp authority "+door.URL+" sends requests on to "+url) != 1 {
		t.Errorf("exit code %d: %s", code, stderr)
	}
	must(t, cli.ExitOK, "verify", job, "--trust", certificatePath(key), "--trust-time", clock)

	round := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		http.Redirect(w, r, "/again", http.StatusPermanentRedirect)
	}))
	defer round.Close()
	sign(t, job, "{key: signer.p12, timestamp_url: '"+round.URL+"'}")
	code, _, stderr = run(t, "issue", job, "--again", "--reason", "a test")
	if code != cli.ExitTool || !strings.Contains(stderr, "it sends requests on and on") {
		t.Errorf("exit code %d: %s", code, stderr)
	}
}

// A login goes to the host that was written down, encrypted, and to no other.
func TestLogin(t *testing.T) {
	const secret = "low:water" // a password may hold a colon (RFC 7617, 2)
	job := bigJob(t, 1)
	key := filepath.Join(job, "signer.p12")
	must(t, cli.ExitOK, "key", "new", key, "--name", "R. Lindqvist")
	clockURL, clock := authorityAt(t, now)
	plain, err := url.Parse(clockURL)
	check(t, err)

	// The authority itself, which wants the login; a second host that it sends
	// requests on to, which is not to see it.
	asked := map[string]int{}
	var mu sync.Mutex
	seen := func(what string) { mu.Lock(); asked[what]++; mu.Unlock() }
	elsewhere := httptest.NewTLSServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Header.Get("Authorization") != "" {
			seen("the login, elsewhere")
		}
		seen("elsewhere")
		httputil.NewSingleHostReverseProxy(plain).ServeHTTP(w, r)
	}))
	defer elsewhere.Close()
	var guarded *httptest.Server
	guarded = httptest.NewTLSServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		name, password, _ := r.BasicAuth()
		switch {
		case name != "office" || password != secret:
			seen("no login")
			w.WriteHeader(http.StatusUnauthorized)
		case r.URL.Path == "/moved":
			http.Redirect(w, r, guarded.URL+"/", http.StatusTemporaryRedirect)
		case r.URL.Path == "/elsewhere":
			http.Redirect(w, r, elsewhere.URL+"/?session=4711", http.StatusTemporaryRedirect)
		case r.URL.Path == "/unencrypted":
			http.Redirect(w, r, clockURL, http.StatusTemporaryRedirect)
		default:
			seen("the login")
			httputil.NewSingleHostReverseProxy(plain).ServeHTTP(w, r)
		}
	}))
	defer guarded.Close()
	roots := x509.NewCertPool()
	roots.AddCert(guarded.Certificate())
	transport := http.DefaultTransport.(*http.Transport)
	before := transport.TLSClientConfig
	transport.TLSClientConfig = &tls.Config{RootCAs: roots}
	defer func() { transport.TLSClientConfig = before; transport.CloseIdleConnections() }()

	file := filepath.Join(t.TempDir(), "login")
	check(t, os.WriteFile(file, []byte("office:"+secret+"\n"), 0o600))
	defer func() { login = "" }()
	for _, test := range []struct {
		name, path, file string
		code             int
		says, sees       string
	}{
		{"without the login", "/", "", cli.ExitTool, "answers 401 Unauthorized", "no login"},
		{"with it", "/", file, cli.ExitOK, "", "the login"},
		{"sent on within the host", "/moved", file, cli.ExitOK, "sends requests on to " + guarded.URL + "/: if that is right", "the login"},
		{"sent on elsewhere", "/elsewhere", file, cli.ExitOK, "sends requests on to " + elsewhere.URL + "/: if that is right", "elsewhere"},
		{"sent on without encryption", "/unencrypted", file, cli.ExitTool, "it sends requests on from https to " + clockURL, ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			clear(asked)
			login = test.file
			sign(t, job, "{key: signer.p12, timestamp_url: '"+guarded.URL+test.path+"'}")
			code, stdout, stderr := run(t, "issue", job, "--again", "--reason", "a test")
			if code != test.code || !strings.Contains(stderr, test.says) || test.sees != "" && asked[test.sees] == 0 || asked["the login, elsewhere"] > 0 {
				t.Errorf("exit code %d, asked %v: %s", code, asked, stderr)
			}
			for _, hidden := range []string{secret, "b2ZmaWNl", "4711"} { // the name in base64 begins so
				if strings.Contains(stdout+stderr, hidden) {
					t.Errorf("%q is printed: %s%s", hidden, stdout, stderr)
				}
			}
		})
	}
	must(t, cli.ExitOK, "verify", job, "--trust", certificatePath(key), "--trust-time", clock)

	clear(asked)
	login = file
	must(t, cli.ExitOK, "renew", filepath.Join(job, "issued", "r1"), "--authority", guarded.URL)
	if asked["the login"] != 1 {
		t.Errorf("renew: %v", asked)
	}
	check(t, os.Chmod(file, 0o644))
	if _, _, stderr := run(t, "renew", filepath.Join(job, "issued", "r1"), "--authority", guarded.URL); runtime.GOOS != "windows" && !strings.Contains(stderr, "may read or change the file with the login of the time-stamp authority") {
		t.Errorf("a login that others may read: %s", stderr)
	}
}

// What the set discloses is said by check before the first revision, by issue
// with it, and not again.
func TestDiscloses(t *testing.T) {
	job := bigJob(t, 1)
	key := filepath.Join(job, "signer.p12")
	must(t, cli.ExitOK, "key", "new", key, "--name", "R. Lindqvist")
	clockURL, _ := authority(t)
	sign(t, job, "{key: signer.p12, timestamp_url: '"+clockURL+"'}\npay: {currency: EUR, items: [{title: Links, unit: link, rate: 12.50}]}")
	const said = "note: the set holds job.yaml byte for byte, and in it: rates and retainage, as on statement.pdf and in results.json (in pay.yaml instead they are not in job.yaml); where the key lies; the address of the time-stamp authority\n"
	const readAlong = "is asked without encryption"
	const readable = "others on this computer may read or change the key file"
	check(t, os.Chmod(key, 0o644))
	for _, test := range []struct {
		args []string
		said int
	}{
		{[]string{"check", job}, 1},
		{[]string{"issue", job}, 1},
		{[]string{"check", job}, 0},
		{[]string{"issue", job, "--again", "--reason", "a test"}, 0},
	} {
		code, _, stderr := run(t, test.args...)
		if code != cli.ExitOK || strings.Count(stderr, said) != test.said || strings.Count(stderr, readAlong) != 1 || runtime.GOOS != "windows" && strings.Count(stderr, readable) != 1 {
			t.Errorf("%v: exit code %d, want the note %d times: %s", test.args, code, test.said, stderr)
		}
	}
	fresh := bigJob(t, 1)
	copyFile(t, key, filepath.Join(fresh, "signer.p12"))
	sign(t, fresh, "{key: signer.p12}")
	check(t, os.Chmod(filepath.Join(fresh, "signer.p12"), 0o600))
	check(t, os.WriteFile(filepath.Join(fresh, "pay.yaml"), []byte("currency: EUR\nitems: [{title: Links, unit: link, rate: 12.50}]\n"), 0o644))
	if code, _, stderr := run(t, "check", fresh); code != cli.ExitOK || stderr != "" {
		t.Errorf("rates in pay.yaml: exit code %d: %s", code, stderr)
	}
	if code, _, stderr := run(t, "issue", fresh); code != cli.ExitOK || stderr != "note: the set holds job.yaml byte for byte, and in it: where the key lies\n" {
		t.Errorf("rates in pay.yaml: exit code %d: %s", code, stderr)
	}
}

// A key that others can take is told, where it is made, shown and used.
func TestCarelessKeys(t *testing.T) {
	if runtime.GOOS == "windows" {
		return // files have other rights there
	}
	job := bigJob(t, 1)
	key := filepath.Join(job, "signer.p12")
	short := filepath.Join(t.TempDir(), "pass.txt")
	if err := os.WriteFile(short, []byte("x\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	const said = "has 1 character: whoever gets the file soon has the key"
	if code, _, stderr := run(t, "key", "new", key, "--name", "R. Lindqvist", "--passphrase-file", short); code != cli.ExitOK || !strings.Contains(stderr, said) {
		t.Errorf("exit code %d: %s", code, stderr)
	}
	for mode, told := range map[os.FileMode]bool{0o666: true, 0o640: true, 0o600: false, 0o400: false} {
		if err := os.Chmod(key, mode); err != nil {
			t.Fatal(err)
		}
		for _, args := range [][]string{{"key", "show", key}, {"issue", job, "--again", "--reason", "a test"}} {
			code, _, stderr := run(t, append(args, "--passphrase-file", short)...)
			if code != cli.ExitOK || !strings.Contains(stderr, said) || strings.Contains(stderr, "others on this computer may read or change the key file") != told {
				t.Errorf("%s, mode %o: exit code %d: %s", args[0], mode, code, stderr)
			}
		}
	}
}
