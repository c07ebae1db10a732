package summary

import (
	"strings"

	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/statistics"
	"spanseal/internal/wording"
)

// firstTests is the register of links that were measured and did not pass at first, and
// the share of those that did: that of the statistics. A job in which nothing was
// measured again has none.
func (o *overview) firstTests(f *layout.Flow) {
	w := o.words
	again := false
	var rows [][]layout.Cell
	for _, l := range o.Judgement.Results() {
		again = again || len(l.Superseded) > 0
		if !l.Measured || statistics.FirstTime(l) {
			continue
		}
		verdict := f.Body
		if !l.Verdict.Certifiable() {
			verdict = f.Alarm()
		}
		first, allowed, when, sheet := o.worstFirst(l)
		rows = append(rows, []layout.Cell{{Text: l.Link.ID, Style: f.Strong}, {Text: first, Style: f.Body}, {Text: allowed, Style: f.Body}, {Text: when, Style: f.Body},
			{Text: w.Say("open." + l.Verdict.String()), Style: verdict}, {Text: sheet, Style: f.Body}})
	}
	if !again {
		return
	}
	var yields []string
	for _, y := range statistics.Yields(o.Judgement) {
		yields = append(yields, w.Say("first.yield", "nm", wording.Nanometres(y.WavelengthNM), "n", w.Whole(y.First), "all", w.Whole(y.Links),
			"percent", w.Fixed(form.Statistic(100*float64(y.First)/float64(y.Links)), 0)))
	}
	if len(rows) == 0 {
		f.Section(w.Say("first.none"), 2)
	} else {
		f.Section(w.Say("first.title"), float64(min(len(rows), 6))+2, w.Say("first.remark"))
		f.Table([]layout.Column{{Name: w.Say("links.link"), Wrap: true}, {Name: w.Say("first.measured"), Wrap: true}, {Name: w.Say("readings.allowed"), Right: true},
			{Name: w.Say("superseded.when")}, {Name: w.Say("first.now")}, {Name: w.Say("first.sheet"), Wrap: true}}, rows)
	}
	text := strings.Join(yields, "; ")
	f.Need(0.75 * f.Grid * float64(len(f.Wrap(f.Caption, f.W, text))))
	f.Paragraph(f.Caption, 0.75, w.Say("first.yields", "list", text))
}

// worstFirst is the reading that was furthest over a limit before it was replaced, and
// where its sheet is; nothing of a link that never passed, which has a sheet of its own.
func (o *overview) worstFirst(l *judge.LinkResult) (first, allowed, when, sheet string) {
	w := o.words
	var worst *record.Reading
	var limit *judge.Finding
	var most quantity.Decimal
	for i := range l.Superseded {
		r := &l.Superseded[i]
		if over := statistics.MissedLimit(l, r); over != nil {
			loss := r.Quantity == record.InsertionLoss // which goes before the rest
			if by := r.Value.Sub(over.Working.Limit); worst == nil || loss && worst.Quantity != record.InsertionLoss || most.Less(by) && loss == (worst.Quantity == record.InsertionLoss) {
				worst, limit, most = r, over, by
			}
		}
	}
	if len(l.Superseded) > 0 {
		sheet = o.SupersededPath(l)
	}
	if worst == nil { // it has not passed yet
		one := l.WorstFinding()
		if one == nil || one.Verdict != judge.Fail || len(one.Readings) == 0 {
			return "–", "–", "", sheet
		}
		p := o.placesOf(*one)
		return o.Subject(*one) + ": " + w.Fixed(*one.Measured, p), o.Allowed(*one, p), w.ShortDay(record.DateOf(o.Local(one.Readings[0].Time)), o.IssuedOn()), sheet
	}
	p := o.placesOf(*limit)
	value := w.Fixed(worst.Value, max(p, worst.Value.Places()))
	if worst.Shown != "" {
		value = worst.Shown
	}
	subject := w.Subject(statement.Subject{Quantity: worst.Quantity, NM: worst.WavelengthNM, Way: worst.Direction, Event: worst.Event})
	return subject + ": " + value, o.Allowed(*limit, p), w.ShortDay(record.DateOf(o.Local(worst.Time)), o.IssuedOn()), sheet
}
