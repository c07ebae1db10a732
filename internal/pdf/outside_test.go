package pdf

import (
	"encoding/asn1"
	"encoding/hex"
	"encoding/pem"
	"image"
	"image/png"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/digitorus/pkcs7"
	"github.com/pdfcpu/pdfcpu/pkg/api"
	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/model"

	"spanseal/internal/outside"
	"spanseal/internal/page"
)

// run runs an outside program and returns what it prints on either stream.
func run(t *testing.T, program string, args ...string) string {
	t.Helper()
	out, err := exec.Command(outside.Program(t, program), args...).CombinedOutput()
	if err != nil {
		t.Fatalf("%s %s: %v\n%s", program, strings.Join(args, " "), err, out)
	}
	return string(out)
}

// save puts a file where outside programs find it.
func save(t *testing.T, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "test.pdf")
	if err := os.WriteFile(path, data, 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// kinds are the files that every reader must take: one page, several with
// pictures, unsigned, visibly signed.
func kinds(t *testing.T) map[string][]byte {
	visible := signature()
	visible.Page, visible.Box = 1, page.Box{X: 60, Y: 250, W: 50, H: 20}
	return map[string][]byte{
		"certificate": write(t, certificate("A-17"), signature()),
		"gallery":     write(t, gallery(t), signature()),
		"visible":     write(t, gallery(t), visible),
		"unsigned":    write(t, certificate("A-17"), nil),
	}
}

func TestQpdf(t *testing.T) {
	for name, data := range kinds(t) {
		t.Run(name, func(t *testing.T) {
			out := run(t, "qpdf", "--check", save(t, data))
			if !strings.Contains(out, "No syntax or stream encoding errors found") || strings.Contains(out, "WARNING") {
				t.Error(out)
			}
		})
	}
}

// pdfcpu's strict mode takes AFRelationship for a key of PDF 2.0, though
// PDF/A-3 defines it for 1.7: files with attachments are read in its relaxed
// mode.
func TestPdfcpu(t *testing.T) {
	api.DisableConfigDir()
	validate := func(t *testing.T, data []byte, mode int) {
		conf := model.NewDefaultConfiguration()
		conf.ValidationMode, conf.Offline = mode, true
		if err := api.ValidateFile(save(t, data), conf); err != nil {
			t.Error(err)
		}
	}
	for name, data := range kinds(t) {
		t.Run(name, func(t *testing.T) { validate(t, data, model.ValidationRelaxed) })
	}
	t.Run("strict", func(t *testing.T) {
		d := gallery(t)
		d.Attachments = nil
		validate(t, write(t, d, signature()), model.ValidationStrict)
	})
}

// pdfsig checks the signature with another implementation, NSS.
func TestPdfsig(t *testing.T) {
	for _, name := range []string{"certificate", "visible"} {
		t.Run(name, func(t *testing.T) {
			out := run(t, "pdfsig", save(t, kinds(t)[name]))
			for _, want := range []string{"Signature is Valid.", "Total document signed", "ETSI.CAdES.detached", "SHA-256", "A. Tester"} {
				if !strings.Contains(out, want) {
					t.Errorf("no %q in\n%s", want, out)
				}
			}
		})
	}
}

// signedBytes is what a signature covers, and its CMS message, cut out with
// nothing but the text of the file, as a stranger would.
func signedBytes(t *testing.T, data []byte) (content, cms []byte) {
	t.Helper()
	m := regexp.MustCompile(`/ByteRange\[0 (\d+) (\d+) (\d+) *\]/Contents<([0-9a-f]+)>`).FindSubmatch(data)
	if m == nil {
		t.Fatal("no signature")
	}
	var r [3]int
	for i := range r {
		r[i], _ = strconv.Atoi(string(m[i+1]))
	}
	padded, err := hex.DecodeString(string(m[4]))
	if err != nil {
		t.Fatal(err)
	}
	var message asn1.RawValue
	if _, err := asn1.Unmarshal(padded, &message); err != nil {
		t.Fatal(err)
	}
	return slices.Concat(data[:r[0]], data[r[1]:r[1]+r[2]]), message.FullBytes
}

func TestOpensslVerifies(t *testing.T) {
	content, cms := signedBytes(t, kinds(t)["certificate"])
	dir := t.TempDir()
	write := func(name string, data []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
		return path
	}
	cert := write("signer.pem", pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: signer().Certificate().Raw}))
	args := []string{"cms", "-verify", "-binary", "-inform", "DER", "-in", write("sig.der", cms), "-CAfile", cert,
		"-purpose", "any", "-no_check_time", "-out", os.DevNull, "-content"}
	if out := run(t, "openssl", append(args, write("content", content))...); !strings.Contains(out, "successful") {
		t.Error(out)
	}
	content[1000] ^= 1
	if out, err := exec.Command("openssl", append(args, write("changed", content))...).CombinedOutput(); err == nil {
		t.Errorf("a change unnoticed: %s", out)
	}
}

