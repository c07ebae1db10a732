package certify

import (
	"cmp"
	"slices"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/page"
)

// mostGroups is how many rows of one kind of group the summary holds; a large
// job has hundreds of panels. The others are in results.json.
const mostGroups = 24

// statistics are those of the judge: by fibre and connector, then by who
// measured with what and where, so that a hand, an instrument or a panel that
// differs from the others is seen.
func (d *digestOf) statistics(f *flow) {
	w := d.words
	groups := d.lossGroups()
	if len(groups) == 0 {
		return
	}
	var rows [][]cell
	var notes []string
	for _, by := range []string{"fibre", "connector", "person", "instrument", "panel"} {
		of := slices.DeleteFunc(slices.Clone(groups), func(g judge.Group) bool { return g.By != by })
		if len(of) == 0 {
			continue
		}
		shown := worstGroups(of)
		if len(shown) < len(of) {
			notes = append(notes, w.say("statistics.some", "group", w.term("statistics.by", by), "shown", w.whole(len(shown)), "all", w.whole(len(of))))
		}
		rows = append(rows, append([]cell{{upperFirst(w.term("statistics.by", by)), f.strong}}, cells(f.body, make([]string, len(statisticColumns)+1)...)...))
		for i := range shown {
			row := d.statistic(f, &shown[i])
			if i > 0 && shown[i].Name == shown[i-1].Name {
				row[0].text = ""
			}
			rows = append(rows, row)
		}
	}
	for _, g := range groups {
		if g.StandsOut != "" {
			group := w.term("statistics.by", g.By) + " " + g.Name
			if g.By == "panel" { // its name says what it is
				group = g.Name
			}
			notes = append(notes, w.say("statistics.stands_out", "group", upperFirst(group), "nm", nanometres(g.WavelengthNM), "how", w.judged(g.StandsOut)))
		}
	}
	notes = append(notes, d.graded(groups)...)
	f.section(w.say("statistics.title"), float64(min(len(rows), 12))+2, w.say("statistics.remark"))
	columns := []column{{wrap: true}, {name: "nm", right: true}}
	for _, key := range statisticColumns {
		columns = append(columns, column{name: w.say("statistics." + key), right: true})
	}
	for _, row := range rows {
		for k := range row {
			row[k].style.Size = f.caption.Size + 0.6
		}
	}
	f.table(columns, rows)
	for _, note := range notes {
		f.need(0.75 * f.grid * float64(len(f.wrap(f.caption, f.w, note))))
		f.paragraph(f.caption, 0.75, note)
	}
}

// statisticColumns are the columns behind group and wavelength, by their keys.
var statisticColumns = []string{"n", "links", "mean", "median", "p95", "p97", "worst", "deviation", "first_time", "marginal"}

// statistic is one group as a row.
func (d *digestOf) statistic(f *flow, g *judge.Group) []cell {
	w := d.words
	row := []string{w.parts(g.Name), nanometres(g.WavelengthNM), w.whole(g.N), w.whole(g.Links)}
	for _, v := range []float64{g.Mean, g.Median, g.P95, g.P97, g.Worst} {
		row = append(row, w.fixed(statistic(v), 2))
	}
	deviation := ""
	if g.N > 1 {
		deviation = w.fixed(statistic(g.SD), 3)
	}
	row = append(row, deviation, w.fixed(statistic(100*g.FirstTime), 0), w.fixed(statistic(100*g.Marginal), 0))
	set := cells(f.body, row...)
	if g.StandsOut != "" {
		set[0].style = f.strong
	}
	return set
}

// worstGroups keeps, of more groups than there is room for, those that stand
// out and then those with the largest mean, in their own order.
func worstGroups(groups []judge.Group) []judge.Group {
	if len(groups) <= mostGroups {
		return groups
	}
	order := make([]int, len(groups))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(x, y int) int {
		p, q := &groups[x], &groups[y]
		switch {
		case p.StandsOut != "" && q.StandsOut == "":
			return -1
		case p.StandsOut == "" && q.StandsOut != "":
			return 1
		}
		return cmp.Compare(q.Mean, p.Mean)
	})
	order = order[:mostGroups]
	slices.Sort(order)
	out := make([]judge.Group, len(order))
	for i, k := range order {
		out[i] = groups[k]
	}
	return out
}

