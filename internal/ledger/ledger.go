// Package ledger reads the tables that people keep by hand: links.csv, terminations.csv,
// inspections.csv, originals.csv. Their columns bear our own names, or those that job.yaml
// gives them; the first row that is not blank is the heading.
//
// A Ledger stands at one row at a time, and its methods read the cells of that row by the
// names of their columns. Whatever is wrong with a cell is a problem at its place; the
// method then returns nothing.
package ledger

import (
	"fmt"
	"iter"
	"slices"
	"strings"
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/jobfile"
	"spanseal/internal/near"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/series"
	"spanseal/internal/source"
	"spanseal/internal/table"
	"spanseal/internal/written"
)

// Shared is what the ledgers of a job share.
type Shared struct {
	List      *diag.List
	Scheduled string         // the name of the file of the schedule
	Zone      *time.Location // of times without an offset; nil if the job names none
	ZoneSaid  *bool          // whether somebody said that it names none
	// Sheet opens the workbook of a schedule; nil after adding a problem.
	Sheet func(*source.File) *table.Worksheet
}

// Ledger is one such file, at one of its rows.
type Ledger struct {
	job     Shared
	file    *source.File
	how     *jobfile.Schedule
	t       table.Table
	heading int
	columns map[string]int
	names   []string
	further []furtherColumn
	mark    rune
	row     *table.Row
	faults  int
	texts   table.Texts

	counting map[string]series.Series // cells that count, by column; nil where the row is one link
	member   int                      // which of them is taken up
}

// Open reads a file's heading, or returns nil after adding problems.
func Open(job Shared, whole *source.File, how *jobfile.Schedule, columns *jobfile.Columns) *Ledger {
	l := &Ledger{job: job, file: whole, how: how, columns: map[string]int{}, mark: '.', texts: table.Texts{}}
	if table.KindOf(whole.Name) == "workbook" {
		t := job.Sheet(whole)
		if t == nil {
			return nil
		}
		l.t = t
	} else {
		f, _, problem := table.Decode(whole, how.Encoding)
		if problem != nil {
			problem.Fix = "save the file as CSV in UTF-8"
			if whole.Name == job.Scheduled && problem.Code == "not-utf-8" {
				problem.Fix += "; or say its encoding in job.yaml: schedule: {encoding: windows-1252}"
			}
			job.List.Add(*problem)
			return nil
		}
		l.file = f
	}
	f := l.file
	before := job.List.Errors()
	if !l.open(columns) {
		return nil
	}
	for _, want := range columns.Required {
		if alternatives := strings.Split(want, "|"); !l.hasAny(alternatives) {
			l.add(-1, diag.Problem{Code: "missing-column", Message: fmt.Sprintf("%s has no column %s", f.Name, diag.Or(alternatives)), Fix: "add the column to the heading"})
		}
	}
	if job.List.Errors() > before {
		return nil
	}
	return l
}

