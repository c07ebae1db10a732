package form

import (
	"encoding/json"
	"errors"
	"fmt"
	"slices"

	"spanseal/internal/billing"
	"spanseal/internal/record"
	"spanseal/internal/wording"
)

// Earlier is what an earlier revision states of the pay items: the one that was billed
// last, or, if nobody says which that was, the revision before.
type Earlier struct {
	Revision  int
	Items     []ResultPayItem
	Statement *ResultStatement // nil: all of it follows from items and terms
	Terms     AboutPay
}

// ReadEarlier reads members of a results.json, each of which may be missing: pay_items,
// statement and about. Nil: it states nothing of pay items.
func ReadEarlier(revision int, items, statement, about json.RawMessage) (*Earlier, error) {
	if items == nil {
		return nil, nil
	}
	e := &Earlier{Revision: revision}
	if err := json.Unmarshal(items, &e.Items); err != nil {
		return nil, err
	}
	if about != nil {
		var of struct {
			Pay AboutPay `json:"pay"`
		}
		if err := json.Unmarshal(about, &of); err != nil {
			return nil, err
		}
		e.Terms = of.Pay
	}
	if statement == nil {
		return e, nil
	}
	if err := json.Unmarshal(statement, &e.Statement); err != nil || e.Statement == nil { // null
		return e, err
	}
	s := e.Statement
	if !s.Before.Exact() || !s.ToDate.Exact() {
		return nil, errors.New("what is held or released is no amount to the cent")
	}
	for k, i := range e.Items {
		if len(s.Before.Items) != len(e.Items) || len(s.ToDate.Items) != len(e.Items) || billing.Quantity(s.ToDate.Items[k]) != i.Accepted || i.Before == nil || billing.Quantity(s.Before.Items[k]) != *i.Before {
			return nil, fmt.Errorf("the parts of pay item %d are not what is accepted of it", k+1)
		}
	}
	return e, nil
}

// ResultStatement is what the statement of a revision claims, where that does not follow
// from the pay items and their rates alone.
type ResultStatement struct {
	// Follows is the revision whose statement was billed last; 0: none.
	Follows int `json:"follows,omitempty"`
	// Total is that of the lines, of which Held is held back; Released is paid out of
	// what is held.
	Total    billing.Sums     `json:"total"`
	Held     billing.Sums     `json:"held"`
	Released billing.Sums     `json:"released"`
	Payable  billing.Sums     `json:"payable"`
	Before   billing.Standing `json:"before"`
	ToDate   billing.Standing `json:"to_date"`
}

// follows is the revision whose statement this one counts from; 0: none.
func (w *Writer) follows(repeats bool) int {
	switch billed := w.Facts.Job.Pay.Billed; {
	case billed != nil:
		return *billed
	case w.Earlier == nil:
		return 0
	case !repeats:
		return w.Earlier.Revision
	case w.Earlier.Statement != nil:
		return w.Earlier.Statement.Follows
	}
	return 0
}

// resultStatement is nil where nothing need be said.
func (w *Writer) resultStatement() *ResultStatement {
	c := w.count()
	if len(c.items) == 0 || c.statement.Plain() {
		return nil
	}
	b := c.statement
	for _, state := range []*billing.Standing{&b.Before, &b.ToDate} {
		for k := range state.Items {
			if state.Items[k] == nil {
				state.Items[k] = []billing.Part{} // an empty list, not null
			}
		}
	}
	return &ResultStatement{Follows: w.follows(c.repeats), Total: b.Total, Held: b.Held, Released: b.Released, Payable: b.Payable, Before: b.Before, ToDate: b.ToDate}
}

// payItems are the items with what is accepted of them to date, and before.
func (w *Writer) payItems() []ResultPayItem {
	var items []ResultPayItem
	for k, q := range w.Quantities() {
		i := &w.Facts.Job.Pay.Items[k]
		items = append(items, ResultPayItem{Line: i.Line, Unit: i.Unit, Fibre: i.Fibre, Cable: i.Cable, Accepted: q.Accepted, Before: &q.Before})
	}
	return items
}

