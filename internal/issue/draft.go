package issue

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"

	"spanseal/internal/seal"
)

// A draft is a revision, or a specimen, while it is written: a hidden folder
// beside the final one, so that the last step is a rename within one file system.
type draft struct {
	dir   string // issued/.r2-partial
	final string // issued/r2

	mu    sync.Mutex
	files []seal.ManifestFile
	taken map[string]string // lower-case name -> name, for systems that fold case
}

var (
	revisionName = regexp.MustCompile(`^r([1-9][0-9]{0,8})$`)
	partialName  = regexp.MustCompile(`^\.(r[0-9]+|specimen)-partial$`)
)

// revisions returns the numbers of the finished revisions in dir, ascending.
// A folder that is not there has none.
func revisions(dir string) ([]int, error) {
	entries, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	var ns []int
	for _, e := range entries {
		if m := revisionName.FindStringSubmatch(e.Name()); m != nil && e.IsDir() {
			n, _ := strconv.Atoi(m[1])
			ns = append(ns, n)
		}
	}
	slices.Sort(ns)
	return ns, nil
}

// Next returns the number that the next revision in a folder has. A folder
// that is not there yet gets its first.
func Next(dir string) (int, error) {
	ns, err := revisions(dir)
	if err != nil || len(ns) == 0 {
		return 1, err
	}
	return ns[len(ns)-1] + 1, nil
}

// sweep removes what killed runs left behind. The caller holds the lock, so
// no draft can be somebody's work.
func sweep(dir string) error {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if partialName.MatchString(e.Name()) {
			if err := os.RemoveAll(filepath.Join(dir, e.Name())); err != nil {
				return err
			}
		}
	}
	return nil
}

// revision is the name of a revision's folder.
func revision(n int) string { return "r" + strconv.Itoa(n) }

// begin starts the draft of a folder in dir.
func begin(dir, name string) (*draft, error) {
	tmp := filepath.Join(dir, "."+name+"-partial")
	if err := os.Mkdir(tmp, 0o755); err != nil {
		return nil, err
	}
	return &draft{dir: tmp, final: filepath.Join(dir, name), taken: map[string]string{}}, nil
}

// write adds a file. It is safe for concurrent use.
func (d *draft) write(name string, data []byte) error {
	return d.stream(name, func(w io.Writer) error {
		_, err := w.Write(data)
		return err
	})
}

// stream adds a file that is too large to be held. It is safe for concurrent use.
func (d *draft) stream(name string, write func(io.Writer) error) error {
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
	if err := errors.Join(err, f.Close()); err != nil {
		return err
	}
	d.mu.Lock()
	d.files = append(d.files, seal.ManifestFile{Path: name, Size: info.Size(), SHA256: hex.EncodeToString(sum.Sum(nil))})
	d.mu.Unlock()
	return nil
}

func (d *draft) create(name string) (*os.File, error) {
	path := d.path(name)
	f, err := os.Create(path)
	if errors.Is(err, fs.ErrNotExist) { // the first file of its folder
		if err = os.MkdirAll(filepath.Dir(path), 0o755); err == nil {
			f, err = os.Create(path)
		}
	}
	return f, err
}

// path is where a file of the draft lies.
func (d *draft) path(name string) string { return filepath.Join(d.dir, filepath.FromSlash(name)) }

// copy writes a file that was written before.
func (d *draft) copy(w io.Writer, name string) error {
	f, err := os.Open(d.path(name))
	if err != nil {
		return err
	}
	defer f.Close()
	_, err = io.Copy(w, f)
	return err
}

// publish makes the draft the revision: it is flushed, then renamed.
func (d *draft) publish() error {
	if err := flush(d.dir); err != nil {
		return err
	}
	if err := os.Rename(d.dir, d.final); err != nil {
		return err
	}
	return flushDir(filepath.Dir(d.final))
}

// discard removes the draft; after publish there is nothing left to remove.
func (d *draft) discard() { os.RemoveAll(d.dir) }
