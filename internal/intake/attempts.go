package intake

import (
	"fmt"
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/mapping"
	"spanseal/internal/record"
	"spanseal/internal/table"
	"spanseal/internal/written"
)

// attempt is a row that names a link and gives no number for it: a text that
// the mapping lists under not_measured, or an empty cell beside a time. After a
// reading of the same it is no absence but a doubt: something was measured
// again, and what came out is not there. There may be millions, so it is small.
type attempt struct {
	link, account, row int32
	line, column       int32
	wavelength         int32
	field              field.Field
	direction          record.Direction
	event, text        string // text is "" for an empty cell
	sheet              string // of the cell, in workbooks
	beside             bool   // its row gave other readings
	at                 time.Time
}

// of is what readings and attempts are of.
type of struct {
	link       int32
	quantity   record.Quantity
	wavelength int
	direction  record.Direction
	event      string
}

// tryAgain remembers what a group gave no number for.
func (a *assembler) tryAgain(row *table.Row, g *mapping.ReadingSlots, f field.Field, text string, index int32) {
	if f == field.Reference || f == field.Length {
		return
	}
	t := attempt{link: index, account: int32(a.index), row: int32(a.account.Rows), line: int32(row.Number), column: int32(g[f].Column), field: f, text: a.keep(text), event: a.keep(a.text(row, &g[field.Event]))}
	nm, ok := a.nanometres(a.text(row, &g[field.Wavelength]), &g[field.Wavelength])
	if !ok {
		return
	}
	t.wavelength = int32(nm)
	for _, way := range []field.Field{field.Direction, field.End} {
		if text := a.text(row, &g[way]); text != "" && t.direction == "" {
			t.direction, _ = written.Direction(way, text, a.m.Directions)
		}
	}
	t.at = a.quietTime(row, g)
	if text == "" && t.at.IsZero() {
		return // nobody says that it was measured
	}
	if s := table.SheetIn(a.t); s != nil {
		t.sheet = s.Name
	}
	a.pending = append(a.pending, t)
}

// quietTime is the row's time where it can be read.
func (a *assembler) quietTime(row *table.Row, g *mapping.ReadingSlots) time.Time {
	s, text, day := &g[field.Time], a.text(row, &g[field.Time]), a.text(row, &g[field.Date])
	switch {
	case s.Column < 0 && g[field.Date].Column < 0:
		return time.Time{} // of the file, and so of no row
	case day == "":
	case text == "":
		s, text, day = &g[field.Date], day, ""
	case g[field.Date].Mark == 0 || s.Mark != 0:
		text, day = day+" "+text, ""
	}
	if text == "" {
		return time.Time{}
	}
	w, err := a.wallTime(text, day, s.Mark != 0)
	if err != nil {
		return time.Time{}
	}
	t, err := a.instant(w)
	if err != nil {
		return time.Time{}
	}
	return t
}

// keepAttempts ends a row: an empty cell beside others that hold a number was
// not tried.
func (a *assembler) keepAttempts(gave bool) {
	for _, t := range a.pending {
		if a.r.survey { // which asks for the names of links alone
			a.r.tried[t.link] = true
			continue
		}
		if t.beside = gave; t.text != "" || !gave {
			a.r.attempts = append(a.r.attempts, t)
		}
	}
	a.pending = a.pending[:0]
}

// settleAttempts refuses a reading that counts although a later row of the same
// has no number.
func (r *reader) settleAttempts() {
	if len(r.attempts) == 0 {
		return
	}
	tried := map[of]int32{} // the last attempt
	for i := range r.attempts {
		t := &r.attempts[i]
		q := field.QuantityOf[t.field]
		if q == "" {
			q = record.InsertionLoss
		}
		tried[of{link: t.link, quantity: q, wavelength: int(t.wavelength), direction: t.direction, event: t.event}] = int32(i)
	}
	for i := range r.facts.Readings {
		x := &r.facts.Readings[i]
		if x.Fate != record.Used {
			continue
		}
		n, ok := tried[of{link: r.found[i].link, quantity: x.Quantity, wavelength: x.WavelengthNM, direction: x.Direction, event: x.Event}]
		if !ok {
			continue
		}
		t, f := &r.attempts[n], &r.found[i]
		together := t.account == f.account
		later, known := together && t.row > f.row, together
		if !t.at.IsZero() && !x.Time.IsZero() && !(together && f.ordered) {
			switch {
			case x.Time.Before(t.at) && !(record.DayOnly(x.Time) && record.Latest(x.Time).After(t.at)):
				later, known = true, true
			case t.at.Before(x.Time) && !(record.DayOnly(t.at) && record.Latest(t.at).After(x.Time)):
				later, known = false, true
			}
		}
		if known && !later || !known && t.text == "" {
			continue
		}
		what := fmt.Sprintf("%s %s", x.Link, x.Subject())
		has := fmt.Sprintf("%q", t.text)
		if t.text == "" {
			has = "an empty cell"
		}
		p := diag.Problem{Code: "no-number-later", Place: r.placeOfAttempt(t),
			Message: fmt.Sprintf("%s has %s here, and %s dB before: what did the later measurement show?", what, has, x.Value),
			Because: []string{"the earlier reading is at " + x.Origin.Where() + ", and would count"},
			Fix:     "measure the link again; if the text means beyond the range, list it under over_range; if nothing was measured here, leave the row out under ignore_rows"}
		if !known {
			p.Severity, p.Message = diag.Question, fmt.Sprintf("%s has %s here, and %s dB elsewhere, and no times tell which is later", what, has, x.Value)
			p.Because = []string{"the reading at " + x.Origin.Where() + " counts"}
		}
		if known && t.beside { // meters write so of what they were not asked for
			p.Severity = diag.Question
		}
		r.list.Add(p)
	}
}

// placeOfAttempt is the place of the cell without a number.
func (r *reader) placeOfAttempt(t *attempt) diag.Place {
	o := record.Origin{File: r.accountFile(t.account), Row: int(t.line)}
	if t.sheet != "" {
		o.Cell = table.CellIn(t.sheet, int(t.line), int(t.column))
		return r.placeOf(o)
	}
	p := r.placeOf(o)
	p.Column = 0
	return p
}

func (r *reader) accountFile(i int32) string {
	if int(i) < len(r.facts.Accounts) {
		return r.facts.Accounts[i].File
	}
	return ""
}