// graded says which population sets the connectors are within, those with the
// same outcome together.
func (d *digestOf) graded(groups []judge.Group) []string {
	w := d.words
	var outcomes []string
	of := map[string][]string{}
	for _, g := range groups {
		var met, open []string
		for _, grade := range g.Grades {
			if grade.Met {
				met = append(met, grade.SetID)
			} else {
				open = append(open, grade.SetID)
			}
		}
		var parts []string
		if len(met) > 0 {
			parts = append(parts, w.say("statistics.within", "sets", strings.Join(met, ", ")))
		}
		if len(open) > 0 {
			parts = append(parts, w.say("statistics.not_within", "sets", strings.Join(open, ", ")))
		}
		if len(parts) == 0 {
			continue
		}
		outcome := strings.Join(parts, "; ")
		if of[outcome] == nil {
			outcomes = append(outcomes, outcome)
		}
		of[outcome] = append(of[outcome], w.say("reflectance.at", "quantity", w.parts(g.Name), "nm", nanometres(g.WavelengthNM)))
	}
	for i, outcome := range outcomes {
		outcomes[i] = w.say("statistics.graded", "groups", w.list(of[outcome]), "outcome", outcome)
	}
	return outcomes
}

// populations are the limits of all connections or splices of the job together,
// those that are not met first.
func (d *digestOf) populations(f *flow) {
	w := d.words
	var all []judge.Finding
	for _, v := range []bool{false, true} {
		for _, one := range d.Judgement.Questions {
			if one.Kind == judge.KindLimit && one.Verdict.Certifiable() == v && one.Limit != nil {
				all = append(all, one)
			}
		}
	}
	if len(all) == 0 {
		return
	}
	p := placesToAgree(all)
	var rows [][]cell
	for _, one := range all {
		style := f.body
		if !one.Verdict.Certifiable() {
			style = f.alarm()
		}
		row := cells(f.body, upperFirst(d.ofGroup(one)), nanometres(one.WavelengthNM), w.whole(one.Population), one.Working.SetID,
			w.fixed(*one.Measured, p), w.fixed(*one.Limit, p), w.fixed(*one.Margin, p), w.say("open."+one.Verdict.String()))
		row[6].style, row[7].style = style, style
		rows = append(rows, row)
	}
	f.section(w.say("population.title"), float64(min(len(rows), 4))+1, w.say("population.remark"))
	f.table([]column{{name: w.say("population.what"), wrap: true}, {name: "nm", right: true}, {name: "n", right: true}, {name: w.say("readings.set"), wrap: true},
		{name: w.say("readings.measured"), right: true}, {name: w.say("readings.allowed"), right: true}, {name: w.say("readings.margin"), right: true},
		{name: w.say("links.verdict")}}, rows)
}

// ofGroup says which figure of which group is judged: "percentile 97, each
// connection".
func (d *digestOf) ofGroup(one judge.Finding) string {
	w := d.words
	figure := w.say("population.mean")
	if p := one.Working.Percentile; p != nil {
		figure = w.say("population.percentile", "p", w.short(*p))
	}
	return joinComma(figure, w.term("population.of", string(one.Working.Of)))
}

// openAsWhole are the rows of what stands in the way though it is about no link
// of its own.
func (d *digestOf) openAsWhole(f *flow) (rows [][]cell) {
	w := d.words
	for _, one := range d.Judgement.Questions {
		if one.Verdict.Certifiable() {
			continue
		}
		what, style := w.judged(one.Question), page.Style(f.alarm())
		if one.Kind == judge.KindLimit {
			p := placesToAgree([]judge.Finding{one})
			what = w.say("open.over", "subject", joinComma(d.ofGroup(one), nanometres(one.WavelengthNM)+" nm", one.Working.SetID),
				"measured", w.fixed(*one.Measured, p), "allowed", w.fixed(*one.Limit, p), "margin", w.fixed(one.Margin.Abs(), p), "unit", string(one.Unit))
		}
		next := ""
		if len(one.Advice) > 0 {
			next = w.judged(one.Advice[0])
		}
		rows = append(rows, []cell{{w.say("open.whole"), f.strong}, {w.say("open." + one.Verdict.String()), style}, {what, f.body}, {next, f.body}})
	}
	return rows
}
