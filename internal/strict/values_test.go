package strict_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/diag"
	"spanseal/internal/golden"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/strict"
)

// site is an object with a key of every kind.
type site struct {
	Name   string
	Rooms  []string
	Day    record.Date
	Rate   string
	Floors int
	Open   bool
	Paper  string
}

// read reads a site from YAML and returns all that is said of it.
func read(t testing.TB, text string) (s site, list *diag.List) {
	t.Helper()
	list = new(diag.List)
	d := &strict.YAML{File: source.New("site.yaml", []byte(text)), List: list}
	if root := d.Root(); root != nil {
		d.Object(root, "the site", strict.Keys{
			"name":   strict.Must(d.Text("the name", &s.Name)),
			"rooms":  strict.Opt(d.Texts("the rooms", &s.Rooms)),
			"day":    strict.Opt(d.Date("the day", &s.Day)),
			"rate":   strict.Opt(d.Number("the rate", 0, 100, func(v quantity.Decimal) { s.Rate = v.String() })),
			"floors": strict.Opt(d.Count("the floors", 1, 40, &s.Floors)),
			"open":   strict.Opt(d.Yes("open", &s.Open)),
			"paper":  strict.Opt(strict.OneOf(d, "the paper", &s.Paper, "A4", "letter")),
		})
	}
	return s, list
}

func said(t testing.TB, list *diag.List) string {
	t.Helper()
	var b bytes.Buffer
	if err := list.WriteAll(&b, nil); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestRead: what keys of every kind hold where they are well.
func TestRead(t *testing.T) {
	day, err := record.ParseDate("2026-11-18")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name, text string
		want       site
	}{
		{"all", "name: Library\nrooms: [a, b]\nday: 2026-11-18\nrate: 7.250\nfloors: 40\nopen: yes\npaper: letter\n",
			site{Name: "Library", Rooms: []string{"a", "b"}, Day: day, Rate: "7.250", Floors: 40, Open: true, Paper: "letter"}},
		{"what must be, alone", "name: Library\n", site{Name: "Library"}},
		{"least and most", "name: L\nrate: 100\nfloors: 1\nopen: false\n", site{Name: "L", Rate: "100", Floors: 1}},
		{"nought", "name: L\nrate: 0\n", site{Name: "L", Rate: "0"}},
		{"in braces, in another order", "{paper: A4, name: \"L: 1\"}\n", site{Name: "L: 1", Paper: "A4"}},
	} {
		got, list := read(t, c.text)
		if diff := cmp.Diff(c.want, got); diff != "" || list.Len() > 0 {
			t.Errorf("%s: %s\n%s", c.name, diff, said(t, list))
		}
	}
}

// TestRefused holds what is said of each file of testdata/err, to the letter.
func TestRefused(t *testing.T) {
	files, err := filepath.Glob("testdata/err/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatal("no files", err)
	}
	for _, file := range files {
		raw, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		_, list := read(t, string(raw))
		if list.Errors() == 0 {
			t.Errorf("%s: nothing is wrong with it", file)
		}
		golden.Compare(t, strings.TrimSuffix(file, ".yaml")+".txt", said(t, list))
	}
}

// FuzzRead: whatever the bytes are, an object is read whole or something is said of it.
func FuzzRead(f *testing.F) {
	files, _ := filepath.Glob("testdata/err/*.yaml")
	for _, name := range files {
		if raw, err := os.ReadFile(name); err == nil {
			f.Add(string(raw))
		}
	}
	f.Add("name: Library\nrooms: [a, b]\nday: 2026-11-18\nrate: 7.250\nfloors: 40\nopen: yes\npaper: letter\n")
	f.Fuzz(func(t *testing.T, text string) {
		s, list := read(t, text)
		if s.Name == "" && list.Len() == 0 {
			t.Fatalf("no name, and nothing is said")
		}
		for _, p := range list.Sorted() {
			if p.Place.File != "site.yaml" || p.Message == "" {
				t.Fatalf("%+v", p)
			}
		}
	})
}
