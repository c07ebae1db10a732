package intake

import (
	"fmt"
	"strconv"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/mapping"
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
func (a *assembler) remember(row *table.Row, f field.Field, s *mapping.Slot, text string, v quantity.Decimal) {
	if s.Column < 0 || f == field.Length || f == field.Reference {
		return
	}
	for len(a.seen) <= s.Column {
		a.seen = append(a.seen, seen{})
	}
	c := &a.seen[s.Column]
	if c.values++; c.values == 1 {
		c.field, c.first = f, v
		c.place = a.t.Place(row, s.Column)
	} else if !c.differ && !v.Equal(c.first) {
		c.differ = true
	}
	if !a.mayCut {
		return
	}
	after := row.At(s.Column + 1)
	_, number := quantity.Whole(after)
	number = number && len(after) <= 3 && !a.isRead(s.Column+1)
	switch _, whole := quantity.Whole(strings.TrimLeft(text, "+-\u2212")); {
	case whole && number:
		if c.cut++; c.cut == 1 {
			c.text, c.after = strings.Clone(text), strings.Clone(after)
			c.firstCut = a.t.Place(row, s.Column)
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
			case field.Note, field.Event, field.Person, field.Instrument, field.Source, field.Launch, field.Software:
				continue
			}
			if a.groups[i][f].Column == column {
				return true
			}
		}
	}
	return false
}

// ConstantFrom is how many equal values of a column are asked about.
const ConstantFrom = 4

// askSeen asks about columns that may be something else than what they were
// read as.
func (a *assembler) askSeen() {
	for i := range a.seen {
		c := &a.seen[i]
		name := strconv.Itoa(i + 1)
		if i < len(a.h.Names) {
			name += fmt.Sprintf(" %q", a.h.Names[i])
		}
		switch {
		case c.cut > 0 && c.natural == 0:
			p := diag.Problem{Code: "cut-number", Place: c.firstCut,
				Message: fmt.Sprintf("%q is followed by %q, which is not read as a number. Is this %s,%s, cut in two at its decimal comma?", c.text, c.after, c.text, c.after),
				Because: []string{fmt.Sprintf("the delimiter is \",\"; so it is with %d of %d values of column %s, all of them whole numbers", c.cut, c.values, name)},
				Fix:     `export the file with another delimiter or with quotes around its cells; if the numbers are whole, set decimal: "." in its readings entry`}
			if c.whole < c.values {
				p.Because = []string{fmt.Sprintf("the delimiter is \",\"; so it is with %d of %d values of column %s", c.cut, c.values, name)}
			}
			a.r.list.Add(p)
		case c.values >= ConstantFrom && !c.differ && (c.field == field.Loss || c.field == field.Received || c.field == field.LossPerKm):
			a.r.list.Add(diag.Problem{Severity: diag.Question, Code: "constant-reading", Place: c.place,
				Message: fmt.Sprintf("all %d values of column %s are the same. Is it a limit or an allowance, not a measured value?", c.values, name),
				Fix:     "if another column holds the readings, map that one under columns in the file's readings entry"})
		}
	}
}