// followed is the state that the statement counts from, its items those of the order, and
// whether the statement repeats the one before. What is counted of them has what stands
// on certified links of the revision before, for items that no statement has.
func (w *Writer) followed(of []Quantities) (from billing.Standing, repeats bool) {
	pay, e := &w.Facts.Job.Pay, w.Earlier
	at := w.earlierItems()
	repeats = pay.Billed == nil && len(pay.Items) > 0
	for i, q := range of {
		repeats = repeats && at[i] >= 0 && e.Items[at[i]].Accepted == q.Accepted && e.Items[at[i]].Before != nil
	}
	var was billing.Standing
	if e != nil {
		was = w.stateOf(e, at, repeats)
	} else { // what stood on certified links was held back of as it is now
		before := make([]int, len(of))
		for i, q := range of {
			before[i] = q.Before
		}
		was = billing.Of(&record.Pay{Retainage: pay.Retainage, Items: pay.Items}, billing.Standing{}, before).ToDate
	}
	from = billing.Standing{Period: was.Period, Held: was.Held, Releases: was.Releases}
	for i, q := range of {
		var parts []billing.Part
		switch {
		case at[i] >= 0:
			parts = was.Items[at[i]]
		case q.Before != 0:
			parts = billing.Of(&record.Pay{Items: pay.Items[i : i+1]}, billing.Standing{}, []int{q.Before}).ToDate.Items[0]
		}
		from.Items = append(from.Items, parts)
	}
	return from, repeats
}

// earlierItems are the places of the items of the order among those of the earlier
// statement, -1 for none. Of several that are alike the first is the first.
func (w *Writer) earlierItems() []int {
	var taken []int
	at := make([]int, len(w.Facts.Job.Pay.Items))
	for i := range w.Facts.Job.Pay.Items {
		at[i] = -1
		if w.Earlier == nil {
			continue
		}
		for k := range w.Earlier.Items {
			if w.Earlier.Items[k].of(&w.Facts.Job.Pay.Items[i]) && !slices.Contains(taken, k) {
				at[i], taken = k, append(taken, k)
				break
			}
		}
	}
	return at
}

// gone are the items that were billed and that the order has no longer.
func (w *Writer) gone() (gone []ResultPayItem) {
	if w.Earlier == nil {
		return nil
	}
	at := w.earlierItems()
	for k, i := range w.Earlier.Items {
		if i.Accepted != 0 && !slices.Contains(at, k) {
			gone = append(gone, i)
		}
	}
	return gone
}

// BillingFaults say why no statement can be made as the job's terms have it. The revision
// and the earlier statement must be known.
func (w *Writer) BillingFaults() (faults []billing.Fault) {
	pay := &w.Facts.Job.Pay
	if pay.Billed == nil && w.Revision > 1 && (!pay.Period.IsZero() || len(pay.Releases) > 0) {
		return []billing.Fault{{Code: "billed-unsaid", Key: "pay", Message: fmt.Sprintf("r%d was issued, but the job does not state which statement was billed last", w.Revision-1),
			Fix: fmt.Sprintf("add billed: r%d if the statement of r%d was billed, or billed: and the one that was, or billed: none", w.Revision-1, w.Revision-1)}}
	}
	if pay.Billed != nil {
		for _, g := range w.gone() {
			name := wording.FirstOf(g.Line, string(g.Unit))
			faults = append(faults, billing.Fault{Code: "billed-item-gone", Key: "pay.items", Message: fmt.Sprintf("item %s is no longer among the pay items; quantity billed before: %d, with r%d", name, g.Accepted, w.Earlier.Revision),
				Fix: "put it back with its line, unit, fibre and cable: without it, what was billed would be claimed again under another line, or be lost"})
		}
	}
	return append(faults, w.Statement().Faults...)
}

// stateOf is that up to the earlier statement, or up to the one that it follows itself.
// Where results say no more than quantities, these were billed at the rates of that
// revision or, if results of an early program have no terms, by those of this one.
func (w *Writer) stateOf(e *Earlier, at []int, before bool) billing.Standing {
	if e.Statement != nil {
		if before {
			return e.Statement.Before
		}
		return e.Statement.ToDate
	}
	pay := record.Pay{Retainage: e.Terms.Retainage}
	if e.Terms.IsZero() {
		pay.Retainage = w.Facts.Job.Pay.Retainage
	}
	n := make([]int, len(e.Items))
	for k, i := range e.Items {
		item := record.PayItem{Line: i.Line, Unit: i.Unit, Fibre: i.Fibre, Cable: i.Cable}
		if k < len(e.Terms.Items) {
			item.Rate = e.Terms.Items[k].Rate
		} else if now := slices.Index(at, k); now >= 0 {
			item.Rate = w.Facts.Job.Pay.Items[now].Rate
		}
		pay.Items = append(pay.Items, item)
		n[k] = i.Accepted
		if before {
			n[k] = 0
			if i.Before != nil {
				n[k] = *i.Before
			}
		}
	}
	return billing.Of(&pay, billing.Standing{}, n).ToDate
}