// open finds the delimiter and the heading: the first row that is not blank.
func (l *Ledger) open(columns *jobfile.Columns) bool {
	known := columns.Known()
	best, found := 0, false
	var tables []table.Table
	if l.t != nil {
		tables = []table.Table{l.t}
	} else {
		for _, c := range table.Delimiters {
			tables = append(tables, &table.Delimited{File: l.file, Delimiter: c})
		}
	}
	for _, t := range tables {
		filled := 0
		for r := range t.Rows() {
			if r.Blank() || r.Number < l.how.HeaderLine {
				continue
			}
			if filled++; filled > headingRows || filled > 1 && !l.how.Own && l.how.HeaderLine == 0 && found && best > 1 {
				break
			}
			hits := 0
			for _, cell := range r.Cells {
				if slices.Contains(known, l.columnNamed(cell.Text)) {
					hits++
				}
			}
			if hits > best || !found {
				best, found, l.t, l.heading = max(hits, best), true, t, r.Number
			}
			if r.Number == l.how.HeaderLine {
				break
			}
		}
	}
	if !found {
		l.job.List.Add(diag.Problem{Code: "empty-file", Place: diag.Place{File: l.file.Name}, Message: "the file is empty"})
		return false
	}
	names, harmless := near.New(slices.DeleteFunc(slices.Clone(known), func(name string) bool { return slices.Contains(columns.Names, name) })), near.New(columns.Names)
	for r := range l.t.Rows() {
		if r.Number < l.heading {
			continue
		}
		l.row = r
		for i, c := range r.Cells {
			name := l.columnNamed(c.Text)
			_, twice := l.columns[name]
			switch {
			case twice:
				l.add(i, diag.Problem{Code: "duplicate-heading", Message: fmt.Sprintf("two columns are headed %q", c.Text), Fix: "rename or remove one"})
			case slices.Contains(known, name):
				l.columns[name] = i
			case name != "" && names.To(name) != "":
				l.add(i, diag.Problem{Code: "unknown-column", Message: fmt.Sprintf("%q is not a column of %s", c.Text, l.file.Name), Want: fmt.Sprintf("did you mean %q?", names.To(name))})
			case name != "" && columns.Further && len(l.further) < maxFurther:
				l.carry(i, c.Text)
				if near := harmless.To(name); near != "" {
					l.add(i, diag.Problem{Severity: diag.Note, Code: "column-carried", Message: fmt.Sprintf("column %q is carried unchanged", c.Text), Want: fmt.Sprintf("did you mean %q?", near)})
				}
			case name != "":
				l.add(i, diag.Problem{Severity: diag.Note, Code: "column-not-read", Message: fmt.Sprintf("column %q is not read", c.Text)})
			}
			l.names = append(l.names, c.Text)
		}
		break
	}
	l.decideMark()
	return true
}

// headingRows is how many rows may stand above the heading, and it.
const headingRows = 30

// columnNamed is our name of a column of the file.
func (l *Ledger) columnNamed(text string) string {
	name := field.HeadingName(strings.TrimPrefix(text, "\ufeff"))
	if ours, ok := l.how.Columns[name]; ok {
		return ours
	}
	return name
}

// delimiter is what parts the cells, or 0 in a sheet.
func (l *Ledger) delimiter() byte {
	if d, ok := l.t.(*table.Delimited); ok {
		return d.Delimiter
	}
	return 0
}

// decideMark takes the comma where cells are not parted by commas, unless the
// numbers of the file show a point.
func (l *Ledger) decideMark() {
	if c := l.delimiter(); c == ',' || c == 0 {
		return
	}
	l.mark = ','
	for name, column := range l.columns {
		if name != "estimate_db" && field.ByName[name].Field != field.Length {
			continue
		}
		for r := range l.t.Rows() {
			if mark, _ := written.MarkIn(r.At(column)); mark == '.' && r.Number > l.heading {
				l.mark = '.'
			}
		}
	}
}

func (l *Ledger) hasAny(names []string) bool {
	for _, n := range names {
		if _, ok := l.columns[n]; ok {
			return true
		}
	}
	return false
}

// Rows yields the rows below the heading that are not blank.
func (l *Ledger) Rows() iter.Seq[record.Origin] {
	return func(yield func(record.Origin) bool) {
		o := record.Origin{File: l.file.Name, SHA256: l.file.SHA256Hex(), Size: int64(len(l.file.Raw))}
		for r := range l.t.Rows() {
			if r.Number <= l.heading || r.Blank() {
				continue
			}
			l.row, l.counting, l.member = r, nil, 0
			if i := table.Overlong(r, len(l.names)); i >= 0 { // every cell behind the cut is in the wrong column
				l.add(i, table.TooManyCells(len(r.Cells), len(l.names)))
				continue
			}
			if l.Hopeless() {
				l.job.List.Add(table.NotRead(l.file.Name, l.faults, fmt.Sprintf("what stands from %s %d on is not read", l.t.RowWord(), r.Number)))
				return
			}
			o.Row, o.Cell = r.Number, l.t.CellName(r, 0)
			if !yield(o) {
				return
			}
		}
		if p := l.t.Fault(); p != nil {
			l.job.List.Add(*p)
		}
	}
}

// table.Hopeless reports that the rest of the file need not be read.
func (l *Ledger) Hopeless() bool { return l.faults >= table.Hopeless }

