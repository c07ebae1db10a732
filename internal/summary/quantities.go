package summary

import (
	"maps"
	"slices"
	"strings"

	"spanseal/internal/billing"
	"spanseal/internal/certify"
	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/quantity"
	"spanseal/internal/rail"
	"spanseal/internal/record"
	"spanseal/internal/wording"
)

// Quantities returns the quantities for an invoice, or nil where job.yaml lists
// no pay items.
func Quantities(s *certify.PaperSet) (*certify.Paper, error) {
	d := newOverview(s)
	if len(d.Facts.Job.Pay.Items) == 0 {
		return nil, nil
	}
	title := d.words.Say("statement.title")
	r := d.plainRail()
	r.Treatment, r.Word = rail.Bare, d.words.Say("statement.accepted_of", "n", d.words.Whole(d.Judgement.Counts.Certified), "all", d.words.Whole(d.Judgement.Counts.Scheduled))
	r.Below = []layout.Field{{Caption: d.words.Say("statement.accepted_links"), Value: d.words.Say("statement.accepted_in", "n", d.words.Whole(d.Revision))}}
	if p := d.Facts.Job.Pay.Period; !p.IsZero() {
		issued := slices.IndexFunc(r.Fields, func(f layout.Field) bool { return f.Caption == d.words.Say("rail.issued") })
		r.Fields = slices.Insert(r.Fields, issued+1, layout.Field{Caption: d.words.Say("statement.period"), Value: d.words.Days(p.From, p.To)})
	}
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
			said := d.words.Say("statement.billed", "n", d.words.Whole(*b))
			if d.nothingNew() {
				said += " " + d.words.Say("statement.nothing")
			}
			f.Paragraph(f.Body, 1, said)
		} else if b != nil {
			f.Paragraph(f.Body, 1, d.words.Say("statement.unbilled"))
		}
		claim := d.Statement()
		d.items(f, claim)
		if !claim.First() && len(claim.Rows) > 0 {
			d.amounts(f, claim)
		}
		d.measuredLate(f)
		d.notAccepted(f)
		d.Signatures(f)
		note := d.words.Say("statement.note")
		if len(claim.Rows) > 0 {
			note += " " + d.words.Say("statement.rounding")
			if !claim.First() {
				note += " " + d.words.Say("statement.less_before")
			}
		}
		d.SmallPrint(f, note+" "+d.words.Say("small.records")+" "+d.words.Say("small.payment"))
	}), nil
}

// nothingNew reports a statement that claims nothing over the one that was billed last.
func (o *overview) nothingNew() bool {
	claim := o.Statement()
	return claim.Payable.This.IsZero() && claim.Total.This.IsZero() && len(claim.New) == 0 &&
		!slices.ContainsFunc(o.Quantities(), func(q form.Quantities) bool { return q.Accepted != q.Before })
}

// plainRail is the rail of papers about the job that carry no seal of their own.
func (o *overview) plainRail() *rail.Rail {
	first, last := o.MeasuredInAll()
	r := o.newRail(nil, first, last)
	r.Under = o.words.Say("rail.beside")
	return r
}

// items is the table of pay items; of a statement that follows none, with the amounts.
func (o *overview) items(f *layout.Flow, claim *billing.QuantityStatement) {
	w, pay := o.words, o.Facts.Job.Pay
	columns := []layout.Column{{Name: w.Say("statement.line"), Wrap: true}, {Name: w.Say("statement.item"), Wrap: true}, {Name: w.Say("statement.unit"), Wrap: true}}
	for _, key := range []string{"scheduled", "done"} {
		columns = append(columns, layout.Column{Name: w.Say("statement." + key), Right: true})
	}
	for _, key := range []string{"before", "this", "to_date"} {
		columns = append(columns, layout.Column{Name: w.Say("statement." + key), Over: w.Say("statement.accepted"), Right: true})
	}
	columns = append(columns, layout.Column{Name: w.Say("statement.rate"), Right: true}, layout.Column{Name: w.Say("statement.amount"), Right: true})
	first := claim.First()
	var rows [][]layout.Cell
	for k, q := range o.Quantities() {
		item := &pay.Items[k]
		row := layout.Cells(f.Body, item.Line, titleOf(item), w.Term("pay_unit", string(item.Unit)), w.Whole(q.Scheduled), w.Whole(q.Done),
			w.Whole(q.Before), w.Whole(q.Accepted-q.Before), w.Whole(q.Accepted), "", "")
		row[6].Style = f.Strong
		if at := slices.IndexFunc(claim.Rows, func(r billing.Row) bool { return r.Item == k }); first && at >= 0 {
			row[8].Text, row[9].Text = o.rate(*item.Rate), o.money(claim.Rows[at].Amount.This)
		}
		rows = append(rows, row)
	}
	f.Tabled(w.Say("statement.items"), columns, rows)
	if len(claim.Rows) == 0 {
		f.Paragraph(f.Note, 0.75, w.Say("statement.no_prices"))
		return
	}
	if !first {
		return
	}
	sum := func(caption string, amount quantity.Decimal, last bool) {
		style := f.Body
		if last {
			style = f.Strong
		}
		f.Need(f.Grid)
		f.Together(func() {
			f.PutRight(f.X+f.W-28, f.Base(), style, caption)
			f.PutRight(f.X+f.W, f.Base(), style, strings.TrimSpace(o.money(amount)+" "+pay.Currency))
		})
		f.Lines(1)
	}
	f.Lines(0.25)
	sum(w.Say("statement.total"), claim.Total.This, pay.Retainage == nil)
	if pay.Retainage != nil {
		sum(o.held(), claim.Held.This.Neg(), false)
		sum(w.Say("statement.due"), claim.Payable.This, true)
	}
}

