package seal_test

import (
	"crypto/sha512"
	"crypto/x509"
	"encoding/pem"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/digitorus/timestamp"

	"spanseal/internal/outside"
	"spanseal/internal/seal"
)

// renewedVectors are in testdata/seal/renewed: a small folder of revisions with
// two stamps beside r1, made with an authority of openssl, and its root.
const renewedVectors = vectorFolder + "/renewed"

// makeRenewedVectors writes them anew.
func makeRenewedVectors(t *testing.T) {
	a := newAuthority(t)
	write := func(name string, data []byte) {
		path := filepath.Join(renewedVectors, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	root, err := os.ReadFile(a.path("root.pem"))
	if err != nil {
		t.Fatal(err)
	}
	write("root.pem", root)
	var listed []seal.ListedFile
	add := func(name string, data []byte) {
		write(name, data)
		listed = append(listed, seal.ListedFile{Path: name, Sum: sha512.Sum512(data)})
	}
	for _, name := range []string{seal.ManifestName, seal.ManifestSignature} {
		data, err := os.ReadFile(filepath.Join(vectorFolder, name))
		if err != nil {
			t.Fatal(err)
		}
		add("r1/"+name, data)
	}
	for n, key := range []string{"ec", "rsa"} {
		list, err := seal.EncodeList(listed)
		if err != nil {
			t.Fatal(err)
		}
		reply, _, err := seal.RenewStamp(list, func(request []byte) ([]byte, error) { return a.answer(t, request, key), nil })
		if err != nil {
			t.Fatal(err)
		}
		add("r1.stamps/"+seal.StampList(n+1), list)
		add("r1.stamps/"+seal.StampReply(n+1), reply)
	}
}

func TestRenewedVectors(t *testing.T) {
	if *update {
		makeRenewedVectors(t)
	}
	read := func(name string) []byte {
		data, err := os.ReadFile(filepath.Join(renewedVectors, filepath.FromSlash(name)))
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	var last time.Time
	for n := 1; n <= 2; n++ {
		list, reply := read("r1.stamps/"+seal.StampList(n)), read("r1.stamps/"+seal.StampReply(n))
		files, err := seal.ParseList(list)
		if err != nil || len(files) != 2*n {
			t.Fatal(err, len(files))
		}
		for _, f := range files {
			if sha512.Sum512(read(f.Path)) != f.Sum {
				t.Errorf("%s is listed with another hash", f.Path)
			}
		}
		ts, err := seal.ReadRenewal(reply, list)
		if err != nil {
			t.Fatal(err)
		}
		// A second implementation reads the same.
		other, err := timestamp.ParseResponse(reply)
		if sum := sha512.Sum512(list); err != nil || !other.Time.Equal(ts.Time) || !slices.Equal(other.HashedMessage, sum[:]) {
			t.Errorf("digitorus/timestamp: %v, %+v", err, other)
		}
		if ts.Time.Before(last) {
			t.Errorf("stamp %d is before the one that it renews", n)
		}
		last = ts.Time
		everyByte(t, seal.StampReply(n), reply, 5, func(b []byte) error {
			_, err := seal.ReadRenewal(b, list)
			return err
		})
		if _, err := seal.ReadRenewal(reply, append(slices.Clone(list), list[:1]...)); err == nil || !strings.Contains(err.Error(), "over something else") {
			t.Errorf("over another list: %v", err)
		}
	}
	t.Run("openssl", func(t *testing.T) { // as the package comment has it
		openssl := outside.Program(t, "openssl")
		for n := 1; n <= 2; n++ {
			run := exec.Command(openssl, "ts", "-verify", "-data", "r1.stamps/"+seal.StampList(n), "-in", "r1.stamps/"+seal.StampReply(n), "-CAfile", "root.pem")
			run.Dir = renewedVectors
			if out, err := run.CombinedOutput(); err != nil || !strings.Contains(string(out), "Verification: OK") {
				t.Errorf("stamp %d: %v\n%s", n, err, out)
			}
		}
	})
	t.Run("sha512sum", func(t *testing.T) {
		program := outside.Program(t, "sha512sum")
		for n := 1; n <= 2; n++ {
			run := exec.Command(program, "--strict", "-c", "r1.stamps/"+seal.StampList(n))
			run.Dir = renewedVectors
			if out, err := run.CombinedOutput(); err != nil {
				t.Errorf("list %d: %v\n%s", n, err, out)
			}
		}
	})
}

func TestListRefuses(t *testing.T) {
	sum := strings.Repeat("0a", sha512.Size)
	good := sum + "  r1/a.csv\n" + sum + "  r1/b.csv\n"
	if _, err := seal.ParseList([]byte(good)); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{
		"out of order":   sum + "  r1/b.csv\n" + sum + "  r1/a.csv\n",
		"twice":          sum + "  r1/a.csv\n" + sum + "  r1/a.csv\n",
		"capitals":       strings.ToUpper(sum) + "  r1/a.csv\n",
		"one space":      sum + " r1/a.csv\n",
		"a star":         sum + " *r1/a.csv\n",
		"no line end":    sum + "  r1/a.csv",
		"an empty line":  good + "\n",
		"a short hash":   sum[2:] + "  r1/a.csv\n",
		"a carriage":     sum + "  r1/a.csv\r\n",
		"outside":        sum + "  ../a.csv\n",
		"a backslash":    sum + "  r1\\a.csv\n",
		"a comment line": "# list\n" + good,
	} {
		if _, err := seal.ParseList([]byte(text)); err == nil {
			t.Errorf("%s: read", name)
		}
	}
	for _, name := range []string{"", "/a", "a\nb", "a\\b"} {
		if _, err := seal.EncodeList([]seal.ListedFile{{Path: name}}); err == nil {
			t.Errorf("%q: listed", name)
		}
	}
}

// FuzzList: a list that is read is the one encoding of itself.
func FuzzList(f *testing.F) {
	f.Add([]byte(strings.Repeat("0a", sha512.Size) + "  r1/a.csv\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		files, err := seal.ParseList(data)
		if err != nil {
			return
		}
		if again, err := seal.EncodeList(files); err != nil || string(again) != string(data) {
			t.Errorf("written again as %q, %v", again, err)
		}
	})
}

// TestSuccessionVector reads a certificate that names its predecessor.
func TestSuccessionVector(t *testing.T) {
	path := filepath.Join(vectorFolder, "successor.pem")
	if *update {
		next := successorOf(t, vectorSigner(t), "M. Okafor", vectorSigner(t).Certificate().NotBefore.AddDate(1, 0, 0))
		if err := os.WriteFile(path, pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: next.Certificate().Raw}), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	block, _ := pem.Decode(data)
	c, err := x509.ParseCertificate(block.Bytes)
	if err != nil {
		t.Fatal(err)
	}
	if p := seal.Predecessor(c); p == nil || !p.Equal(vectorSigner(t).Certificate()) {
		t.Error("it does not name the signer of the vectors as its predecessor")
	}
}
