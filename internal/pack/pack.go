// Package pack puts an issued revision into ZIP archives that can be sent.
//
// An archive (PKWARE APPNOTE 6.3, as ISO/IEC 21320-1 limits it: stored or deflated,
// neither encrypted nor split) holds one folder, named after the job and the revision,
// with the files as they lie in the revision: whoever unpacks all parts into one place
// has the revision again, and `spanseal verify` says so. Every file is held against the
// manifest while it is packed. Times are the time of issue, so that the same revision
// gives the same bytes.
//
// A size splits the revision into archives that each open by themselves. Files are
// never split: one that is larger stands in an archive of its own.
package pack

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"spanseal/internal/plain"
	"spanseal/internal/seal"
)

// own are the files that no manifest lists.
var own = []string{seal.ManifestName, seal.ManifestSignature}

// manifestSize bounds what is read of a manifest: that of 1,000,000 links has 200 MB.
const manifestSize = 256 << 20

// A Packing is one that is to be packed.
type Packing struct {
	dir      string
	manifest *seal.Manifest
	files    []seal.ManifestFile // with manifest and signature
	own      map[string][]byte   // these two, by name
}

// ZipFile is one that was written.
type ZipFile struct {
	Path  string
	Files int
	Size  int64 // bytes
}

// ChangedError reports a file that is not as the manifest has it.
type ChangedError struct{ Dir, File string }

func (e *ChangedError) Error() string {
	return fmt.Sprintf("%s: %s does not match the manifest", e.Dir, e.File)
}

// Open reads the manifest of a revision. It does not check the signature: who
// packs a revision need not trust it.
func Open(dir string) (*Packing, error) {
	folder, err := plain.Open(dir)
	if err != nil {
		return nil, err
	}
	defer folder.Close()
	r := &Packing{dir: dir, own: map[string][]byte{}}
	for _, name := range own {
		if r.own[name], err = folder.ReadUpTo(name, manifestSize); err != nil {
			return nil, fmt.Errorf("%s: %w", name, plain.Cause(err))
		}
	}
	if r.manifest, err = seal.ParseManifest(r.own[seal.ManifestName]); err != nil {
		return nil, err
	}
	// What a receiver opens first comes first, and so into the first part.
	first := []string{"index.html", "summary.pdf"}
	place := func(name string) int {
		if i := slices.Index(first, name); i >= 0 {
			return i
		}
		return len(first) + strings.Count(name, "/")
	}
	for _, name := range own {
		r.files = append(r.files, seal.ManifestFile{Path: name, Size: int64(len(r.own[name]))})
	}
	r.files = append(r.files, r.manifest.Files...)
	slices.SortStableFunc(r.files, func(a, b seal.ManifestFile) int { return place(a.Path) - place(b.Path) })
	return r, nil
}

// Job and Number name the revision.
func (r *Packing) Job() string { return r.manifest.Job }
func (r *Packing) Number() int { return r.manifest.Revision }

// headers is what a file takes in an archive beside its bytes, at most: a local
// header, a data descriptor and an entry of the directory, with 64-bit sizes.
func headers(name string) int64 { return 30 + 24 + 46 + 2*(int64(len(name))+32) }

// parts deals the files out, in their order, so that no part is larger than most
// bytes even if nothing can be compressed; 0 makes one part.
func (r *Packing) parts(folder string, most int64) (parts [][]seal.ManifestFile) {
	room := int64(-1)
	for _, f := range r.files {
		need := f.Size + headers(folder+f.Path)
		if parts == nil || most > 0 && need > room {
			parts, room = append(parts, nil), most-100 // the end of the directory, with 64-bit sizes
		}
		room -= need
		parts[len(parts)-1] = append(parts[len(parts)-1], f)
	}
	return parts
}

// Write packs the revision. Folder names the folder inside; name gives the path of an
// archive by its part, of so many. An archive that already exists is refused before
// anything is written; with an error none of them is there.
func (r *Packing) Write(folder string, most int64, name func(part, of int) string) (made []ZipFile, err error) {
	issued, err := time.Parse(time.RFC3339, r.manifest.Issued)
	if err != nil {
		return nil, err
	}
	in, err := plain.Open(r.dir)
	if err != nil {
		return nil, err
	}
	defer in.Close()
	parts := r.parts(folder+"/", most)
	for i := range parts {
		if _, err := os.Lstat(name(i+1, len(parts))); err == nil {
			return nil, &fs.PathError{Op: "write", Path: name(i+1, len(parts)), Err: fs.ErrExist}
		}
	}
	var drafts []string
	defer func() {
		for _, draft := range drafts {
			os.Remove(draft)
		}
		if err != nil {
			for _, a := range made {
				os.Remove(a.Path)
			}
			made = nil
		}
	}()
	for i, files := range parts {
		f, err := os.CreateTemp(filepath.Dir(name(i+1, len(parts))), ".pack-*")
		if err != nil {
			return nil, err
		}
		drafts = append(drafts, f.Name())
		if err := errors.Join(r.archive(f, in, folder, files, issued), f.Chmod(0o644), f.Sync(), f.Close()); err != nil {
			return nil, err
		}
	}
	for i, draft := range drafts { // only after all are whole
		a := ZipFile{Path: name(i+1, len(parts)), Files: len(parts[i])}
		info, err := os.Stat(draft)
		if err != nil {
			return made, err
		}
		a.Size = info.Size()
		if err := os.Rename(draft, a.Path); err != nil {
			return made, err
		}
		made = append(made, a)
	}
	drafts = nil
	return made, nil
}

// packed are kinds of files that are compressed already.
var packed = []string{".pdf", ".xlsx", ".xlsm", ".zip", ".jpg", ".jpeg", ".png"}

// archive writes one.
func (r *Packing) archive(to io.Writer, in *plain.Folder, folder string, files []seal.ManifestFile, issued time.Time) error {
	z := zip.NewWriter(to)
	z.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.DefaultCompression) })
	for _, f := range files {
		h := &zip.FileHeader{Name: folder + "/" + f.Path, Method: zip.Deflate, Modified: issued.UTC()}
		h.SetMode(0o644)
		if slices.Contains(packed, strings.ToLower(path.Ext(f.Path))) {
			h.Method = zip.Store
		}
		w, err := z.CreateHeader(h)
		if err != nil {
			return err
		}
		if own, ok := r.own[f.Path]; ok {
			if _, err := io.Copy(w, bytes.NewReader(own)); err != nil {
				return err
			}
			continue
		}
		if err := r.copy(w, in, f); err != nil {
			return err
		}
	}
	return z.Close()
}

// copy writes a file as the manifest has it.
func (r *Packing) copy(to io.Writer, in *plain.Folder, f seal.ManifestFile) error {
	from, err := in.Open(f.Path)
	if err != nil {
		return fmt.Errorf("%s: %w", f.Path, plain.Cause(err))
	}
	defer from.Close()
	sum := sha256.New()
	n, err := io.Copy(io.MultiWriter(to, sum), io.LimitReader(from, f.Size+1))
	if err != nil {
		return err
	}
	if n != f.Size || hex.EncodeToString(sum.Sum(nil)) != f.SHA256 {
		return &ChangedError{r.dir, f.Path}
	}
	return nil
}
