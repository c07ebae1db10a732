package load

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/issue"
	"spanseal/internal/jobfile"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// Evidence names the files of readings of a job that differ from those on which
// its latest revision rests, and a statement that cannot have been billed. A revision
// that cannot be read is left to package issue, which says so.
func (j *JudgedJob) Evidence(issued string) *diag.List {
	problems := &diag.List{}
	problems.Join(j.terms(issued))
	changes, err := issue.ChangedReadings(issued, j.Facts)
	if err != nil {
		return problems
	}
	for _, c := range changes {
		if j.unread(c.Name) {
			continue // what kept it from being read is said already
		}
		p := diag.Problem{Code: "evidence-changed", Place: diag.Place{File: c.Name}, Message: c.What + "; why?",
			Fix: fmt.Sprintf("restore the file from issued/r%d/%s, and give new values in a new file; if the file itself was wrong, declare it in job.yaml: declared: [{file: %s, was: \"%s\", because: ..., by: ID}]", c.Revision, strings.TrimSuffix(c.Folder, "/"), c.Name, c.Was[:12])}
		if c.Row > 0 {
			p.Place = rowOf(j.Facts, c.Name, c.Row)
		}
		problems.Add(p)
	}
	return problems
}

// unread reports a file that lies in the job folder and was not read, since the job is
// refused.
func (j *JudgedJob) unread(name string) bool {
	if j.Problems.Errors() == 0 || slices.ContainsFunc(j.Facts.Originals, func(o record.Original) bool { return o.Name == name }) {
		return false
	}
	_, err := os.Lstat(filepath.Join(j.Dir, filepath.FromSlash(name)))
	return err == nil
}

// terms are the problems of a statement that follows one which was billed.
func (j *JudgedJob) terms(issued string) *diag.List {
	problems := &diag.List{}
	pay := &j.Facts.Job.Pay
	next, err := issue.Next(issued)
	if err != nil {
		return problems
	}
	add := func(code, key, message, fix string) {
		p := diag.Problem{Code: code, Place: diag.Place{File: "pay.yaml"}, Message: message, Fix: fix}
		if jobfile.PlaceOf(j.Facts, "pay").Line > 0 {
			p.Place = jobfile.PlaceOf(j.Facts, key)
		}
		problems.Add(p)
	}
	w := form.Writer{Facts: j.Facts, Judgement: j.Judged, Revision: next}
	if n := pay.Billed; n != nil && *n >= next {
		add("billed-unissued", "pay.billed", fmt.Sprintf("billed names r%d, but there is no such revision", *n), "name under billed the last revision whose statement was billed, or none")
		return problems
	} else if j.Judged == nil {
		return problems
	} else if n != nil && *n > 0 {
		if w.Earlier, err = issue.Stated(issued, *n); err != nil {
			return problems
		}
	}
	for _, f := range w.BillingFaults() {
		add(f.Code, f.Key, f.Message, f.Fix)
	}
	return problems
}

// rowOf is the place of a row of an original.
func rowOf(facts *record.Facts, name string, row int) diag.Place {
	for _, o := range facts.Originals {
		if o.Name == name {
			return diag.AtLine(source.New(o.Name, o.Data), source.Position{Line: row, Column: 1}, 1)
		}
	}
	return diag.Place{File: name}
}

// ReadAfter tells of the last reading if it is later than now: issue would refuse to
// date a paper before it.
func (j *JudgedJob) ReadAfter(now time.Time) *diag.List {
	problems := &diag.List{}
	if j.Facts == nil || !j.Latest.Time.After(now.Truncate(time.Second)) {
		return problems
	}
	minute := func(t time.Time) string { return t.In(j.Facts.Job.Location).Format("2006-01-02 15:04") }
	o := j.Latest.Origin
	problems.Add(diag.Problem{Code: "reading-after-now", Place: diag.Place{File: o.File, Line: o.Row, Column: o.Column, Cell: o.Cell},
		Message: fmt.Sprintf("link %s was measured %s, and this computer's clock says %s", j.Latest.Link, minute(j.Latest.Time), minute(now)),
		Fix:     "correct the form or zone of the file's times in its readings entry, or correct the clock"})
	return problems
}
