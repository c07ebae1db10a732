package archival_test

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/pdfcpu/pdfcpu/pkg/api"
	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/model"

	"spanseal/internal/cli"
	"spanseal/internal/pdf"
	"spanseal/internal/pdf/archival"
)

// spanseal runs the program; an exit code other than those of work done is an
// error.
func spanseal(t *testing.T, args ...string) {
	t.Helper()
	var out bytes.Buffer
	code := cli.Main(cli.System{
		Program: "spanseal", KeyRounds: 1, Args: args, Stdin: strings.NewReader(""), Stdout: &out, Stderr: &out,
		Getenv: func(key string) string {
			if key == "SPANSEAL_PASSPHRASE" {
				return "harbour lights"
			}
			return ""
		},
		Now: func() time.Time { return time.Date(2026, 11, 25, 16, 0, 0, 0, time.UTC) },
	})
	if code != cli.ExitOK && code != cli.ExitOpen {
		t.Fatalf("spanseal %s: exit %d\n%s", strings.Join(args, " "), code, &out)
	}
}

// onTrunk puts links of a job on the first positions of a trunk with array connectors.
func onTrunk(t *testing.T, job string, links ...string) {
	t.Helper()
	file := filepath.Join(job, "job.yaml")
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, append(text, "\ntrunks:\n  - {id: T1, fibres: 12, polarity: ansi-tia-568.3-b}\n"...), 0o644); err != nil {
		t.Fatal(err)
	}
	file = filepath.Join(job, "links.csv")
	if text, err = os.ReadFile(file); err != nil {
		t.Fatal(err)
	}
	rows := strings.Split(strings.TrimRight(string(text), "\n"), "\n")
	for i := range rows {
		id, _, _ := strings.Cut(rows[i], ",")
		switch at := slices.Index(links, id); {
		case i == 0:
			rows[i] += ",trunk,position,far_position"
		case at >= 0:
			rows[i] += fmt.Sprintf(",T1,%d,%d", at+1, 12-at)
		default:
			rows[i] += ",,,"
		}
	}
	if err := os.WriteFile(file, []byte(strings.Join(rows, "\n")+"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
}

// Every kind of document that the program writes keeps the rules, has the structure
// for others that it has for us, and opens again if it is signed.
func TestEveryDocument(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	job := filepath.Join(t.TempDir(), "job")
	spanseal(t, "demo", job)
	onTrunk(t, job, "B-01", "B-02", "B-04")
	spanseal(t, "issue", job, "--bundle", "--reason", "with a bundle and a trunk")
	spanseal(t, "issue", job, "--specimen")
	retest := filepath.Join(t.TempDir(), "retest.csv")
	if err := os.WriteFile(retest, []byte("link,wavelength_nm,direction,loss_db\nA-01,1310,A-B,0.75\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	spanseal(t, "compare", filepath.Join(job, "issued", "r2", "certificates", "A-01.pdf"), retest, "--reference", "as-certified",
		"--test-cords", "as-certified", "--uncertainty", "0.12", "--trust", filepath.Join(job, "signer.pem"),
		"--key", filepath.Join(job, "signer.p12"), "--sheet", filepath.Join(job, "comparison.pdf"))

	api.DisableConfigDir()
	conf := model.NewDefaultConfiguration()
	conf.ValidationMode, conf.Offline = model.ValidationRelaxed, true
	second := newReader(t)
	kinds := map[string]int{}
	err := filepath.WalkDir(job, func(path string, d fs.DirEntry, err error) error {
		if err == nil && d.IsDir() && d.Name() == "r1" { // r2 has the same papers, and a bundle
			return filepath.SkipDir
		}
		if err != nil || filepath.Ext(path) != ".pdf" {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		name, _ := filepath.Rel(job, path)
		for _, found := range archival.Check(data) {
			t.Errorf("%s: %s", name, found)
		}
		if err := api.Validate(bytes.NewReader(data), conf); err != nil {
			t.Errorf("%s: pdfcpu: %v", name, err)
		}
		parts, err := archival.Read(data)
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if kind := filepath.Base(filepath.Dir(path)); kind != "certificates" || strings.Contains(name, "A-0") { // some of them
			for i, got := range second.pages(t, data) {
				if diff := cmp.Diff(onPage(parts, i+1, ""), got); diff != "" {
					t.Errorf("%s, page %d: PDFium has another tree (- ours, + its):\n%s", name, i+1, diff)
				}
			}
		}
		if strings.Contains(name, "specimen") {
			kinds["specimen"]++
			return nil
		}
		if _, err := pdf.Open(data); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		kind := filepath.Base(filepath.Dir(path))
		if strings.HasPrefix(kind, "r") || name == "comparison.pdf" {
			kind = filepath.Base(path)
		}
		kinds[kind]++
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, kind := range []string{"certificates", "nonconformance", "superseded", "trunks", "summary.pdf", "statement.pdf", "labels.pdf", "bundle.pdf", "comparison.pdf", "specimen"} {
		if kinds[kind] == 0 {
			t.Errorf("no %s among %v", kind, kinds)
		}
	}
	t.Log(kinds)
}
