package cli_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"spanseal/internal/cli"
	"spanseal/internal/outside"
)

// A company's key file, as openssl exports it, that lacks the certificate of
// who issued the signer's: said when it is shown and when it is used, since the
// receiver who trusts the root cannot follow.
func TestKeyWithoutIntermediate(t *testing.T) {
	openssl := outside.Program(t, "openssl")
	dir := t.TempDir()
	file := func(name string) string { return filepath.Join(dir, name) }
	ssl := func(args ...string) {
		t.Helper()
		if out, err := exec.Command(openssl, args...).CombinedOutput(); err != nil {
			t.Fatalf("openssl %s: %v\n%s", strings.Join(args, " "), err, out)
		}
	}
	config := "[req]\ndistinguished_name=dn\nprompt=no\n[dn]\nCN=x\n[ca]\nbasicConstraints=critical,CA:TRUE\nkeyUsage=critical,keyCertSign,cRLSign\n" +
		"[leaf]\nbasicConstraints=critical,CA:FALSE\nkeyUsage=critical,nonRepudiation\nextendedKeyUsage=emailProtection\n"
	if err := os.WriteFile(file("cnf"), []byte(config), 0o600); err != nil {
		t.Fatal(err)
	}
	ssl("req", "-config", file("cnf"), "-new", "-x509", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-subj", "/CN=Root",
		"-extensions", "ca", "-days", "3650", "-keyout", file("root.key"), "-out", file("root.pem"))
	for _, c := range []struct{ name, subject, by, use string }{{"middle", "/CN=Documents", "root", "ca"}, {"leaf", "/CN=R. Lindqvist", "middle", "leaf"}} {
		ssl("req", "-config", file("cnf"), "-new", "-newkey", "ec", "-pkeyopt", "ec_paramgen_curve:P-256", "-nodes", "-subj", c.subject,
			"-keyout", file(c.name+".key"), "-out", file("request.pem"))
		ssl("x509", "-req", "-in", file("request.pem"), "-CA", file(c.by+".pem"), "-CAkey", file(c.by+".key"), "-CAcreateserial", "-days", "3650",
			"-extfile", file("cnf"), "-extensions", c.use, "-out", file(c.name+".pem"))
	}
	ssl("pkcs12", "-export", "-in", file("leaf.pem"), "-inkey", file("leaf.key"), "-passout", "pass:"+passphrase, "-out", file("alone.p12"))
	ssl("pkcs12", "-export", "-in", file("leaf.pem"), "-inkey", file("leaf.key"), "-certfile", file("middle.pem"), "-passout", "pass:"+passphrase, "-out", file("whole.p12"))
	for _, p := range []string{"alone.p12", "whole.p12"} {
		if err := os.Chmod(file(p), 0o600); err != nil {
			t.Fatal(err)
		}
	}

	// openssl dates its certificates by the clock of this machine, and the tests have their own.
	tomorrow := time.Now().AddDate(0, 0, 1).Format(time.DateOnly)
	const said = "the key file does not hold the certificate of Documents, who issued that of R. Lindqvist"
	for _, c := range []struct {
		key  string
		told bool
		code int // of verify with the root alone
	}{{"alone.p12", true, cli.ExitUntrusted}, {"whole.p12", false, cli.ExitOK}} {
		code, _, stderr := run(t, "key", "show", file(c.key))
		if code != cli.ExitOK || strings.Contains(stderr, said) != c.told {
			t.Errorf("key show %s: exit code %d: %s", c.key, code, stderr)
		}
		job := bigJob(t, 1)
		code, _, stderr = run(t, "issue", job, "--key", file(c.key), "--date", tomorrow, "--postdated")
		if code != cli.ExitOK || strings.Contains(stderr, said) != c.told {
			t.Errorf("issue with %s: exit code %d: %s", c.key, code, stderr)
		}
		must(t, c.code, "verify", job, "--trust", file("root.pem"))
	}
}
