package form

import (
	"slices"

	"spanseal/internal/billing"
	"spanseal/internal/judge"
	"spanseal/internal/record"
)

// Quantities are those of one pay item, counted from the facts. Accepted is what stands
// on certified links. Before is what the statement that was billed last has as accepted;
// if nobody says which that was, what the revision before states, or else what stands on
// its certified links by the schedule of this one.
type Quantities struct{ Scheduled, Done, Accepted, Before int }

// Quantities are those of every item of the order. Links that fail or are incomplete count
// as scheduled, and as done where they were, never as accepted.
func (w *Writer) Quantities() []Quantities { return w.count().items }

// Repeats reports whether the statement repeats the quantities of the revision before,
// which it replaces: none that is accepted differs, though it may be of other links, and
// nobody said that one was billed.
func (w *Writer) Repeats() bool { return w.count().repeats }

// Statement is what is claimed of the items, from the statement that was billed last.
func (w *Writer) Statement() *billing.QuantityStatement { return w.count().statement }

type counted struct {
	items     []Quantities
	repeats   bool
	statement *billing.QuantityStatement
}

// count counts anew each time it is asked: what was accepted and billed before becomes
// known only when the earlier revisions are read, after papers were rehearsed.
func (w *Writer) count() (all counted) {
	made := w.Facts.Made()
	pay := &w.Facts.Job.Pay
	all.items = make([]Quantities, len(pay.Items))
	accepted := make([]int, len(pay.Items))
	for i := range pay.Items {
		item, q := &pay.Items[i], &all.items[i]
		links, before := 0, 0
		for k := range w.Judgement.Links {
			l := &w.Judgement.Links[k]
			if item.Fibre != "" && item.Fibre != l.Link.Fibre || item.Cable != "" && item.Cable != l.Link.Cable {
				continue
			}
			links++
			scheduled, done := work(item.Unit, l, made[l.Link.ID])
			q.Scheduled += scheduled
			q.Done += done
			accepted := min(done, scheduled) // what was made over again is paid once
			if l.Verdict.Certifiable() {
				q.Accepted += accepted
			}
			if was, known := w.Before[l.Link.ID]; known && was.Certifiable() {
				before += accepted
			}
		}
		if pay.Billed == nil {
			q.Before = before
		}
		if item.Unit == record.PayLump { // once, when all of it is
			for _, n := range []*int{&q.Done, &q.Accepted, &q.Before} {
				*n = one(links > 0 && *n == links)
			}
			q.Scheduled = one(links > 0)
		}
		accepted[i] = q.Accepted
	}
	var from billing.Standing
	from, all.repeats = w.followed(all.items)
	all.statement = billing.Of(pay, from, accepted)
	for i := range all.items {
		all.items[i].Before = billing.Quantity(from.Items[i])
	}
	return all
}

func one(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// work counts what the order pays for on one link: what the schedule asks for,
// and what is on record as made.
func work(unit record.PayUnit, l *judge.Brief, made []record.Termination) (scheduled, done int) {
	switch unit {
	case record.PayTermination, record.PayConnector:
		// An end is made on site if it is spliced on or has a record.
		for end, spliced := range map[string]bool{"A": l.Link.EndA.SplicedOn, "B": l.Link.EndB.SplicedOn} {
			recorded := slices.ContainsFunc(made, func(t record.Termination) bool { return t.End == end })
			if recorded {
				done++
			}
			if recorded || spliced {
				scheduled++
			}
		}
		return scheduled, done
	case record.PaySplice:
		for _, t := range made {
			if t.End == "" {
				done++
			}
		}
		return l.Link.Splices, done
	}
	if l.Measured {
		done = 1
	}
	return 1, done
}
