package cli_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"golang.org/x/sys/unix"

	"spanseal/internal/cli"
)

// A disk that fills up half-way leaves the earlier revisions as they were, and
// no half one.
func TestFullDisk(t *testing.T) {
	job, disk := bigJob(t, 40), t.TempDir()
	if err := unix.Mount("tmpfs", disk, "tmpfs", 0, "size=4m"); err != nil {
		t.Logf("a small disk cannot be mounted here (%v); a missing folder stands in for it", err)
		disk = filepath.Join(job, "job.yaml") // a file, in which no folder can be made
	} else {
		t.Cleanup(func() {
			if err := unix.Unmount(disk, 0); err != nil {
				t.Error(err)
			}
		})
	}
	must(t, cli.ExitOK, "key", "new", filepath.Join(job, "signer.p12"), "--name", "R. Lindqvist")
	out := filepath.Join(disk, "issued")
	var before map[string]string
	full := false
	for range 5 { // a revision takes about 1.6 MB
		code, _, stderr := run(t, "issue", job, "--out", out, "--again", "--reason", "a test")
		if code == cli.ExitOK {
			before = tree(t, out)
			continue
		}
		full = true
		if code != cli.ExitTool || !strings.HasPrefix(stderr, "error: nothing was issued: ") {
			t.Fatalf("exit code %d: %s", code, stderr)
		}
		break
	}
	if !full {
		t.Fatal("the disk never filled up")
	}
	if _, err := os.Stat(out); err != nil {
		return // the first revision did not fit: nothing is there, not even a folder
	}
	for name, sum := range tree(t, out) {
		if before[name] != sum {
			t.Errorf("%s is there or was changed after the disk was full", name)
		}
	}
}
