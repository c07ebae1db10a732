package verify

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"spanseal/internal/seal"
)

// latest follows the revisions that lie beside one, and returns the manifest
// of the newest that comes after it, or nil: each names the hash of the one
// before, and is signed by the same key. A revision of another key is not taken
// at its word: anybody could lay one there.
func latest(fsys fs.FS, m *seal.Manifest, data []byte) *seal.Manifest {
	first := m
	for {
		hash := sha256.Sum256(data)
		next, signature, err := readManifest(fsys, "r"+strconv.Itoa(m.Revision+1))
		if err != nil {
			break
		}
		later, _, err := seal.VerifyManifest(next, signature)
		if err != nil || later.Job != m.Job || later.Revision != m.Revision+1 || later.Signer != m.Signer || later.Previous != hex.EncodeToString(hash[:]) {
			break
		}
		m, data = later, next
	}
	if m == first {
		return nil
	}
	return m
}

// superseded says by what a revision is superseded, or "". That takes nothing
// away from its papers: they verify for ever.
func superseded(fsys fs.FS, name string) string {
	data, signature, err := readManifest(fsys, name)
	if err != nil {
		return ""
	}
	m, _, err := seal.VerifyManifest(data, signature)
	if err != nil || name != "r"+strconv.Itoa(m.Revision) {
		return ""
	}
	later := latest(fsys, m, data)
	if later == nil {
		return ""
	}
	day, _, _ := strings.Cut(later.Issued, "T")
	text := fmt.Sprintf("superseded by r%d, issued on %s", later.Revision, day)
	if later.Reason != "" {
		text += ": " + later.Reason
	}
	return text
}

// NoteSuccessor adds to the report of a paper that it is superseded, where the
// paper lies in a revision's folder and a later revision lies beside that.
func NoteSuccessor(r *Report, paper string) {
	abs, err := filepath.Abs(paper)
	if err != nil || len(r.Items) == 0 {
		return
	}
	for dir := filepath.Dir(abs); dir != filepath.Dir(dir); dir = filepath.Dir(dir) {
		if _, err := os.Stat(filepath.Join(dir, seal.ManifestName)); err != nil {
			continue
		}
		if text := superseded(os.DirFS(filepath.Dir(dir)), filepath.Base(dir)); text != "" {
			r.Items[0].note(text)
		}
		return
	}
}

// noteSuccessor adds to the report of a revision that it is superseded.
func noteSuccessor(fsys fs.FS, v *revision, r *Report) {
	text := superseded(fsys, v.name)
	for i := range r.Items {
		if item := &r.Items[i]; text != "" && item.Kind == KindManifest && item.Path == v.path(seal.ManifestName) {
			item.note(text)
		}
	}
}
