package cli_test

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
)

// TestShapesAllTheWay takes one export of each shape from its draft to signed
// certificates that verify: whatever shape the draft reads, check accepts and
// issue prints.
func TestShapesAllTheWay(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	key := filepath.Join(t.TempDir(), "signer.p12")
	must(t, 0, "key", "new", key, "--name", "M. Okafor")
	base, err := os.ReadFile("../../testdata/script/cabinet/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	job, _, _ := strings.Cut(string(base), "readings:\n")
	for _, shape := range []struct{ what, export, require string }{
		{"a link named over several columns", "link-of-places", "[1310]"},
		{"the same in merged cells", "link-of-places-merged", "[1310]"},
		{"two fibres in a row", "two-fibres-in-a-row", "[1310, 1550]"},
		{"bounds", "bounds", "[1310, 1550]"},
		{"wavelengths in micrometres", "micrometres", "[1310, 1550]"},
		{"a transposed table", "transposed-semicolons-titled", "[1310, 1550]"},
		{"fixed width", "fixed-width-ruled", "[1310, 1550]"},
		{"a JSON list", "json-list-in-list", "[1310, 1550]"},
		{"lines with keys", "report-several-readings", "[1310, 1550]"},
		{"reference powers above the table", "references-above", "[1310, 1550]"},
		{"pairs in a cell", "pairs-in-a-cell", "[1310, 1550]"},
	} {
		t.Run(shape.what, func(t *testing.T) {
			a, err := txtar.ParseFile("../../testdata/intake/exports/" + shape.export + ".txtar")
			if err != nil {
				t.Fatal(err)
			}
			links := map[string]bool{}
			schedule, dir := "", t.TempDir()
			for _, f := range a.Files {
				switch f.Name {
				case "want":
					for line := range strings.Lines(string(f.Data)) {
						links[strings.Fields(line)[0]] = true
					}
				case "links":
					schedule = string(f.Data)
				}
			}
			if schedule == "" {
				schedule = "link,from,to,fibre,length_m,mated_pairs,splices,end_a,end_b\n"
				for l := range links {
					schedule += l + ",R1,C1,OS2,312,2,0,spliced-on LC/UPC,spliced-on LC/UPC\n"
				}
			}
			write := func(name string, data string) {
				t.Helper()
				if err := os.MkdirAll(filepath.Join(dir, filepath.Dir(name)), 0o755); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(filepath.Join(dir, name), []byte(data), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			sample := a.Files[0].Name
			write(sample, string(a.Files[0].Data))
			write("links.csv", schedule)
			draft := must(t, 0, "new", "--from", filepath.Join(dir, sample))
			for _, key := range []string{"instrument: PM-9", "source: LS-6", "person: mo"} {
				if !strings.Contains(draft, "{"+key[:strings.Index(key, ":")]+"}") {
					draft += "    " + key + "\n"
				}
			}
			write("job.yaml", job+fmt.Sprintf("  require: {wavelengths_nm: {singlemode: %s}}\n", shape.require)+draft)
			copyFile(t, key, filepath.Join(dir, "signer.p12"))
			must(t, 0, "check", dir, "--rows", "3")
			must(t, 0, "issue", dir, "--date", "2026-11-25T15:00:00Z")
			must(t, 0, "verify", filepath.Join(dir, "issued", "r1"), "--trust", strings.TrimSuffix(key, ".p12")+".pem")
			papers, err := filepath.Glob(filepath.Join(dir, "issued", "r1", "certificates", "*.pdf"))
			if err != nil || len(papers) != len(links) {
				t.Errorf("%d certificates of %d links (%v)", len(papers), len(links), err)
			}
		})
	}
}
