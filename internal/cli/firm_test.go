package cli_test

import (
	"archive/zip"
	"bytes"
	"compress/zlib"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"spanseal/internal/cli"
	"spanseal/internal/company"
	"spanseal/internal/schema/schematest"
)

// TestCompanySchema: the schema of a company file refuses what is a job's own, and
// wants no more of a part than it must have.
func TestCompanySchema(t *testing.T) {
	s := compiled(t, "company")
	for _, own := range company.Own {
		keys := strings.Split(own, ".")
		text := strings.Join(keys, ": {") + ": x" + strings.Repeat("}", len(keys)-1) + "\n"
		if err := schematest.ValidateYAML(s, []byte(text)); err == nil || !strings.Contains(err.Error(), "additional properties '"+keys[len(keys)-1]+"'") {
			t.Errorf("%s: %v", text, err)
		}
	}
	for _, c := range []struct {
		name, text string
		good       bool
	}{
		{"a part", "judge: {reference: one-cord}\nsign: {key: a.p12}\n", true},
		{"a job's own", "job: {number: 7}\n", false},
		{"half a person", "people: [{id: mo}]\n", false},
	} {
		if err := schematest.ValidateYAML(s, []byte(c.text)); (err == nil) != c.good {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	job := compiled(t, "job")
	for _, c := range []struct {
		name, text string
		good       bool
	}{
		{"with a company file", "company: company.yaml\njob: {number: 1, title: t, site: {name: s}, customer: {name: c}}\ninstruments: [{id: FS-1}]\n", true},
		{"without", "job: {number: 1, title: t, site: {name: s}, customer: {name: c}}\ninstruments: [{id: FS-1}]\n", false},
	} {
		if err := schematest.ValidateYAML(job, []byte(c.text)); (err == nil) != c.good {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// TestTwoQuays: the example of two jobs with one company file conforms.
func TestTwoQuays(t *testing.T) {
	for _, job := range []string{"north-quay", "south-quay"} {
		if out := must(t, cli.ExitOK, "check", "../../examples/two-quays/"+job); !strings.Contains(out, "\n  ../company.yaml  2 of 3 people") {
			t.Errorf("%s: %s", job, out)
		}
	}
}

// deflated is where the bytes of a compressed stream of a PDF begin.
var deflated = regexp.MustCompile(`stream\r?\n`)

// inside are a file's bytes, and those of what is packed in it.
func inside(data []byte) [][]byte {
	all := [][]byte{data}
	for _, at := range deflated.FindAllIndex(data, -1) {
		if r, err := zlib.NewReader(bytes.NewReader(data[at[1]:])); err == nil {
			if text, _ := io.ReadAll(r); len(text) > 0 {
				all = append(all, inside(text)...)
			}
		}
	}
	if z, err := zip.NewReader(bytes.NewReader(data), int64(len(data))); err == nil {
		for _, f := range z.File {
			if r, err := f.Open(); err == nil {
				text, _ := io.ReadAll(r)
				all = append(all, text)
			}
		}
	}
	return all
}

// TestCompanyFileStays: of the company file only what a job took is handed over. Its
// prices, remarks, further people and the place of the key are in no file of the set;
// those prices at which the job is paid are where the job's own would be.
func TestCompanyFileStays(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	office := t.TempDir()
	job := filepath.Join(office, "cabinet")
	check(t, os.CopyFS(job, os.DirFS("../../testdata/script/cabinet")))
	const firm = `# Quartzite
job: {contractor: {name: Tidewater Fibre Works}}
people:
  - {id: mo, name: M. Okafor}   # Basalt
  - {id: zi, name: Z. Feldspar}
instruments: [{id: PM-9, kind: power meter, serial: "5550555"}]
sign: {key: marble/signer.p12}
pay: {currency: EUR, items: [{line: "1", title: Link tested, unit: link, rate: 77311234.25}, {title: Granite, unit: lump, rate: 42429876.75}]}
`
	check(t, os.WriteFile(filepath.Join(office, "company.yaml"), []byte(firm), 0o644))
	text, err := os.ReadFile(filepath.Join(job, "job.yaml"))
	check(t, err)
	person := "people:\n  - {id: mo, name: M. Okafor, role: fibre technician}\n"
	text = bytes.Replace(append([]byte("company: company.yaml\n"), text...), []byte(person), nil, 1)
	check(t, os.WriteFile(filepath.Join(job, "job.yaml"), text, 0o644))
	check(t, os.Mkdir(filepath.Join(office, "marble"), 0o755))
	must(t, cli.ExitOK, "key", "new", filepath.Join(office, "marble", "signer.p12"), "--name", "R. Lindqvist")

	holding := func(args ...string) map[string][]string {
		t.Helper()
		set := filepath.Join(job, "issued", args[0])
		if code, _, stderr := run(t, append([]string{"issue", job, "--bundle"}, args[1:]...)...); code != cli.ExitOK || stderr != "" {
			t.Fatalf("exit code %d: %s", code, stderr)
		}
		found := map[string][]string{}
		check(t, filepath.WalkDir(set, func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			data, err := os.ReadFile(name)
			for _, part := range inside(data) {
				for _, word := range []string{"Quartzite", "Basalt", "Feldspar", "5550555", "marble", "77311234", "77,311,234", "42429876", "42,429,876", "Granite", "M. Okafor"} {
					rel, _ := filepath.Rel(set, name)
					if bytes.Contains(part, []byte(word)) && !slices.Contains(found[word], rel) {
						found[word] = append(found[word], rel)
					}
				}
			}
			return err
		}))
		return found
	}
	check(t, os.WriteFile(filepath.Join(job, "pay.yaml"), []byte("items: [{line: \"1\", title: Link, unit: link, rate: 1}]\n"), 0o600))
	found := holding("r1")
	if got := found["M. Okafor"]; !slices.Contains(got, "evidence/company-taken.yaml") || !slices.Contains(got, "results.json") {
		t.Errorf("the search is broken: M. Okafor is in %v only", got)
	}
	delete(found, "M. Okafor")
	if len(found) > 0 {
		t.Errorf("handed over: %v", found)
	}
	check(t, os.Remove(filepath.Join(job, "pay.yaml")))
	found = holding("r2", "--reason", "prices of the company")
	for _, price := range []string{"77311234", "77,311,234", "42429876", "42,429,876", "Granite"} {
		for _, name := range found[price] {
			// As with pay.yaml: the statement and the results say them, and the list of changes.
			if !slices.Contains([]string{"results.json", "results.xlsx", "summary.pdf", "statement.pdf", "manifest.json"}, name) && !strings.HasPrefix(name, "bundle") {
				t.Errorf("%s is in %s", price, name)
			}
		}
	}
	if !slices.Contains(found["77311234"], "results.json") {
		t.Errorf("the job is not paid at the company's rates: %v", found["77311234"])
	}
}
