package cli_test

import (
	"bytes"
	"compress/zlib"
	"crypto/ecdsa"
	"crypto/elliptic"
	crand "crypto/rand"
	"crypto/sha256"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/binary"
	"encoding/pem"
	"fmt"
	"hash/crc32"
	"math/big"
	"math/rand/v2"
	"net/http"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"spanseal/internal/cli"
	"spanseal/internal/page"
	"spanseal/internal/pdf"
	"spanseal/internal/seal"
)

// The bounds of whatever is verified, searched or compared: memory of the whole
// process, and its time on processors, for any file below 10 MB.
const (
	mostMemory = 300 << 20
	mostTime   = 5 * time.Second
	mostFile   = 10_000_000
)

// forger makes signed papers and revisions that say anything.
type forger struct {
	*seal.Signer
	press *pdf.Press
}

func newForger(t *testing.T) forger {
	t.Helper()
	signer, err := seal.NewSigner("M. Stranger", "", now().AddDate(-1, 0, 0), 3)
	check(t, err)
	press, err := pdf.NewPress(page.A4, pdf.Options{Runes: []rune("L-12")})
	check(t, err)
	return forger{signer, press}
}

// paper is a signed paper of a link, or of a job for "", with its record and
// whatever else.
func (f forger) paper(t *testing.T, link string, record []byte, more ...page.Attachment) []byte {
	t.Helper()
	sum := sha256.Sum256(record)
	name := "record.json"
	c := seal.Claim{Certificate: "J-7/" + link, Revision: 1, Job: "J-7", Link: link, Verdict: "pass", Issued: now().Format(time.DateOnly), Measured: "2026-11-18", Record: [16]byte(sum[:16])}
	if link == "" {
		name, c.Certificate, c.Verdict = "results.json", "J-7", "conforms"
	}
	token, err := f.SignToken(c)
	check(t, err)
	doc := &pdf.Document{
		Title: "Certificate", Author: "Stranger", Subject: "A link", Language: "en", Created: now(),
		Attachments: append([]page.Attachment{
			{Name: name, MIME: "application/json", Relationship: "Data", Data: record},
			{Name: "token.txt", MIME: "text/plain", Relationship: "Supplement", Data: []byte(token + "\n")},
		}, more...),
		Draw: func(s page.Sheet) error {
			s.NextPage()
			s.Text(20, 20, page.Style{Size: 9}, "L-1")
			return nil
		},
	}
	var b bytes.Buffer
	check(t, f.press.Canvas().Write(&b, doc, &pdf.Signature{
		Name: "M. Stranger", Reason: "Certificate", When: now(), Reserve: f.MaxCMS(),
		Sign: func(digest [32]byte) ([]byte, error) { return f.SignCMS(digest, time.Time{}) },
	}))
	return b.Bytes()
}

// revision is a folder with a manifest of the files.
func (f forger) revision(t *testing.T, dir string, files map[string][]byte) {
	t.Helper()
	m := seal.Manifest{Job: "J-7", Revision: 1, Issued: now().Format(time.RFC3339)}
	check(t, os.MkdirAll(dir, 0o755))
	for name, data := range files {
		m.Files = append(m.Files, seal.NewManifestFile(name, data))
		check(t, os.WriteFile(filepath.Join(dir, name), data, 0o644))
	}
	data, signature, err := m.Sign(f.Signer, now())
	check(t, err)
	check(t, os.WriteFile(filepath.Join(dir, seal.ManifestName), data, 0o644))
	check(t, os.WriteFile(filepath.Join(dir, seal.ManifestSignature), signature, 0o644))
}

// fill repeats a text to a size.
func fill(head, more string, size int, tail string) lazy {
	return func() []byte {
		n := max(size-len(head)-len(tail), 0) / len(more)
		b := make([]byte, 0, size+len(more))
		b = append(b, head...)
		for range n {
			b = append(b, more...)
		}
		return append(bytes.TrimSuffix(b, []byte(",")), tail...)
	}
}

