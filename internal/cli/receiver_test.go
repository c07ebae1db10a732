package cli_test

import (
	"bytes"
	"encoding/hex"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/pdfcpu/pdfcpu/pkg/api"
	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/model"

	"spanseal/internal/outside"
)

// signedParts takes a signed PDF apart as ISO 32000-1, 12.8.1 says, knowing
// nothing of how we write one.
func signedParts(t *testing.T, data []byte) (content, cms []byte) {
	t.Helper()
	m := regexp.MustCompile(`/ByteRange\s*\[\s*(\d+)\s+(\d+)\s+(\d+)\s+(\d+)\s*\]`).FindSubmatch(data)
	if m == nil {
		t.Fatal("no ByteRange")
	}
	var at [4]int
	for i := range at {
		at[i], _ = strconv.Atoi(string(m[i+1]))
	}
	content = append(bytes.Clone(data[at[0]:at[0]+at[1]]), data[at[2]:at[2]+at[3]]...)
	cms, err := hex.DecodeString(string(data[at[1]+1 : at[2]-1]))
	if err != nil {
		t.Fatal(err)
	}
	// The string is padded with zeros behind the DER, whose length stands in
	// its first bytes: 30 82 hi lo (X.690, 8.1.3.5).
	return content, cms[:4+int(cms[2])<<8+int(cms[3])]
}

// TestReceiver reads an issued job as somebody who never met us would: with a
// PDF reader's library, a signature checker and a telephone's camera.
func TestReceiver(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	dir := filepath.Join(t.TempDir(), "demo")
	must(t, 0, "demo", dir)
	issued := filepath.Join(dir, "issued", "r1")
	anchor := filepath.Join(dir, "signer.pem")
	papers := []string{"certificates/A-12.pdf", "certificates/A-19.pdf", "nonconformance/A-07.pdf", "nonconformance/B-03.pdf", "summary.pdf"}

	for _, paper := range papers {
		path := filepath.Join(issued, filepath.FromSlash(paper))
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		t.Run(paper, func(t *testing.T) {
			t.Run("pdfcpu", func(t *testing.T) {
				if err := api.Validate(bytes.NewReader(data), model.NewDefaultConfiguration()); err != nil {
					t.Error(err)
				}
			})
			t.Run("qpdf", func(t *testing.T) {
				if out := outside.Run(t, "qpdf", "--check", path); !strings.Contains(out, "No syntax or stream encoding errors found") {
					t.Error(out)
				}
			})
			t.Run("pdfsig", func(t *testing.T) {
				out := outside.Run(t, "pdfsig", path)
				for _, want := range []string{"Signature is Valid", "Total document signed", "ETSI.CAdES.detached", "CN=R. Lindqvist"} {
					if !strings.Contains(out, want) {
						t.Errorf("want %q in\n%s", want, out)
					}
				}
			})
			t.Run("openssl", func(t *testing.T) {
				content, cms := signedParts(t, data)
				tmp := t.TempDir()
				signed, der := filepath.Join(tmp, "content"), filepath.Join(tmp, "cms")
				if err := os.WriteFile(signed, content, 0o600); err != nil {
					t.Fatal(err)
				}
				if err := os.WriteFile(der, cms, 0o600); err != nil {
					t.Fatal(err)
				}
				outside.Run(t, "openssl", "cms", "-verify", "-binary", "-inform", "DER", "-in", der, "-content", signed,
					"-CAfile", anchor, "-purpose", "any", "-no_check_time", "-out", os.DevNull)
			})
			t.Run("zbarimg", func(t *testing.T) {
				png := filepath.Join(t.TempDir(), "page")
				outside.Run(t, "pdftoppm", "-r", "150", "-png", "-f", "1", "-l", "1", "-singlefile", path, png)
				token := strings.TrimSpace(outside.Run(t, "zbarimg", "-q", "--raw", png+".png"))
				if !strings.HasPrefix(token, "SS1.") {
					t.Fatalf("the symbol says %q", token)
				}
				if said := must(t, 0, "verify", token, "--trust", anchor); !strings.Contains(said, "BL-2026-031") {
					t.Errorf("the token says\n%s", said)
				}
			})
		})
	}

	t.Run("openssl on the manifest", func(t *testing.T) {
		outside.Run(t, "openssl", "cms", "-verify", "-binary", "-inform", "DER", "-in", filepath.Join(issued, "manifest.p7s"),
			"-content", filepath.Join(issued, "manifest.json"), "-CAfile", anchor, "-purpose", "any", "-no_check_time", "-out", os.DevNull)
	})
}
