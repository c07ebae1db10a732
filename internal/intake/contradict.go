package intake

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/table"
)

// Columns of an export that are not read may still contradict what will be
// signed: the instrument's own verdict, limit and margin, the reference method
// and the cords. The job decides; the difference is asked about.

var (
	ofVerdict = regexp.MustCompile(`(?i)(?:^|[^\pL])(?:result|verdict|status|pass ?/ ?fail|p ?/ ?f|pass|bewertung|ergebnis|résultat|resultado|judg(?:e)?ment)(?:$|[^\pL])`)
	ofLimit   = regexp.MustCompile(`(?i)(?:^|[^\pL])(?:limits?|allowances?|budgets?|thresholds?|max(?:imum)?|grenzwert|limite|límite)(?:$|[^\pL])`)
	ofMargin  = regexp.MustCompile(`(?i)(?:^|[^\pL])(?:margin|headroom|reserve|marge|margen)(?:$|[^\pL])`)
	ofMethod  = regexp.MustCompile(`(?i)(?:^|[^\pL])(?:ref(?:erence)? ?method|reference|ref|test ?method|method|methode|méthode|método|referenzmethode)(?:$|[^\pL])`)
	ofCords   = regexp.MustCompile(`(?i)(?:^|[^\pL])(?:test ?cords?|ref(?:erence)? ?cords?|cords?|jumpers?|patch ?cords?|launch|prüfschnur|messkabel)(?:$|[^\pL])`)
	failed    = regexp.MustCompile(`(?i)^(?:\*?fail(?:ed|ure)?\*?|f|nok|not ok|n\.?i\.?o\.?|no|bad|échec|fallo|nicht bestanden|rejected?|✗|✘|x)$`)

	methodWords = regexp.MustCompile(`(?i)(?:^|[^\pL\d])(one|1|two|2|three|3)[- ]?(?:test[- ]?)?(?:reference[- ]?)?(?:cord|jumper|patch ?cord|lead|cable)s?(?:$|[^\pL])`)
	cordWords   = regexp.MustCompile(`(?i)(?:^|[^\pL])(reference|standard|normal)(?:[- ]?grade)?(?:$|[^\pL])`)
)

// methodIn reads a reference method by the number of its cords, as IEC 61280-4-1
// names them.
func methodIn(text string) (record.ReferenceMethod, bool) {
	m := methodWords.FindStringSubmatch(text)
	if m == nil {
		return "", false
	}
	switch strings.ToLower(m[1]) {
	case "one", "1":
		return record.OneCord, true
	case "two", "2":
		return record.TwoCord, true
	}
	return record.ThreeCord, true
}

func cordsIn(text string) (record.TestCords, bool) {
	m := cordWords.FindStringSubmatch(text)
	switch {
	case m == nil:
		return "", false
	case strings.EqualFold(m[1], "reference"):
		return record.ReferenceCords, true
	}
	return record.StandardCords, true
}

// against is what an unread column can contradict.
type against int

const (
	againstNothing against = iota
	againstVerdict
	againstLimit
	againstMargin
	againstMethod
	againstCords
	againstCount
)

// sayings are the unread columns of a table that say something of their own, and
// the contradictions that were found.
type sayings struct {
	columns []int
	kinds   []against
	found   [againstCount]contradiction
}

type contradiction struct {
	rows  int
	place diag.Place
	text  string // of the first
	loss  string // beside it
}

