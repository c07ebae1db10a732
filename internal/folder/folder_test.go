package folder

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"spanseal/internal/diag"
	"spanseal/internal/intake/testjobs"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/table"
)

// open lays files of one byte out and opens their folder.
func open(t *testing.T, names ...string) (*JobFolder, string) {
	t.Helper()
	dir := t.TempDir()
	for _, name := range names {
		name = filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, []byte("x"), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	f, err := Open(dir, &diag.List{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f, dir
}

// TestRead holds what becomes of each kind of name.
func TestRead(t *testing.T) {
	f, dir := open(t, "job.yml", "links.xls", "readings/a.csv", "long.csv")
	if err := os.Symlink("readings", filepath.Join(dir, "photos")); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink("long.csv", filepath.Join(dir, "short.csv")); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "long.csv"), []byte("xxx"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ name, want string }{
		{"readings/a.csv", ""},
		{"photos/a.csv", "photos/a.csv: error: this is reached through a symbolic link"},
		{"short.csv", "short.csv: error: this is a symbolic link"},
		{"readings", "readings: error: this is not a regular file"},
		{"long.csv", "[too-large]"},
		{"pay.yaml", "fix: name an existing file"},
		{Job, "fix: rename job.yml to job.yaml"},
		{Links, "fix: save links.xls as links.xlsx or links.csv"},
	} {
		f.list = &diag.List{}
		data := f.Read(c.name, 2)
		if got := testjobs.Problems(f.list); (data == nil) != (c.want != "") || !strings.Contains(got, c.want) || c.want == "" && got != "" {
			t.Errorf("%s: %q, want %s, got\n%s", c.name, data, c.want, got)
		}
	}
	f.list = &diag.List{}
	if got := f.Files("photos"); got != nil || f.list.Sorted()[0].Code != "symbolic-link" {
		t.Errorf("a linked folder holds %v\n%s", got, testjobs.Problems(f.list))
	}
}

// TestTooMuch holds the bound of all files together: nothing is read beyond it.
func TestTooMuch(t *testing.T) {
	f, dir := open(t)
	if err := os.WriteFile(filepath.Join(dir, Links), []byte("link,from,to\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	f.total = maxJob - 10
	if data := f.Read(Links, table.MaxText); data != nil || !strings.Contains(testjobs.Problems(f.list), "[too-large]") {
		t.Errorf("%d bytes\n%s", len(data), testjobs.Problems(f.list))
	}
}

// TestSchedule holds which file is the schedule, and which ones are asked about.
func TestSchedule(t *testing.T) {
	for _, c := range []struct {
		name  string
		files []string
		want  string
		asked string
	}{
		{"none", nil, Links, ""},
		{"both", []string{"links.tsv", Links}, Links, "links.tsv"},
		{"a workbook", []string{"links.xlsx"}, "links.xlsx", ""},
		{"a workbook of old", []string{"links.xls", "links.txt"}, "links.txt", "links.xls"},
		{"a name that is nearly one", []string{Links, "terminatons.csv", "reading/a.csv"}, Links, "reading terminatons.csv"},
		{"two jobs", []string{Links, Job, "job.yml"}, Links, "job.yml"},
	} {
		f, _ := open(t, c.files...)
		got := f.Schedule()
		f.AskUnread(got)
		var asked []string
		for _, p := range f.list.Sorted() {
			asked = append(asked, p.Place.File)
		}
		if got != c.want || strings.Join(asked, " ") != c.asked {
			t.Errorf("%s: the schedule is %s, want %s; asked about %v, want %s", c.name, got, c.want, asked, c.asked)
		}
	}
}

// TestKeep holds that what is kept is the evidence, by name.
func TestKeep(t *testing.T) {
	f, _ := open(t)
	for _, name := range []string{"readings/b.csv", Job} {
		f.Keep(source.New(name, []byte("x")))
	}
	if o := f.Originals(); len(o) != 2 || o[0].Name != Job || !f.Kept("readings/b.csv") || f.Kept("readings/a.csv") {
		t.Errorf("%+v", o)
	}
}

// TestCheckNames holds which names a revision could not hold.
func TestCheckNames(t *testing.T) {
	list := CheckNames([]record.Original{{Name: "a.csv"}, {Name: "A.csv"}, {Name: "b\\c.csv"}, {Name: "d\x07.csv"}, {Name: "e\xff.csv"}, {Name: "ü.csv"}})
	var codes []string
	for _, p := range list.Sorted() {
		codes = append(codes, p.Code)
	}
	if got, want := strings.Join(codes, " "), "names-differ-in-case name-with-backslash control-character name-not-utf-8"; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}
