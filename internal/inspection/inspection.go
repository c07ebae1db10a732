// Package inspection reads what is on record of the inspection of end faces, and
// tells what it leaves open.
//
// # inspections.csv
//
// One row for each look at one end face, factory-made ones included:
//
//	link,end,criterion,edition,cleaning,result,person,time,photo
//	A-11,B,IEC 61300-3-35,2022,before,fail,mo,2026-11-18 09:10,A-11-B-before.jpg
//	A-11,B,IEC 61300-3-35,2022,after,pass,mo,2026-11-18 09:14,A-11-B.jpg
//
// criterion and edition say by what the face was judged: editions of one standard set
// their limits differently. cleaning is before, after or empty, photo a picture of the
// folder photos. cleaning, person, time and photo may be left out.
//
// # Which inspection counts
//
// The last one of a face decides: later by its time, or after rather than before
// cleaning where the times do not tell, or else by its row. One that was before the
// connector was finished, by terminations.csv, is about a face that is gone and does
// not count. A face whose last inspection did not pass makes its link incomplete, not
// failed: no reading is out of a limit, and cleaning may settle it.
package inspection

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// File is where the inspections of a job stand.
const File = "inspections.csv"

// The columns of the file.
var (
	Required = []string{"link", "end", "criterion", "edition", "result"}
	Optional = []string{"cleaning", "person", "time", "photo"}
)

// Row is one row of the file, by the names of its columns. Text is "" for an empty
// cell; Must adds a problem for one. Fault adds a problem at a cell.
type Row interface {
	Text(column string) string
	Must(column, such string) string
	Time(column string) time.Time
	Fault(column, code, message, want, fix string)
}

// Register is what was read of the file so far. The zero Register is ready.
type Register struct {
	faces map[face][]record.Inspection
}

type face struct{ link, end string }

// Read reads a row of a link of the schedule, which may be nil where the name is
// not known. Photo holds the name of the file as it was written.
func (g *Register) Read(row Row, link *record.Link, o record.Origin) record.Inspection {
	i := record.Inspection{
		End: strings.ToUpper(row.Must("end", "A or B")), Criterion: row.Must("criterion", "by what the face was judged, such as IEC 61300-3-35"),
		Edition: row.Must("edition", "which edition of the criterion, such as 2022"), Person: row.Text("person"), Time: row.Time("time"),
		Photo: record.Origin{File: row.Text("photo")}, Origin: o,
	}
	switch i.End {
	case "A", "B", "":
	default:
		row.Fault("end", "unknown-value", fmt.Sprintf("%q is not an end", i.End), "want A or B", "")
	}
	switch result := strings.ToLower(row.Must("result", "pass or fail")); result {
	case string(record.EndFacePass), string(record.EndFaceFail):
		i.Result = record.EndFace(result)
	case "":
	default:
		row.Fault("result", "unknown-value", fmt.Sprintf("%q is not the result of an inspection", result), "want pass or fail; leave the row out if the face was not inspected", "")
	}
	switch cleaning := strings.ToLower(row.Text("cleaning")); cleaning {
	case "", string(record.BeforeCleaning), string(record.AfterCleaning):
		i.Cleaning = record.Cleaning(cleaning)
	default:
		row.Fault("cleaning", "unknown-value", fmt.Sprintf("%q does not say whether the face was cleaned", cleaning), "want before or after", "")
	}
	if link == nil {
		return i
	}
	i.Link = link.ID
	end := link.EndA
	if i.End == "B" {
		end = link.EndB
	}
	if (i.End == "A" || i.End == "B") && end.Text != "" && end.Connector == "" {
		row.Fault("end", "no-face", fmt.Sprintf("end %s of %s has no connector in the schedule, so there is no end face", i.End, i.Link), "", "correct the end here, or in the schedule")
	}
	at := face{i.Link, i.End}
	for _, o := range g.faces[at] {
		if o.Result != i.Result && order(&o, &i) == 0 {
			row.Fault("result", "inspection-twice", fmt.Sprintf("end %s of %s has another result in row %d, and neither is known to be the later", i.End, i.Link, o.Origin.Row),
				"", "give each its time, or say under cleaning which was before and which after")
			break
		}
	}
	if g.faces == nil {
		g.faces = map[face][]record.Inspection{}
	}
	g.faces[at] = append(g.faces[at], i)
	return i
}

// order is below zero if x was before y, above if after, and zero where neither the
// times nor the cleaning tell.
func order(x, y *record.Inspection) int {
	if !x.Time.IsZero() && !y.Time.IsZero() && !x.Time.Equal(y.Time) {
		return x.Time.Compare(y.Time)
	}
	rank := map[record.Cleaning]int{record.BeforeCleaning: 1, record.AfterCleaning: 2}
	if a, b := rank[x.Cleaning], rank[y.Cleaning]; a > 0 && b > 0 {
		return a - b
	}
	return 0
}

// Last is the last inspection of an end's face, nil where there is none.
func Last(all []record.Inspection, end string) (last *record.Inspection) {
	for k := range all {
		if i := &all[k]; i.End == end && (last == nil || order(last, i) <= 0) {
			last = i
		}
	}
	return last
}

