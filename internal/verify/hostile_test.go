package verify

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"spanseal/internal/page"
	"spanseal/internal/pdf"
	"spanseal/internal/seal"
)

var (
	byteRange = regexp.MustCompile(`/ByteRange\s*\[(\d+) +(\d+) +(\d+) +(\d+)\s*\]`)
	contents  = regexp.MustCompile(`/Contents\s*<([0-9a-fA-F]+)>`)
	startxref = regexp.MustCompile(`startxref\s+(\d+)`)
)

// part finds the first group of a pattern in a paper.
func part(t *testing.T, p *regexp.Regexp, data []byte) (from, to int) {
	t.Helper()
	at := p.FindSubmatchIndex(data)
	if at == nil {
		t.Fatalf("the paper holds no %s", p)
	}
	return at[2], at[3]
}

// TestHostilePapers: what is known to have deceived programs that check signed
// PDF files (hidden later revisions, moved byte ranges, wrapped and borrowed
// signatures), and the same tricks one floor up, with our attachments.
func TestHostilePapers(t *testing.T) {
	me := newSigner(t, "R. Lindqvist")
	trust := trusting(me)
	good := maker{signer: me}.paper(t, "L-1")
	other := maker{signer: me}.paper(t, "L-2")
	splice := func(from, to int, with string) []byte {
		return append(append(bytes.Clone(good[:from]), with...), good[to:]...)
	}
	at := func(p *regexp.Regexp) (int, int) { return part(t, p, good) }
	previous := func() string { from, to := at(startxref); return string(good[from:to]) }
	update := func(objects string) []byte {
		b := append(bytes.Clone(good), objects...)
		xref := len(b)
		return fmt.Appendf(b, "xref\n0 1\n0000000000 65535 f \ntrailer\n<</Size 99/Root 1 0 R/Prev %s>>\nstartxref\n%d\n%%%%EOF\n", previous(), xref)
	}
	// The signature's digits, and where the signed bytes end and go on.
	digitsFrom, digitsTo := at(contents)
	rangeAt := byteRange.FindSubmatchIndex(good)
	if rangeAt == nil {
		t.Fatal("the paper holds no ByteRange")
	}
	numbers := func(a, b, c, d string) []byte {
		text := fmt.Sprintf("/ByteRange[%s %s %s %s", a, b, c, d)
		return splice(rangeAt[0], rangeAt[1], fmt.Sprintf("%-*s]", rangeAt[1]-rangeAt[0]-1, text))
	}
	n := func(i int) string { return string(good[rangeAt[2*i]:rangeAt[2*i+1]]) }
	otherFrom, otherTo := part(t, contents, other)
	cms, err := hex.DecodeString(string(good[digitsFrom:digitsTo]))
	if err != nil {
		t.Fatal(err)
	}

	for name, data := range map[string][]byte{
		"nothing":                            nil,
		"a later revision that adds nothing": update(""),
		"a later revision of the catalogue":  update("1 0 obj\n<</Type/Catalog/Pages 2 0 R>>\nendobj\n"),
		"a comment at the end":               append(bytes.Clone(good), "% seen and approved\n"...),
		"something before the header":        append([]byte("%PDF-1.7\n"), good...),
		"two papers in one file":             append(bytes.Clone(good), other...),
		"the first half twice":               append(bytes.Clone(good[:len(good)/2]), good...),
		"range of the first part alone":      numbers(n(1), n(2), n(3), "0"),
		"range that starts later":            numbers("9", n(2), n(3), n(4)),
		"range that ends earlier":            numbers(n(1), n(2), n(3), fmt.Sprint(len(good)-digitsTo-20)),
		"range of nothing":                   numbers("0", "0", "0", "0"),
		"range below zero":                   numbers("-1", n(2), n(3), n(4)),
		"range beyond the file":              numbers(n(1), n(2), n(3), "99999999"),
		"signature of another paper":         splice(digitsFrom, digitsTo, string(other[otherFrom:otherTo])),
		"signature of zeros":                 splice(digitsFrom, digitsTo, strings.Repeat("0", digitsTo-digitsFrom)),
		"digits in the other case": func() []byte {
			digits := string(good[digitsFrom:digitsTo])
			if digits == strings.ToUpper(digits) {
				return splice(digitsFrom, digitsTo, strings.ToLower(digits))
			}
			return splice(digitsFrom, digitsTo, strings.ToUpper(digits))
		}(),
		"space among the digits":        splice(digitsTo-2, digitsTo, "  "),
		"something after the signature": splice(digitsTo-2, digitsTo, "01"),
		"signature that begins later":   splice(digitsFrom, digitsTo, hex.EncodeToString(append([]byte{0}, cms[:len(cms)-1]...))),
		"second signature dictionary":   update("98 0 obj\n<</Type/Sig/Filter/Adobe.PPKLite/SubFilter/ETSI.CAdES.detached/ByteRange[0 0 0 0]/Contents<00>>>\nendobj\n"),
		"not a PDF":                     []byte("hello"),
		"header alone":                  []byte("%PDF-1.7\n"),
	} {
		t.Run(name, func(t *testing.T) {
			if bytes.Equal(data, good) {
				t.Fatal("this attack changes nothing")
			}
			if r := PDF("a.pdf", data, trust); r.Conclusion() != Broken {
				t.Errorf("%s: %+v", r.Conclusion(), r.Items[0])
			} else {
				t.Log(r.Items[0].State, r.Items[0].Faults)
			}
		})
	}

	// By somebody who holds the key and mixes what it signed before.
	borrowed := func(change func(mine, other []page.Attachment) []page.Attachment) []byte {
		opened, err := pdf.Open(other)
		if err != nil {
			t.Fatal(err)
		}
		return maker{signer: me, attach: func(_ string, a []page.Attachment) []page.Attachment { return change(a, opened.Attachments) }}.paper(t, "L-1")
	}
	for name, data := range map[string][]byte{
		"token of another paper":  borrowed(func(mine, other []page.Attachment) []page.Attachment { return []page.Attachment{mine[0], other[1]} }),
		"record of another paper": borrowed(func(mine, other []page.Attachment) []page.Attachment { return []page.Attachment{other[0], mine[1]} }),
		"empty token": borrowed(func(mine, _ []page.Attachment) []page.Attachment {
			mine[1].Data = nil
			return mine
		}),
	} {
		if r := PDF("a.pdf", data, trust); r.Conclusion() != Broken {
			t.Errorf("%s: %s: %+v", name, r.Conclusion(), r.Items[0])
		}
	}
}

