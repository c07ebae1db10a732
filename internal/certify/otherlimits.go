package certify

import (
	"slices"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/page"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// reflectance is what else was judged, and what the link would carry.
func (sh *sheet) reflectance(f *flow) {
	w := sh.words
	rows := sh.others(f)
	var within, required, missed []string
	for _, c := range sh.l.Carries {
		switch {
		case c.Within && c.Required:
			required = append(required, c.Title)
		case c.Within:
			within = append(within, c.Title)
		case c.Required:
			missed = append(missed, c.Title)
		}
	}
	var expected []string
	for _, e := range sh.l.ExpectedORL {
		expected = append(expected, strings.TrimSpace(nanometres(e.WavelengthNM)+" nm "+w.term("way", string(e.Direction)))+" "+w.localise(decimals(e.DB, 1))+" dB")
	}
	if len(rows)+len(expected)+len(within)+len(required)+len(missed) == 0 {
		return
	}
	title := w.say("reflectance.title")
	if len(rows) == 0 {
		title = w.say("carries.title")
	}
	f.section(title, float64(min(len(rows)+1, 3)))
	f.table([]column{{wrap: true}, {wrap: true}, {}, {}}, rows)
	if len(expected) > 0 {
		f.paragraph(f.caption, 0.7, w.say("reflectance.expected", "values", strings.Join(expected, " · ")))
	}
	// Titles hold commas; a point keeps them apart.
	carries := func(key string, titles []string, s page.Style, leading float64) {
		if len(titles) > 0 {
			f.paragraph(s, leading, w.say(key, "titles", strings.Join(titles, "\u00A0· ")))
		}
	}
	carries("carries.required", required, f.body, 1)
	carries("carries.missed", missed, f.alarm(), 1)
	carries("carries.within", within, f.caption, 0.7)
}

// others are the limits that are not about loss, those of one quantity and one
// limit in a row: "Reflectance at 1310 nm | end A −52.6 dB, end B −50.9 dB".
func (sh *sheet) others(f *flow) [][]cell {
	w := sh.words
	type group struct {
		what, limit string
		measured    []string
		least       quantity.Decimal // margin
		places      int
		unit        string
		style       page.Style
	}
	var groups []*group
	for _, one := range sh.l.Findings {
		if one.Kind != judge.KindLimit || one.Measured == nil || one.Limit == nil || one.Margin == nil ||
			one.Quantity == record.InsertionLoss || one.Quantity == record.TwoWayAverage {
			continue
		}
		p := max(one.Measured.Places(), one.Limit.Places()) // as read: such readings are coarser than losses
		unit := "\u00A0" + string(one.Unit)
		bound := "at_most"
		if one.Working != nil && one.Working.Bound != "" {
			bound = one.Working.Bound
		}
		what := upperFirst(w.term("quantity", string(one.Quantity)))
		if one.WavelengthNM > 0 {
			what = w.say("reflectance.at", "quantity", what, "nm", nanometres(one.WavelengthNM))
		}
		limit := w.say("bound."+bound, "limit", w.short(*one.Limit)+unit)
		i := slices.IndexFunc(groups, func(g *group) bool { return g.what == what && g.limit == limit })
		if i < 0 {
			groups = append(groups, &group{what: what, limit: limit, least: *one.Margin, unit: unit, style: f.body})
			i = len(groups) - 1
		}
		g := groups[i]
		where := ""
		if one.Event != "" {
			where = one.Event + " "
		} else if one.End != "" {
			where = w.say("end.name", "end", one.End) + " "
		} else if one.Direction != "" {
			where = w.term("way", string(one.Direction)) + " "
		}
		g.measured = append(g.measured, where+w.fixed(*one.Measured, p)+unit)
		g.places = max(g.places, p)
		if one.Margin.Less(g.least) {
			g.least = *one.Margin
		}
		if one.Verdict == judge.Fail {
			g.style = f.alarm()
		}
	}
	var rows [][]cell
	for _, g := range groups {
		rows = append(rows, []cell{{g.what, f.body}, {strings.Join(g.measured, ", "), g.style}, {g.limit, f.body},
			{w.say("reflectance.margin", "margin", w.fixed(g.least, g.places)+g.unit), f.body}})
	}
	// What was measured and no limit binds is still told.
	var free []string
	values := map[string][]string{}
	for _, r := range sh.l.Readings {
		if r.Quantity == record.InsertionLoss || slices.ContainsFunc(sh.l.Findings, func(f judge.Finding) bool {
			return f.Kind == judge.KindLimit && slices.ContainsFunc(f.Readings, func(o record.Reading) bool {
				return o.Quantity == r.Quantity && readingKey(o) == readingKey(r)
			})
		}) {
			continue
		}
		what := upperFirst(w.term("quantity", string(r.Quantity)))
		unit := "\u00A0dB"
		if r.Quantity == record.Length {
			unit = "\u00A0m"
		}
		if r.WavelengthNM > 0 {
			what = w.say("reflectance.at", "quantity", what, "nm", nanometres(r.WavelengthNM))
		}
		free = unique(append(free, what)...)
		values[what] = append(values[what], strings.Join(unique(r.Event, w.term("way", string(r.Direction)), w.fixed(r.Value, r.Value.Places())+unit), " "))
	}
	for _, what := range free {
		rows = append(rows, []cell{{what, f.body}, {strings.Join(values[what], ", "), f.body}, {w.say("bound.none"), f.body}, {"", f.body}})
	}
	return rows
}
