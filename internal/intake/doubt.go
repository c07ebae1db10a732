package intake

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/quantity"
	"spanseal/internal/table"
)

// seen is what a column of measured values showed so far: whether it could be
// something else than what it was taken for.
type seen struct {
	field       field.Field
	first       quantity.Decimal
	values      int
	differ      bool // not all values are the first
	whole       int  // values without a fraction
	cut         int  // of those, with nothing but digits in the next column, which holds no value
	natural     int  // values with a fraction, before such digits: so these are none of theirs
	place       diag.Place
	firstCut    diag.Place
	text, after string // of the first cut
}

// remember notes a value that was read of a column.
func (a *assembler) remember(row *table.Row, f field.Field, s *slot, text string, v quantity.Decimal) {
	if s.column < 0 || f == field.Length || f == field.Reference {
		return
	}
	for len(a.seen) <= s.column {
		a.seen = append(a.seen, seen{})
	}
	c := &a.seen[s.column]
	if c.values++; c.values == 1 {
		c.field, c.first = f, v
		c.place = a.t.Place(row, s.column)
	} else if !c.differ && !v.Equal(c.first) {
		c.differ = true
	}
	if !a.mayCut {
		return
	}
	after := row.At(s.column + 1)
	_, number := quantity.Whole(after)
	number = number && len(after) <= 3 && !a.isRead(s.column+1)
	switch _, whole := quantity.Whole(strings.TrimLeft(text, "+-\u2212")); {
	case whole && number:
		if c.cut++; c.cut == 1 {
			c.text, c.after = strings.Clone(text), strings.Clone(after)
			c.firstCut = a.t.Place(row, s.column)
		}
		fallthrough
	case whole:
		c.whole++
	case number:
		c.natural++
	}
}

// isRead reports that a column gives a number or what a link goes by: what a cut number
// leaves behind would have been refused there.
func (a *assembler) isRead(column int) bool {
	for i := range a.groups {
		for f := field.Link; f < field.Count; f++ {
			switch f {
			case field.Note, field.Event, field.Person, field.Instrument, field.Source:
				continue
			}
			if a.groups[i][f].column == column {
				return true
			}
		}
	}
	return false
}

// constantFrom is how many equal values of a column are asked about.
const constantFrom = 4

// askSeen asks about columns that may be something else than what they were
// read as.
func (a *assembler) askSeen() {
	for i := range a.seen {
		c := &a.seen[i]
		name := strconv.Itoa(i + 1)
		if i < len(a.h.names) {
			name += fmt.Sprintf(" %q", a.h.names[i])
		}
		switch {
		case c.cut > 0 && c.natural == 0:
			p := diag.Problem{Code: "cut-number", Place: c.firstCut,
				Message: fmt.Sprintf("%q is followed by %q, which is read as no number: is this %s,%s, cut in two at its decimal comma?", c.text, c.after, c.text, c.after),
				Because: []string{fmt.Sprintf("the delimiter is \",\"; so it is with %d of %d values of column %s, all of them whole numbers", c.cut, c.values, name)},
				Mend:    `export the file with another delimiter or with quotes around its cells; if the numbers are whole, say decimal: "." in its entry of readings`}
			if c.whole < c.values {
				p.Because = []string{fmt.Sprintf("the delimiter is \",\"; so it is with %d of %d values of column %s", c.cut, c.values, name)}
			}
			a.r.list.Add(p)
		case c.values >= constantFrom && !c.differ && (c.field == field.Loss || c.field == field.Received || c.field == field.LossPerKm):
			a.r.list.Add(diag.Problem{Severity: diag.Question, Code: "constant-reading", Place: c.place,
				Message: fmt.Sprintf("all %d values of column %s are the same: is it a limit or an allowance, and not what was measured?", c.values, name),
				Mend:    "if another column holds the readings, map that one under columns in the file's entry of readings"})
		}
	}
}

// askHeadings asks about columns that are read as measured though their heading
// speaks of a limit or of what somebody worked out.
func (b *binder) askHeadings() {
	asked := map[int]bool{}
	for i := range b.h.groups {
		for f := field.Loss; f < field.Count; f++ {
			column := b.h.groups[i][f].column
			if column < 0 || column >= len(b.h.names) || asked[column] || f == field.Reference {
				continue
			}
			asked[column] = true
			name := b.h.names[column]
			word := strings.Trim(field.WorkedOut.FindString(field.Joined.Replace(name)), " ()[].,:;/-_")
			if word == "" || field.FromHeading(name).Field != field.None {
				continue
			}
			b.list.Add(diag.Problem{Severity: diag.Question, Code: "limit-as-reading", Place: b.place(column),
				Message: fmt.Sprintf("column %d %q is read as a measured %s: is %q not a limit, or something worked out?", column+1, name, f.Noun(), word),
				Mend:    "if it is, map the column that holds what was measured"})
		}
	}
}

// unreadNote lists the columns that are not read, once a table.
func (b *binder) unreadNote() {
	if len(b.h.unread) == 0 {
		return
	}
	var names []string
	for _, i := range diag.First(b.h.unread, 12) {
		names = append(names, fmt.Sprintf("%d %q", i+1, b.h.names[i]))
	}
	if more := len(b.h.unread) - len(names); more > 0 {
		names = append(names, fmt.Sprintf("and %d more", more))
	}
	verb := "are"
	if len(b.h.unread) == 1 {
		verb = "is"
	}
	place := b.place(slices.Min(b.h.unread))
	b.list.Add(diag.Problem{Severity: diag.Note, Code: "column-not-read", Place: place,
		Message: fmt.Sprintf("%s of this file %s not read: %s", diag.Plural(len(b.h.unread), "column"), verb, strings.Join(names, ", "))})
}