// listen looks for such columns among those that are not read.
func (a *assembler) listen() {
	for _, i := range a.h.Unread {
		name := field.Joined.Replace(a.h.Names[i])
		if ofUnit.MatchString(name) {
			a.unitColumns = append(a.unitColumns, i)
		}
		kind := againstNothing
		switch {
		case ofCords.MatchString(name):
			kind = againstCords
		case ofMargin.MatchString(name):
			kind = againstMargin
		case ofLimit.MatchString(name):
			kind = againstLimit
		case ofVerdict.MatchString(name):
			kind = againstVerdict
		case ofMethod.MatchString(name):
			kind = againstMethod
		default:
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
		case againstVerdict:
			against = failed.MatchString(text)
		case againstMargin:
			v, err := a.number(text, a.mark, quantity.DB)
			against = err == nil && v.Sign() < 0
		case againstLimit:
			against, loss = a.aboveLimit(text, a.h.Names[column], given)
		case againstMethod, againstCords:
			against = a.contradictsJob(kind, text)
		}
		if !against {
			continue
		}
		c := &a.says.found[kind]
		if c.rows++; c.rows == 1 {
			c.place, c.text, c.loss = a.t.Place(row, column), strings.Clone(text), loss
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

func (a *assembler) contradictsJob(kind against, text string) bool {
	p := &a.r.facts.Job.Policy
	method, saysMethod := methodIn(text)
	cords, saysCords := cordsIn(text)
	return saysMethod && p.Reference != "" && method != p.Reference || kind == againstCords && saysCords && p.TestCords != "" && cords != p.TestCords
}

// askSayings asks about each kind of contradiction once a table.
func (a *assembler) askSayings() {
	p := &a.r.facts.Job.Policy
	for kind := againstVerdict; kind < againstCount; kind++ {
		c := &a.says.found[kind]
		if c.rows == 0 {
			continue
		}
		rows := diag.Plural(c.rows, "row")
		var message, fix string
		switch kind {
		case againstVerdict:
			message = fmt.Sprintf("the file itself says %q in %s, and the job judges by its own limits: which is right?", c.text, rows)
			fix = "compare the limit that the instrument was set to with spanseal explain JOB LINK"
		case againstMargin:
			message = fmt.Sprintf("the file itself gives a negative margin, %s, in %s, and the job judges by its own limits: which limit is right?", c.text, rows)
			fix = "compare the limit that the instrument was set to with spanseal explain JOB LINK"
		case againstLimit:
			message = fmt.Sprintf("the file itself gives a limit of %s where the loss is %s, in %s, and the job judges by its own limits: which limit is right?", c.text, c.loss, rows)
			fix = "compare the limit that the instrument was set to with spanseal explain JOB LINK"
		case againstMethod:
			message = fmt.Sprintf("the file says %q in %s, and job.yaml says reference: %s: which was it?", c.text, rows, p.Reference)
			fix = "correct reference under judge in job.yaml, or look how the instrument was set"
		case againstCords:
			message = fmt.Sprintf("the file says %q in %s, and job.yaml says reference: %s and test_cords: %s: which was it?", c.text, rows, p.Reference, p.TestCords)
			fix = "correct reference or test_cords under judge in job.yaml, or look which cords were used"
		}
		a.r.list.Add(diag.Problem{Severity: diag.Question, Code: "file-contradicts", Place: c.place, Message: message, Fix: fix})
	}
}

// saysAbove looks for the reference method in a row above the table, such as
// "Reference method: 2 jumper".
func (a *assembler) saysAbove(row *table.Row) {
	if a.says.found[againstMethod].rows > 0 || !ofMethod.MatchString(row.Joined()) && !ofCords.MatchString(row.Joined()) {
		return
	}
	text := row.Joined()
	if a.contradictsJob(againstMethod, text) {
		column := slices.IndexFunc(row.Cells, func(c table.Cell) bool { return c.Text != "" })
		a.says.found[againstMethod] = contradiction{rows: 1, place: a.t.Place(row, max(column, 0)), text: text}
	}
}

// ofUnit heads columns that give the unit of each row's number.
var ofUnit = regexp.MustCompile(`(?i)^(?:units?|uom|einheit(?:en)?|unités?|unidad(?:es)?)$`)

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
			a.fault(row, column, diag.Problem{Code: "unknown-unit", Message: fmt.Sprintf("the unit of this row is %s, and its numbers are read as %s", text, diag.Or(want)),
				Fix: leaveOut})
		}
	}
}
