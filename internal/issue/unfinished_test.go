package issue

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/plain"
)

func TestRevisionsCountOnlyFinishedOnes(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"r1", "r10", "r2", "r0", "r03", "rx", "old-r4", ".r3-partial"} {
		if err := os.Mkdir(filepath.Join(dir, name), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	numbers := func() ([]int, error) {
		f, err := plain.Open(dir)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		return revisionsIn(f, dir)
	}
	got, err := numbers()
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff([]int{1, 2, 10}, got); diff != "" {
		t.Error(diff)
	}
	if n, err := Next(filepath.Join(dir, "nowhere")); err != nil || n != 1 {
		t.Errorf("a missing folder gives %v, %v; want the first", n, err)
	}
	// What has the name of a revision and is none would have its number given
	// out again.
	seven := filepath.Join(dir, "r7")
	for name, make := range map[string]func() error{
		"a file": func() error { return os.WriteFile(seven, nil, 0o644) },
		"a link": func() error { return os.Symlink("r1", seven) },
	} {
		if err := make(); err != nil {
			t.Fatal(err)
		}
		var link *LinkError
		if got, err := numbers(); !errors.As(err, &link) || link.Path != seven {
			t.Errorf("%s named r7: %v, %v", name, got, err)
		}
		if err := os.Remove(seven); err != nil {
			t.Fatal(err)
		}
	}
}

func TestSweepRemovesLeftoversOnly(t *testing.T) {
	dir := t.TempDir()
	keep := []string{"r1", ".r2-partial-notes", "r2-partial", ".rx-partial", ".r-partial", "a.r2-partial"}
	for _, name := range append([]string{".r2-partial/certificates", ".r12-partial", ".specimen-partial"}, keep...) {
		if err := os.MkdirAll(filepath.Join(dir, name), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	if err := sweep(local{}, dir); err != nil {
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
	if diff := cmp.Diff([]string{".r-partial", ".r2-partial-notes", ".rx-partial", "a.r2-partial", "r1", "r2-partial"}, got); diff != "" {
		t.Error(diff)
	}
}

func TestDraftAppearsWholeOrNotAtAll(t *testing.T) {
	dir := t.TempDir()
	d, err := begin(local{}, dir, "r1")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"results.csv", "evidence/readings/a.csv"} {
		if err := d.write(name, []byte(name)); err != nil {
			t.Fatal(err)
		}
	}
	if n, err := Next(dir); n != 1 || err != nil {
		t.Errorf("revision %d is next before publish: %v", n, err)
	}
	if unflushed, err := d.publish(); err != nil || unflushed != nil {
		t.Fatal(err, unflushed)
	}
	d.discard()
	data, err := os.ReadFile(filepath.Join(dir, "r1", "evidence", "readings", "a.csv"))
	if err != nil || string(data) != "evidence/readings/a.csv" {
		t.Errorf("%q, %v", data, err)
	}

	d, err = begin(local{}, dir, "r2")
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
	d, err := begin(local{}, t.TempDir(), "r1")
	if err != nil {
		t.Fatal(err)
	}
	if err := d.write("certificates/a-01.pdf", nil); err != nil {
		t.Fatal(err)
	}
	if err := d.write("certificates/A-01.pdf", nil); err == nil || err.Error() != "two documents would be called certificates/a-01.pdf and certificates/A-01.pdf" {
		t.Errorf("two names that are one file on Windows and macOS: %v", err)
	}
	if !d.has("certificates/a-01.pdf") || d.has("certificates/A-01.pdf") || d.has("certificates/b-01.pdf") {
		t.Errorf("what is there: %v", d.files)
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

// A bundle is split where its verification would hold too much, whatever size
// was asked for.
func TestLargestBundle(t *testing.T) {
	for _, test := range []struct{ asked, want int }{{0, largestBundle}, {10_000_000, 10_000_000}, {1_000_000_000, largestBundle}} {
		if got := (&Request{MaxSize: test.asked}).most(); got != test.want {
			t.Errorf("asked for %d: %d, want %d", test.asked, got, test.want)
		}
	}
}

// TestMakeFolder: a folder is made where there is none, with those above it, and it is
// said whether it was: only then is it taken away when a run comes to nothing.
func TestMakeFolder(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "file")
	if err := os.WriteFile(file, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(dir, "link")
	if err := os.Symlink("a", link); err != nil {
		t.Fatal(err)
	}
	d := (&Request{}).disk()
	for _, c := range []struct {
		name, path   string
		made, refuse bool
	}{
		{"missing", filepath.Join(dir, "a", "b"), true, false},
		{"there by now", filepath.Join(dir, "a", "b"), false, false},
		{"a file", file, false, true},
		{"below a file", filepath.Join(file, "a"), false, true},
		{"a link", link, false, true},
	} {
		made, err := makeFolder(d, c.path)
		if made != c.made || (err != nil) != c.refuse {
			t.Errorf("%s: made %t, %v", c.name, made, err)
		}
	}
	for path, want := range map[string]string{file: "it is not a folder", link: "it is a symbolic link, and links are not followed"} {
		if err := realFolder(d, path); err == nil || err.Error() != path+": "+want {
			t.Errorf("%v, want %s", err, want)
		}
	}
}

// losing is a disk whose renames fail, after they have done what a test wants.
type losing struct {
	local
	do func(from, to string) error
}

func (d losing) rename(from, to string) error {
	return errors.Join(d.do(from, to), os.ErrDeadlineExceeded)
}

// TestRenamed: a rename that failed was done all the same only if the unfinished revision is gone and a
// folder is in its place.
func TestRenamed(t *testing.T) {
	for _, c := range []struct {
		name string
		do   func(from, to string) error
		done bool
	}{
		{"done", os.Rename, true},
		{"not done", func(string, string) error { return nil }, false},
		{"not done, and somebody made one", func(_, to string) error { return os.Mkdir(to, 0o755) }, false},
		{"gone, and nothing there", func(from, _ string) error { return os.RemoveAll(from) }, false},
		{"gone, and a file there", func(from, to string) error { return errors.Join(os.RemoveAll(from), os.WriteFile(to, nil, 0o644)) }, false},
	} {
		d, err := begin(losing{do: c.do}, t.TempDir(), "r1")
		if err != nil {
			t.Fatal(err)
		}
		if _, err := d.publish(); (err == nil) != c.done || !c.done && !errors.Is(err, os.ErrDeadlineExceeded) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}
