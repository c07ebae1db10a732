package seal

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"strconv"
	"strings"
	"time"

	"spanseal/internal/bounds"
)

// ManifestFormat is the first member of every manifest.
const ManifestFormat = "spanseal manifest 1"

// The names of a manifest and of its signature in the folder of a revision.
const (
	ManifestName      = "manifest.json"
	ManifestSignature = "manifest.p7s"
)

// Manifest lists every file of an issued revision. Its bytes are [Manifest.Encode];
// the CMS signature over their SHA-256 lies beside it.
type Manifest struct {
	Format   string `json:"format"`   // ManifestFormat
	Job      string `json:"job"`      // job number
	Revision int    `json:"revision"` // from 1
	Issued   string `json:"issued"`   // RFC 3339, in the zone of --date
	Signer   KeyID  `json:"signer"`   // of the key that signs the manifest, the papers and the tokens
	// Previous is the SHA-256 of the manifest.json of the revision before,
	// lower-case hex; "" for the first.
	Previous string `json:"previous,omitempty"`
	Reason   string `json:"reason,omitempty"` // why it was issued, in the issuer's words
	// Changes are what is different from the revision before, and what else the
	// program adds to the reason: statements with their English text, as objects.
	// Earlier programs wrote the text alone.
	Changes []json.RawMessage `json:"changes,omitempty"`
	Files   []ManifestFile    `json:"files"` // by path; never the manifest and its signature
}

// ManifestFile is one file of a revision.
type ManifestFile struct {
	Path   string `json:"path"`   // relative to the revision's folder, forward slashes
	Size   int64  `json:"size"`   // bytes
	SHA256 string `json:"sha256"` // lower-case hex
}

// NewManifestFile describes a file's content.
func NewManifestFile(path string, content []byte) ManifestFile {
	h := sha256.Sum256(content)
	return ManifestFile{Path: path, Size: int64(len(content)), SHA256: hex.EncodeToString(h[:])}
}

// Encode sorts the files by path, checks every member and writes the one
// encoding of the manifest.
func (m *Manifest) Encode() ([]byte, error) {
	c := *m
	c.Format = ManifestFormat
	c.Files = slices.Clone(m.Files)
	slices.SortFunc(c.Files, func(a, b ManifestFile) int { return strings.Compare(a.Path, b.Path) })
	if err := c.check(); err != nil {
		return nil, err
	}
	return c.bytes()
}

func (m *Manifest) bytes() ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetEscapeHTML(false)
	e.SetIndent("", "  ")
	err := e.Encode(m)
	return b.Bytes(), err
}

// A manifest has at most one member or element for each minValue bytes, and
// maxValues besides: the hash of a file alone takes 64.
const (
	minValue  = 16
	maxValues = 1000
)

// ParseManifest reads a manifest and refuses any bytes that Encode would not
// have written.
func ParseManifest(data []byte) (*Manifest, error) {
	if bounds.Values(data) > maxValues+len(data)/minValue {
		return nil, fmt.Errorf("not a manifest: %w", bounds.ErrTooLarge)
	}
	var m Manifest
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(&m); err != nil {
		return nil, fmt.Errorf("not a manifest: %w", err)
	}
	if err := m.check(); err != nil {
		return nil, err
	}
	again, err := m.bytes()
	if err != nil {
		return nil, err
	}
	if !bytes.Equal(data, again) {
		return nil, errors.New("the manifest is not written the one way it is written: it was edited")
	}
	return &m, nil
}