// titleOf is an item's title, and which links it counts.
func titleOf(item *record.PayItem) string {
	if narrowed := strings.Join(wording.Distinct(item.Fibre, item.Cable), ", "); narrowed != "" {
		return item.Title + " (" + narrowed + ")"
	}
	return item.Title
}

// money is an amount, rate one with all its digits.
func (o *overview) money(amount quantity.Decimal) string { return o.words.Fixed(amount, 2) }
func (o *overview) rate(rate quantity.Decimal) string {
	return o.words.Fixed(rate, max(2, rate.Places()))
}

// held names what is held back, and how much of a hundred.
func (o *overview) held() string {
	if r := o.Facts.Job.Pay.Retainage; r != nil {
		return o.words.Say("statement.retainage", "percent", o.words.Short(*r))
	}
	return o.words.Say("statement.held")
}

// amounts is the table of a statement that follows one: every amount before, now and to
// date, down to what is due.
func (o *overview) amounts(f *layout.Flow, claim *billing.QuantityStatement) {
	w, pay := o.words, &o.Facts.Job.Pay
	columns := []layout.Column{{Name: w.Say("statement.line"), Wrap: true}, {Name: w.Say("statement.item"), Wrap: true},
		{Name: w.Say("statement.quantity"), Right: true}, {Name: w.Say("statement.rate"), Right: true}}
	for _, key := range []string{"before", "this", "to_date"} {
		columns = append(columns, layout.Column{Name: w.Say("statement." + key), Over: strings.TrimSpace(w.Say("statement.amount") + " " + pay.Currency), Right: true})
	}
	var rows [][]layout.Cell
	line := func(style page.Style, id, title, number, rate string, a billing.Sums) {
		row := layout.Cells(style, id, title, number, rate, o.money(a.Before), o.money(a.This), o.money(a.ToDate))
		row[5].Style = f.Strong
		rows = append(rows, row)
	}
	for _, r := range claim.Rows {
		item := &pay.Items[r.Item]
		title := titleOf(item)
		if r.From != nil {
			title = w.Say("statement.difference", "old", o.rate(*r.From), "new", o.rate(*r.To))
		}
		line(f.Body, item.Line, title, w.Whole(r.Quantity), o.rate(r.Rate), r.Amount)
	}
	line(f.Strong, " ", w.Say("statement.sum"), " ", " ", claim.Total)
	if held := claim.Held; pay.Retainage != nil || !held.Before.IsZero() {
		negative := func(s billing.Sums) billing.Sums {
			return billing.Sums{Before: s.Before.Neg(), This: s.This.Neg(), ToDate: s.ToDate.Neg()}
		}
		line(f.Body, " ", o.held(), " ", " ", negative(held))
		if !claim.Released.ToDate.IsZero() {
			line(f.Body, " ", w.Say("statement.released"), " ", " ", claim.Released)
		}
		line(f.Strong, " ", w.Say("statement.payable"), " ", " ", claim.Payable)
		before := held.Before.Sub(claim.Released.Before)
		line(f.Body, " ", w.Say("statement.still_held"), " ", " ", billing.Sums{Before: before, This: claim.Balance().Sub(before), ToDate: claim.Balance()})
	}
	f.Tabled(w.Say("statement.amounts"), columns, rows)
	f.Space(0.5)
	for _, r := range claim.New {
		amount := strings.TrimSpace(o.money(r.Amount) + " " + pay.Currency)
		if r.Percent != nil {
			f.Paragraph(f.Body, 1, w.Say("statement.release_part", "day", w.Day(r.Day), "percent", w.Short(*r.Percent), "amount", amount, "reason", r.Reason))
		} else {
			f.Paragraph(f.Body, 1, w.Say("statement.release_amount", "day", w.Day(r.Day), "amount", amount, "reason", r.Reason))
		}
	}
	var kept []string
	for _, k := range claim.Kept(pay) {
		kept = append(kept, wording.FirstOf(pay.Items[k].Line, pay.Items[k].Title))
	}
	if len(kept) > 0 {
		f.Paragraph(f.Body, 1, w.Say("statement.kept", "items", w.List(kept)))
	}
	for k := range pay.Items {
		if n := claim.Unrated(pay, k); n > 0 {
			f.Paragraph(f.Body, 1, w.Say("statement.unrated", "item", wording.FirstOf(pay.Items[k].Line, pay.Items[k].Title), "n", w.Whole(n)))
		}
	}
	if claim.Clipped {
		f.Paragraph(f.Body, 1, w.Say("statement.clipped"))
	}
}

