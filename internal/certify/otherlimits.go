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
// What was measured and no limit binds follows.
func (sh *sheet) others(f *flow) [][]cell {
	w := sh.words
	type group struct {
		what, limit, unit string
		measured          []string
		least             *quantity.Decimal // margin; nil where no limit binds
		places            int
		style             page.Style
	}
	var groups []*group
	join := func(what, limit, unit, measured string) *group {
		i := slices.IndexFunc(groups, func(g *group) bool { return g.what == what && g.limit == limit })
		if i < 0 {
			i = len(groups)
			groups = append(groups, &group{what: what, limit: limit, unit: unit, style: f.body})
		}
		groups[i].measured = append(groups[i].measured, measured)
		return groups[i]
	}
	judged := map[string]bool{}
	for _, one := range sh.l.Findings {
		if one.Kind != judge.KindLimit || one.Measured == nil || one.Limit == nil || one.Margin == nil ||
			one.Quantity == record.InsertionLoss || one.Quantity == record.TwoWayAverage {
			continue
		}
		for _, r := range one.Readings {
			judged[string(r.Quantity)+readingKey(r)] = true
		}
		p, unit := max(one.Measured.Places(), one.Limit.Places()), "\u00A0"+string(one.Unit) // as read: such readings are coarser than losses
		bound := "bound.at_most"
		if atLeast(one) {
			bound = "bound.at_least"
		}
		where := firstOf(one.Event, w.term("way", string(one.Direction)))
		if one.Event == "" && one.End != "" {
			where = w.say("end.name", "end", one.End)
		}
		g := join(sh.quantity(one.Quantity, one.WavelengthNM), w.say(bound, "limit", w.short(*one.Limit)+unit), unit,
			strings.TrimSpace(where+" "+w.fixed(*one.Measured, p)+unit))
		g.places = max(g.places, p)
		if g.least == nil || one.Margin.Less(*g.least) {
			g.least = one.Margin
		}
		if one.Verdict == judge.Fail {
			g.style = f.alarm()
		}
	}
	for _, r := range sh.l.Readings {
		if r.Quantity == record.InsertionLoss || judged[string(r.Quantity)+readingKey(r)] {
			continue
		}
		unit := "\u00A0dB"
		if r.Quantity == record.Length {
			unit = "\u00A0m"
		}
		where := firstOf(r.Event, w.term("way", string(r.Direction)))
		join(sh.quantity(r.Quantity, r.WavelengthNM), w.say("bound.none"), unit, strings.TrimSpace(where+" "+w.fixed(r.Value, r.Value.Places())+unit))
	}
	rows := make([][]cell, len(groups))
	for i, g := range groups {
		margin := ""
		if g.least != nil {
			margin = w.say("reflectance.margin", "margin", w.fixed(*g.least, g.places)+g.unit)
		}
		rows[i] = []cell{{g.what, f.body}, {strings.Join(g.measured, ", "), g.style}, {g.limit, f.body}, {margin, f.body}}
	}
	return rows
}

// quantity names what was measured, and at which wavelength.
func (sh *sheet) quantity(q record.Quantity, nm int) string {
	what := upperFirst(sh.words.term("quantity", string(q)))
	if nm > 0 {
		return sh.words.say("reflectance.at", "quantity", what, "nm", nanometres(nm))
	}
	return what
}
