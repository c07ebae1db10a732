package seal_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"spanseal/internal/seal"
)

func manifest() *seal.Manifest {
	return &seal.Manifest{
		Job: "BL-2026-031", Revision: 2, Issued: "2026-11-25T09:30:00Z",
		Previous: strings.Repeat("0a", 32),
		Changes:  []json.RawMessage{json.RawMessage(`"A-12 was measured again & passes"`), json.RawMessage(`{"code": "change.none", "text": "<nothing> & more"}`)},
		Files: []seal.ManifestFile{
			seal.NewManifestFile("summary.pdf", []byte("s")),
			seal.NewManifestFile("certificates/A-12.pdf", []byte("c")),
		},
	}
}

func TestManifestComesBack(t *testing.T) {
	s := vectorSigner(t)
	data, signature, err := manifest().Sign(s, day)
	if err != nil {
		t.Fatal(err)
	}
	m, by, err := seal.VerifyManifest(data, signature)
	if err != nil {
		t.Fatal(err)
	}
	if m.Files[0].Path != "certificates/A-12.pdf" || m.Signer != s.KeyID() || !by.SigningTime.Equal(day) {
		t.Errorf("got %+v", m)
	}
	if data2, signature2, _ := manifest().Sign(s, day); !bytes.Equal(data, data2) || !bytes.Equal(signature, signature2) {
		t.Error("signing twice gives two manifests")
	}
}

// TestManifestVector holds what is written now against what was written when
// the format was fixed, byte for byte, signature included.
func TestManifestVector(t *testing.T) {
	data, signature, err := manifest().Sign(vectorSigner(t), day)
	if err != nil {
		t.Fatal(err)
	}
	for name, made := range map[string][]byte{seal.ManifestName: data, seal.ManifestSignature: signature} {
		path := filepath.Join(vectorFolder, name)
		if *update {
			if err := os.WriteFile(path, made, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		if had, _ := os.ReadFile(path); !bytes.Equal(had, made) {
			t.Errorf("testdata/seal/%s is not what this code writes", name)
		}
	}
}

// TestManifestEveryByte changes, takes out and adds a byte everywhere, in the
// manifest and in its signature. The manifest alone, without its signature,
// must already refuse another way of writing the same.
func TestManifestEveryByte(t *testing.T) {
	data, signature, err := manifest().Sign(vectorSigner(t), day)
	if err != nil {
		t.Fatal(err)
	}
	refused := func(what string, i int, data, signature []byte) {
		if _, _, err := seal.VerifyManifest(data, signature); err == nil {
			t.Fatalf("%s, position %d: accepted", what, i)
		}
	}
	for i := range data {
		for _, flip := range []byte{0x01, 0x20, 0x80} {
			bad := slices.Clone(data)
			bad[i] ^= flip
			refused("manifest changed", i, bad, signature)
		}
		refused("manifest cut", i, data[:i], signature)
		refused("manifest longer", i, slices.Insert(slices.Clone(data), i, ' '), signature)
		if _, err := seal.ParseManifest(slices.Insert(slices.Clone(data), i, ' ')); err == nil && !inString(data[:i]) {
			t.Fatalf("a space more at %d, outside of strings, is read without a signature", i)
		}
	}
	for i := range signature {
		bad := slices.Clone(signature)
		bad[i] ^= 0x01
		refused("signature changed", i, data, bad)
		refused("signature cut", i, data, signature[:i])
	}
	refused("no signature", 0, data, nil)
	refused("signature longer", 0, data, append(slices.Clone(signature), 0))
}

// inString reports whether the text so far leaves a JSON string open.
func inString(data []byte) bool { return bytes.Count(data, []byte{'"'})%2 == 1 }

func TestManifestRefuses(t *testing.T) {
	good, err := manifest().Encode()
	if err != nil {
		t.Fatal(err)
	}
	replace := func(old, new string) []byte {
		if !bytes.Contains(good, []byte(old)) {
			t.Fatalf("no %q in the manifest", old)
		}
		return bytes.Replace(good, []byte(old), []byte(new), 1)
	}
	for name, data := range map[string][]byte{
		"not JSON":             []byte("manifest"),
		"empty":                nil,
		"null":                 []byte("null\n"),
		"other format":         replace("manifest 1", "manifest 2"),
		"unknown member":       replace(`"job":`, `"x": 1, "job":`),
		"member twice":         replace(`"revision": 2`, `"revision": 1, "revision": 2`),
		"no job":               replace(`"BL-2026-031"`, `""`),
		"revision 0":           replace(`"revision": 2`, `"revision": 0`),
		"revision 1 after one": replace(`"revision": 2`, `"revision": 1`),
		"revision as text":     replace(`"revision": 2`, `"revision": "2"`),
		"revision 2.0":         replace(`"revision": 2`, `"revision": 2.0`),
		"time without a zone":  replace("09:30:00Z", "09:30:00"),
		"hash in upper case":   replace("0a0a", "0A0a"),
		"short hash":           replace("0a0a", "0a"),
		"escaped letter":       replace("certificates", `\u0063ertificates`),
		"path above":           replace("certificates/A-12.pdf", "../A-12.pdf"),
		"absolute path":        replace("certificates/A-12.pdf", "/etc/passwd"),
		"backslash":            replace("certificates/A-12.pdf", `certificates\\A-12.pdf`),
		"lists itself":         replace("certificates/A-12.pdf", "manifest.json"),
		"file twice":           replace("summary.pdf", "certificates/A-12.pdf"),
		"out of order":         replace("summary.pdf", "a.pdf"),
		"negative size":        replace(`"size": 1`, `"size": -1`),
		"tab instead of space": replace(" ", "\t"),
		"CR LF":                bytes.ReplaceAll(good, []byte("\n"), []byte("\r\n")),
		"no line end":          bytes.TrimSuffix(good, []byte("\n")),
		"byte order mark":      append([]byte("\ufeff"), good...),
		"second value":         append(slices.Clone(good), "{}\n"...),
	} {
		if m, err := seal.ParseManifest(data); err == nil {
			t.Errorf("%s: read as %+v", name, m)
		}
	}
}

func FuzzParseManifest(f *testing.F) {
	good, err := manifest().Encode()
	if err != nil {
		f.Fatal(err)
	}
	f.Add(good)
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := seal.ParseManifest(data)
		if err != nil {
			return
		}
		if again, err := m.Encode(); err != nil || !bytes.Equal(data, again) {
			t.Errorf("read, but written as %q (%v)", again, err)
		}
	})
}

