package cli_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
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

	outside(t, "qpdf", "--check", at("sheet.pdf"))
	if text := outside(t, "pdfsig", "-nocert", at("sheet.pdf")); !strings.Contains(text, "Signature is Valid") || !strings.Contains(text, "Total document signed") {
		t.Errorf("pdfsig says\n%s", text)
	}
	if text := outside(t, "pdftotext", "-layout", at("sheet.pdf"), "-"); !strings.Contains(text, "W-7") || !strings.Contains(text, "CHANGED") {
		t.Errorf("the sheet reads\n%s", text)
	}
	if err := os.Mkdir(at("out"), 0o755); err != nil {
		t.Fatal(err)
	}
	outside(t, "pdfdetach", "-saveall", "-o", at("out"), at("sheet.pdf"))
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
