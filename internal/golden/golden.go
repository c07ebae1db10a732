// Package golden compares what a test makes with what is kept in a file, and writes the
// file anew with -update, to be read by eye before it is committed; tests only.
package golden

import (
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/rogpeppe/go-internal/txtar"
)

var update = flag.Bool("update", false, "write the golden files anew")

// Compare fails a test that made another text than the file has.
func Compare(t testing.TB, file, got string) {
	t.Helper()
	if *update {
		write(t, file, []byte(got))
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Error(err)
		return
	}
	compare(t, file, string(want), got)
}

// Archive reads an archive whose last file has a name and is what a test makes of the
// others; it may be missing so far. Check compares, as [Compare] does.
func Archive(t testing.TB, file, name string) (given []txtar.File, check func(got string)) {
	t.Helper()
	a, err := txtar.ParseFile(file)
	if err != nil {
		t.Fatal(err)
	}
	last := len(a.Files) - 1
	if last < 0 || a.Files[last].Name != name {
		a.Files = append(a.Files, txtar.File{Name: name})
		last++
	}
	return a.Files[:last:last], func(got string) {
		t.Helper()
		if *update {
			a.Files[last].Data = []byte(got)
			write(t, file, txtar.Format(a))
		}
		compare(t, file, string(a.Files[last].Data), got)
	}
}

func write(t testing.TB, file string, data []byte) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, data, 0o644); err != nil {
		t.Fatal(err)
	}
}

func compare(t testing.TB, file, want, got string) {
	t.Helper()
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("not as in %s, which -update writes anew (- want, + got):\n%s", file, diff)
	}
}
