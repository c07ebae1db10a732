// Package folder opens the files of a job folder, and keeps what is its evidence.
//
// A [JobFolder] reads regular files of bounded size inside one folder. A symbolic link
// could lead to evidence that is not the job's, so none is followed. The names of
// files say which is the job and which the schedule. [JobFolder.AskUnread] asks about
// names that are nearly one of these, from which nothing is read; [CheckNames]
// refuses those that a revision could not hold. [Sample] reads a file that is no
// evidence yet, under the same bounds.
//
// All files that are held together: 2 GB; a million files. Those that are only summed,
// which may be in any format: 200,000 of at most 100 MB each, 10 GB together. How
// large one file that is held may be is the caller's to say. A file that changes while
// it is read is refused.
package folder

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"slices"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/plain"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/table"
)

const (
	maxJob   = 2_000_000_000 // bytes of all files together
	maxFiles = 1_000_000

	maxSummed  = 100_000_000    // bytes of a file that is only summed
	allSummed  = 10_000_000_000 // bytes of all of them
	mostSummed = 200_000
)

// JobFolder is a folder of which files are read.
type JobFolder struct {
	dir       string
	root      *os.Root
	list      *diag.List
	originals []record.Original
	total     int64 // bytes read
	summed    int64 // bytes that were only summed
	sums      int   // how many files that were
}

// Open opens a folder, whose problems go to the list. The error is why it cannot be
// opened, in the system's own words. The caller closes the folder.
func Open(dir string, list *diag.List) (*JobFolder, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, errors.New(reason(err))
	}
	return &JobFolder{dir: dir, root: root, list: list}, nil
}

// Close closes the folder.
func (f *JobFolder) Close() error { return f.root.Close() }

// Dir is the folder as it was named to Open.
func (f *JobFolder) Dir() string { return f.dir }

// Originals are the files that were kept, by name.
func (f *JobFolder) Originals() []record.Original {
	slices.SortFunc(f.originals, func(a, b record.Original) int { return cmp.Compare(a.Name, b.Name) })
	return f.originals
}

// Keep makes a file part of the evidence.
func (f *JobFolder) Keep(s *source.File) {
	f.originals = append(f.originals, record.Original{Name: s.Name, SHA256: s.SHA256Hex(), Data: s.Raw})
}

// Kept reports that a file is part of the evidence.
func (f *JobFolder) Kept(name string) bool {
	return slices.ContainsFunc(f.originals, func(o record.Original) bool { return o.Name == name })
}

// Exists reports that there is something of a name, be it a link.
func (f *JobFolder) Exists(name string) bool {
	_, err := f.root.Lstat(name)
	return err == nil
}

// Read returns the bytes of a file, or nil after adding a problem.
func (f *JobFolder) Read(name string, limit int64) []byte {
	data, problem := f.slurp(name, limit)
	if problem != nil {
		problem.Place = diag.Place{File: name}
		f.list.Add(*problem)
		return nil
	}
	return data
}

// Size is how large a file is, or 0.
func (f *JobFolder) Size(name string) int64 {
	info, err := f.root.Lstat(name)
	if err != nil {
		return 0
	}
	return info.Size()
}

func (f *JobFolder) slurp(name string, limit int64) ([]byte, *diag.Problem) {
	info, problem := f.look(name)
	switch {
	case problem != nil:
		return nil, problem
	case info.Size() > limit:
		return nil, table.TooLarge(info.Size(), limit)
	case info.Size() > maxJob-f.total:
		return nil, &diag.Problem{Code: "too-large", Message: fmt.Sprintf("with this file the job would have more than %d bytes", maxJob),
			Fix: "split the work into several jobs"}
	}
	f.total += info.Size()
	file, err := plain.Below(f.root).File(name)
	if err != nil {
		return nil, failed(err)
	}
	defer file.Close()
	data := make([]byte, 0, info.Size()+1)
	for {
		n, err := file.Read(data[len(data):cap(data)])
		data = data[:len(data)+n]
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, failed(err)
		}
		if len(data) == cap(data) {
			break // longer than it was a moment ago
		}
	}
	after, err := file.Stat()
	if err != nil {
		return nil, failed(err)
	}
	if int64(len(data)) != info.Size() || after.Size() != info.Size() || !after.ModTime().Equal(info.ModTime()) {
		return nil, changed()
	}
	return data, nil
}

