package certify

import (
	"spanseal/internal/judge"
	"spanseal/internal/limits"
)

// statistics are those of the judge, by fibre and by connector; of the other
// groups only those that stand out are named.
func (d *digestOf) statistics(f *flow) {
	w := d.words
	book := d.Book
	if book == nil {
		book = &limits.Book{}
	}
	var rows [][]cell
	var notes []string
	for _, g := range judge.Statistics(d.Facts, d.Judgement, book) {
		if g.StandsOut != "" {
			notes = append(notes, w.say("statistics.stands_out", "group", w.term("statistics.by", g.By)+" "+g.Name, "nm", nanometres(g.WavelengthNM), "how", w.judged(g.StandsOut)))
		}
		if g.By != "fibre" && g.By != "connector" {
			continue
		}
		row := []string{g.Name, nanometres(g.WavelengthNM), w.whole(g.N), w.whole(g.Links)}
		for _, v := range []float64{g.Mean, g.Median, g.P95, g.Worst} {
			row = append(row, w.localise(decimals(v, 2)))
		}
		deviation := ""
		if g.N > 1 {
			deviation = w.localise(decimals(g.SD, 3))
		}
		rows = append(rows, cells(f.body, append(row, deviation, w.localise(decimals(100*g.FirstTime, 0)))...))
	}
	if len(rows) == 0 {
		return
	}
	f.section(w.say("statistics.title"), float64(min(len(rows), 12))+2, w.say("statistics.remark"))
	columns := []column{{name: w.say("statistics.group"), wrap: true}, {name: "nm", right: true}}
	for _, key := range []string{"n", "links", "mean", "median", "p95", "worst", "deviation", "first_time"} {
		columns = append(columns, column{name: w.say("statistics." + key), right: true})
	}
	f.table(columns, rows)
	f.list(notes)
}
