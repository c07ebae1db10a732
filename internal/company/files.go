package company

import (
	"errors"
	"io/fs"
	"slices"
	"strings"

	"spanseal/internal/plain"
)

// Files are those of a job folder, and those beside its company file whose names the
// job folder lacks. No link is followed in either. It is an [fs.FS].
type Files struct {
	job  *plain.Folder
	firm *plain.Folder // nil without a company file
}

// OpenFiles opens the folder of a job and that of its company file, "" for none. The
// caller closes them.
func OpenFiles(job, firm string) (*Files, error) {
	f := &Files{}
	var err error
	if f.job, err = plain.Open(job); err != nil {
		return nil, err
	}
	if firm != "" {
		if f.firm, err = plain.Open(firm); err != nil {
			f.job.Close()
			return nil, err
		}
	}
	return f, nil
}

// Close closes the folders.
func (f *Files) Close() error {
	err := f.job.Close()
	if f.firm != nil {
		err = errors.Join(err, f.firm.Close())
	}
	return err
}

// InJob is the job folder alone.
func (f *Files) InJob() *plain.Folder { return f.job }

// of is the folder in which a name is read.
func (f *Files) of(name string) *plain.Folder {
	if f.firm == nil {
		return f.job
	}
	if _, err := f.job.Lstat(name); errors.Is(err, fs.ErrNotExist) {
		return f.firm
	}
	return f.job
}

// Open opens a regular file or a folder.
func (f *Files) Open(name string) (fs.File, error) { return f.of(name).Open(name) }

// Stat describes a file or a folder, and refuses a link.
func (f *Files) Stat(name string) (fs.FileInfo, error) { return f.of(name).Stat(name) }

// ReadFile reads a regular file of any size.
func (f *Files) ReadFile(name string) ([]byte, error) { return f.of(name).ReadFile(name) }

// ReadUpTo reads a regular file of at most so many bytes.
func (f *Files) ReadUpTo(name string, most int64) ([]byte, error) {
	return f.of(name).ReadUpTo(name, most)
}

// ReadDir lists a folder by name: what both folders hold under it.
func (f *Files) ReadDir(name string) ([]fs.DirEntry, error) {
	entries, err := f.job.ReadDir(name)
	if f.firm == nil || err != nil && !errors.Is(err, fs.ErrNotExist) {
		return entries, err
	}
	theirs, err2 := f.firm.ReadDir(name)
	switch {
	case err2 != nil && errors.Is(err2, fs.ErrNotExist):
		return entries, err
	case err2 != nil:
		return nil, err2
	}
	for _, e := range theirs {
		if !slices.ContainsFunc(entries, func(o fs.DirEntry) bool { return o.Name() == e.Name() }) {
			entries = append(entries, e)
		}
	}
	slices.SortFunc(entries, func(a, b fs.DirEntry) int { return strings.Compare(a.Name(), b.Name()) })
	return entries, nil
}
