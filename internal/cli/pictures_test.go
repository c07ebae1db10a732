package cli_test

import (
	"crypto/sha256"
	"encoding/hex"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"spanseal/internal/outside"
)

// turns is what differs from one demonstration to the next: the key, and the day
// of issue among the other days.
var turns = regexp.MustCompile(`key( [0-9A-F]{4}){4}|\d{1,2} [A-Z][a-z]{2} 20\d{2}`)

// said is the text of a page without its blanks, which readers of PDF set
// differently.
func said(text string) string {
	return strings.Join(strings.Fields(turns.ReplaceAllString(strings.Join(strings.Fields(text), " "), "…")), "")
}

// TestPicturesAreOfToday: each picture in examples shows a page whose text the
// demonstration gives today. The text that pdftotext found when the picture was
// drawn stands beside it, below the SHA-256 of the picture, so that neither can
// be made anew without the other.
func TestPicturesAreOfToday(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	dir := t.TempDir()
	must(t, 0, "demo", filepath.Join(dir, "demo"))
	issued, sheet := filepath.Join(dir, "demo", "issued", "r1"), filepath.Join(dir, "comparison.pdf")
	key := filepath.Join(dir, "office.p12") // the demonstration's key has a passphrase of its own
	must(t, 0, "key", "new", key, "--name", "R. Lindqvist", "--organisation", "Tidewater Fibre Works")
	must(t, 4, "compare", filepath.Join(issued, "certificates", "A-12.pdf"), "../../examples/testdata/retest.csv",
		"--reference", "as-certified", "--test-cords", "as-certified", "--uncertainty", "0.12", "--trust", filepath.Join(dir, "demo", "signer.pem"),
		"--sheet", sheet, "--key", key, "--date", "2031-02-05", "--postdated", "--claim", "W-2031-07",
		"--discovered", "2031-01-28", "--reported", "2031-01-30", "--cleaning", "Both faces cleaned and inspected before the retest")
	pictures, err := filepath.Glob("../../examples/*.png")
	if err != nil {
		t.Fatal(err)
	}
	papers := map[string]string{
		"certificate": filepath.Join(issued, "certificates", "A-12.pdf"), "summary": filepath.Join(issued, "summary.pdf"),
		"nonconformance": filepath.Join(issued, "nonconformance", "A-07.pdf"), "comparison": sheet,
	}
	if len(pictures) != len(papers) {
		t.Errorf("%d pictures, and %d pages that the test knows", len(pictures), len(papers))
	}
	for name, paper := range papers {
		t.Run(name, func(t *testing.T) {
			picture, err := os.ReadFile("../../examples/" + name + ".png")
			if err != nil {
				t.Fatal(err)
			}
			kept, err := os.ReadFile("../../examples/testdata/" + name + ".txt")
			if err != nil {
				t.Fatal(err)
			}
			sum, text, _ := strings.Cut(string(kept), "\n")
			if got := sha256.Sum256(picture); hex.EncodeToString(got[:]) != sum {
				t.Error("the text is that of another picture; run go generate ./examples")
			}
			then, now := said(text), said(outside.Run(t, "pdftotext", "-raw", "-enc", "UTF-8", "-f", "1", "-l", "1", paper, "-"))
			if then == now {
				return
			}
			at := 0
			for at < min(len(then), len(now)) && then[at] == now[at] {
				at++
			}
			show := func(s string) string {
				return strings.ToValidUTF8(s[max(0, min(at, len(s))-40):min(len(s), at+60)], "")
			}
			t.Errorf("the picture is older than its page; run go generate ./examples\npicture: …%s…\npage:    …%s…", show(then), show(now))
		})
	}
}
