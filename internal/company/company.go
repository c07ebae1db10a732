// Package company finds the company file above a job, and lays what a job says over
// what the company file says of every job.
//
// # The file
//
// A job that says company: NAME takes what it does not say itself from the first file
// of that name in the job folder, then in each folder above it. The name is that of a
// file or a path below those folders: no "..", nothing absolute. No link is followed,
// and the search ends at the root of the file system, or at a folder that may not be
// opened. A job without the key takes nothing, wherever it lies. The file has at most
// 2 MB and is YAML with the keys of job.yaml, but for those that are a job's own
// ([Own]).
//
// # What is laid over what
//
// The job's own wins. A key without a value, and a group all of whose values are
// empty, says nothing. Groups are laid over each other member by member; these are
// one thing, and are taken whole: contractor, warranty, colours, schedule, originals.
// Lists are taken whole, but people and instruments: the job has its own entries, and
// those of the company whose id it does not list. Its entry that says nothing but an
// id is the company's of that id. Pay items are not taken under another currency than
// they were written in.
//
// # Files
//
// A file that the job folder lacks is looked for in the folder of the company file:
// see [Files]. So limit sets, mappings, wording and documents may lie there.
//
// # What is told of it
//
// [Laid.Taken] writes what a job took as YAML, in a form that is a company file again.
// It leaves out remarks and what is not handed over: pay, and where the key lies. For
// the same reason it has no digest of the company file, from which prices could be
// guessed.
package company

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/plain"
	"spanseal/internal/source"
)

// Key is the key of job.yaml that names the file.
const Key = "company"

// largest bounds a company file, in bytes: as job.yaml, it is held as nodes.
const largest = 2_000_000

// CompanyFile is a company file.
type CompanyFile struct {
	*source.File        // its name is relative to the job folder, such as ../company.yaml
	Dir          string // the folder in which it lies
}

// Find looks for a company file in a job folder and in those above it. The problem,
// which has no place, says why there is none to read.
func Find(job, name string) (*CompanyFile, *diag.Problem) {
	if !fs.ValidPath(name) || name == "." || strings.Contains(name, `\`) {
		return nil, &diag.Problem{Code: "company-outside", Message: fmt.Sprintf("%q cannot be the name of a company file", name),
			Want: "want a name such as company.yaml", Fix: "write the name alone: the job folder and each folder above it are searched"}
	}
	up := ""
	for dir := filepath.Clean(job); ; dir, up = filepath.Join(dir, ".."), up+"../" {
		files, err := plain.Open(dir)
		if err != nil {
			return nil, nowhere(name, fmt.Sprintf("the search ended at %s, which cannot be opened: %v", shown(up), plain.Cause(err)))
		}
		_, err = files.Lstat(name)
		if errors.Is(err, fs.ErrNotExist) {
			files.Close()
			if isRoot(dir) {
				return nil, nowhere(name)
			}
			continue
		}
		defer files.Close()
		data, err := files.ReadUpTo(name, largest)
		switch {
		case errors.Is(err, plain.ErrLink):
			return nil, &diag.Problem{Code: "symbolic-link", Message: up + name + " is a symbolic link, or is reached through one; symbolic links are not followed",
				Fix: "put the file itself there, or name another"}
		case errors.Is(err, plain.ErrNotRegular):
			return nil, &diag.Problem{Code: "not-a-file", Message: up + name + " is not a regular file", Fix: "name a file"}
		case err != nil:
			return nil, &diag.Problem{Code: "cannot-read", Message: fmt.Sprintf("the company file %s cannot be read: %v", up+name, plain.Cause(err)),
				Fix: "make it a readable file of at most 2 MB"}
		}
		return &CompanyFile{source.New(up+name, data), filepath.Join(dir, filepath.FromSlash(path.Dir(name)))}, nil
	}
}

// nowhere is the problem of a file that no folder has.
func nowhere(name string, because ...string) *diag.Problem {
	return &diag.Problem{Code: "no-company-file", Message: fmt.Sprintf("there is no file %q in the job folder or in a folder above it", name), Because: because,
		Fix: "put the file into a folder above the job, or correct its name"}
}

// shown names a folder above the job.
func shown(up string) string {
	if up == "" {
		return "the job folder"
	}
	return up
}

// isRoot reports that nothing lies above a folder.
func isRoot(dir string) bool {
	a, err := os.Stat(dir)
	b, err2 := os.Stat(filepath.Join(dir, ".."))
	return err != nil || err2 != nil || os.SameFile(a, b)
}

// Of is the company file that the job.yaml of a folder names, or nil: for those who only
// want to know whether it changed.
func Of(job string) *CompanyFile {
	files, err := plain.Open(job)
	if err != nil {
		return nil
	}
	defer files.Close()
	data, err := files.ReadUpTo("job.yaml", largest)
	if err != nil {
		return nil
	}
	var said struct {
		Company string `yaml:"company"`
	}
	if yaml.Unmarshal(data, &said) != nil || said.Company == "" {
		return nil
	}
	file, _ := Find(job, said.Company)
	return file
}
