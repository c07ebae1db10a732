package plain

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

// TestNothingIsFollowed: a link is refused wherever it stands in a name, also
// one that stays inside the folder.
func TestNothingIsFollowed(t *testing.T) {
	dir, outside := t.TempDir(), t.TempDir()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	must(os.MkdirAll(filepath.Join(dir, "own", "below"), 0o755))
	must(os.WriteFile(filepath.Join(dir, "own", "below", "a.csv"), []byte("a"), 0o644))
	must(os.WriteFile(filepath.Join(outside, "b.csv"), []byte("b"), 0o644))
	must(os.Symlink("own", filepath.Join(dir, "inside")))
	must(os.Symlink(outside, filepath.Join(dir, "away")))
	must(os.Symlink("own/below/a.csv", filepath.Join(dir, "file.csv")))
	must(os.Symlink("nowhere", filepath.Join(dir, "dangling")))

	f, err := Open(dir)
	must(err)
	defer f.Close()
	for _, test := range []struct {
		name string
		want error // nil: it is read
	}{
		{"own/below/a.csv", nil},
		{"own/below", ErrNotRegular},
		{".", ErrNotRegular},
		{"inside/below/a.csv", ErrLink},
		{"inside", ErrLink},
		{"away/b.csv", ErrLink},
		{"file.csv", ErrLink},
		{"dangling", ErrLink},
		{"own/below/a.csv/c", fs.ErrNotExist},
		{"own/none.csv", fs.ErrNotExist},
		{"../" + filepath.Base(outside) + "/b.csv", fs.ErrInvalid},
		{"/etc/hostname", fs.ErrInvalid},
	} {
		data, err := f.ReadFile(test.name)
		if !errors.Is(err, test.want) || test.want == nil && string(data) != "a" {
			t.Errorf("%s: %q, %v; want %v", test.name, data, err, test.want)
		}
	}
	if _, err := f.ReadUpTo("own/below/a.csv", 0); err == nil {
		t.Error("a file of one byte is read where none is allowed")
	}
	if data, err := f.ReadUpTo("own/below/a.csv", 1); err != nil || string(data) != "a" {
		t.Errorf("%q, %v", data, err)
	}
	var walked []string
	must(fs.WalkDir(f, ".", func(p string, _ fs.DirEntry, err error) error { walked = append(walked, p); return err }))
	if len(walked) != 8 {
		t.Errorf("a walk meets %v, want each name once and nothing behind a link", walked)
	}
}
