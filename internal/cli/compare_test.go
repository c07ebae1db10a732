package cli_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"spanseal/internal/outside"
)

// TestSheetOpensElsewhere: readers that are none of ours open a comparison
// sheet, find its signature good, and take the certificate and the new readings
// out of it unchanged.
func TestSheetOpensElsewhere(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	if err := os.CopyFS(at("cabinet"), os.DirFS("../../testdata/script/cabinet")); err != nil {
		t.Fatal(err)
	}
	readings := []byte("link,wavelength_nm,direction,loss_db\nB-01,850,A-B,1.30\nB-01,850,B-A,1.35\n")
	if err := os.WriteFile(at("retest.csv"), readings, 0o644); err != nil {
		t.Fatal(err)
	}
	must(t, 0, "key", "new", at("signer.p12"), "--name", "R. Lindqvist")
	must(t, 0, "issue", at("cabinet"), "--key", at("signer.p12"))
	certificate := at("cabinet/issued/r1/certificates/B-01.pdf")
	must(t, 4, "compare", certificate, at("retest.csv"), "--reference", "as-certified", "--test-cords", "as-certified", "--uncertainty", "0.12",
		"--trust", at("signer.pem"), "--sheet", at("sheet.pdf"), "--key", at("signer.p12"), "--claim", "W-7")

	outside.Run(t, "qpdf", "--check", at("sheet.pdf"))
	if text := outside.Run(t, "pdfsig", "-nocert", at("sheet.pdf")); !strings.Contains(text, "Signature is Valid") || !strings.Contains(text, "Total document signed") {
		t.Errorf("pdfsig says\n%s", text)
	}
	if text := outside.Run(t, "pdftotext", "-layout", at("sheet.pdf"), "-"); !strings.Contains(text, "W-7") || !strings.Contains(text, "CHANGED") {
		t.Errorf("the sheet reads\n%s", text)
	}
	if err := os.Mkdir(at("out"), 0o755); err != nil {
		t.Fatal(err)
	}
	outside.Run(t, "pdfdetach", "-saveall", "-o", at("out"), at("sheet.pdf"))
	for name, original := range map[string]string{"certificate-B-01.pdf": certificate, "retest.csv": at("retest.csv")} {
		want, err := os.ReadFile(original)
		if err != nil {
			t.Fatal(err)
		}
		if got, err := os.ReadFile(at("out/" + name)); err != nil || !bytes.Equal(got, want) {
			t.Errorf("%s in the sheet is not the original, %v", name, err)
		}
	}
	if _, err := os.Stat(at("out/comparison.json")); err != nil {
		t.Error(err)
	}
}

// TestSheetTakesAfterTheCertificate: a file of readings says nothing of papers,
// so its sheet has the language and the size of the certificate. The settings of
// a job win.
func TestSheetTakesAfterTheCertificate(t *testing.T) {
	dir := t.TempDir()
	at := func(name string) string { return filepath.Join(dir, name) }
	copied := func(name, documents string) {
		t.Helper()
		if err := os.CopyFS(at(name), os.DirFS("../../testdata/script/cabinet")); err != nil {
			t.Fatal(err)
		}
		job, err := os.ReadFile(at(name + "/job.yaml"))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(at(name+"/job.yaml"), append(job, documents...), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write := func(name string, data []byte) {
		t.Helper()
		if err := os.MkdirAll(filepath.Dir(at(name)), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(at(name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	wording, err := os.ReadFile("../../templates/wording/es.yaml")
	if err != nil {
		t.Fatal(err)
	}
	must(t, 0, "key", "new", at("signer.p12"), "--name", "R. Lindqvist")
	readings := []byte("link,wavelength_nm,direction,loss_db,instrument\nB-01,850,A-B,1.30,PM-9\nB-01,850,B-A,1.35,PM-9\n")
	write("retest.csv", readings)
	for _, test := range []struct {
		name, documents, retest string // the retest's own, "" for a file
		language, size, says    string
	}{
		{"spanish", "documents: {language: es, paper: letter}\n", "", "es", "612 x 792", "COMPARACIÓN"},
		{"english", "documents: {paper: A4}\n", "", "en", "(A4)", "COMPARISON"},
		{"own", "documents: {language: gl, paper: letter}\n", "", "gl", "612 x 792", "COMPARACIÓN"},
		{"job", "documents: {language: es, paper: letter}\n", "documents: {language: en, paper: A4}\n", "en", "(A4)", "COMPARISON"},
	} {
		t.Run(test.name, func(t *testing.T) {
			copied(test.name, test.documents)
			write(test.name+"/wording/gl.yaml", wording)
			must(t, 0, "issue", at(test.name), "--key", at("signer.p12"))
			now, said := at("retest.csv"), []string{"--reference", "as-certified", "--test-cords", "as-certified", "--uncertainty", "0.12"}
			if test.retest != "" {
				name := test.name + "-retest"
				copied(name, test.retest)
				if err := os.RemoveAll(at(name + "/readings")); err != nil {
					t.Fatal(err)
				}
				write(name+"/readings/retest.csv", readings)
				now, said = at(name), nil
			}
			sheet := at(test.name + ".pdf")
			must(t, 4, append([]string{"compare", at(test.name + "/issued/r1/certificates/B-01.pdf"), now, "--trust", at("signer.pem"), "--sheet", sheet,
				"--key", at("signer.p12")}, said...)...)
			data, err := os.ReadFile(sheet)
			if err != nil {
				t.Fatal(err)
			}
			if !bytes.Contains(data, []byte("/Lang("+test.language+")")) {
				t.Errorf("the sheet is not marked as %q", test.language)
			}
			if info := outside.Run(t, "pdfinfo", sheet); !strings.Contains(info, test.size) {
				t.Errorf("want %s:\n%s", test.size, info)
			}
			if text := outside.Run(t, "pdftotext", "-layout", sheet, "-"); !strings.Contains(strings.ToUpper(text), test.says) {
				t.Errorf("want %q:\n%s", test.says, text)
			}
		})
	}
}