// lazy makes bytes when they are wanted: all files of the table together are gigabytes.
type lazy func() []byte

func given(b []byte) lazy { return func() []byte { return b } }

// numbered is fill with a number in each repetition.
func numbered(head, more string, size int, tail string) lazy {
	return func() []byte {
		b := []byte(head)
		for i := 0; len(b) < size-len(tail)-len(more)-12; i++ {
			if i > 0 {
				b = append(b, ',')
			}
			b = fmt.Appendf(b, more, i)
		}
		return append(b, tail...)
	}
}

// rawPDF is a file of one object, whole as far as a parser can tell.
func rawPDF(value []byte) []byte {
	good := []byte("%PDF-1.7\n%\xE2\xE3\xCF\xD3\n")
	b := append(bytes.Clone(good), "1 0 obj\n"...)
	b = append(append(b, value...), "\nendobj\n"...)
	xref := len(b)
	return fmt.Appendf(b, "xref\n0 2\n0000000000 65535 f \n%010d 00000 n \ntrailer\n<</Size 2/Root 1 0 R/Info 1 0 R>>\nstartxref\n%d\n%%%%EOF\n", len(good), xref)
}

// packedPDF is a file of 10 MB, of objects in an object stream, each of the value,
// whole as far as a parser can tell.
func packedPDF(value []byte, n int) []byte {
	deflate := func(parts ...[]byte) []byte {
		var b bytes.Buffer
		w := zlib.NewWriter(&b)
		for _, p := range parts {
			w.Write(p)
		}
		w.Close()
		return b.Bytes()
	}
	var head, body []byte
	for i := range n {
		head = fmt.Appendf(head, "%d %d ", i+1, len(body))
		body = append(append(body, value...), '\n')
	}
	b := []byte("%PDF-1.7\n%\xE2\xE3\xCF\xD3\n")
	rows, before := []byte{2, 0, 0, 0, 0, 0, 0xFF, 0xFF}, [7]byte{5: 0xFF, 6: 0xFF}
	row := func(kind byte, at, index int) {
		now := [7]byte{kind, byte(at >> 24), byte(at >> 16), byte(at >> 8), byte(at), byte(index >> 8), byte(index)}
		rows = append(rows, 2)
		for i := range now {
			rows = append(rows, now[i]-before[i])
		}
		before = now
	}
	for i := range n {
		row(2, n+1, i)
	}
	stream := func(dict string, data []byte) {
		row(1, len(b), 0)
		b = fmt.Appendf(b, "%d 0 obj\n<<%s/Length %d>>\nstream\n", len(rows)/8-1, dict, len(data))
		b = append(append(b, data...), "\nendstream\nendobj\n"...)
	}
	stream(fmt.Sprintf("/Type/ObjStm/N %d/First %d/Filter/FlateDecode", n, len(head)), deflate(head, body))
	stream("", noise(max(9_500_000-len(b)-len(rows)/4, 0)))
	at := len(b)
	row(1, at, 0)
	packed := deflate(rows)
	self := len(rows)/8 - 1
	b = fmt.Appendf(b, "%d 0 obj\n<</Type/XRef/Size %d/W[1 4 2]/DecodeParms<</Predictor 12/Columns 7>>/Root 1 0 R/Info 1 0 R/ID[]/Filter/FlateDecode/Length %d>>\nstream\n", self, self+1, len(packed))
	b = append(append(b, packed...), "\nendstream\nendobj\n"...)
	return fmt.Appendf(b, "startxref\n%d\n%%%%EOF\n", at)
}

// peak is the most memory that a process had, as Linux kept it (proc(5), VmHWM).
// What wait4(2) says includes the memory of whoever started it.
func peak(t *testing.T, status string) int {
	t.Helper()
	data, err := os.ReadFile(status)
	check(t, err)
	_, rest, _ := strings.Cut(string(data), "VmHWM:")
	n, err := strconv.Atoi(strings.Fields(rest)[0])
	check(t, err)
	return n << 10
}

