package issue

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestRevisionsCountOnlyFinishedOnes(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"r1", "r10", "r2", "r0", "r03", "rx", "old-r4", ".r3-partial"} {
		if err := os.Mkdir(filepath.Join(dir, name), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "r7"), nil, 0o644); err != nil { // a file is no revision
		t.Fatal(err)
	}
	got, err := revisions(dir)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]int{1, 2, 10}, got); diff != "" {
		t.Error(diff)
	}
	if got, err := revisions(filepath.Join(dir, "nowhere")); err != nil || got != nil {
		t.Errorf("a missing folder gives %v, %v; want none", got, err)
	}
}

func TestSweepRemovesLeftoversOnly(t *testing.T) {
	dir := t.TempDir()
	keep := []string{"r1", ".r2-partial-notes", "r2-partial"}
	for _, name := range append([]string{".r2-partial/certificates", ".r12-partial"}, keep...) {
		if err := os.MkdirAll(filepath.Join(dir, name), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if err := sweep(dir); err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		got = append(got, e.Name())
	}
	if diff := cmp.Diff([]string{".r2-partial-notes", "r1", "r2-partial"}, got); diff != "" {
		t.Error(diff)
	}
}

func TestDraftAppearsWholeOrNotAtAll(t *testing.T) {
	dir := t.TempDir()
	d, err := begin(dir, "r1")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"results.csv", "evidence/readings/a.csv"} {
		if err := d.write(name, []byte(name)); err != nil {
			t.Fatal(err)
		}
	}
	if got, _ := revisions(dir); got != nil {
		t.Errorf("revisions %v are there before publish", got)
	}
	if err := d.publish(); err != nil {
		t.Fatal(err)
	}
	d.discard()
	data, err := os.ReadFile(filepath.Join(dir, "r1", "evidence", "readings", "a.csv"))
	if err != nil || string(data) != "evidence/readings/a.csv" {
		t.Errorf("%q, %v", data, err)
	}

	d, err = begin(dir, "r2")
	if err != nil {
		t.Fatal(err)
	}
	if err := d.write("results.csv", nil); err != nil {
		t.Fatal(err)
	}
	d.discard()
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 1 || entries[0].Name() != "r1" {
		t.Errorf("after discard the folder holds %v, %v", entries, err)
	}
}

func TestDraftRefusesNamesThatFoldIntoOne(t *testing.T) {
	d, err := begin(t.TempDir(), "r1")
	if err != nil {
		t.Fatal(err)
	}
	if err := d.write("certificates/a-01.pdf", nil); err != nil {
		t.Fatal(err)
	}
	if err := d.write("certificates/A-01.pdf", nil); err == nil {
		t.Error("two names that are one file on Windows and macOS were both written")
	}
}

func TestLock(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, lockName)
	// What a killed run leaves behind: a file that nobody holds.
	if err := os.WriteFile(path, []byte("process 1 on quay, since yesterday, and a long tail\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	release, err := hold(path, "process 2 on quay")
	if err != nil {
		t.Fatalf("a stale lock stops the next run: %v", err)
	}
	_, err = hold(path, "process 3 on quay")
	var busy *BusyError
	if !errors.As(err, &busy) {
		t.Fatalf("the second holder got %v, want a BusyError", err)
	}
	if want := (&BusyError{Path: path, Holder: "process 2 on quay"}); *busy != *want {
		t.Errorf("got %+v, want %+v", *busy, *want)
	}
	release()
	if _, err := os.Stat(path); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("after release the lock file is still there: %v", err)
	}
	release, err = hold(path, "process 3 on quay")
	if err != nil {
		t.Fatal(err)
	}
	release()
}