func failed(err error) *diag.Problem {
	return &diag.Problem{Code: "cannot-read", Message: "the file cannot be read: " + reason(err)}
}

func changed() *diag.Problem {
	return &diag.Problem{Code: "changed-while-read", Message: "the file changed while it was read",
		Fix: "wait until the export or copy has finished, then run again"}
}

// look describes a regular file, or says why there is none.
func (f *JobFolder) look(name string) (fs.FileInfo, *diag.Problem) {
	info, err := plain.Below(f.root).Lstat(name)
	switch {
	case errors.Is(err, plain.ErrLink): // a folder on the way to it
		return nil, &diag.Problem{Code: "symbolic-link", Message: "this is reached through a symbolic link; symbolic links are not followed",
			Fix: "put a copy of the folder itself into the job folder, so that the evidence is complete"}
	case errors.Is(err, fs.ErrNotExist):
		return nil, missing(name, f.Exists)
	case err != nil:
		return nil, failed(err)
	case info.Mode()&fs.ModeSymlink != 0:
		return nil, &diag.Problem{Code: "symbolic-link", Message: "this is a symbolic link, and links are not followed",
			Fix: "put a copy of the file itself into the job folder, so that the evidence is complete"}
	case !info.Mode().IsRegular():
		return nil, &diag.Problem{Code: "not-a-file", Message: "this is not a regular file",
			Fix: "remove it from the job folder"}
	}
	return info, nil
}

// Files lists the regular and odd files below a folder, by name. Hidden files
// and README files are left out, as are the lock files of office programs.
func (f *JobFolder) Files(dir string) []string {
	info, err := f.root.Lstat(dir)
	switch {
	case err != nil:
		return nil // readings and photos may come later
	case info.Mode()&fs.ModeSymlink != 0:
		f.list.Add(diag.Problem{Code: "symbolic-link", Place: diag.Place{File: dir}, Message: "this folder is a symbolic link, and links are not followed",
			Fix: "put the files themselves into the job folder, so that the evidence is complete"})
		return nil
	}
	var found []string
	full := errors.New("full")
	err = fs.WalkDir(f.root.FS(), dir, func(name string, d fs.DirEntry, err error) error {
		base := path.Base(name)
		skip := strings.HasPrefix(base, ".") || strings.HasPrefix(base, "~$") || base == "README" || base == "README.txt" || base == "README.md"
		switch {
		case err != nil:
			return err
		case d.IsDir() && skip:
			return fs.SkipDir
		case d.IsDir() || skip:
			return nil
		case len(found) == maxFiles:
			return full
		}
		found = append(found, name)
		return nil
	})
	switch {
	case errors.Is(err, full):
		f.list.Add(diag.Problem{Code: "too-many-files", Place: diag.Place{File: dir},
			Message: fmt.Sprintf("the folder holds more than %d files", maxFiles),
			Fix:     "keep only the exports of this job in it"})
	case err != nil:
		f.list.Add(diag.Problem{Code: "cannot-read", Place: diag.Place{File: dir}, Message: "the folder cannot be read: " + reason(err)})
	}
	return found
}

// reason is the system's own words for an error, without the path and call
// that differ from machine to machine.
func reason(err error) string {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "it is not there"
	case errors.Is(err, fs.ErrPermission):
		return "no permission"
	}
	var p *fs.PathError
	if errors.As(err, &p) {
		return p.Err.Error()
	}
	return err.Error()
}
