package issue

import (
	"os"
	"path/filepath"
	"slices"
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

// TestDiffering: which rows of a file are others, counted as a person counts lines.
func TestDiffering(t *testing.T) {
	for _, c := range []struct {
		name, old, now string
		row            int
		what           string
	}{
		{"one row", "a\nb\nc\n", "a\nx\nc\n", 2, "row 2 differs"},
		{"the first and the last", "a\nb\nc", "x\nb\ny", 1, "rows 1, 3 differ"},
		{"nine rows", "1\n2\n3\n4\n5\n6\n7\n8\n9", "a\nb\nc\nd\ne\nf\ng\nh\ni", 1, "rows 1, 2, 3, 4, 5, 6, 7, 8 and 1 more differ"},
		{"eight rows", "1\n2\n3\n4\n5\n6\n7\n8", "a\nb\nc\nd\ne\nf\ng\nh", 1, "rows 1, 2, 3, 4, 5, 6, 7, 8 differ"},
		{"a row more", "a\nb\n", "a\nx\nb\n", 2, "row 2 is added"},
		{"rows more, at the end", "a\n", "a\nb\nc\n", 2, "rows 2 to 3 are added"},
		{"a row like the one before it", "a\na\n", "a\na\na\n", 3, "row 3 is added"},
		{"a row gone", "a\nb\nc\n", "a\nc\n", 2, "row 2 is gone"},
		{"rows gone, at the start", "a\nb\nc\n", "c\n", 1, "rows 1 to 2 are gone"},
		{"two rows are one", "a\nb\nc\nd\n", "a\nx\nd\n", 2, "rows 2 to 3 are now 1"},
		{"one row is two", "a\nb\nd\n", "a\nx\ny\nd\n", 2, "row 2 is now 2"},
		{"no text any more", "a\n", "a\x00", 0, "its bytes differ"},
		{"no text before", "\x00a\n", "a\n", 0, "its bytes differ"},
		{"not UTF-8", "a\xff", "a", 0, "its bytes differ"},
		{"not UTF-8 any more", "a", "a\xff", 0, "its bytes differ"},
	} {
		if row, what := differing([]byte(c.old), []byte(c.now)); row != c.row || what != c.what {
			t.Errorf("%s: %d, %q, want %d, %q", c.name, row, what, c.row, c.what)
		}
	}
}

// TestInstrumentFiles: what an instrument wrote does not change either, and what became
// of it is said.
func TestInstrumentFiles(t *testing.T) {
	dir := t.TempDir()
	f, err := plain.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	was, now := strings.Repeat("ab", 32), strings.Repeat("cd", 32)
	m := &seal.Manifest{Revision: 3, Files: []seal.ManifestFile{{Path: "originals/a.sor", SHA256: was}, {Path: "evidence/readings/day1.csv", SHA256: was}}}
	same := record.Original{Name: "readings/day1.csv", SHA256: was}
	for _, c := range []struct {
		name  string
		facts record.Facts
		want  []string
	}{
		{"as they were", record.Facts{Originals: []record.Original{same}, Kept: []record.KeptFile{{Name: "a.sor", SHA256: was}}}, nil},
		{"under another name", record.Facts{Originals: []record.Original{{Name: "readings/d1.csv", SHA256: was}}}, nil},
		{"other bytes", record.Facts{Kept: []record.KeptFile{{Name: "a.sor", SHA256: now}}},
			[]string{"originals/ a.sor: in r3 this file of the instrument has other bytes", "evidence/ readings/day1.csv gone: r3 used this file, but it is gone"}},
		{"gone", record.Facts{},
			[]string{"originals/ a.sor gone: r3 contains this file of an instrument, but it is no longer handed over", "evidence/ readings/day1.csv gone: r3 used this file, but it is gone"}},
	} {
		changes, declared, err := compareReadings(f, dir, m, &c.facts)
		var got []string
		for _, change := range changes {
			gone := ""
			if change.Gone {
				gone = " gone"
			}
			got = append(got, change.Folder+" "+change.Name+gone+": "+change.What)
			if change.Revision != 3 || change.Was != was || change.Row != 0 {
				t.Errorf("%s: %+v", c.name, change)
			}
		}
		if err != nil || declared != nil || !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, %v, want %q", c.name, got, err, c.want)
		}
	}
}
