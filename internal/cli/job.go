package cli

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"spanseal/internal/diag"
	"spanseal/internal/folder"
	"spanseal/internal/intake"
	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/plain"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/templates"
)

// job is a job folder, read and judged.
type job struct {
	dir       string
	facts     *record.Facts
	latest    record.Reading // the last of them by its time, or none
	judged    *judge.Judgement
	sets      *limits.Book // that were known when it was judged
	confirmed []limits.Confirmation
	problems  *diag.List // of all rooms; without errors once a job is returned
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
	if err := problems.Write(a.err, a.onErr.Paint); err != nil {
		return err
	}
	return refusal(problems)
}

// reportAll is report with the same fault in many rows not folded.
func (a *app) reportAll(problems *diag.List) error {
	if err := problems.WriteAll(a.err, a.onErr.Paint); err != nil {
		return err
	}
	return refusal(problems)
}

// refusal refuses the input if one of the problems is an error.
func refusal(problems *diag.List) error {
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
	return a.loadJobShowing(dir, intake.Options{})
}

// loadJobShowing is loadJob that hands on what the options ask for.
func (a *app) loadJobShowing(dir string, opt intake.Options) (*job, error) {
	switch info, err := os.Stat(dir); {
	case errors.Is(err, fs.ErrNotExist):
		return nil, refuse(fmt.Sprintf("make one with `spanseal new %s`, or try `spanseal demo`", dir), "there is no job folder at %s", dir)
	case err != nil:
		return nil, refuse("", "the job folder cannot be read: %v", err)
	case !info.IsDir():
		return nil, refuse(fmt.Sprintf("name the folder, such as %s", filepath.Dir(dir)), "%s is a file, not a job folder", dir)
	}
	j := &job{dir: dir}
	defer leanly()()
	j.facts, j.problems = intake.Read(dir, opt)
	if j.problems.Errors() > 0 {
		return j, nil
	}
	if err := j.judge(); err != nil {
		return j, err
	}
	j.problems.Join(j.saidAfter(record.DateOf(a.sys.Now().In(j.facts.Job.Location)), "today"))
	if j.problems.Errors() > 0 {
		j.judged = nil
	}
	return j, nil
}

// judge judges the facts as they are.
func (j *job) judge() error {
	book, problems := j.book()
	j.problems.Join(problems)
	j.problems.Join(j.unknownQuestions())
	if j.problems.Errors() > 0 {
		return nil
	}
	j.latest = record.Last(j.facts.Readings)
	judge.Arrange(j.facts) // else they are twice in memory
	judged, problems := judge.Judge(j.facts, book)
	j.problems.Join(problems)
	j.sets = book
	if j.judged = judged; judged == nil {
		return nil
	}
	astray := j.answersAstray()
	if j.problems.Join(astray); astray.Errors() > 0 {
		j.judged = nil
		return nil
	}
	return j.keepSets(book)
}

// key is where the job's key lies unless another is named.
func (j *job) key() string {
	return filepath.Join(j.dir, filepath.FromSlash(cmp.Or(j.facts.Job.Sign.Key, "signer.p12")))
}

// builtIn holds the limit sets that come with the program, which are read once
// however many jobs are.
func builtIn() (*limits.Book, *diag.List) {
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

// confirmations is the file in which a job records who compared which limit
// set with the standard.
const confirmations = "confirmed.yaml"

// largestSet bounds what is read of a limit set of a job's own, in bytes.
const largestSet = 4 << 20

// book is every limit set that the job may name: the built-in ones, and the
// files of its own; with what is confirmed of them. The job's files become
// evidence like any other input. Every name that leads nowhere is a problem.
func (j *job) book() (*limits.Book, *diag.List) {
	book, problems := builtIn()
	files, err := plain.Open(j.dir)
	if err != nil {
		problems.Add(diag.Problem{Code: "no-job-folder", Place: diag.Place{File: filepath.ToSlash(j.dir)}, Message: err.Error()})
		return book, problems
	}
	defer files.Close()

	names := j.setNames()
	var own []*source.File
	for _, n := range names {
		if !isFile(n.id) {
			continue
		}
		raw, err := files.ReadUpTo(n.id, largestSet)
		if err != nil {
			problems.Add(n.unread(err))
			continue
		}
		own = append(own, source.New(n.id, raw))
	}
	problems.Join(book.Add(own...))
	for _, n := range names {
		if _, ok := book.Find(n.id); !ok && !isFile(n.id) {
			problems.Add(book.Unknown(n.what, n.id, n.place()))
		}
	}

	raw, err := files.ReadUpTo(confirmations, largestSet)
	switch {
	case err == nil:
		f := source.New(confirmations, raw)
		confirmed, list := limits.ParseConfirmations(f)
		problems.Join(list)
		book.Confirm(confirmed)
		j.confirmed = confirmed
		own = append(own, f)
	case errors.Is(err, plain.ErrLink):
		problems.Add(symbolicLink(confirmations))
	}
	if len(own) > 0 {
		for _, f := range own {
			j.keep(f.Name, f.Raw)
		}
		problems.Join(folder.CheckNames(j.facts.Originals))
	}
	return book, problems
}

// keep adds a file to the evidence.
func (j *job) keep(name string, raw []byte) {
	at, found := slices.BinarySearchFunc(j.facts.Originals, name, func(o record.Original, name string) int {
		return strings.Compare(o.Name, name)
	})
	if !found {
		j.facts.Originals = slices.Insert(j.facts.Originals, at,
			record.Original{Name: name, SHA256: source.New(name, raw).SHA256Hex(), Data: raw})
	}
}

// keepSets adds the built-in limit sets that bound something to the evidence:
// in nine years nobody may have this edition of the program any more.
func (j *job) keepSets(book *limits.Book) error {
	for _, used := range j.judged.Sets {
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
