package certify

import (
	"maps"
	"slices"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// quantities of one pay item, counted from the facts. Accepted is what stands
// on certified links; before is what the revision before states, or else what
// stands on its certified links by the schedule of this one.
type quantities struct{ scheduled, done, accepted, before int }

// count counts every item of the order. Links that fail or are incomplete count
// as scheduled, and as done where they were, never as accepted.
func (s *Set) count() []quantities {
	made := s.Facts.Made()
	items := s.Facts.Job.Pay.Items
	out := make([]quantities, len(items))
	for i := range items {
		item, q := &items[i], &out[i]
		for k := range s.Judgement.Links {
			l := &s.Judgement.Links[k]
			if item.Fibre != "" && item.Fibre != l.Link.Fibre || item.Cable != "" && item.Cable != l.Link.Cable {
				continue
			}
			scheduled, done := work(item.Unit, l, made[l.Link.ID])
			q.scheduled += scheduled
			q.done += done
			accepted := min(done, scheduled) // what was made over again is paid once
			if l.Verdict.Certifiable() {
				q.accepted += accepted
			}
			if before, known := s.Before[l.Link.ID]; known && before.Certifiable() {
				q.before += accepted
			}
		}
		for _, p := range s.Paid {
			if same := (ResultPayItem{item.Line, item.Unit, item.Fibre, item.Cable, p.Accepted}); p == same {
				q.before = p.Accepted
			}
		}
	}
	return out
}

// payItems are the items with what is accepted of them to date.
func (s *Set) payItems() []ResultPayItem {
	var items []ResultPayItem
	for k, q := range s.quantities() {
		i := &s.Facts.Job.Pay.Items[k]
		items = append(items, ResultPayItem{i.Line, i.Unit, i.Fibre, i.Cable, q.accepted})
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

// Statement returns the quantities for an invoice, or nil where job.yaml lists
// no pay items.
func (s *Set) Statement() (*Document, error) {
	if len(s.Facts.Job.Pay.Items) == 0 {
		return nil, nil
	}
	title := s.words.Say("statement.title")
	r := s.plainRail()
	r.treatment, r.word = bare, s.words.Say("statement.accepted_of", "n", s.words.Whole(s.Judgement.Counts.Certified), "all", s.words.Whole(s.Judgement.Counts.Scheduled))
	r.below = []layout.Field{{Caption: s.words.Say("statement.accepted_links"), Value: s.words.Say("statement.accepted_in", "n", s.words.Whole(s.Revision))}}
	return s.document("statement.pdf", title+" "+s.Facts.Job.Number, func(f *layout.Flow) {
		f.DrawRail = r.draw
		f.DrawHead = s.again(s.words.Say("document.continued", "title", title+" "+s.Facts.Job.Number))
		f.Start()
		c := s.Judgement.Counts
		s.head(f, title, s.words.Say("statement.lead", "links", s.words.Count("links", c.Scheduled), "accepted", s.words.Whole(c.Certified),
			"open", s.words.Whole(c.Scheduled-c.Certified)))
		s.items(f)
		s.notAccepted(f)
		s.signatures(f)
		s.small(f, s.words.Say("statement.note")+" "+s.words.Say("small.records")+" "+s.words.Say("small.payment"))
	}), nil
}

// plainRail is the rail of papers about the job that carry no seal of their own.
func (s *Set) plainRail() *rail {
	d := &digestOf{Set: s}
	first, last := s.measuredInAll()
	r := d.newRail(nil, first, last)
	r.under = s.words.Say("rail.beside")
	return r
}

// items is the table of pay items, with amounts where rates are given.
func (s *Set) items(f *layout.Flow) {
	w, pay := s.words, s.Facts.Job.Pay
	f.Section(w.Say("statement.items"), 3)
	columns := []layout.Column{{Name: w.Say("statement.line"), Wrap: true}, {Name: w.Say("statement.item"), Wrap: true}, {Name: w.Say("statement.unit"), Wrap: true}}
	for _, key := range []string{"scheduled", "done"} {
		columns = append(columns, layout.Column{Name: w.Say("statement." + key), Right: true})
	}
	for _, key := range []string{"before", "this", "to_date"} {
		columns = append(columns, layout.Column{Name: w.Say("statement." + key), Over: w.Say("statement.accepted"), Right: true})
	}
	columns = append(columns, layout.Column{Name: w.Say("statement.rate"), Right: true}, layout.Column{Name: w.Say("statement.amount"), Right: true})
	var rows [][]layout.Cell
	var total quantity.Decimal
	rated := false
	for k, q := range s.quantities() {
		item := &pay.Items[k]
		narrowed := strings.Join(unique(item.Fibre, item.Cable), ", ")
		title := item.Title
		if narrowed != "" {
			title += " (" + narrowed + ")"
		}
		row := layout.Cells(f.Body, item.Line, title, w.Term("pay_unit", string(item.Unit)), w.Whole(q.scheduled), w.Whole(q.done),
			w.Whole(q.before), w.Whole(q.accepted-q.before), w.Whole(q.accepted), "", "")
		row[6].Style = f.Strong
		if item.Rate != nil {
			rated = true
			amount := item.Rate.Mul(quantity.Int(q.accepted - q.before))
			total = total.Add(amount)
			row[8].Text, row[9].Text = w.Fixed(*item.Rate, 2), w.Fixed(amount, 2)
		}
		rows = append(rows, row)
	}
	f.Table(columns, rows)
	if !rated {
		f.Paragraph(f.Note, 0.75, w.Say("statement.no_prices"))
		return
	}
	sum := func(caption string, d quantity.Decimal, last bool) {
		style := f.Body
		if last {
			style = f.Strong
		}
		f.Need(f.Grid)
		f.PutRight(f.X+f.W-28, f.Base(), style, caption)
		f.PutRight(f.X+f.W, f.Base(), style, strings.TrimSpace(w.Fixed(d, 2)+" "+pay.Currency))
		f.Lines(1)
	}
	f.Lines(0.25)
	if pay.Retainage == nil {
		sum(w.Say("statement.total"), total, true)
		return
	}
	sum(w.Say("statement.total"), total, false)
	// Held back to the cent, so that the two parts add up to the total.
	held := total.Mul(*pay.Retainage).Mul(quantity.Scaled(1, 2)).Round(2)
	sum(w.Say("statement.retainage", "percent", w.Short(*pay.Retainage)), held.Neg(), false)
	sum(w.Say("statement.due"), total.Round(2).Sub(held), true)
}

// notAccepted names every link that is not offered for payment.
func (s *Set) notAccepted(f *layout.Flow) {
	w := s.words
	d := &digestOf{Set: s}
	var rows [][]layout.Cell
	for _, l := range d.exceptions() {
		if !l.Verdict.Certifiable() {
			what, _ := d.why(l)
			rows = append(rows, []layout.Cell{{Text: l.Link.ID, Style: f.Strong}, {Text: w.Say("open." + l.Verdict.String()), Style: f.Alarm()}, {Text: what, Style: f.Body}})
		}
	}
	gone := maps.Clone(s.Before)
	maps.DeleteFunc(gone, func(_ string, v judge.Verdict) bool { return !v.Certifiable() })
	for i := range s.Judgement.Links {
		delete(gone, s.Judgement.Links[i].Link.ID)
	}
	if len(rows)+len(gone) == 0 {
		return
	}
	f.Section(w.Say("statement.not_accepted"), 2)
	if len(gone) > 0 {
		f.Paragraph(f.Body, 1, w.Say("statement.gone", "links", w.List(slices.Sorted(maps.Keys(gone)))))
	}
	f.Table([]layout.Column{{Wrap: true}, {}, {Wrap: true}}, rows)
}
