package load

import (
	"errors"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"spanseal/internal/certify"
	"spanseal/internal/company"
	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/jobfile"
	"spanseal/internal/label"
	"spanseal/internal/plain"
	"spanseal/internal/record"
	"spanseal/internal/trunk"
	"spanseal/templates"
)

// own is what a job brings along to shape its papers: wording/, documents/ and
// the files that they name. What is read of it becomes evidence like any other
// input, or nobody could tell later why its papers say what they say. Typefaces
// do not: they are cut into every paper, and many may not be passed on.
type own struct {
	*company.Files
	job *JudgedJob
}

// ReadFile reads a file and keeps it.
func (o own) ReadFile(name string) ([]byte, error) {
	data, err := o.Files.ReadFile(name)
	if err == nil && !slices.Contains([]string{".ttf", ".otf", ".ttc"}, strings.ToLower(path.Ext(name))) {
		o.job.keep(name, data)
	}
	return data, err
}

// Files opens the folder of a job, with what it lacks and lies beside its company file,
// nil for none.
func Files(dir string, firm *record.Company) (*company.Files, error) {
	beside := ""
	if firm != nil {
		beside = firm.Dir
	}
	return company.OpenFiles(dir, beside)
}

func (j *JudgedJob) files() (*company.Files, error) { return Files(j.Dir, j.Facts.Company) }

// own opens what the job brings along, and refuses links in it.
func (j *JudgedJob) own() (*own, *diag.List) {
	problems := &diag.List{}
	files, err := j.files()
	if err != nil {
		problems.Add(diag.Problem{Code: "no-job-folder", Place: diag.Place{File: j.Dir}, Message: err.Error()})
		return nil, problems
	}
	for _, dir := range []string{"documents", "wording"} {
		err := fs.WalkDir(files.InJob(), dir, func(name string, e fs.DirEntry, err error) error {
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
	problems.Join(j.linksBeside())
	if problems.Errors() > 0 {
		files.Close()
		return nil, problems
	}
	return &own{files, j}, problems
}

// linksBeside refuses links among the templates beside the company file. Whatever else
// lies there is none of the job's.
func (j *JudgedJob) linksBeside() *diag.List {
	problems := &diag.List{}
	c := j.Facts.Company
	if c == nil {
		return problems
	}
	for _, dir := range []string{"documents", "wording"} {
		at := filepath.Join(c.Dir, dir)
		if info, err := os.Lstat(at); err == nil && info.Mode()&(fs.ModeSymlink|fs.ModeIrregular) != 0 {
			problems.Add(symbolicLink(path.Join(path.Dir(c.File), dir)))
			continue
		}
		entries, err := os.ReadDir(at)
		if err != nil {
			continue // nothing is taken from there
		}
		for _, e := range entries {
			if e.Type()&(fs.ModeSymlink|fs.ModeIrregular) != 0 && path.Ext(e.Name()) == ".yaml" {
				problems.Add(symbolicLink(path.Join(path.Dir(c.File), dir, e.Name())))
			}
		}
	}
	return problems
}

// symbolicLink is the problem of a link where a file of the job should be.
func symbolicLink(name string) diag.Problem {
	return diag.Problem{Code: "symbolic-link", Place: diag.Place{File: name}, Message: "this is a symbolic link, and links are not followed",
		Fix: "put a copy of the file itself into the job folder, so that the evidence is complete"}
}

// Papers makes the set of papers of a judged job.
func (j *JudgedJob) Papers(w form.Writer, o certify.Options) (*certify.PaperSet, *diag.List) {
	o.Symbol = label.Encode
	o.Templates = templates.Files
	own, problems := j.own()
	if problems.Errors() > 0 {
		return nil, problems
	}
	defer own.Close()
	o.Overrides = own
	w.Facts, w.Judgement, w.Book = j.Facts, j.Judged, j.sets
	o.PlaceOf = func(key string) diag.Place { return jobfile.PlaceOf(j.Facts, key) }
	return certify.NewSet(w, o)
}

// Rehearse refuses what would stop the writing of a revision: papers and labels of links,
// and of trunks.
func Rehearse(set *certify.PaperSet) *diag.List {
	problems := set.Rehearse()
	problems.Join(trunk.Rehearse(set))
	return problems
}

// Rehearse tries whether papers could be made of a judged job: characters that the
// typefaces lack, layouts that the job broke, names too long to be signed. Where
// there is a problem the judgement is dropped, as after any other.
func (j *JudgedJob) Rehearse() *certify.PaperSet {
	if j.Judged == nil {
		return nil
	}
	set, problems := j.Papers(form.Writer{}, certify.Options{})
	if set != nil {
		problems.Join(Rehearse(set))
	}
	if j.Problems.Join(problems); problems.Errors() > 0 {
		j.Judged = nil
	}
	return set
}
