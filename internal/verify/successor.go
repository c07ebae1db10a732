package verify

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"

	"spanseal/internal/seal"
)

// latest follows the revisions that lie beside one, and returns the manifest
// of the newest that comes after it, or nil: each names the hash of the one
// before, and is signed by the same key or its successor. A revision of another
// key is not taken at its word: anybody could lay one there.
func latest(fsys fs.FS, m *seal.Manifest, by *seal.SignedBy, data []byte) *seal.Manifest {
	first := m
	for {
		hash := sha256.Sum256(data)
		next, signature, err := readManifest(fsys, "r"+strconv.Itoa(m.Revision+1))
		if err != nil {
			break
		}
		later, laterBy, err := seal.VerifyManifest(next, signature)
		if err != nil || later.Job != m.Job || later.Revision != m.Revision+1 || later.Previous != hex.EncodeToString(hash[:]) || !heir(laterBy, by) {
			break
		}
		m, by, data = later, laterBy, next
	}
	if m == first {
		return nil
	}
	return m
}

// heir reports whether two things were signed by one key, or the later one by
// a successor of the earlier one's.
func heir(later, earlier *seal.SignedBy) bool {
	return later.KeyID == earlier.KeyID || slices.ContainsFunc(seal.Lineage(later.Chain), earlier.Certificate.Equal)
}

// superseded says by what a revision is superseded, or "". That takes nothing
// away from its papers: they verify for ever.
func superseded(fsys fs.FS, name string) string {
	data, signature, err := readManifest(fsys, name)
	if err != nil {
		return ""
	}
	m, by, err := seal.VerifyManifest(data, signature)
	if err != nil || name != "r"+strconv.Itoa(m.Revision) {
		return ""
	}
	later := latest(fsys, m, by, data)
	if later == nil {
		return ""
	}
	text := fmt.Sprintf("superseded by r%d, issued on %s", later.Revision, day(later))
	if later.Reason != "" {
		text += ": " + later.Reason
	}
	if runsBack(m, later) {
		text += fmt.Sprintf("; that is before r%d itself was, on %s: one of the two dates is wrong", m.Revision, day(m))
	}
	return text
}

// NoteSuccessor adds to the report of a paper that it is superseded.
func NoteSuccessor(r *Report, paper string) {
	if text := Superseded(paper); text != "" && len(r.Items) > 0 {
		r.Items[0].note(text)
	}
}

// NoteRenewed adds to the report of a paper that renewed time-stamps lie beside
// its revision: they are over the whole of that, and not looked at for one paper.
func NoteRenewed(r *Report, paper string) {
	dir := RevisionOf(paper)
	if dir == "" || len(r.Items) == 0 {
		return
	}
	if stamps, err := os.ReadDir(seal.StampsFolder(dir)); err == nil && len(stamps) > 0 {
		r.Items[0].note(fmt.Sprintf("there are renewed time-stamps beside its revision, which were not checked: verify %s to follow them", dir))
	}
}

// Superseded says by what a paper is superseded, where it lies in a revision's
// folder and a later revision lies beside that; else it is "".
func Superseded(paper string) string {
	dir := above(paper, seal.ManifestName)
	if dir == "" {
		return ""
	}
	return superseded(os.DirFS(filepath.Dir(dir)), filepath.Base(dir))
}

// RevisionOf is the folder of the revision in which a path lies, there or not, or
// "". It is named from the working folder where it lies below that.
func RevisionOf(path string) string {
	dir := above(path, seal.ManifestName, seal.ManifestSignature)
	if dir == "" || filepath.IsAbs(path) {
		return dir
	}
	here, err1 := filepath.Abs(".")
	rel, err2 := filepath.Rel(here, dir)
	if errors.Join(err1, err2) != nil || rel == "." || !filepath.IsLocal(rel) {
		return dir
	}
	return rel
}

// above is the nearest folder above a path, as an absolute one, that holds all
// the files, or "".
func above(path string, files ...string) string {
	abs, err := filepath.Abs(path)
	if err != nil {
		return ""
	}
	for dir := filepath.Dir(abs); dir != filepath.Dir(dir); dir = filepath.Dir(dir) {
		lacks := func(name string) bool { _, err := os.Stat(filepath.Join(dir, name)); return err != nil }
		if !slices.ContainsFunc(files, lacks) {
			return dir
		}
	}
	return ""
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
