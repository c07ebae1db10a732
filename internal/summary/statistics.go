package summary

import (
	"cmp"
	"slices"
	"strings"

	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/quantity"
	"spanseal/internal/statistics"
	"spanseal/internal/wording"
)

// mostGroups is how many rows of one kind of group the summary holds; a large
// job has hundreds of panels. The others are in results.json.
const mostGroups = 24

// fewestLinks is how many links statistics are made of at least: those of fewer are the
// list of links told again.
const fewestLinks = 5

// statistics are those of the judge: by fibre and connector, then by who
// measured with what and where, so that a hand, an instrument or a panel that
// differs from the others is seen.
func (o *overview) statistics(f *layout.Flow) {
	w := o.words
	groups := o.LossGroups()
	if !slices.ContainsFunc(groups, func(g statistics.Group) bool { return g.Links >= fewestLinks }) {
		return
	}
	var rows [][]layout.Cell
	var notes []string
	for _, by := range []string{"fibre", "connector", "person", "instrument", "panel"} {
		of := slices.DeleteFunc(slices.Clone(groups), func(g statistics.Group) bool { return g.By != by })
		if len(of) == 0 || by != "fibre" && by != "connector" && !slices.ContainsFunc(of, func(g statistics.Group) bool { return g.Name != of[0].Name }) {
			continue // one alone differs from no other
		}
		shown, n, all := worstGroups(of)
		if n < all {
			notes = append(notes, w.Say("statistics.some", "group", w.Term("statistics.by", by), "shown", w.Whole(n), "all", w.Whole(all)))
		}
		rows = append(rows, append([]layout.Cell{{Text: wording.UpperFirst(w.Term("statistics.by", by)), Style: f.Strong}}, layout.Cells(f.Body, make([]string, len(statisticColumns)+1)...)...))
		for i := range shown {
			row := o.statistic(f, &shown[i])
			if i > 0 && shown[i].Name == shown[i-1].Name {
				row[0].Text, row[0].Above = "", true
			}
			rows = append(rows, row)
		}
	}
	for _, g := range groups {
		if !g.StandsOut.IsZero() {
			group := w.Term("statistics.by", g.By) + " " + g.Name
			if g.By == "panel" { // its name says what it is
				group = g.Name
			}
			notes = append(notes, w.Say("statistics.stands_out", "group", wording.UpperFirst(group), "nm", wording.Nanometres(g.WavelengthNM), "how", w.State(g.StandsOut)))
		}
	}
	notes = append(notes, o.graded(groups)...)
	columns := []layout.Column{{Wrap: true, Whole: true}, {Name: "nm", Right: true}}
	for _, key := range statisticColumns {
		columns = append(columns, layout.Column{Name: w.Say("statistics." + key), Right: true})
	}
	for _, row := range rows {
		for k := range row {
			row[k].Style.Size = f.Caption.Size + 0.6
		}
	}
	f.Tabled(w.Say("statistics.title"), columns, rows, w.Say("statistics.remark"))
	for _, note := range notes {
		f.Need(0.75 * f.Grid * float64(len(f.Wrap(f.Caption, f.W, note))))
		f.Paragraph(f.Caption, 0.75, note)
	}
}

// statisticColumns are the columns behind group and wavelength, by their keys.
var statisticColumns = []string{"n", "links", "mean", "median", "p95", "p97", "worst", "deviation", "first_time", "marginal"}

// statistic is one group as a row.
func (o *overview) statistic(f *layout.Flow, g *statistics.Group) []layout.Cell {
	w := o.words
	row := []string{w.Known("made", g.Name), wording.Nanometres(g.WavelengthNM), w.Whole(g.N), w.Whole(g.Links)}
	shown := func(v *float64, places int) string {
		if v == nil { // the sample does not show it
			return "–"
		}
		return w.Fixed(form.Statistic(*v), places)
	}
	for _, v := range []*float64{&g.Mean, &g.Median, g.P95, g.P97, &g.Worst} {
		row = append(row, shown(v, 2))
	}
	row = append(row, shown(g.SD, 3), w.Fixed(form.Statistic(100*g.FirstTime), 0), w.Fixed(form.Statistic(100*g.Marginal), 0))
	set := layout.Cells(f.Body, row...)
	if !g.StandsOut.IsZero() {
		set[0].Style = f.Strong
	}
	return set
}

// worstGroups keeps, of more groups than there is room for, those that stand out and then
// those with the largest mean, in their own order: whole ones, at each of their
// wavelengths. It says how many there are with a name of their own, before and after.
func worstGroups(groups []statistics.Group) (worst []statistics.Group, shown, all int) {
	type named struct {
		out   bool // stands out
		mean  float64
		rows  int
		taken bool
	}
	var names []*named
	at := map[string]*named{}
	for i := range groups {
		g := &groups[i]
		n := at[g.Name]
		if n == nil {
			n = &named{mean: g.Mean}
			at[g.Name], names = n, append(names, n)
		}
		n.out, n.mean, n.rows = n.out || !g.StandsOut.IsZero(), max(n.mean, g.Mean), n.rows+1
	}
	slices.SortStableFunc(names, func(a, b *named) int {
		switch {
		case a.out && !b.out:
			return -1
		case b.out && !a.out:
			return 1
		}
		return cmp.Compare(b.mean, a.mean)
	})
	rows := 0
	for _, n := range names {
		if rows += n.rows; rows > mostGroups && shown > 0 {
			break
		}
		n.taken = true
		shown++
	}
	for _, g := range groups {
		if at[g.Name].taken {
			worst = append(worst, g)
		}
	}
	return worst, shown, len(names)
}

