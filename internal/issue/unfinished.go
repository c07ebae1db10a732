package issue

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"

	"spanseal/internal/plain"
	"spanseal/internal/seal"
)

// An unfinished revision, or specimen, is one while it is written: a hidden folder
// beside the final one, so that the last step is a rename within one file system.
type unfinished struct {
	disk  disk
	dir   string // issued/.r2-partial
	final string // issued/r2

	mu    sync.Mutex
	files []seal.ManifestFile
	taken map[string]string // lower-case name -> name, for systems that fold case
}

var partialName = regexp.MustCompile(`^\.(r[0-9]+|specimen)-partial$`)

// sweep removes what killed runs left behind. The caller holds the lock, so
// no unfinished revision can be somebody's work.
func sweep(d disk, dir string) error {
	f, err := d.folder(dir)
	if err != nil {
		return err
	}
	entries, err := f.ReadDir(".")
	if err := errors.Join(err, f.Close()); err != nil {
		return err
	}
	for _, e := range entries {
		if partialName.MatchString(e.Name()) {
			if err := d.removeAll(filepath.Join(dir, e.Name())); err != nil { // a link itself, not what it leads to
				return err
			}
		}
	}
	return nil
}

// begin starts what is to be a folder in dir.
func begin(disk disk, dir, name string) (*unfinished, error) {
	tmp := filepath.Join(dir, "."+name+"-partial")
	if err := disk.mkdir(tmp); err != nil {
		return nil, err
	}
	return &unfinished{disk: disk, dir: tmp, final: filepath.Join(dir, name), taken: map[string]string{}}, nil
}

// write adds a file. It is safe for concurrent use.
func (d *unfinished) write(name string, data []byte) error {
	return d.stream(name, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// stream adds a file that is too large to be held. It is safe for concurrent use.
func (d *unfinished) stream(name string, write func(io.Writer) error) error {
	d.mu.Lock()
	folded := strings.ToLower(name)
	before, clash := d.taken[folded]
	d.taken[folded] = name
	d.mu.Unlock()
	if clash {
		return fmt.Errorf("two documents would be called %s and %s", before, name)
	}

	f, err := d.create(name)
	if err != nil {
		return err
	}
	sum := sha256.New()
	if err := write(io.MultiWriter(f, sum)); err != nil {
		return errors.Join(err, f.Close())
	}
	info, err := f.Stat()
	if err := errors.Join(err, f.Close()); err != nil { // shares report a full disk only here
		return err
	}
	d.mu.Lock()
	d.files = append(d.files, seal.ManifestFile{Path: name, Size: info.Size(), SHA256: hex.EncodeToString(sum.Sum(nil))})
	d.mu.Unlock()
	return nil
}

func (d *unfinished) create(name string) (file, error) {
	path := d.path(name)
	f, err := d.disk.create(path)
	if errors.Is(err, fs.ErrNotExist) { // the first file of its folder
		if err = d.disk.mkdirAll(filepath.Dir(path)); err == nil {
			f, err = d.disk.create(path)
		}
	}
	return f, err
}

// path is where a file of it lies.
func (d *unfinished) path(name string) string { return filepath.Join(d.dir, filepath.FromSlash(name)) }

// has reports whether a file was added.
func (d *unfinished) has(name string) bool {
	return slices.ContainsFunc(d.files, func(f seal.ManifestFile) bool { return f.Path == name })
}

// copy writes a file that was written before.
func (d *unfinished) copy(w io.Writer, name string) error {
	dir, err := d.disk.folder(d.dir)
	if err != nil {
		return err
	}
	defer dir.Close()
	f, err := dir.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	_, err = io.Copy(w, f)
	return err
}

// UnflushedError reports that a revision is in its place, and that the system
// would not flush the folder that it lies in: after a power cut it may be gone.
type UnflushedError struct {
	Dir string // the folder that was to be flushed
	Err error
	// Never says that this file system flushes no folders, as many shares do
	// not: nothing is wrong, and nothing better can be had there.
	Never bool
}

func (e *UnflushedError) Error() string { return fmt.Sprintf("%s: %v", e.Dir, e.Err) }
func (e *UnflushedError) Unwrap() error { return e.Err }

// publish makes it the revision: it is flushed, then renamed. With an
// error it is not there. Where it is there and the folder around it could not
// be flushed, that is returned beside.
func (d *unfinished) publish() (*UnflushedError, error) {
	if err := d.disk.flush(d.dir); err != nil {
		return nil, err
	}
	if err := d.disk.rename(d.dir, d.final); err != nil && !d.renamed() {
		return nil, err
	}
	around := filepath.Dir(d.final)
	if err := d.disk.flushDir(around); err != nil {
		return &UnflushedError{around, plain.Cause(err), cannotFlush(err)}, nil
	}
	return nil, nil
}

// renamed reports that a rename that failed was done all the same, as when the
// answer of a share is lost and the second request finds nothing to rename.
func (d *unfinished) renamed() bool {
	_, gone := d.disk.lstat(d.dir)
	info, err := d.disk.lstat(d.final)
	return errors.Is(gone, fs.ErrNotExist) && err == nil && info.IsDir()
}

// discard removes it; after publish there is nothing left to remove.
func (d *unfinished) discard() { d.disk.removeAll(d.dir) }
