package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/intake"
	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/templates"
)

// job is a job folder, read and judged.
type job struct {
	dir      string
	facts    *record.Facts
	judged   *judge.Judgement
	problems *diag.List // of all rooms; without errors once a job is returned
}

// readJob reads and judges a job folder. Problems are printed as soon as all
// of it is read; with errors among them the job is refused.
func (a *app) readJob(dir string) (*job, error) {
	j, err := a.loadJob(dir)
	if err != nil {
		return nil, err
	}
	return j, a.report(j.problems)
}

// report prints problems, and refuses the input if one of them is an error.
func (a *app) report(problems *diag.List) error {
	if err := problems.Write(a.err, a.onErr.paint); err != nil {
		return err
	}
	switch n := problems.Errors(); n {
	case 0:
		return nil
	case 1:
		return refuse("", "1 problem in the input; nothing was written")
	default:
		return refuse("", "%d problems in the input; nothing was written", n)
	}
}

// loadJob reads a job folder as far as it can be read. With errors among the
// problems, facts may be incomplete and the judgement is missing.
func (a *app) loadJob(dir string) (*job, error) {
	switch info, err := os.Stat(dir); {
	case errors.Is(err, fs.ErrNotExist):
		return nil, refuse(fmt.Sprintf("make one with `spanseal new %s`, or try `spanseal demo`", dir), "there is no job folder at %s", dir)
	case err != nil:
		return nil, refuse("", "the job folder cannot be read: %v", err)
	case !info.IsDir():
		return nil, refuse(fmt.Sprintf("name the folder, such as %s", filepath.Dir(dir)), "%s is a file, not a job folder", dir)
	}
	j := &job{dir: dir}
	j.facts, j.problems = intake.Read(dir, intake.Options{})
	if j.problems.Errors() > 0 {
		return j, nil
	}
	book, problems := a.book(dir, j.facts)
	j.problems.Join(problems)
	if j.problems.Errors() > 0 {
		return j, nil
	}
	judged, problems := judge.Judge(j.facts, book)
	j.problems.Join(problems)
	j.judged = judged
	return j, nil
}

// builtIn holds the limit sets that come with the program.
func builtIn() (*limits.Book, *diag.List) {
	sets, err := fs.Sub(templates.Files, "limits")
	if err != nil {
		panic(err) // the folder is embedded
	}
	return limits.NewBook(sets)
}

// book is every limit set that a job may name: the built-in ones, and the
// files of its own.
func (a *app) book(dir string, facts *record.Facts) (*limits.Book, *diag.List) {
	book, problems := builtIn()
	own := map[string]bool{}
	name := func(ids []string) {
		for _, id := range ids {
			if isFile(id) {
				own[id] = true
			}
		}
	}
	name(facts.Job.Policy.Limits)
	for _, l := range facts.Links {
		name(l.Limits)
		name(l.Applications)
	}
	for id := range own {
		raw, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(id)))
		if err != nil {
			problems.Add(diag.Problem{Code: "no-limit-set", Place: diag.Place{File: id},
				Message: "the limit set cannot be read", Because: []string{err.Error()},
				Mend: "correct the path in job.yaml; it is relative to the job folder"})
			continue
		}
		problems.Join(book.Add(source.New(id, raw)))
	}
	return book, problems
}

// isFile tells a path of the job's own limit set from the id of a built-in.
func isFile(id string) bool {
	return strings.HasSuffix(id, ".yaml") || strings.HasSuffix(id, ".yml")
}