// The second Go implementation of CMS.
func TestPkcs7Verifies(t *testing.T) {
	content, cms := signedBytes(t, kinds(t)["certificate"])
	p, err := pkcs7.Parse(cms)
	if err != nil {
		t.Fatal(err)
	}
	p.Content = content
	if err := p.Verify(); err != nil {
		t.Error(err)
	}
	content[1000] ^= 1
	if p.Verify() == nil {
		t.Error("a change unnoticed")
	}
}

func TestPdffonts(t *testing.T) {
	lines := strings.Split(strings.TrimSpace(run(t, "pdffonts", save(t, kinds(t)["gallery"]))), "\n")[2:]
	row := regexp.MustCompile(`^[A-Z]{6}\+\S+ +CID TrueType +Identity-H +yes yes yes `)
	for _, l := range lines {
		if !row.MatchString(l) {
			t.Errorf("want an embedded subset with Unicode: %s", l)
		}
	}
	if len(lines) != page.Faces {
		t.Errorf("%d fonts, want %d", len(lines), page.Faces)
	}
}

func TestPdftotext(t *testing.T) {
	out := run(t, "pdftotext", "-layout", save(t, kinds(t)["gallery"]), "-")
	for _, want := range []string{
		"Link A-18",
		"The insertion loss of this link was measured in both directions at 1310 and",
		"0.4 dB/km × 1.250 km + 0.75 dB × 2 = 2.00 dB",
		"Laser light: never look into a fibre – follow local codes…",
		`A backslash \ and (brackets)`,
		"A→B",
	} {
		if !strings.Contains(out, want) {
			t.Errorf("no %q in\n%s", want, out)
		}
	}
}

// render turns one page into a picture.
func render(t *testing.T, data []byte, number, dpi int) image.Image {
	t.Helper()
	path := save(t, data)
	root := strings.TrimSuffix(path, ".pdf")
	n := strconv.Itoa(number)
	run(t, "pdftoppm", "-f", n, "-l", n, "-singlefile", "-r", strconv.Itoa(dpi), "-png", path, root)
	f, err := os.Open(root + ".png")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	img, err := png.Decode(f)
	if err != nil {
		t.Fatal(err)
	}
	return img
}

// Ghost lines would show as ink where the page is blank; a wrong glyph map as
// blank where there should be ink.
func TestPdftoppm(t *testing.T) {
	img := render(t, kinds(t)["gallery"], 1, 72)
	dark := func(x, y, w, h float64) (share float64) {
		n, all := 0, 0
		for py := int(y / page.MM); py < int((y+h)/page.MM); py++ {
			for px := int(x / page.MM); px < int((x+w)/page.MM); px++ {
				r, g, b, _ := img.At(px, py).RGBA()
				if r+g+b < 3*0x8000 {
					n++
				}
				all++
			}
		}
		return float64(n) / float64(all)
	}
	for _, tt := range []struct {
		name       string
		x, y, w, h float64
		min, max   float64
	}{
		{"verdict block", 10, 12, 4, 16, 1, 1},
		{"white word in it", 14, 16, 20, 8, 0.5, 0.9},
		{"heading", 60, 19, 30, 5, 0.05, 0.5},
		{"empty margin", 199, 0, 10, 297, 0, 0},
		{"symbol", 10, 250, 36, 36, 0.3, 0.5},
	} {
		if got := dark(tt.x, tt.y, tt.w, tt.h); got < tt.min || got > tt.max {
			t.Errorf("%s: %.2f of it is dark, want %.2f to %.2f", tt.name, got, tt.min, tt.max)
		}
	}
}
