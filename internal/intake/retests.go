package intake

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/record"
)

// settle decides which of several readings of one link, quantity, wavelength,
// direction and event counts: the latest. The earlier ones are kept as
// superseded. Where two have no time, or the same time and different values,
// nothing in the files says which is later, and that is asked.
func (r *reader) settle() {
	// Sort by link in one pass, counting; what is left to compare is small.
	starts := make([]int32, len(r.facts.Links)+1)
	for i := range r.found {
		starts[r.found[i].link]++
	}
	sum := int32(0)
	for l, n := range starts {
		starts[l], sum = sum, sum+n
	}
	byLink := make([]int32, len(r.found))
	for i := range r.found {
		at := &starts[r.found[i].link]
		byLink[*at] = int32(i)
		*at++ // ends as the start of the next link
	}
	from := int32(0)
	for l := range r.facts.Links {
		r.settleLink(byLink[from:starts[l]])
		r.besideOthers(byLink[from:starts[l]])
		from = starts[l]
	}
	r.settleAttempts()
	r.settleAccounts()
}

// settleLink finds the readings of one link that are of the same thing.
func (r *reader) settleLink(of []int32) {
	all := r.facts.Readings
	same := func(i, j int32) int {
		a, b := &all[i], &all[j]
		return cmp.Or(cmp.Compare(a.WavelengthNM, b.WavelengthNM), cmp.Compare(a.Direction, b.Direction),
			cmp.Compare(a.Quantity, b.Quantity), cmp.Compare(a.Event, b.Event), cmp.Compare(r.stageOf(a), r.stageOf(b)))
	}
	slices.SortStableFunc(of, same)
	for i := 0; i < len(of); {
		n := i + 1
		for n < len(of) && same(of[i], of[n]) == 0 {
			n++
		}
		if n > i+1 {
			r.settleGroup(of[i:n])
		}
		i = n
	}
}

// stageOf is the stage of a reading, "" where it is that of the paper.
func (r *reader) stageOf(of *record.Reading) record.Stage {
	if of.Method == nil {
		return ""
	}
	return of.Method.Stage
}

// besideOthers tells the readings of other stages from those at the stage of the paper:
// stages do not supersede one another.
func (r *reader) besideOthers(of []int32) {
	for _, i := range of {
		if one := &r.facts.Readings[i]; r.stageOf(one) != "" && one.Fate == record.Used {
			one.Fate = record.OtherStage
		}
	}
}

// settleGroup orders the readings of one thing and marks all but the last.
func (r *reader) settleGroup(g []int32) {
	all := r.facts.Readings
	inOneFile := func(i, j int32) bool {
		return r.found[i].account == r.found[j].account && r.found[i].ordered
	}
	slices.SortStableFunc(g, func(i, j int32) int { return all[i].Time.Compare(all[j].Time) })
	for n := 1; n < len(g); n++ {
		a, b := &all[g[n-1]], &all[g[n]]
		a.Fate = record.Superseded
		if p := r.order(a, b, inOneFile(g[n-1], g[n])); p != nil {
			if p.Severity == diag.Error && r.found[g[n-1]].event && r.found[g[n]].event {
				p.Because = append(p.Because, "both rows name an event: the loss of one event is mapped as splice_loss_db, and loss_db is the whole link's")
			}
			r.list.Add(*p)
		}
	}
}

// order says what is wrong with taking b for the later of two readings of one
// thing, or nil. byRow: both are rows of one file that stand in order.
func (r *reader) order(a, b *record.Reading, byRow bool) *diag.Problem {
	what := strings.TrimSpace(strings.ReplaceAll(string(b.Quantity), "_", " ") + " " + b.Subject())
	switch {
	case byRow:
		return nil
	case a.Time.IsZero() || b.Time.IsZero():
		untimed, other := a, b
		if !a.Time.IsZero() {
			untimed, other = b, a
		}
		return &diag.Problem{Code: "which-is-later", Place: r.placeOf(untimed.Origin),
			Message: fmt.Sprintf("%s has two readings of %s, and this one has no time", b.Link, what),
			Because: []string{"the other is at " + other.Origin.Where()},
			Fix:     "map a time or a date, give the file one (date: 2026-11-18), or set in_row_order: true if later rows were measured later"}
	case record.Latest(a.Time).Before(b.Time), a.Time.Before(b.Time) && !record.DayOnly(a.Time):
		return nil
	case a.Value.Equal(b.Value):
		return &diag.Problem{Severity: diag.Question, Code: "same-reading-twice", Place: r.placeOf(b.Origin),
			Message: fmt.Sprintf("%s has the same reading of %s twice; one is counted", b.Link, what),
			Because: []string{"the other is at " + a.Origin.Where()}}
	}
	p := &diag.Problem{Code: "which-is-later", Place: r.placeOf(b.Origin),
		Message: fmt.Sprintf("%s has two different readings of %s at the same time, %s", b.Link, what, b.Time.Format(time.DateTime)),
		Because: []string{"the other is at " + a.Origin.Where()},
		Fix:     "set in_row_order: true if later rows were measured later; otherwise leave the wrong row out under ignore_rows"}
	if record.DayOnly(a.Time) {
		p.Message = fmt.Sprintf("%s has two different readings of %s on one day, %s, and no hour tells which is later", b.Link, what, a.Time.Format(time.DateOnly))
		p.Fix = "map the hour too, or set in_row_order: true if later rows were measured later"
	}
	return p
}

// settleAccounts counts rows as used or superseded: used where at least one of
// their readings counts.
func (r *reader) settleAccounts() {
	for i := 0; i < len(r.found); {
		at := r.found[i]
		used := false
		for i < len(r.found) && r.found[i].account == at.account && r.found[i].row == at.row {
			used = used || r.facts.Readings[i].Fate != record.Superseded
			i++
		}
		if account := &r.facts.Accounts[at.account]; used {
			account.Used++
		} else {
			account.Superseded++
		}
	}
}

// placeOf turns an origin back into a place with its line's text.
func (r *reader) placeOf(o record.Origin) diag.Place {
	if o.Cell != "" {
		return diag.Place{File: o.File, Cell: o.Cell}
	}
	if f := r.sources[o.File]; f != nil {
		return diag.AtLine(f, sourcePosition(o), 1)
	}
	return diag.Place{File: o.File, Line: o.Row, Column: o.Column}
}
