package summary

import (
	"maps"
	"slices"
	"strings"

	"spanseal/internal/certify"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/quantity"
	"spanseal/internal/wording"
)

// Quantities returns the quantities for an invoice, or nil where job.yaml lists
// no pay items.
func Quantities(s *certify.Set) (*certify.Document, error) {
	d := newOverview(s)
	if len(d.Facts.Job.Pay.Items) == 0 {
		return nil, nil
	}
	title := d.words.Say("statement.title")
	r := d.plainRail()
	r.Treatment, r.Word = certify.Bare, d.words.Say("statement.accepted_of", "n", d.words.Whole(d.Judgement.Counts.Certified), "all", d.words.Whole(d.Judgement.Counts.Scheduled))
	r.Below = []layout.Field{{Caption: d.words.Say("statement.accepted_links"), Value: d.words.Say("statement.accepted_in", "n", d.words.Whole(d.Revision))}}
	return d.NewDocument("statement.pdf", title+" "+d.Facts.Job.Number, func(f *layout.Flow) {
		f.DrawRail, f.Outline = r.Draw, true
		f.DrawHead = d.Again(d.words.Say("document.continued", "title", title+" "+d.Facts.Job.Number))
		f.Start()
		c := d.Judgement.Counts
		d.Head(f, title, d.words.Say("statement.lead", "links", d.words.Count("links", c.Scheduled), "accepted", d.words.Whole(c.Certified),
			"open", d.words.Whole(c.Scheduled-c.Certified)))
		if b := d.Facts.Job.Pay.Billed; d.Repeats() {
			f.Paragraph(f.Body, 1, d.words.Say("statement.repeats", "before", d.words.Whole(d.Revision-1)))
		} else if b != nil && *b > 0 {
			f.Paragraph(f.Body, 1, d.words.Say("statement.billed", "n", d.words.Whole(*b)))
		} else if b != nil {
			f.Paragraph(f.Body, 1, d.words.Say("statement.unbilled"))
		}
		d.items(f)
		d.notAccepted(f)
		d.Signatures(f)
		d.SmallPrint(f, d.words.Say("statement.note")+" "+d.words.Say("small.records")+" "+d.words.Say("small.payment"))
	}), nil
}

// plainRail is the rail of papers about the job that carry no seal of their own.
func (d *overview) plainRail() *certify.Rail {
	first, last := d.MeasuredInAll()
	r := d.newRail(nil, first, last)
	r.Under = d.words.Say("rail.beside")
	return r
}

// items is the table of pay items, with amounts where rates are given.
func (d *overview) items(f *layout.Flow) {
	w, pay := d.words, d.Facts.Job.Pay
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
	for k, q := range d.Quantities() {
		item := &pay.Items[k]
		narrowed := strings.Join(wording.Distinct(item.Fibre, item.Cable), ", ")
		title := item.Title
		if narrowed != "" {
			title += " (" + narrowed + ")"
		}
		row := layout.Cells(f.Body, item.Line, title, w.Term("pay_unit", string(item.Unit)), w.Whole(q.Scheduled), w.Whole(q.Done),
			w.Whole(q.Before), w.Whole(q.Accepted-q.Before), w.Whole(q.Accepted), "", "")
		row[6].Style = f.Strong
		if item.Rate != nil {
			rated = true
			// Rounded line by line, so that the lines add up to the total as printed.
			amount := item.Rate.Mul(quantity.Int(q.Accepted - q.Before)).Round(2)
			total = total.Add(amount)
			row[8].Text, row[9].Text = w.Fixed(*item.Rate, max(2, item.Rate.Places())), w.Fixed(amount, 2)
		}
		rows = append(rows, row)
	}
	f.Tabled(w.Say("statement.items"), columns, rows)
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
		f.Together(func() {
			f.PutRight(f.X+f.W-28, f.Base(), style, caption)
			f.PutRight(f.X+f.W, f.Base(), style, strings.TrimSpace(w.Fixed(d, 2)+" "+pay.Currency))
		})
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
func (d *overview) notAccepted(f *layout.Flow) {
	w := d.words
	var rows [][]layout.Cell
	for _, l := range d.exceptions() {
		if !l.Verdict.Certifiable() {
			what, _ := d.why(l)
			rows = append(rows, []layout.Cell{{Text: l.Link.ID, Style: f.Strong}, {Text: w.Say("open." + l.Verdict.String()), Style: f.Alarm()}, {Text: what, Style: f.Body}})
		}
	}
	gone := maps.Clone(d.Before)
	maps.DeleteFunc(gone, func(_ string, v judge.Verdict) bool { return !v.Certifiable() })
	for i := range d.Judgement.Links {
		delete(gone, d.Judgement.Links[i].Link.ID)
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
