package pack_test

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"spanseal/internal/outside"
	"spanseal/internal/pack"
	"spanseal/internal/seal"
)

// revision writes one of files of sizes, and returns its folder and what is in it.
func revision(t *testing.T, sizes map[string]int) (string, map[string][]byte) {
	t.Helper()
	dir := t.TempDir()
	issued := time.Date(2026, time.November, 25, 16, 0, 0, 0, time.UTC)
	signer, err := seal.NewSigner("R. Lindqvist", "Tidewater Fibre Works", issued.AddDate(-1, 0, 0), 10)
	if err != nil {
		t.Fatal(err)
	}
	m := seal.Manifest{Job: "BL-2026/031", Revision: 2, Issued: issued.Format(time.RFC3339), Previous: strings.Repeat("0", 64), Reason: "A-07 again"}
	all := map[string][]byte{}
	for name, size := range sizes {
		data := bytes.Repeat([]byte(name), size/len(name)+1)[:size]
		sum := sha256.Sum256(data)
		m.Files = append(m.Files, seal.ManifestFile{Path: name, Size: int64(size), SHA256: hex.EncodeToString(sum[:])})
		all[name] = data
	}
	if all[seal.ManifestName], all[seal.ManifestSignature], err = m.Sign(signer, issued); err != nil {
		t.Fatal(err)
	}
	for name, data := range all {
		path := filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir, all
}

var usual = map[string]int{"index.html": 3000, "summary.pdf": 90_000, "certificates/A-01.pdf": 38_000, "certificates/A-02.pdf": 38_000, "certificates/é ü.pdf": 38_000,
	"evidence/readings/day 1.csv": 20_000, "results.csv": 60_000}

func into(dir string) func(part, of int) string {
	return func(part, of int) string { return filepath.Join(dir, fmt.Sprintf("part-%d-of-%d.zip", part, of)) }
}

func write(t *testing.T, dir, to string, most int64) []pack.ZipFile {
	t.Helper()
	r, err := pack.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	made, err := r.Write("BL-r2", most, into(to))
	if err != nil {
		t.Fatal(err)
	}
	return made
}

// TestWhole: all parts together are the revision, each opens by itself and is no larger
// than asked, and a second run gives the same bytes.
func TestWhole(t *testing.T) {
	dir, all := revision(t, usual)
	for _, c := range []struct {
		name  string
		most  int64
		parts int
	}{
		{"one archive", 0, 1},
		{"room for all", 1_000_000, 1},
		{"parts", 100_000, 3},
		{"each file alone", 1, len(usual) + 2},
	} {
		t.Run(c.name, func(t *testing.T) {
			first, again := t.TempDir(), t.TempDir()
			made := write(t, dir, first, c.most)
			if len(made) != c.parts {
				t.Errorf("%d parts, want %d", len(made), c.parts)
			}
			write(t, dir, again, c.most)
			got := map[string][]byte{}
			for i, a := range made {
				data, err := os.ReadFile(a.Path)
				if err != nil {
					t.Fatal(err)
				}
				if same, err := os.ReadFile(into(again)(i+1, len(made))); err != nil || !bytes.Equal(same, data) {
					t.Errorf("%s: a second run gives other bytes (%v)", a.Path, err)
				}
				if a.Size != int64(len(data)) || c.most > 1 && a.Size > c.most {
					t.Errorf("%s has %d bytes, is said to have %d, may have %d", a.Path, len(data), a.Size, c.most)
				}
				z, err := zip.NewReader(bytes.NewReader(data), a.Size)
				if err != nil {
					t.Fatal(err)
				}
				if len(z.File) != a.Files {
					t.Errorf("%s holds %d files, is said to hold %d", a.Path, len(z.File), a.Files)
				}
				for _, f := range z.File {
					in, err := f.Open()
					if err != nil {
						t.Fatal(err)
					}
					if got[strings.TrimPrefix(f.Name, "BL-r2/")], err = io.ReadAll(in); err != nil {
						t.Fatal(err)
					}
					if !f.Modified.Equal(time.Date(2026, time.November, 25, 16, 0, 0, 0, time.UTC)) {
						t.Errorf("%s is of %s", f.Name, f.Modified)
					}
				}
				if i == 0 && !strings.HasSuffix(z.File[0].Name, "/index.html") {
					t.Errorf("the first part begins with %s", z.File[0].Name)
				}
			}
			if len(got) != len(all) {
				t.Errorf("%d files, want %d", len(got), len(all))
			}
			for name, data := range all {
				if !bytes.Equal(got[name], data) {
					t.Errorf("%s differs", name)
				}
			}
		})
	}
}

// TestElsewhere: a reader of ZIP archives of another hand unpacks it.
func TestElsewhere(t *testing.T) {
	python := outside.Program(t, "python3")
	dir, all := revision(t, usual)
	made := write(t, dir, t.TempDir(), 0)
	to := t.TempDir()
	if out, err := exec.Command(python, "-m", "zipfile", "-e", made[0].Path, to).CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	for name, data := range all {
		if got, err := os.ReadFile(filepath.Join(to, "BL-r2", filepath.FromSlash(name))); err != nil || !bytes.Equal(got, data) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestRefused: nothing is left behind where something is wrong.
func TestRefused(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(t *testing.T, dir, to string)
		want  func(error) bool
	}{
		{"a file changed", func(t *testing.T, dir, _ string) {
			path := filepath.Join(dir, "results.csv")
			data, err := os.ReadFile(path)
			if err == nil {
				data[7] ^= 1
				err = os.WriteFile(path, data, 0o644)
			}
			if err != nil {
				t.Fatal(err)
			}
		}, func(err error) bool { return errors.As(err, new(*pack.ChangedError)) }},
		{"a file longer", func(t *testing.T, dir, _ string) {
			if err := os.WriteFile(filepath.Join(dir, "results.csv"), make([]byte, 60_001), 0o644); err != nil {
				t.Fatal(err)
			}
		}, func(err error) bool { return errors.As(err, new(*pack.ChangedError)) }},
		{"a file gone", func(t *testing.T, dir, _ string) {
			if err := os.Remove(filepath.Join(dir, "summary.pdf")); err != nil {
				t.Fatal(err)
			}
		}, func(err error) bool { return errors.Is(err, fs.ErrNotExist) }},
		{"a link in the place of a file", func(t *testing.T, dir, _ string) {
			path := filepath.Join(dir, "summary.pdf")
			if err := errors.Join(os.Rename(path, path+"x"), os.Symlink("summary.pdfx", path)); err != nil {
				t.Fatal(err)
			}
		}, func(err error) bool { return err != nil }},
		{"an archive that is there", func(t *testing.T, _, to string) {
			if err := os.WriteFile(into(to)(3, 3), []byte("mine"), 0o644); err != nil {
				t.Fatal(err)
			}
		}, func(err error) bool { return errors.Is(err, fs.ErrExist) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir, _ := revision(t, usual)
			to := t.TempDir()
			c.spoil(t, dir, to)
			before, err := os.ReadDir(to)
			if err != nil {
				t.Fatal(err)
			}
			r, err := pack.Open(dir)
			if err != nil {
				t.Fatal(err)
			}
			if made, err := r.Write("BL-r2", 100_000, into(to)); !c.want(err) || made != nil {
				t.Errorf("got %v, %v", made, err)
			}
			if after, err := os.ReadDir(to); err != nil || len(after) != len(before) {
				t.Errorf("left behind: %v, %v", after, err)
			}
		})
	}
}

// TestNotARevision: what has no manifest is refused, and so is one that was edited.
func TestNotARevision(t *testing.T) {
	if _, err := pack.Open(t.TempDir()); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("an empty folder: %v", err)
	}
	dir, all := revision(t, usual)
	if err := os.WriteFile(filepath.Join(dir, seal.ManifestName), append(all[seal.ManifestName], '\n'), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := pack.Open(dir); err == nil {
		t.Error("a manifest with a line more is read")
	}
}