// mostLate is how many links are named that were measured after the period.
const mostLate = 12

// measuredLate names the accepted links with a reading that was taken after the period.
func (o *overview) measuredLate(f *layout.Flow) {
	to := o.Facts.Job.Pay.Period.To
	if to.IsZero() {
		return
	}
	var late []string
	for _, l := range o.Judgement.Results() {
		if _, last := o.MeasuredOn(l.Readings); l.Verdict.Certifiable() && last.After(to) {
			late = append(late, l.Link.ID)
		}
	}
	if len(late) == 0 {
		return
	}
	list := o.words.List(late)
	if more := len(late) - mostLate; more > 0 {
		list = o.words.Say("locale.more", "list", strings.Join(late[:mostLate], ", "), "n", o.words.Whole(more))
	}
	f.Space(0.5)
	f.Paragraph(f.Body, 1, o.words.Say("statement.late", "links", list, "to", o.words.Day(to)))
}

// mostAlike is how many links that are not accepted for one reason have a row each, such
// as those of a part that is measured later; more share one.
const mostAlike = 12

// notAccepted names every link that is not offered for payment.
func (o *overview) notAccepted(f *layout.Flow) {
	w := o.words
	type reason struct {
		verdict judge.Verdict
		what    string
	}
	alike := map[reason][]string{}
	var order []reason
	for _, l := range o.exceptions() {
		if !l.Verdict.Certifiable() {
			what, _ := o.why(l)
			r := reason{l.Verdict, what}
			if alike[r] == nil {
				order = append(order, r)
			}
			alike[r] = append(alike[r], wording.Unbroken(l.Link.ID))
		}
	}
	var rows [][]layout.Cell
	row := func(n int, who string, r reason, what string) {
		rows = append(rows, []layout.Cell{{Text: who, Style: f.Strong}, {Text: o.verdictOf(n, r.verdict), Style: f.Alarm()}, {Text: what, Style: f.Body}})
	}
	for _, r := range order {
		links := alike[r]
		if len(links) > mostAlike {
			said := wording.Unbroken(w.Count("links", len(links)))
			for rest := links; len(rest) > 0; {
				first, n := len(rest) == len(links), fitting(rest, len(", "))
				list := strings.Join(rest[:n], ", ")
				if rest = rest[n:]; len(rest) > 0 {
					list += ","
				}
				if first {
					row(len(links), said, r, w.Say("open.together", "cause", r.what, "links", list))
					continue
				}
				row(len(links), "", r, list) // so that a long list goes on overleaf
				last := rows[len(rows)-1]
				last[0].Above, last[1].Text, last[1].Above = true, "", true
			}
			continue
		}
		for _, id := range links {
			row(1, id, r, r.what)
		}
	}
	gone := maps.Clone(o.Before)
	maps.DeleteFunc(gone, func(_ string, v judge.Verdict) bool { return !v.Certifiable() })
	for i := range o.Judgement.Links {
		delete(gone, o.Judgement.Links[i].Link.ID)
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
