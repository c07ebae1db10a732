package intake

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
	"spanseal/internal/near"
	files "spanseal/internal/plain" // plain is a function here
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/table"
)

// The sizes up to which files are read, in bytes.
const (
	maxPhoto = 20_000_000
	maxJob   = 2_000_000_000 // all files together
	maxFiles = 1_000_000
)

// folder reads regular files of bounded size inside the job folder. A symbolic
// link could lead to evidence that is not the job's, so none is followed.
type folder struct {
	root      *os.Root
	list      *diag.List
	originals []record.Original
	total     int64 // bytes read
}

func (f *folder) sorted() []record.Original {
	slices.SortFunc(f.originals, func(a, b record.Original) int { return cmp.Compare(a.Name, b.Name) })
	return f.originals
}

// keep makes a file part of the evidence.
func (f *folder) keep(s *source.File) {
	f.originals = append(f.originals, record.Original{Name: s.Name, SHA256: s.SHA256Hex(), Data: s.Raw})
}

func (f *folder) exists(name string) bool {
	_, err := f.root.Lstat(name)
	return err == nil
}

// read returns the bytes of a file, or nil after adding a problem.
func (f *folder) read(name string, limit int64) []byte {
	data, problem := f.slurp(name, limit)
	if problem != nil {
		problem.Place = diag.Place{File: name}
		f.list.Add(*problem)
		return nil
	}
	return data
}

// size is how large a file is, or 0.
func (f *folder) size(name string) int64 {
	info, err := f.root.Lstat(name)
	if err != nil {
		return 0
	}
	return info.Size()
}

func (f *folder) slurp(name string, limit int64) ([]byte, *diag.Problem) {
	failed := func(err error) *diag.Problem {
		return &diag.Problem{Code: "cannot-read", Message: "the file cannot be read: " + reason(err)}
	}
	inside := files.Below(f.root)
	info, err := inside.Lstat(name)
	switch {
	case errors.Is(err, files.ErrLink): // a folder on the way to it
		return nil, &diag.Problem{Code: "symbolic-link", Message: "this lies behind a symbolic link, and links are not followed",
			Fix: "put a copy of the folder itself into the job folder, so that the evidence is complete"}
	case errors.Is(err, fs.ErrNotExist):
		if p := f.missing(name); p != nil {
			return nil, p
		}
		return nil, &diag.Problem{Code: "missing-file", Message: "the file is not there", Fix: cmp.Or(newFile[name], "name a file that is there")}
	case err != nil:
		return nil, failed(err)
	case info.Mode()&fs.ModeSymlink != 0:
		return nil, &diag.Problem{Code: "symbolic-link", Message: "this is a symbolic link, and links are not followed",
			Fix: "put a copy of the file itself into the job folder, so that the evidence is complete"}
	case !info.Mode().IsRegular():
		return nil, &diag.Problem{Code: "not-a-file", Message: "this is not a regular file",
			Fix: "remove it from the job folder"}
	case info.Size() > limit:
		return nil, table.TooLarge(info.Size(), limit)
	case info.Size() > maxJob-f.total:
		return nil, &diag.Problem{Code: "too-large", Message: fmt.Sprintf("with this file the job would have more than %d bytes", maxJob),
			Fix: "divide the work into several jobs"}
	}
	f.total += info.Size()
	file, err := inside.File(name)
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
		return nil, &diag.Problem{Code: "changed-while-read", Message: "the file changed while it was read",
			Fix: "wait until the export or copy has finished, then run again"}
	}
	return data, nil
}

// newFile says how to come by a file that every job has.
var newFile = map[string]string{
	jobFile:   "name the folder that holds the job, or have one written to fill in: spanseal new FOLDER",
	linksFile: "list every link that must be certified in it; spanseal new FOLDER writes one to fill in",
}

// files lists the regular and odd files below a folder, by name. Hidden files
// and README files are left out, as are the lock files of office programs.
func (f *folder) files(dir string) []string {
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

// misnamed asks about names in the job folder that are nearly those of files
// and folders that it may have: under a wrong name they would not be missed.
func (f *folder) misnamed(optional ...string) {
	missing := slices.DeleteFunc(optional, f.exists)
	entries, err := fs.ReadDir(f.root.FS(), ".")
	if err != nil || len(missing) == 0 {
		return
	}
	known := near.New(missing)
	for _, e := range diag.First(entries, maxFiles) {
		if near := known.To(e.Name()); near != "" {
			f.list.Add(diag.Problem{Severity: diag.Question, Code: "not-read", Place: diag.Place{File: e.Name()}, Message: "nothing is read from this name",
				Want: fmt.Sprintf("did you mean %q?", near)})
		}
	}
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