// add adds a problem at a column of the current row; −1 is the row.
func (l *Ledger) add(column int, p diag.Problem) {
	if p.Severity != diag.Note {
		l.faults++
	} else if l.member > 0 {
		return // it was said of the first
	}
	if p.Place.File = l.file.Name; !l.job.List.Full(p.Severity, p.Code, l.file.Name) {
		p.Place = l.t.Place(l.row, column)
	}
	l.job.List.Add(p)
}

// Fault adds a problem at a named column.
func (l *Ledger) Fault(column, code, message, want, fix string) {
	p := diag.Problem{Code: code, Message: message, Want: want, Fix: fix}
	i, ok := l.columns[column]
	if !ok {
		i = -1
	} else {
		p.Because = []string{fmt.Sprintf("column %d is %s (heading at %s %d)", i+1, column, l.t.RowWord(), l.heading)}
	}
	l.add(i, p)
}

// Text returns an optional text.
func (l *Ledger) Text(column string) string {
	i, ok := l.columns[column]
	if !ok {
		return ""
	}
	s := l.row.At(i)
	if at := strings.IndexFunc(s, source.IsControlInName); at >= 0 {
		p := table.ControlFault("name", s, at)
		l.Fault(column, p.Code, p.Message, "", p.Fix)
		return ""
	}
	if c, counts := l.counting[column]; counts {
		return c.At(l.member)
	}
	return l.texts.Keep(s)
}

// Must returns a text that has to be there.
func (l *Ledger) Must(column, such string) string {
	s := l.Text(column)
	if i := l.columns[column]; l.row.At(i) == "" {
		l.Fault(column, "missing-cell", "this row has no "+Noun(column), "want "+such, "")
	}
	return s
}

// noun is a column as a sentence names it, without its unit.
func Noun(column string) string {
	if fu, ok := field.ByName[column]; ok {
		column = fu.Field.String()
	}
	return strings.ReplaceAll(column, "_", " ")
}

// Count returns a small whole number that has to be there.
func (l *Ledger) Count(column string) int {
	s := l.Must(column, "a whole number such as 2")
	if s == "" {
		return 0
	}
	v, ok := quantity.Whole(s)
	switch {
	case !ok:
		l.Fault(column, "not-a-number", fmt.Sprintf("%q is not a whole number", s), "want digits only, such as 2", "")
	case v > 1000:
		l.Fault(column, "out-of-range", fmt.Sprintf("%d %s cannot be", v, Noun(column)), "want at most 1000", "")
	}
	return v
}

// Number reads a decimal; ok is false after a problem or for an empty cell.
func (l *Ledger) Number(column string) (v quantity.Decimal, ok bool) {
	s := l.Text(column)
	if s == "" {
		return v, false
	}
	v, err := quantity.ParseMark(s, l.mark)
	if err != nil {
		want := "want digits with at most one decimal point, such as 312.5"
		if l.mark == ',' {
			want = "want digits with at most one decimal comma, such as 312,5"
		}
		l.Fault(column, "not-a-number", fmt.Sprintf("%q is not a number", s), want, "")
		return v, false
	}
	return v, true
}

// Time reads a time; the zero time after a problem or for an empty cell.
func (l *Ledger) Time(column string) time.Time {
	s := l.Text(column)
	if s == "" {
		return time.Time{}
	}
	w, err := written.ParseISO(s)
	if err == nil {
		var t time.Time
		if t, err = w.In(l.job.Zone); err == nil {
			return t
		}
	}
	want, fix := "want year-month-day and hour:minute, such as 2026-11-18 09:32", ""
	if err == written.ErrNoZone {
		if *l.job.ZoneSaid {
			return time.Time{}
		}
		*l.job.ZoneSaid = true
		want, fix = "the job does not say of which zone", "add time_zone to job in job.yaml, such as Europe/Dublin"
	}
	if err == written.ErrSkipped || err == written.ErrTwice {
		want, fix = err.Error(), "write the offset after the time, such as 2026-10-25 01:30 +00:00"
	}
	l.Fault(column, "not-a-time", fmt.Sprintf("%q is not a recognised time", s), want, fix)
	return time.Time{}
}

// RowWord is how a row of the file is called: line, or row in a sheet.
func (l *Ledger) RowWord() string { return l.t.RowWord() }
