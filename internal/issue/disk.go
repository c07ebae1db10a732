package issue

import (
	"errors"
	"io"
	"io/fs"
	"os"

	"spanseal/internal/plain"
)

// disk is the file system as a run sees it: every call that can fail half-way,
// so that a test can let each of them fail in turn.
type disk interface {
	// hold takes a lock; see [hold].
	hold(path, holder string) (release func(), err error)
	// folder opens a folder for reading. Nothing in it is followed.
	folder(path string) (folder, error)
	lstat(path string) (fs.FileInfo, error)
	// create makes a file that was not there.
	create(path string) (file, error)
	mkdir(path string) error
	mkdirAll(path string) error
	rename(from, to string) error
	remove(path string) error
	removeAll(path string) error
	// flush waits until all that was written below a folder lies on the disk.
	flush(dir string) error
	// flushDir makes a rename inside a folder last.
	flushDir(dir string) error
}

type folder interface {
	fs.ReadDirFS
	io.Closer
}

type file interface {
	io.WriteCloser
	Stat() (fs.FileInfo, error)
}

// local is the disk of this machine.
type local struct{}

func (local) hold(path, holder string) (func(), error) { return hold(path, holder) }
func (local) folder(path string) (folder, error)       { return plain.Open(path) }
func (local) lstat(path string) (fs.FileInfo, error)   { return os.Lstat(path) }
func (local) mkdir(path string) error                  { return os.Mkdir(path, 0o755) }
func (local) mkdirAll(path string) error               { return os.MkdirAll(path, 0o755) }
func (local) rename(from, to string) error             { return os.Rename(from, to) }
func (local) remove(path string) error                 { return os.Remove(path) }
func (local) removeAll(path string) error              { return os.RemoveAll(path) }
func (local) flush(dir string) error                   { return flush(dir) }
func (local) flushDir(dir string) error                { return flushDir(dir) }

func (local) create(path string) (file, error) {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return nil, err // not a nil *os.File in an interface
	}
	return f, nil
}

// LinkError reports a link, or another thing, where a run would have to follow
// it or write over it.
type LinkError struct {
	Path string
	Err  error // what stands there
}

func (e *LinkError) Error() string { return e.Path + ": " + e.Err.Error() }
func (e *LinkError) Unwrap() error { return e.Err }

var errNoFolder = errors.New("it is not a folder")

// realFolder refuses what is there and no folder. What is not there is fine.
func realFolder(d disk, path string) error {
	info, err := d.lstat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return err
	case info.IsDir():
		return nil
	case info.Mode().IsRegular():
		return &LinkError{path, errNoFolder}
	}
	return &LinkError{path, plain.ErrLink}
}
