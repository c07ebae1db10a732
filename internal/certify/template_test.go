package certify

import (
	"io/fs"
	"strings"
	"testing"
	"testing/fstest"

	"spanseal/internal/diag"
	"spanseal/internal/page"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
	"spanseal/templates"
)

// FuzzTemplate: whatever a job's own templates hold, it is read or refused with
// a place in that file; nothing panics.
func FuzzTemplate(f *testing.F) {
	// Of the wording a part only: what is laid over a file is small, and so is what the fuzzer makes of it.
	f.Add("wording/en.yaml", "locale: {decimal: \",\", group: \".\", date: \"{day}. {month} {year}\"}\nlinks: {one: \"{n} line\", other: \"{n} lines\"}\nsays:\n  no-date: \"{links} without a date.\"\n")
	for _, name := range []string{"documents/style.yaml", "documents/labels.yaml", "documents/certificate.yaml"} {
		text, err := fs.ReadFile(templates.Files, name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(name, string(text))
	}
	f.Add("documents/style.yaml", "colours: &a\n  ink: *a\n")
	f.Add("documents/style.yaml", "millimetres: {grid: 1e309, rail: NaN}\n")
	f.Add("documents/labels.yaml", "A4: {columns: 1e9, rows: -1}\n")
	f.Add("wording/en.yaml", "says: {no-date: \"{a}{b}\"}\nlocale: {months: []}\n")
	f.Add("wording/en.yaml", "? {a: b}\n: [c]\n---\nd\n")
	f.Fuzz(func(t *testing.T, name, text string) {
		if !fs.ValidPath(name) {
			return
		}
		over := fstest.MapFS{name: {Data: []byte(text)}}
		problems := &diag.List{}
		// A file that lies elsewhere is none of the wording's, and leaves it as it is.
		var w *wording.Wording
		if strings.HasPrefix(name, "wording/") {
			w = wording.Load(templates.Files, over, "en", problems)
		}
		if w != nil {
			for _, e := range statement.Codes() {
				w.State(statement.New(e.Code, e.Example...))
			}
			w.Known("made", text)
			w.Citation(text)
			w.List(strings.Fields(text))
		}
		if l := loadLook(templates.Files, over, problems); l != nil {
			l.setPaper("A4", templates.Files, over, problems)
		}
		for _, p := range problems.Sorted() {
			if p.Place.File != name || p.Message == "" {
				t.Errorf("%v: %s", p.Place, p.Message)
			}
		}
	})
}

// TestLogoAndTypefaces: files that a style names are read from the job's folder
// or refused at the line that names them.
func TestLogoAndTypefaces(t *testing.T) {
	ttf := page.GoTypefaces()[page.Bold].TTF()
	for name, c := range map[string]struct {
		text  string
		code  string
		place string
	}{
		"typeface":       {"typefaces:\n  regular: own.ttf\n", "", ""},
		"no such file":   {"typefaces:\n  regular: other.ttf\n", "no-file", "documents/style.yaml:2:3"},
		"not a typeface": {"typefaces:\n  mono: logo.png\n", "bad-value", "documents/style.yaml:2:3"},
		"not a picture":  {"logo: own.ttf\n", "bad-value", "documents/style.yaml:1:1"},
		"outside":        {"logo: ../logo.png\n", "no-file", "documents/style.yaml:1:1"},
	} {
		over := fstest.MapFS{"documents/style.yaml": {Data: []byte(c.text)}, "own.ttf": {Data: ttf}, "logo.png": {Data: []byte("no picture")}}
		problems := &diag.List{}
		l := loadLook(templates.Files, over, problems)
		all := problems.Sorted()
		switch {
		case c.code == "":
			if len(all) > 0 || len(l.Faces[page.Regular]) != len(ttf) {
				t.Errorf("%s: %v", name, all)
			}
		case len(all) != 1 || all[0].Code != c.code || all[0].Place.String() != c.place:
			t.Errorf("%s: %v", name, all)
		}
	}
}