// counts reports whether an inspection is about the face that is there now: that it
// was not before a connector was finished at that end.
func counts(i *record.Inspection, made []record.Termination) bool {
	for k := range made {
		if made[k].End == i.End && before(i, &made[k]) {
			return false
		}
	}
	return true
}

// before reports that a face was inspected before the end was finished. A time that
// is a day alone may be any of that day.
func before(i *record.Inspection, t *record.Termination) bool {
	return !i.Time.IsZero() && !t.Finished.IsZero() && record.Latest(i.Time).Before(t.Finished)
}

// Known reports whether an inspection of the face that is there now is on record.
func Known(all []record.Inspection, made []record.Termination, end string) bool {
	last := Last(all, end)
	return last != nil && counts(last, made)
}

// Since reports whether the face of a termination was inspected once that was
// finished, so that the word of the record is no longer the last.
func Since(all []record.Inspection, t *record.Termination) bool {
	for k := range all {
		if i := &all[k]; i.End == t.End && !i.Time.IsZero() && !t.Finished.IsZero() && !before(i, t) {
			return true
		}
	}
	return false
}

// Gap is what an end face leaves open.
type Gap struct {
	End  string
	Asks statement.Statement
}

// Open tells what the end faces of a link leave open, in the order of the ends: a
// last inspection that did not pass, and, where the job requires one of every face,
// that there is none of a face as it is now.
func Open(link *record.Link, all []record.Inspection, made []record.Termination, required bool) (open []Gap) {
	if len(all) == 0 && !required {
		return nil
	}
	for _, end := range link.Faces() {
		name := statement.Name(end)
		last := Last(all, end)
		switch {
		case last == nil:
			if required {
				open = append(open, Gap{end, statement.New("inspection.missing", name)})
			}
		case !counts(last, made):
			if required {
				open = append(open, Gap{end, statement.New("inspection.outdated", name, statement.Moment(last.Time), statement.Moment(finished(made, end)))})
			}
		case last.Result == record.EndFaceFail:
			code := "inspection.failed"
			if saysPassed(made, end) {
				code = "inspection.contradicts"
			}
			open = append(open, Gap{end, statement.New(code, name, statement.Name(Criterion(last)))})
		}
	}
	return open
}

// finished is when the last connector at an end was finished.
func finished(made []record.Termination, end string) (last time.Time) {
	for _, t := range made {
		if t.End == end && t.Finished.After(last) {
			last = t.Finished
		}
	}
	return last
}

// saysPassed reports whether the record of the last termination at an end says that
// its face passed.
func saysPassed(made []record.Termination, end string) bool {
	var last *record.Termination
	for k := range made {
		if t := &made[k]; t.End == end && (last == nil || !t.Finished.Before(last.Finished)) {
			last = t
		}
	}
	return last != nil && last.EndFace == record.EndFacePass
}

// year is an edition that is cited behind a colon.
var year = regexp.MustCompile(`^[0-9]{4}$`)

// Criterion is what a face was judged by, with its edition: IEC 61300-3-35:2022, as
// IEC and ISO cite a year, or an owner's paper, revision C.
func Criterion(i *record.Inspection) string {
	switch {
	case strings.HasSuffix(i.Criterion, i.Edition):
		return i.Criterion
	case year.MatchString(i.Edition):
		return i.Criterion + ":" + i.Edition
	}
	return i.Criterion + ", " + i.Edition
}

// Tally says how many end faces of a job were inspected, and by what.
type Tally struct {
	Faces     int `json:"faces"`     // ends of links that have a connector
	Inspected int `json:"inspected"` // the last inspection of the face that is there now is on record
	Passed    int `json:"passed"`    // of them
	// Criteria are in the order of their names; each face counts for that of its last
	// inspection.
	Criteria []OfCriterion `json:"criteria,omitempty"`
}

// OfCriterion is what became of the faces that were judged by one criterion.
type OfCriterion struct {
	Criterion string `json:"criterion"` // with its edition
	Inspected int    `json:"inspected"`
	Passed    int    `json:"passed"`
}

// Counted counts the end faces of a job, or returns nil where it neither records
// inspections nor requires them.
func Counted(facts *record.Facts) *Tally {
	if len(facts.Inspections) == 0 && facts.Job.Policy.Require.Inspection != "required" {
		return nil
	}
	all, made := facts.Inspected(), facts.Made()
	c := &Tally{}
	for k := range facts.Links {
		l := &facts.Links[k]
		for _, end := range l.Faces() {
			c.Faces++
			last := Last(all[l.ID], end)
			if last == nil || !counts(last, made[l.ID]) {
				continue
			}
			i := slices.IndexFunc(c.Criteria, func(o OfCriterion) bool { return o.Criterion == Criterion(last) })
			if i < 0 {
				i = len(c.Criteria)
				c.Criteria = append(c.Criteria, OfCriterion{Criterion: Criterion(last)})
			}
			of := &c.Criteria[i]
			c.Inspected++
			of.Inspected++
			if last.Result == record.EndFacePass {
				c.Passed++
				of.Passed++
			}
		}
	}
	slices.SortFunc(c.Criteria, func(a, b OfCriterion) int { return strings.Compare(a.Criterion, b.Criterion) })
	return c
}
