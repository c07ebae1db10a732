// Package plain opens regular files below a folder, and follows no link.
//
// A symbolic link leads elsewhere: to evidence that is not the job's, to a
// manifest that somebody else keeps, to a file that writing would destroy. So
// no part of a name below the folder may be one, nor a junction, nor a pipe or
// a device where a file should be: all of them are refused by [ErrLink] or
// [ErrNotRegular], each in an [fs.PathError] with the name. How the folder
// itself was reached is the caller's word, and links on the way to it are
// followed.
//
// What is opened is compared with what was looked at, so that a link put in
// between is refused too; and [os.Root] keeps every name inside the folder
// whatever happens meanwhile.
package plain

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"
)

// ErrLink reports a symbolic link or a junction.
var ErrLink = errors.New("it is a symbolic link, and links are not followed")

// ErrNotRegular reports a folder, a pipe or a device where a file should be.
var ErrNotRegular = errors.New("not a plain file")

// Folder is a folder of which regular files are read. It is an [fs.FS] with
// the names of one: forward slashes, "." for itself.
type Folder struct{ root *os.Root }

// Open opens a folder. The caller closes it.
func Open(dir string) (*Folder, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	return &Folder{root}, nil
}

// Below reads from a folder that is open already. The caller closes that.
func Below(root *os.Root) *Folder { return &Folder{root} }

// Close closes the folder.
func (f *Folder) Close() error { return f.root.Close() }

// isLink also takes the junctions of Windows, which are irregular files there.
func isLink(m fs.FileMode) bool { return m&(fs.ModeSymlink|fs.ModeIrregular) != 0 }

// Lstat describes what a name stands for, a link as a link. No folder on the
// way to it may be one.
func (f *Folder) Lstat(name string) (fs.FileInfo, error) {
	if !fs.ValidPath(name) {
		return nil, &fs.PathError{Op: "lstat", Path: name, Err: fs.ErrInvalid}
	}
	for i, c := range name {
		if c != '/' {
			continue
		}
		info, err := f.root.Lstat(name[:i])
		switch {
		case err != nil:
			return nil, err
		case isLink(info.Mode()):
			return nil, &fs.PathError{Op: "lstat", Path: name[:i], Err: ErrLink}
		case !info.IsDir():
			return nil, &fs.PathError{Op: "lstat", Path: name[:i], Err: fs.ErrNotExist}
		}
	}
	return f.root.Lstat(name)
}

// Stat describes a file or a folder, and refuses a link.
func (f *Folder) Stat(name string) (fs.FileInfo, error) {
	info, err := f.Lstat(name)
	if err == nil && isLink(info.Mode()) {
		return nil, &fs.PathError{Op: "stat", Path: name, Err: ErrLink}
	}
	return info, err
}

// Open opens a regular file or a folder.
func (f *Folder) Open(name string) (fs.File, error) {
	return f.open(name, true)
}

// File opens a regular file.
func (f *Folder) File(name string) (*os.File, error) {
	return f.open(name, false)
}

func (f *Folder) open(name string, folders bool) (*os.File, error) {
	info, err := f.Stat(name)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() && !(folders && info.IsDir()) {
		return nil, &fs.PathError{Op: "open", Path: name, Err: ErrNotRegular} // opening a pipe might never end
	}
	file, err := f.root.Open(name)
	if err != nil {
		return nil, err
	}
	opened, err := file.Stat()
	if err == nil && !os.SameFile(info, opened) {
		err = &fs.PathError{Op: "open", Path: name, Err: errors.New("it was exchanged while it was opened")}
	}
	if err != nil {
		file.Close()
		return nil, err
	}
	return file, nil
}

// ReadDir lists a folder by name.
func (f *Folder) ReadDir(name string) ([]fs.DirEntry, error) {
	file, err := f.open(name, true)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	entries, err := file.ReadDir(-1)
	slices.SortFunc(entries, func(a, b fs.DirEntry) int { return strings.Compare(a.Name(), b.Name()) })
	return entries, err
}

// ReadFile reads a regular file of any size, as an [fs.ReadFileFS] does.
func (f *Folder) ReadFile(name string) ([]byte, error) {
	file, err := f.File(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return io.ReadAll(file)
}

// ReadUpTo reads a regular file of at most so many bytes.
func (f *Folder) ReadUpTo(name string, most int64) ([]byte, error) {
	file, err := f.File(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	data, err := io.ReadAll(io.LimitReader(file, most+1))
	if err == nil && int64(len(data)) > most {
		err = &fs.PathError{Op: "read", Path: name, Err: fmt.Errorf("it has more than %d bytes", most)}
	}
	return data, err
}

// Cause is an error of the system without the path, for a sentence that has the path
// already.
func Cause(err error) error {
	if path := (*fs.PathError)(nil); errors.As(err, &path) {
		return path.Err
	}
	return err
}
