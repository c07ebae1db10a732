package truth

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"spanseal/internal/cli"
	"spanseal/internal/pdf"
	"spanseal/internal/seal"
)

const passphrase = "low water at noon"

// run runs the program in process, a week after the measurements.
func run(args ...string) (code int, stdout, stderr string) {
	var out, errs bytes.Buffer
	code = cli.Main(cli.System{
		Program: "spanseal", KeyRounds: 1, Args: args, Stdin: strings.NewReader(""), Stdout: &out, Stderr: &errs,
		Getenv: func(name string) string {
			if name == "SPANSEAL_PASSPHRASE" {
				return passphrase
			}
			return ""
		},
		Now: func() time.Time { return time.Date(2026, time.November, 25, 16, 0, 0, 0, time.UTC) },
	})
	return code, out.String(), errs.String()
}

// newKey writes a key file.
func newKey(t testing.TB, path string) {
	t.Helper()
	if code, _, stderr := run("key", "new", path, "--name", "R. Lindqvist"); code != 0 {
		t.Fatal(stderr)
	}
}

// issued is what a receiver has of one revision.
type issued struct {
	results  map[string]any
	links    map[string]map[string]any // of the results, by name
	records  map[string]map[string]any // by link
	pages    map[string]string         // texts of papers by link, where they were read
	summary  string
	changes  []map[string]any // of the manifest
	revision string           // folder
	listed   map[string]bool  // files of the manifest
}

func parse(t testing.TB, data []byte) (v map[string]any) {
	t.Helper()
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	if err := d.Decode(&v); err != nil {
		t.Fatal(err)
	}
	return v
}

// read reads a revision; texts of pages only where asked, since that takes a program.
func read(t testing.TB, dir string, pages bool) *issued {
	t.Helper()
	file := func(name string) []byte {
		data, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	is := &issued{results: parse(t, file("results.json")), links: map[string]map[string]any{}, records: map[string]map[string]any{}, pages: map[string]string{}, revision: dir, listed: map[string]bool{}}
	for _, l := range list(is.results["links"]) {
		l := l.(map[string]any)
		id, path := l["link"].(string), l["file"].(string)
		is.links[id] = l
		paper, err := pdf.Open(file(path))
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range paper.Attachments {
			if a.Name == "record.json" {
				is.records[id] = parse(t, a.Data)
			}
		}
		if pages {
			is.pages[id] = pageText(t, filepath.Join(dir, path))
		}
	}
	if pages {
		is.summary = pageText(t, filepath.Join(dir, "summary.pdf"))
	}
	m, err := seal.ParseManifest(file("manifest.json"))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range m.Files {
		is.listed[f.Path] = true
	}
	for _, raw := range m.Changes {
		is.changes = append(is.changes, parse(t, raw))
	}
	return is
}

// pageText is what stands on a paper, in the order of reading, with single spaces.
func pageText(t testing.TB, path string) string {
	t.Helper()
	out, err := exec.Command("pdftotext", "-raw", path, "-").Output()
	if err != nil {
		t.Fatalf("pdftotext %s: %v", path, err)
	}
	return plain(string(out))
}

// plain is a text with single spaces.
func plain(text string) string { return strings.Join(strings.Fields(text), " ") }

func list(v any) []any {
	l, _ := v.([]any)
	return l
}
