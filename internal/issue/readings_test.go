package issue

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"spanseal/internal/plain"
	"spanseal/internal/record"
	"spanseal/internal/seal"
)

// TestReadUpTo: a file of so many bytes is read, and one more is too many; a folder is no
// file.
func TestReadUpTo(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "a"), []byte("12345"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, "b"), 0o755); err != nil {
		t.Fatal(err)
	}
	f, err := plain.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	for _, c := range []struct {
		name string
		most int64
		want string // "" where it is refused
	}{{"a", 5, "12345"}, {"a", 6, "12345"}, {"a", 4, ""}, {"b", 5, ""}, {"c", 5, ""}} {
		data, err := readUpTo(f, c.name, c.most)
		if (err != nil) != (c.want == "") || err == nil && string(data) != c.want {
			t.Errorf("%s up to %d: %q, %v", c.name, c.most, data, err)
		}
	}
}

// TestDeclared: a file of readings that differs is explained by a declaration of its
// name and of the hash that it had, and by no other.
func TestDeclared(t *testing.T) {
	dir := t.TempDir()
	f, err := plain.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	was := strings.Repeat("ab", 32)
	m := &seal.Manifest{Revision: 1, Files: []seal.ManifestFile{{Path: "evidence/readings/a.csv", Size: 3, SHA256: was}, {Path: "evidence/links.csv", SHA256: was}}}
	for name, c := range map[string]struct {
		declared record.Declared
		want     bool
	}{
		"by its name and hash": {record.Declared{File: "readings/a.csv", Was: was[:8]}, true},
		"of another file":      {record.Declared{File: "readings/b.csv", Was: was[:8]}, false},
		"of another hash":      {record.Declared{File: "readings/a.csv", Was: "12345678"}, false},
		"of no hash":           {record.Declared{File: "readings/a.csv"}, false},
	} {
		facts := &record.Facts{Job: record.Job{Declared: []record.Declared{c.declared}}}
		changes, declared, err := compareReadings(f, dir, m, facts)
		if err != nil || (len(declared) == 1) != c.want || (len(changes) == 0) != c.want {
			t.Errorf("%s: %v changed, %v declared, %v", name, changes, declared, err)
		}
		for _, change := range changes {
			if change.Name != "readings/a.csv" || !change.Gone || change.Was != was {
				t.Errorf("%s: %+v", name, change)
			}
		}
	}
}
