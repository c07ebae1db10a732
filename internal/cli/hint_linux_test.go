package cli_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"spanseal/internal/cli"
)

// TestHintsCanBeTyped: what is printed to be typed next does what it says in a
// shell, whatever the folder is called, and runs nothing that its name holds.
func TestHintsCanBeTyped(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	program := program(t)
	cabinet, err := filepath.Abs("../../testdata/script/cabinet")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	t.Chdir(dir)
	for _, name := range []string{"plain", "with space", "-v", "$(touch ran)", "`touch ran`", `quo"te's`, "back\\slash", "a;touch ran", "#x", "!!", "~", "{a,b}"} {
		if err := os.CopyFS(name, os.DirFS(cabinet)); err != nil {
			t.Fatal(err)
		}
		must(t, cli.ExitOK, "key", "new", "./"+name+"/signer.p12", "--name", "R. Lindqvist")
		out := must(t, cli.ExitOK, "issue", "--", name)
		lines := strings.Split(strings.TrimSpace(out), "\n")
		for i, answer := range []string{"INTACT, SIGNER TRUSTED", "packed "} { // the last two lines
			hint, ok := strings.CutPrefix(strings.TrimSpace(lines[len(lines)-2+i]), "spanseal ")
			if !ok {
				t.Fatalf("%s: no hint in\n%s", name, out)
			}
			c := exec.Command("sh", "-c", program+" "+hint)
			if data, err := c.CombinedOutput(); err != nil || !strings.HasPrefix(string(data), answer) {
				t.Errorf("%s: %s: %v\n%s", name, hint, err, data)
			}
		}
		if err := os.Remove("BL-2026-032-r1.zip"); err != nil { // all are of one job
			t.Error(err)
		}
		if _, err := os.Lstat(filepath.Join(dir, "ran")); err == nil {
			t.Fatalf("%s: a command in the name was run", name)
		}
	}
}