func FuzzVerifyCMS(f *testing.F) {
	s := vectorSigner(f)
	digest := [32]byte{1}
	der, err := s.SignCMS(digest, day)
	if err != nil {
		f.Fatal(err)
	}
	f.Add(der)
	plain, _ := s.SignCMS(digest, day.AddDate(0, 0, 0))
	f.Add(plain)
	f.Fuzz(func(t *testing.T, data []byte) {
		by, err := seal.VerifyCMS(data, digest)
		if err != nil {
			return
		}
		if again, err := s.SignCMS(digest, by.SigningTime); err != nil || !bytes.Equal(data, again) {
			t.Errorf("verifies, but is not what the key signs")
		}
	})
}

func TestRevisionFolders(t *testing.T) {
	for _, c := range []struct {
		folder string
		want   int // 0: none
	}{
		{"r1", 1}, {"r10", 10}, {"r999999999", 999999999}, {"r1000000000", 0}, {"r0", 0}, {"r01", 0}, {"r-1", 0}, {"r+1", 0}, {"r", 0}, {"1", 0}, {"R1", 0},
		{"r1 ", 0}, {"r1.stamps", 0}, {"", 0}, {".r1-partial", 0},
	} {
		n, ok := seal.RevisionNumber(c.folder)
		if n != c.want || ok != (c.want > 0) {
			t.Errorf("%q: %d, %v; want %d", c.folder, n, ok, c.want)
		}
		if ok && seal.RevisionFolder(n) != c.folder {
			t.Errorf("%d: %q, want %q", n, seal.RevisionFolder(n), c.folder)
		}
	}
}
