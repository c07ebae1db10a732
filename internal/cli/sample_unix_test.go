//go:build unix

package cli_test

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// TestSampleIsGuarded holds that new --from opens nothing but a regular file of
// bounded size: no device, no pipe, no line of 200 MB.
func TestSampleIsGuarded(t *testing.T) {
	dir := t.TempDir()
	pipe, large := filepath.Join(dir, "pipe.csv"), filepath.Join(dir, "large.csv")
	if err := syscall.Mkfifo(pipe, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(large, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(large, 200_000_000); err != nil {
		t.Fatal(err)
	}
	for file, want := range map[string]string{pipe: "[not-a-file]", os.DevNull: "[not-a-file]", "/dev/zero": "[not-a-file]", dir: "[not-a-file]", large: "[too-large]"} {
		code, _, stderr := run(t, "new", "--from", file)
		if code != 3 || !strings.Contains(stderr, want) {
			t.Errorf("%s: exit code %d, %s", file, code, stderr)
		}
	}
	linked := filepath.Join(dir, "linked.csv")
	if err := os.Symlink("/dev/zero", linked); err != nil {
		t.Fatal(err)
	}
	if code, _, stderr := run(t, "new", "--from", linked); code != 3 || !strings.Contains(stderr, "[not-a-file]") {
		t.Errorf("a link to a device: exit code %d, %s", code, stderr)
	}
}
