package intake

import (
	"fmt"
	"slices"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/method"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/table"
)

// Columns of an export that are not read may still contradict what will be
// signed: the instrument's own verdict, limit and margin, the reference method
// and the cords. The job decides; the difference is asked about.

// sayings are the unread columns of a table that say something of their own, and
// the contradictions that were found.
type sayings struct {
	columns []int
	kinds   []field.Says
	found   [field.SaysCount]contradiction
}

type contradiction struct {
	rows  int
	own   bool // the row itself says both
	place diag.Place
	text  string // of the first
	loss  string // beside it

	method record.Method // otherwise said
}

// listen looks for such columns among those that are not read.
func (a *assembler) listen() {
	for _, i := range a.h.Unread {
		name := field.Joined.Replace(a.h.Names[i])
		if field.UnitColumn.MatchString(name) {
			a.unitColumns = append(a.unitColumns, i)
		}
		kind := field.SaysOf(name)
		if kind == field.SaysNothing {
			continue
		}
		a.says.columns, a.says.kinds = append(a.says.columns, i), append(a.says.kinds, kind)
	}
}

// heard holds a row that gave readings against what else it says.
func (a *assembler) heard(row *table.Row, given []record.Reading) {
	for k, column := range a.says.columns {
		text := row.At(column)
		if text == "" {
			continue
		}
		kind, against, loss := a.says.kinds[k], false, ""
		switch kind {
		case field.SaysVerdict:
			against = field.Failed.MatchString(text)
		case field.SaysMargin:
			v, err := a.number(text, a.mark, quantity.DB)
			against = err == nil && v.Sign() < 0
		case field.SaysLimit:
			against, loss = a.aboveLimit(text, a.h.Names[column], given)
		case field.SaysMethod, field.SaysCords:
			against = method.Contradicts(text, kind == field.SaysCords, a.r.facts.Job.Policy.MethodOf(&given[0]))
		}
		if !against {
			continue
		}
		c := &a.says.found[kind]
		if c.rows++; c.rows == 1 {
			c.place, c.text, c.loss = a.t.Place(row, column), strings.Clone(text), loss
			c.method = a.r.facts.Job.Policy.MethodOf(&given[0])
			c.own = kind == field.SaysMethod && a.hasOwn(row, field.ReferenceMethod) || kind == field.SaysCords && (a.hasOwn(row, field.TestCords) || a.hasOwn(row, field.ReferenceMethod))
		}
	}
}

// aboveLimit reports that a loss of the row is above the limit that the row gives.
func (a *assembler) aboveLimit(text, heading string, given []record.Reading) (bool, string) {
	limit, err := a.number(text, a.mark, quantity.DB)
	if err != nil || limit.Sign() <= 0 {
		return false, ""
	}
	if unit, ok := field.HeadingUnit(heading); ok && unit != quantity.DB {
		return false, ""
	}
	for i := range given {
		if r := &given[i]; r.Quantity == record.InsertionLoss && limit.Less(r.Value) {
			return true, r.Value.String()
		}
	}
	return false, ""
}

// askSayings asks about each kind of contradiction once a table.
func (a *assembler) askSayings() {
	for kind := field.SaysVerdict; kind < field.SaysCount; kind++ {
		c := &a.says.found[kind]
		if c.rows == 0 {
			continue
		}
		rows := diag.Plural(c.rows, "row")
		var message, fix string
		switch kind {
		case field.SaysVerdict:
			message = fmt.Sprintf("the file itself says %q in %s, and the job judges by its own limits: which is right?", c.text, rows)
			fix = "compare the limit that the instrument was set to with spanseal explain JOB LINK"
		case field.SaysMargin:
			message = fmt.Sprintf("the file itself gives a negative margin, %s, in %s, and the job judges by its own limits: which limit is right?", c.text, rows)
			fix = "compare the limit that the instrument was set to with spanseal explain JOB LINK"
		case field.SaysLimit:
			message = fmt.Sprintf("the file itself gives a limit of %s for a loss of %s, in %s, but the job judges by its own limits: which limit is right?", c.text, c.loss, rows)
			fix = "compare the limit that the instrument was set to with spanseal explain JOB LINK"
		case field.SaysMethod, field.SaysCords:
			said, p := "job.yaml says", &a.r.facts.Job.Policy
			switch {
			case c.own:
				said = "another column says"
			case c.method.Key() != p.Method().Key():
				said = "the file, its mapping or the link says"
			}
			message = fmt.Sprintf("the file says %q in %s, and %s reference: %s: which was it?", c.text, rows, said, c.method.Reference)
			fix = "correct reference under judge in job.yaml, or look how the instrument was set"
			if kind == field.SaysCords {
				message = fmt.Sprintf("the file says %q in %s, and %s reference: %s and test_cords: %s: which was it?", c.text, rows, said, c.method.Reference, c.method.TestCords)
				fix = "correct reference or test_cords under judge in job.yaml, or look which cords were used"
			}
			if said != "job.yaml says" {
				fix = "say what is right where it is wrong: in the mapping of the file, or in " + a.r.scheduled
			}
		}
		if c.own {
			a.r.list.Add(diag.Problem{Code: "method-contradicts", Place: c.place, Message: message, Fix: "name the column that counts under columns in the file's readings entry, or leave the rows out under ignore_rows"})
			continue
		}
		a.r.list.Add(diag.Problem{Severity: diag.Question, Code: "file-contradicts", Place: c.place, Message: message, Fix: fix})
	}
}

// saysAbove looks for the reference method in a row above the table, such as
// "Reference method: 2 jumper".
func (a *assembler) saysAbove(row *table.Row) {
	if a.says.found[field.SaysMethod].rows > 0 || !field.SpeaksOfMethod(row.Joined()) {
		return
	}
	text := row.Joined()
	if m := a.fileMethod(); method.Contradicts(text, false, m) {
		column := slices.IndexFunc(row.Cells, func(c table.Cell) bool { return c.Text != "" })
		a.says.found[field.SaysMethod] = contradiction{rows: 1, place: a.t.Place(row, max(column, 0)), text: text, method: m}
	}
}

// otherUnit complains of a row whose own column of units names one in which none
// of its numbers is read.
func (a *assembler) otherUnit(row *table.Row) {
	for _, column := range a.unitColumns {
		text := row.At(column)
		unit, known := field.UnitNamed(text)
		if !known && !field.OtherUnits.MatchString(text) {
			continue
		}
		read, want := false, []string(nil)
		for i := range a.groups {
			for f := field.Loss; f < field.Count; f++ {
				if s := &a.groups[i][f]; s.Column >= 0 && row.At(s.Column) != "" {
					read = read || known && s.Unit == unit
					if name := (field.InUnit{Field: f, Unit: s.Unit}).Name(); !slices.Contains(want, name) {
						want = append(want, name)
					}
				}
			}
		}
		if !read && len(want) > 0 {
			a.fault(row, column, diag.Problem{Code: "unknown-unit", Message: fmt.Sprintf("the unit of this row is %s, but its numbers are read as %s", text, diag.Or(want)),
				Fix: leaveOut})
		}
	}
}