// graded says which population sets the connectors are within, those with the
// same outcome together.
func (o *overview) graded(groups []statistics.Group) []string {
	w := o.words
	var outcomes []string
	of := map[string][]string{}
	for _, g := range groups {
		var met, open []string
		for _, grade := range g.Grades {
			if grade.Met {
				met = append(met, o.SetName(grade.SetID))
			} else {
				open = append(open, o.SetName(grade.SetID))
			}
		}
		var parts []string
		if len(met) > 0 {
			parts = append(parts, w.Say("statistics.within", "sets", strings.Join(met, ", ")))
		}
		if len(open) > 0 {
			parts = append(parts, w.Say("statistics.not_within", "sets", strings.Join(open, ", ")))
		}
		if len(parts) == 0 {
			continue
		}
		outcome := strings.Join(parts, "; ")
		if of[outcome] == nil {
			outcomes = append(outcomes, outcome)
		}
		of[outcome] = append(of[outcome], w.Say("reflectance.at", "quantity", w.Known("made", g.Name), "nm", wording.Nanometres(g.WavelengthNM)))
	}
	for i, outcome := range outcomes {
		outcomes[i] = w.Say("statistics.graded", "groups", w.List(of[outcome]), "outcome", outcome)
	}
	return outcomes
}

// populations are the limits of all connections or splices of the job together,
// those that are not met first.
func (o *overview) populations(f *layout.Flow) {
	w := o.words
	all := o.ofGroups()
	if len(all) == 0 {
		return
	}
	p := placesToAgree(all)
	var rows [][]layout.Cell
	for _, one := range all {
		style := f.Body
		if !one.Verdict.Certifiable() {
			style = f.Alarm()
		}
		row := layout.Cells(f.Body, wording.UpperFirst(o.ofGroup(one)), wording.Nanometres(one.WavelengthNM), w.Whole(one.Population), o.SetName(one.Working.SetID),
			w.Fixed(*one.Measured, p), w.Fixed(*one.Limit, p), w.Fixed(*one.Margin, p), w.Say("open."+one.Verdict.String()))
		row[6].Style, row[7].Style = style, style
		rows = append(rows, row)
	}
	f.Tabled(w.Say("population.title"), []layout.Column{{Name: w.Say("population.what"), Wrap: true}, {Name: "nm", Right: true}, {Name: "n", Right: true}, {Name: w.Say("readings.set"), Wrap: true},
		{Name: w.Say("readings.measured"), Right: true}, {Name: w.Say("readings.allowed"), Right: true}, {Name: w.Say("readings.margin"), Right: true},
		{Name: w.Say("links.verdict")}}, rows, w.Say("population.remark"))
}

// ofGroups are the limits of the whole job, those that are not met first.
func (o *overview) ofGroups() (all []judge.Finding) {
	for _, v := range []bool{false, true} {
		for _, one := range o.Judgement.Questions {
			if one.Kind == judge.KindLimit && one.Verdict.Certifiable() == v && one.Limit != nil {
				all = append(all, one)
			}
		}
	}
	return all
}

// ofGroup says which figure of which group is judged: "percentile 97, each
// connection".
func (o *overview) ofGroup(one judge.Finding) string {
	w := o.words
	figure := w.Say("population.mean")
	if p := one.Working.Percentile; p != nil {
		figure = w.Say("population.percentile", "p", w.Short(*p))
	}
	return wording.Comma(figure, w.Term("population.of", string(one.Working.Of)))
}

// openAsWhole are the rows of what stands in the way though it is about no link
// of its own.
func (o *overview) openAsWhole(f *layout.Flow) (rows [][]layout.Cell) {
	w := o.words
	for i := range o.Judgement.Questions {
		one := &o.Judgement.Questions[i]
		if one.Verdict.Certifiable() {
			continue
		}
		next := wording.FirstOf(o.Next(*one)...)
		rows = append(rows, []layout.Cell{{Text: w.Say("open.whole"), Style: f.Strong}, {Text: w.Say("open." + one.Verdict.String()), Style: f.Alarm()}, {Text: o.wholeJob(one), Style: f.Body}, {Text: next, Style: f.Body}})
	}
	return rows
}

// wholeJob says what stands in the way though it is about no link of its own.
func (o *overview) wholeJob(one *judge.Finding) string {
	if one.Kind != judge.KindLimit {
		return o.Posed(one)
	}
	w, p := o.words, placesToAgree(o.ofGroups())
	return w.Say("open.over", "subject", wording.Comma(o.ofGroup(*one), wording.Nanometres(one.WavelengthNM)+" nm", o.SetName(one.Working.SetID)),
		"measured", w.Fixed(*one.Measured, p), "allowed", w.Fixed(*one.Limit, p), "margin", w.Fixed(one.Margin.Abs(), p), "unit", string(one.Unit))
}

// placesToAgree is how many digits findings in one column are printed with, so
// that of each the order shows and measured, limit and margin subtract as they
// are printed.
func placesToAgree(findings []judge.Finding) int {
	all := 0
	for _, f := range findings {
		all = max(all, f.Measured.Places(), f.Limit.Places())
	}
	p := 2
	for _, f := range findings {
		p = max(p, quantity.PlacesToTell(*f.Measured, *f.Limit))
	}
	for ; p < all; p++ {
		if !slices.ContainsFunc(findings, func(f judge.Finding) bool {
			difference := f.Measured.Round(p).Sub(f.Limit.Round(p)).Abs()
			return !difference.Equal(f.Margin.Abs().Round(p))
		}) {
			break
		}
	}
	return p
}
