package cli_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"spanseal/internal/cli"
)

// Keys that the office knows to be revoked are on the page that checks labels,
// and none of them signs another revision.
func TestRevokedWhereIssued(t *testing.T) {
	job := bigJob(t, 1)
	key, old := filepath.Join(job, "signer.p12"), filepath.Join(job, "old.p12")
	must(t, cli.ExitOK, "key", "new", key, "--name", "R. Lindqvist")
	must(t, cli.ExitOK, "key", "new", old, "--name", "R. Lindqvist")
	id := func(key string) string {
		_, shown, _ := run(t, "key", "show", certificatePath(key))
		_, id, _ := strings.Cut(shown, "\nkey")
		id, _, _ = strings.Cut(id, "\n")
		return strings.TrimSpace(id)
	}
	known := t.TempDir()
	copyFile(t, certificatePath(key), filepath.Join(known, "signer.pem"))
	list := func(text string) {
		if err := os.WriteFile(filepath.Join(known, "revoked.txt"), []byte(text+"\n"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	list(id(old) + " since 2026-10-01 laptop stolen")
	must(t, cli.ExitOK, "issue", job, "--trust", known)
	page, err := os.ReadFile(filepath.Join(job, "issued", "r1", "check.html"))
	if want := `[{"key_id":"` + id(old) + `","reason":"laptop stolen"}]`; err != nil || !strings.Contains(string(page), want) {
		t.Errorf("%v: %s is not on the page", err, want)
	}
	for _, c := range []struct {
		name, line string
		code       int
	}{
		{"stolen", id(key) + " since 2026-11-01 laptop stolen", cli.ExitRefused},
		{"given up before", id(key) + " until 2026-11-24", cli.ExitRefused},
		{"given up later", id(key) + " until 2026-11-25", cli.ExitOK},
	} {
		list(c.line)
		if code, _, stderr := run(t, "issue", job, "--trust", known, "--again", "--reason", "a test"); code != c.code || c.code != cli.ExitOK && !strings.Contains(stderr, "is listed in revoked.txt as not to be trusted") {
			t.Errorf("%s: exit code %d: %s", c.name, code, stderr)
		}
	}
}
