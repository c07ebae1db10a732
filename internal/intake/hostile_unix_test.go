//go:build unix

package intake

import (
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// TestPipe holds that a named pipe, which would never end, is not opened.
func TestPipe(t *testing.T) {
	dir := t.TempDir()
	layOut(t, dir, nil)
	if err := os.Mkdir(filepath.Join(dir, "readings"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Mkfifo(filepath.Join(dir, "readings", "a.csv"), 0o644); err != nil {
		t.Fatal(err)
	}
	_, list := Read(dir, Options{})
	if got := printProblems(list); !strings.Contains(got, "[not-a-file]") {
		t.Error(got)
	}
}