// FuzzPaper: whatever is not the paper itself is never called intact.
func FuzzPaper(f *testing.F) {
	me := newSigner(f, "R. Lindqvist")
	trust := trusting(me)
	good := maker{signer: me}.paper(f, "L-1")
	f.Add(good)
	f.Add(append(bytes.Clone(good), '\n'))
	f.Add(good[:len(good)/2])
	f.Fuzz(func(t *testing.T, data []byte) {
		if r := PDF("a.pdf", data, trust); r.Conclusion() == Holds && !bytes.Equal(data, good) {
			t.Error("another paper is called intact")
		}
	})
}

// FuzzSplice replaces a piece of a paper by another, which a fuzzer that knows
// nothing of PDF would take long to do.
func FuzzSplice(f *testing.F) {
	me := newSigner(f, "R. Lindqvist")
	trust := trusting(me)
	good := maker{signer: me}.paper(f, "L-1")
	f.Add(uint16(20), uint16(3), []byte("x"))
	f.Add(uint16(len(good)), uint16(0), []byte("%%EOF\n"))
	f.Fuzz(func(t *testing.T, at, size uint16, with []byte) {
		from := min(int(at), len(good))
		to := min(from+int(size), len(good))
		data := append(append(bytes.Clone(good[:from]), with...), good[to:]...)
		if r := PDF("a.pdf", data, trust); r.Conclusion() == Holds && !bytes.Equal(data, good) {
			t.Errorf("%q for %q at %d is called intact", with, good[from:to], from)
		}
	})
}

// FuzzTable: a revision whose table is anything at all never crashes and never
// is intact with another table than the one issued.
func FuzzTable(f *testing.F) {
	me := newSigner(f, "R. Lindqvist")
	trust := trusting(me)
	fsys := fstest.MapFS{}
	maker{signer: me}.issue(f, fsys)
	good := fsys["r1/results.csv"].Data
	f.Add(good)
	f.Add([]byte("certificate,link\n"))
	f.Add([]byte("\"\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if rows, err := readResults(bytes.NewReader(data)); err == nil {
			rows.disagree(seal.Claim{Link: "L-1"})
		}
		fsys["r1/results.csv"] = &fstest.MapFile{Data: data}
		if r, err := folder(fsys, "r1", trust); err != nil || r.Conclusion() == Holds && !bytes.Equal(data, good) {
			t.Errorf("%v, another table is called intact", err)
		}
	})
}

func FuzzParseCertificates(f *testing.F) {
	me := newSigner(f, "R. Lindqvist")
	f.Add(me.Certificate().Raw)
	f.Add([]byte("-----BEGIN CERTIFICATE-----\nMA==\n-----END CERTIFICATE-----\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		certs, err := ParseCertificates(data)
		if (err == nil) != (len(certs) > 0) {
			t.Errorf("%d certificates and %v", len(certs), err)
		}
	})
}
