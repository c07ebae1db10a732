package cli

import (
	"errors"
	"io/fs"
	"path"
	"slices"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/plain"
)

// own is what a job brings along to shape its papers: wording/, documents/ and
// the files that they name. What is read of it becomes evidence like any other
// input, or nobody could tell later why its papers say what they say. Typefaces
// do not: they are cut into every paper, and many may not be passed on.
type own struct {
	*plain.Folder
	job *job
}

// ReadFile reads a file and keeps it.
func (o own) ReadFile(name string) ([]byte, error) {
	data, err := o.Folder.ReadFile(name)
	if err == nil && !slices.Contains([]string{".ttf", ".otf", ".ttc"}, strings.ToLower(path.Ext(name))) {
		o.job.keep(name, data)
	}
	return data, err
}

// own opens what the job brings along, and refuses links in it.
func (j *job) own() (*own, *diag.List) {
	problems := &diag.List{}
	folder, err := plain.Open(j.dir)
	if err != nil {
		problems.Add(diag.Problem{Code: "no-job-folder", Place: diag.Place{File: j.dir}, Message: err.Error()})
		return nil, problems
	}
	for _, dir := range []string{"documents", "wording"} {
		err := fs.WalkDir(folder, dir, func(name string, e fs.DirEntry, err error) error {
			if errors.Is(err, plain.ErrLink) || err == nil && e.Type()&(fs.ModeSymlink|fs.ModeIrregular) != 0 {
				problems.Add(symbolicLink(name))
				return nil
			}
			return err
		})
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			problems.Add(diag.Problem{Code: "cannot-read", Place: diag.Place{File: dir}, Message: "the folder cannot be read: " + plain.Cause(err).Error()})
		}
	}
	if problems.Errors() > 0 {
		folder.Close()
		return nil, problems
	}
	return &own{folder, j}, problems
}

// symbolicLink is the problem of a link where a file of the job should be.
func symbolicLink(name string) diag.Problem {
	return diag.Problem{Code: "symbolic-link", Place: diag.Place{File: name}, Message: "this is a symbolic link, and links are not followed",
		Fix: "put a copy of the file itself into the job folder, so that the evidence is complete"}
}
