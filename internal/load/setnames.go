package load

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"unicode/utf8"

	"spanseal/internal/diag"
	"spanseal/internal/jobfile"
	"spanseal/internal/plain"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// setName is a limit set as a job names it: an id, or a file of its own.
type setName struct {
	id    string
	what  string // "limit set" or "application"
	place func() diag.Place
}

// setNames lists the sets that a job names, each once, at the first place where
// it does; sorted by id.
func (j *JudgedJob) setNames() []setName {
	var names []setName
	seen := map[string]bool{}
	add := func(id, what string, place func() diag.Place) {
		if !seen[id] {
			seen[id] = true
			names = append(names, setName{id, what, place})
		}
	}
	places := jobfile.PlacesOf(j.Facts)
	for i, id := range j.Facts.Job.Policy.Limits {
		add(id, "limit set", func() diag.Place { return places.Of(fmt.Sprintf("judge.limits[%d]", i)) })
	}
	for i := range j.Facts.Links {
		l := &j.Facts.Links[i]
		for _, id := range l.Limits {
			add(id, "limit set", func() diag.Place { return j.placeIn(l.Origin, id) })
		}
		for _, id := range l.Applications {
			add(id, "application", func() diag.Place { return j.placeIn(l.Origin, id) })
		}
	}
	slices.SortFunc(names, func(x, y setName) int { return strings.Compare(x.id, y.id) })
	return names
}

// placeIn is where a text stands in the row of a fact, or that row where it is
// not written so.
func (j *JudgedJob) placeIn(o record.Origin, text string) diag.Place {
	row := diag.Place{File: o.File, Line: o.Row, Column: o.Column, Cell: o.Cell}
	i := slices.IndexFunc(j.Facts.Originals, func(f record.Original) bool { return f.Name == o.File })
	if i < 0 || o.Cell != "" {
		return row
	}
	f := source.New(o.File, j.Facts.Originals[i].Data)
	if o.Row < 1 || o.Row > f.Lines() {
		return row
	}
	before, _, ok := strings.Cut(strings.ToLower(f.Line(o.Row)), strings.ToLower(text))
	if !ok {
		return row
	}
	return diag.AtLine(f, source.Position{Line: o.Row, Column: utf8.RuneCountInString(before) + 1}, utf8.RuneCountInString(text))
}

// unread is the problem of a job's own set that cannot be read.
func (n setName) unread(err error, c *record.Company) diag.Problem {
	p := diag.Problem{Code: "no-limit-set", Place: n.place()}
	beside := ""
	if c != nil {
		beside = " or beside " + c.File
	}
	switch {
	case !filepath.IsLocal(filepath.FromSlash(n.id)):
		p.Message = fmt.Sprintf("the %s %q is outside the job folder", n.what, n.id)
		p.Fix = "copy the file into the job folder and name it from there: what a certificate rests on is kept with the job"
	case errors.Is(err, fs.ErrNotExist):
		p.Message = fmt.Sprintf("there is no file %q in the job folder%s", n.id, beside)
		p.Fix = "correct the path; it is relative to the job folder"
		if c != nil {
			p.Fix = "correct the path; it is relative to the job folder or to that of the company file"
		}
	case errors.Is(err, plain.ErrLink):
		p = symbolicLink(n.id)
		p.Place = n.place()
	default:
		p.Message, p.Because = fmt.Sprintf("the %s %q cannot be read", n.what, n.id), []string{plain.Cause(err).Error()}
		p.Fix = "make it a readable file of the job folder"
	}
	return p
}

// NamesFile tells a path of the job's own limit set from the id of a built-in.
func NamesFile(id string) bool {
	return strings.HasSuffix(id, ".yaml") || strings.HasSuffix(id, ".yml")
}
