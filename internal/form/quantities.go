package form

import (
	"slices"

	"spanseal/internal/judge"
	"spanseal/internal/record"
)

// Quantities are those of one pay item, counted from the facts. Accepted is what stands
// on certified links; before is what the revision before states, or else what
// stands on its certified links by the schedule of this one.
type Quantities struct{ Scheduled, Done, Accepted, Before int }

// Quantities are those of every item of the order. Links that fail or are incomplete count
// as scheduled, and as done where they were, never as accepted.
func (s *Writer) Quantities() []Quantities { return s.quantities() }

func (s *Writer) count() []Quantities {
	made := s.Facts.Made()
	items := s.Facts.Job.Pay.Items
	out := make([]Quantities, len(items))
	for i := range items {
		item, q := &items[i], &out[i]
		for k := range s.Judgement.Links {
			l := &s.Judgement.Links[k]
			if item.Fibre != "" && item.Fibre != l.Link.Fibre || item.Cable != "" && item.Cable != l.Link.Cable {
				continue
			}
			scheduled, done := work(item.Unit, l, made[l.Link.ID])
			q.Scheduled += scheduled
			q.Done += done
			accepted := min(done, scheduled) // what was made over again is paid once
			if l.Verdict.Certifiable() {
				q.Accepted += accepted
			}
			if before, known := s.Before[l.Link.ID]; known && before.Certifiable() {
				q.Before += accepted
			}
		}
		for _, p := range s.Paid {
			if same := (ResultPayItem{item.Line, item.Unit, item.Fibre, item.Cable, p.Accepted}); p == same {
				q.Before = p.Accepted
			}
		}
	}
	return out
}

// payItems are the items with what is accepted of them to date.
func (s *Writer) payItems() []ResultPayItem {
	var items []ResultPayItem
	for k, q := range s.Quantities() {
		i := &s.Facts.Job.Pay.Items[k]
		items = append(items, ResultPayItem{i.Line, i.Unit, i.Fibre, i.Cable, q.Accepted})
	}
	return items
}

// work counts what the order pays for on one link: what the schedule asks for,
// and what is on record as made.
func work(unit record.PayUnit, l *judge.Brief, made []record.Termination) (scheduled, done int) {
	switch unit {
	case record.PayTermination:
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