func (m *Manifest) check() error {
	switch {
	case m.Format != ManifestFormat:
		return fmt.Errorf("not a manifest of this format: %q, want %q", m.Format, ManifestFormat)
	case m.Job == "":
		return errors.New("the manifest names no job")
	case m.Revision < 1:
		return fmt.Errorf("the manifest's revision is %d, want 1 or more", m.Revision)
	case m.Previous == "" && m.Revision > 1:
		return errors.New("the manifest does not name the revision before it")
	case m.Previous != "" && m.Revision == 1:
		return errors.New("the manifest of the first revision names one before it")
	case m.Previous != "" && !isHash(m.Previous):
		return errors.New("the manifest's hash of the revision before is not a SHA-256")
	}
	if _, err := time.Parse(time.RFC3339, m.Issued); err != nil {
		return fmt.Errorf("the manifest's time %q is not as in RFC 3339", m.Issued)
	}
	for i, c := range m.Changes {
		if !plainJSON(c) {
			return fmt.Errorf("change %d of the manifest is not written the one way it is written", i+1)
		}
	}
	for i, f := range m.Files {
		switch {
		case !fs.ValidPath(f.Path) || f.Path == "." || strings.Contains(f.Path, `\`):
			return fmt.Errorf("the manifest names a file outside its folder: %q", f.Path)
		case f.Path == ManifestName || f.Path == ManifestSignature:
			return fmt.Errorf("the manifest lists itself: %q", f.Path)
		case i > 0 && m.Files[i-1].Path >= f.Path:
			return fmt.Errorf("the manifest lists %q twice or out of order", f.Path)
		case f.Size < 0 || !isHash(f.SHA256):
			return fmt.Errorf("the manifest's size or hash of %q is not one", f.Path)
		}
	}
	return nil
}

// Texts are the changes in English.
func (m *Manifest) Texts() (texts []string) {
	for _, c := range m.Changes {
		var said struct{ Text string }
		if json.Unmarshal(c, &said.Text) == nil || json.Unmarshal(c, &said) == nil {
			texts = append(texts, said.Text)
		}
	}
	return texts
}

// plainJSON reports whether texts in JSON are written the one way in which an
// encoder writes them: nothing is escaped that need not be.
func plainJSON(raw json.RawMessage) bool {
	d := json.NewDecoder(bytes.NewReader(raw))
	d.UseNumber()
	for from := int64(0); ; from = d.InputOffset() {
		t, err := d.Token()
		if err != nil {
			return errors.Is(err, io.EOF)
		}
		text, ok := t.(string)
		if !ok {
			continue
		}
		var b bytes.Buffer
		e := json.NewEncoder(&b)
		e.SetEscapeHTML(false)
		if e.Encode(text) != nil || !bytes.HasSuffix(raw[from:d.InputOffset()], bytes.TrimSuffix(b.Bytes(), []byte("\n"))) {
			return false
		}
	}
}

func isHash(s string) bool {
	b, err := hex.DecodeString(s)
	return err == nil && len(b) == sha256.Size && strings.ToLower(s) == s
}

// Sign returns the manifest's bytes and the CMS signature over them.
func (m *Manifest) Sign(s *Signer, at time.Time) (data, signature []byte, err error) {
	c := *m
	c.Signer = s.KeyID()
	if data, err = c.Encode(); err != nil {
		return nil, nil, err
	}
	signature, err = s.SignCMS(sha256.Sum256(data), at)
	return data, signature, err
}

// VerifyManifest checks a manifest's bytes and signature.
func VerifyManifest(data, signature []byte) (*Manifest, *SignedBy, error) {
	by, err := VerifyCMS(signature, sha256.Sum256(data))
	if err != nil {
		return nil, nil, err
	}
	m, err := ParseManifest(data)
	if err != nil {
		return nil, by, err
	}
	if m.Signer != by.KeyID {
		return nil, by, errors.New("the manifest names another key than the one that signed it")
	}
	return m, by, nil
}

// RevisionFolder is what the folder of a revision is called: "r" and its number.
func RevisionFolder(n int) string { return "r" + strconv.Itoa(n) }

// RevisionNumber is the number of the revision whose folder has that name, from 1 to
// 999999999.
func RevisionNumber(folder string) (n int, ok bool) {
	digits, ok := strings.CutPrefix(folder, "r")
	if !ok || len(digits) > 9 {
		return 0, false
	}
	n, err := strconv.Atoi(digits)
	if err != nil || n < 1 || RevisionFolder(n) != folder {
		return 0, false
	}
	return n, true
}