func noise(size int) []byte {
	b := make([]byte, size)
	rand.NewChaCha8([32]byte{}).Read(b)
	return b
}

// revocations is a revocation list of so many entries, whose issuer nobody knows.
func revocations(t *testing.T, n int) []byte {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), crand.Reader)
	check(t, err)
	issuer := &x509.Certificate{Subject: pkix.Name{CommonName: "Stranger"}, KeyUsage: x509.KeyUsageCRLSign, SubjectKeyId: []byte{1}, IsCA: true}
	entries := make([]x509.RevocationListEntry, n)
	for i := range entries {
		entries[i] = x509.RevocationListEntry{SerialNumber: big.NewInt(int64(i) + 1), RevocationTime: now(), ReasonCode: 1}
	}
	der, err := x509.CreateRevocationList(crand.Reader, &x509.RevocationList{Number: big.NewInt(1), ThisUpdate: now(), NextUpdate: now().AddDate(1, 0, 0), RevokedCertificateEntries: entries}, issuer, key)
	check(t, err)
	return der
}

// TestHostileFilesAreCheap: whatever somebody sends, the answer comes soon, takes
// little memory, and is an answer: never a stack trace, never a usage error.
func TestHostileFilesAreCheap(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	f, program := newForger(t), program(t)
	const results, record = `{"format":"spanseal-results/1","job":"J-7","revision":1,`, `{"format":"spanseal-record/1","certificate":"J-7/L-1",`
	paper := func(link string, record lazy, more ...page.Attachment) func(*testing.T, string) {
		return func(t *testing.T, at string) { check(t, os.WriteFile(at, f.paper(t, link, record(), more...), 0o644)) }
	}
	raw := func(value lazy) func(*testing.T, string) {
		return func(t *testing.T, at string) { check(t, os.WriteFile(at, rawPDF(value()), 0o644)) }
	}
	written := func(data func() []byte) func(*testing.T, string) {
		return func(t *testing.T, at string) { check(t, os.WriteFile(at, data(), 0o644)) }
	}
	revision := func(name string, data lazy) func(*testing.T, string) {
		return func(t *testing.T, at string) {
			files := map[string][]byte{"summary.pdf": f.paper(t, "", []byte(results+`"links":[]}`)), "results.json": []byte(results + `"links":[]}`), "results.csv": []byte("a\n")}
			files[name] = data()
			f.revision(t, filepath.Join(at, "issued", "r1"), files)
		}
	}
	manifest := func(data lazy) func(*testing.T, string) {
		return func(t *testing.T, at string) {
			revision("results.csv", given(nil))(t, at)
			check(t, os.WriteFile(filepath.Join(at, "issued", "r1", "manifest.json"), data(), 0o644))
		}
	}
	// stamps are beside a whole revision: a list and what is said to be a stamp.
	stamps := func(list, stamp lazy) func(*testing.T, string) {
		return func(t *testing.T, at string) {
			revision("notes.txt", given(nil))(t, at)
			dir := filepath.Join(at, "issued", "r1.stamps")
			check(t, os.Mkdir(dir, 0o755))
			check(t, os.WriteFile(filepath.Join(dir, "1.sha512"), list(), 0o644))
			check(t, os.WriteFile(filepath.Join(dir, "1.tsr"), stamp(), 0o644))
		}
	}
	// stamped has an authority of nobody's stamp the list.
	clock, _ := authority(t)
	stamped := func(list lazy) func(*testing.T, string) {
		return func(t *testing.T, at string) {
			reply, _, err := seal.RenewStamp(list(), seal.HTTPAuthority(t.Context(), http.DefaultClient, clock))
			check(t, err)
			stamps(list, given(reply))(t, at)
		}
	}
	// trusted is a folder of certificates beside a paper.
	trusted := func(name string, data lazy) func(*testing.T, string) {
		return func(t *testing.T, at string) {
			check(t, os.MkdirAll(filepath.Join(at, "trust"), 0o755))
			check(t, os.WriteFile(filepath.Join(at, "a.pdf"), f.paper(t, "L-1", []byte(record+`"revision":1}`)), 0o644))
			check(t, os.WriteFile(filepath.Join(at, "trust", "me.pem"), pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: f.Certificate().Raw}), 0o644))
			check(t, os.WriteFile(filepath.Join(at, "trust", name), data(), 0o644))
		}
	}
	trusting := []string{"verify", "AT/a.pdf", "--trust", "AT/trust"}
	verify, find := []string{"verify", "AT"}, []string{"find", "AT", "L-1", "--no-index"}
	compare := []string{"compare", "AT", "AT"}
	bulky := page.Attachment{Name: "bulk", MIME: "application/octet-stream", Relationship: "Data", Data: noise(7_700_000)}
	every := 4 // one hostile file in four
	if *long {
		every = 1
	}
	const room = 290 << 20 // what a paper of 10 MB may inflate to, and a little less
	for i, test := range []struct {
		name string
		make func(t *testing.T, at string)
		args []string
		code []int // one of them
	}{
		{"a small record", paper("L-1", given([]byte(record+`"revision":1}`))), verify, []int{cli.ExitWrong}},
		{"seventy million empty objects", paper("", fill(results+`"links":[`, "{},", 210<<20, "]}")), verify, []int{cli.ExitWrong}},
		{"as many empty objects as may be", paper("", fill(results+`"links":[`, "{},", 48<<20, "]}")), verify, []int{cli.ExitWrong, cli.ExitUntrusted}},
		{"as many links as may be, in a paper of 10 MB", paper("", fill(results+`"links":[`, `{"link":"L-1","verdict":"pass"},`, room, "]}"), bulky), verify, []int{cli.ExitWrong, cli.ExitUntrusted}},
		{"long links in a paper of 10 MB", paper("", fill(results+`"links":[`, `{"link":"`+strings.Repeat("x", 2000)+`"},`, room, "]}"), bulky), verify, []int{cli.ExitWrong, cli.ExitUntrusted}},
		{"members in a paper of 10 MB", paper("", fill(results, `"a":[{},[0]],`, room, "}"), bulky), verify, []int{cli.ExitWrong, cli.ExitUntrusted}},
		{"a text of 600 MB", paper("", fill(results+`"remarks":"`, "xxxxxxxx", 600<<20, `"}`)), verify, []int{cli.ExitWrong}},
		{"a text of 48 MB", paper("", fill(results+`"remarks":"`, "xxxxxxxx", 48<<20, `"}`)), verify, []int{cli.ExitWrong, cli.ExitUntrusted}},
		{"depth", paper("", fill(results+`"remarks":`, "[", 48<<20, "")), verify, []int{cli.ExitWrong, cli.ExitUntrusted}},
		{"a record of empty readings", paper("L-1", fill(record+`"readings":[`, "{},", 30<<20, "]}")), verify, []int{cli.ExitWrong, cli.ExitUntrusted}},
		{"a record of readings", paper("L-1", fill(record+`"readings":[`, "{},", 740_000, "]}")), verify, []int{cli.ExitWrong, cli.ExitUntrusted}},
		{"a record of many originals", paper("L-1", numbered(record+`"readings":[`, `{"origin":{"file":"%d"}}`, 6<<20, "]}")), verify, []int{cli.ExitWrong, cli.ExitUntrusted}},
		{"a record of readings, compared", paper("L-1", fill(record+`"readings":[`, "{},", 740_000, "]}")), compare, []int{cli.ExitWrong, cli.ExitRefused}},
		{"a record of findings, compared", paper("L-1", fill(record+`"link":{"id":"L-1"},"findings":[`, `{"readings":[]},`, 1<<20, "]}")), compare, []int{cli.ExitWrong, cli.ExitRefused}},
		{"numbers", raw(fill("[", "0 ", 9_900_000, "]")), verify, []int{cli.ExitWrong}},
		{"empty dictionaries", raw(fill("[", "<<>>", 9_900_000, "]")), verify, []int{cli.ExitWrong}},
		{"small dictionaries", raw(fill("[", "<</A 0>>", 9_900_000, "]")), verify, []int{cli.ExitWrong}},
		{"empty lists", raw(fill("[", "[]", 9_900_000, "]")), verify, []int{cli.ExitWrong}},
		{"a long name", raw(fill("<</", "A", 9_900_000, " 0>>")), verify, []int{cli.ExitWrong}},
		{"a long text", raw(fill("(", "A", 9_900_000, ")")), verify, []int{cli.ExitWrong}},
		{"texts", raw(fill("[", "()", 9_900_000, "]")), verify, []int{cli.ExitWrong}},
		{"references", raw(fill("[", "1 0 R ", 9_900_000, "]")), verify, []int{cli.ExitWrong}},
		{"references in an object stream", written(func() []byte { return packedPDF(fill("[", "1 0 R ", 15<<20, "]")(), 1) }), verify, []int{cli.ExitWrong}},
		{"dictionaries in an object stream", written(func() []byte { return packedPDF(fill("[", "<<>>", 15<<20, "]")(), 1) }), verify, []int{cli.ExitWrong}},
		{"texts in an object stream", written(func() []byte { return packedPDF(fill("[", "(a)", 15<<20, "]")(), 1) }), verify, []int{cli.ExitWrong}},
		{"a long text in an object stream", written(func() []byte { return packedPDF(fill("(", "A", 15<<20, ")")(), 1) }), verify, []int{cli.ExitWrong}},
		{"a bomb in an object stream", written(func() []byte { return packedPDF(fill("(", "A", 150<<20, ")")(), 1) }), verify, []int{cli.ExitWrong}},
		{"as many objects as an object stream can have", written(func() []byte { return packedPDF([]byte("<<>>"), 1<<16) }), verify, []int{cli.ExitWrong}},
		{"more objects than may be", written(func() []byte { return packedPDF([]byte("<<>>"), 900_000) }), verify, []int{cli.ExitWrong}},
		{"no text at all", func(t *testing.T, at string) { check(t, os.WriteFile(at, noise(9_900_000), 0o644)) }, verify, []int{cli.ExitWrong}},
		{"a manifest of empty files", manifest(fill(`{"format":"spanseal manifest 1","files":[`, "{},", 9_900_000, "]}")), verify, []int{cli.ExitWrong}},
		{"a manifest of changes", manifest(fill(`{"changes":[`, `"",`, 9_900_000, "]}")), verify, []int{cli.ExitWrong}},
		{"a manifest of a long text", manifest(fill(`{"job":"`, "xxxxxxxx", 9_900_000, `"}`)), find, []int{cli.ExitWrong}},
		{"a table of empty rows", revision("results.csv", fill("certificate,link,link_verdict,quantity,wavelength_nm,direction,measured,kind\n", ",,,,,,,\n", 9_900_000, "")), verify, []int{cli.ExitWrong, cli.ExitUntrusted}},
		{"a table of one line", revision("results.csv", fill("certificate,link,", "a,", 9_900_000, "\n")), verify, []int{cli.ExitWrong, cli.ExitUntrusted}},
		{"a table of one cell", revision("results.csv", fill("certificate,link,link_verdict,quantity,wavelength_nm,direction,measured,kind\n\"", "xxxxxxxx", 9_900_000, "\",,,,,,,\n")), verify, []int{cli.ExitWrong, cli.ExitUntrusted}},
		{"a list of stamped files, of empty lines", stamped(fill("", "\n", 9_900_000, "")), verify, []int{cli.ExitWrong}},
		{"a list of stamped files", stamped(fill("", strings.Repeat("0", 128)+"  a\n", 9_900_000, "")), verify, []int{cli.ExitWrong}},
		{"a long stamp", stamps(given([]byte(strings.Repeat("0", 128)+"  r1/a\n")), fill("\x30\x84\x00\x97\x0f\xda", "\x30\x00", 9_900_000, "")), verify, []int{cli.ExitWrong}},
		{"a revocation list", trusted("a.crl", func() []byte { return revocations(t, 220_000) }), trusting, []int{cli.ExitRefused, cli.ExitWrong}},
		{"a revocation list of nothing", trusted("a.crl", fill("\x30\x84\x00\x97\x0f\xda", "\x30\x00", 9_900_000, "")), trusting, []int{cli.ExitRefused}},
		{"certificates", trusted("a.pem", fill("", "-----BEGIN CERTIFICATE-----\n-----END CERTIFICATE-----\n", 9_900_000, "")), trusting, []int{cli.ExitRefused}},
		{"revoked keys", trusted("revoked.txt", fill("", "0000000000000000\n", 9_900_000, "")), trusting, []int{cli.ExitRefused}},
		{"results of empty links", revision("results.json", fill(results+`"links":[`, "{},", 9_900_000, "]}")), find, []int{cli.ExitWrong}},
		{"results of uses", revision("results.json", fill(results+`"links":[{"measured_with":[`, "{},", 9_900_000, "]}]}")), find, []int{cli.ExitWrong}},
		{"results of many uses", revision("results.json", numbered(results+`"links":[`, `{"measured_with":[{"instrument":"%d"}]}`, 9_900_000, "]}")), find, []int{cli.ExitWrong}},
		{"results of instruments", revision("results.json", fill(results+`"about":{"instruments":[`, "{},", 9_900_000, "]}}")), find, []int{cli.ExitWrong}},
		{"an index of instruments", func(t *testing.T, at string) {
			check(t, os.MkdirAll(at, 0o755))
			entry := append([]byte{1, 'a'}, make([]byte, 6+32+13)...) // path, stamps, hash, texts
			entry = append(entry, 1, 0, 0)                            // revision, doubts, changes
			entry = binary.AppendUvarint(entry, 3_000_000)
			entry = append(entry, make([]byte, 9_000_000)...)
			index := binary.AppendUvarint([]byte("spanseal index 1\n"), uint64(len(entry)))
			index = append(index, entry...)
			index = binary.LittleEndian.AppendUint32(index, crc32.ChecksumIEEE(index))
			check(t, os.WriteFile(filepath.Join(at, ".spanseal-index"), index, 0o644))
		}, []string{"find", "AT", "L-1"}, []int{cli.ExitOK}},
	} {
		if i%every != 0 {
			continue
		}
		t.Run(test.name, func(t *testing.T) {
			at := filepath.Join(t.TempDir(), "a.pdf")
			test.make(t, at)
			if info, err := os.Stat(at); err != nil || info.Size() > mostFile {
				t.Fatalf("%v, %d bytes", err, info.Size())
			}
			var args []string
			for _, a := range test.args {
				args = append(args, strings.ReplaceAll(a, "AT", at))
			}
			status := filepath.Join(t.TempDir(), "status")
			t.Setenv("STATUS", status)
			c, errs := process(t, program, args...)
			_ = c.Wait()
			memory, spent := peak(t, status), c.ProcessState.UserTime()+c.ProcessState.SystemTime()
			t.Logf("exit %d, %d MB, %v", c.ProcessState.ExitCode(), memory>>20, spent)
			if memory > mostMemory || spent > mostTime {
				t.Errorf("%d MB and %v, want at most %d MB and %v", memory>>20, spent, mostMemory>>20, mostTime)
			}
			fits := false
			for _, code := range test.code {
				fits = fits || c.ProcessState.ExitCode() == code
			}
			if !fits || strings.Contains(errs.String(), "goroutine") || errs.Len() > 10_000 {
				t.Errorf("exit code %d, want one of %v\n%.2000s", c.ProcessState.ExitCode(), test.code, errs)
			}
		})
	}
}
