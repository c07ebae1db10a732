package load

import (
	"errors"
	"io/fs"
	"path/filepath"
	"sync"

	"spanseal/internal/diag"
	"spanseal/internal/folder"
	"spanseal/internal/intake"
	"spanseal/internal/limits"
	"spanseal/internal/plain"
	"spanseal/internal/source"
	"spanseal/templates"
)

// BuiltIn holds the limit sets that come with the program, which are read once
// however many jobs are.
func BuiltIn() (*limits.Book, *diag.List) {
	book, problems := comeWithUs()
	list := new(diag.List)
	list.Join(problems)
	return book.Clone(), list
}

var comeWithUs = sync.OnceValues(func() (*limits.Book, *diag.List) {
	sets, err := fs.Sub(templates.Files, "limits")
	if err != nil {
		panic(err) // the folder is embedded
	}
	return limits.NewBook(sets)
})

// Confirmations is the file in which a job records who compared which limit
// set with the standard.
const Confirmations = "confirmed.yaml"

// largestSet bounds what is read of a limit set of a job's own, in bytes.
const largestSet = 4 << 20

// Sets is every limit set that a job in a folder may name, as far as they can be
// read. The rest of the job may still be wrong.
func Sets(dir string) *limits.Book {
	j := &JudgedJob{Dir: dir}
	j.Facts, _ = intake.Read(dir, intake.Options{})
	book, _ := j.book()
	return book
}

// book is every limit set that the job may name: the built-in ones, and the
// files of its own; with what is confirmed of them. The job's files become
// evidence like any other input. Every name that leads nowhere is a problem.
func (j *JudgedJob) book() (*limits.Book, *diag.List) {
	book, problems := BuiltIn()
	files, err := j.files()
	if err != nil {
		problems.Add(diag.Problem{Code: "no-job-folder", Place: diag.Place{File: filepath.ToSlash(j.Dir)}, Message: err.Error()})
		return book, problems
	}
	defer files.Close()

	names := j.setNames()
	var own []*source.File
	for _, n := range names {
		if !NamesFile(n.id) {
			continue
		}
		raw, err := files.ReadUpTo(n.id, largestSet)
		if err != nil {
			problems.Add(n.unread(err, j.Facts.Company))
			continue
		}
		own = append(own, source.New(n.id, raw))
	}
	problems.Join(book.Add(own...))
	for _, n := range names {
		if _, ok := book.Find(n.id); !ok && !NamesFile(n.id) {
			problems.Add(book.Unknown(n.what, n.id, n.place()))
		}
	}

	raw, err := files.InJob().ReadUpTo(Confirmations, largestSet)
	switch {
	case err == nil:
		f := source.New(Confirmations, raw)
		confirmed, list := limits.ParseConfirmations(f)
		problems.Join(list)
		book.Confirm(confirmed)
		j.confirmed = confirmed
		own = append(own, f)
	case errors.Is(err, plain.ErrLink):
		problems.Add(symbolicLink(Confirmations))
	}
	if len(own) > 0 {
		for _, f := range own {
			j.keep(f.Name, f.Raw)
		}
		problems.Join(folder.CheckNames(j.Facts.Originals))
	}
	return book, problems
}

// keepSets adds the built-in limit sets that bound something to the evidence:
// in nine years nobody may have this edition of the program any more.
func (j *JudgedJob) keepSets(book *limits.Book) error {
	for _, used := range j.Judged.Sets {
		for s, ok := book.Find(used.ID); ok && s != nil; s = s.Base {
			if !s.BuiltIn {
				continue
			}
			raw, err := fs.ReadFile(templates.Files, "limits/"+s.File)
			if err != nil {
				return err
			}
			j.keep("limits/"+s.File, raw)
		}
	}
	return nil
}
