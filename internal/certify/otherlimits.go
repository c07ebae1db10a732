package certify

import (
	"slices"
	"strings"

	"spanseal/internal/claim"
	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/wording"
)

// reflectance is what else was judged, and what the link would carry.
func (sh *sheet) reflectance(f *layout.Flow) {
	w := sh.words
	rows, quantities := sh.others(f)
	var required, missed, open, within, loss []string
	for _, c := range sh.l.Carries {
		c.Title = w.Citation(c.Title)
		switch {
		case c.Required && c.Within:
			required = append(required, w.Say("carries.required", "title", c.Title, "numbers", sh.worstOf(c.Findings)))
		case c.Open():
			open = append(open, c.Title)
		case c.Required:
			missed = append(missed, c.Title)
		case !c.Within || !sh.l.Verdict.Certifiable(): // no promise on a sheet that is none
		case c.LengthJudged:
			within = append(within, c.Title)
		default:
			loss = append(loss, c.Title)
		}
	}
	var expected []string
	for _, e := range sh.l.ExpectedORL {
		expected = append(expected, strings.TrimSpace(wording.Nanometres(e.WavelengthNM)+" nm "+w.Term("way", string(e.Direction)))+" "+w.Localise(form.Decimals(e.DB, 1))+" dB")
	}
	if len(rows)+len(expected)+len(required)+len(missed)+len(open)+len(within)+len(loss) == 0 {
		return
	}
	if len(expected) > 0 && !slices.Contains(quantities, record.OpticalReturnLoss) {
		quantities = append(quantities, record.OpticalReturnLoss)
	}
	title := "" // no promise of what does not follow
	switch len(quantities) {
	case 0:
		title = w.Say("carries.title")
	case 1:
		title = wording.UpperFirst(w.Term("quantity", string(quantities[0])))
	default:
		title = w.Say("reflectance.several")
	}
	if len(quantities) > 0 && len(required)+len(missed)+len(open)+len(within)+len(loss) > 0 {
		title = w.Say("reflectance.carries", "what", title)
	}
	f.Tabled(title, []layout.Column{{}, {Wrap: true}, {Wrap: true}, {}}, rows)
	say := func(s page.Style, key string, list []string) {
		if len(list) > 0 {
			f.Paragraph(s, 0.7, w.Say(key, "list", strings.Join(list, "\u00A0· "))) // titles hold commas
		}
	}
	say(f.Caption, "reflectance.expected", expected)
	for _, line := range required {
		f.Paragraph(f.Caption, 0.7, line)
	}
	say(f.Alarm(), "carries.missed", missed)
	say(f.Alarm(), "carries.open", open)
	var tail []string // in one paragraph, for a certificate keeps to its page
	if len(within) > 0 {
		tail = append(tail, w.Say("carries.within", "list", strings.Join(sh.familiesOf(within), "\u00A0· "))+".")
	}
	if len(loss) > 0 {
		tail = append(tail, w.Say("carries.within_loss", "list", strings.Join(families(loss), "\u00A0· "))+".")
	}
	if len(required)+len(missed)+len(open)+len(tail) > 0 {
		tail = append(tail, w.States(judge.ApplicationNotes(&sh.Facts.Job.Policy, sh.l))...)
	}
	if len(tail) > 0 {
		f.Paragraph(f.Caption, 0.7, strings.Join(tail, " "))
	}
}

// familiesOf is families, worked out once for links that carry the same, as nearly
// all of a job do.
func (s *PaperSet) familiesOf(titles []string) []string {
	last := s.families.Load()
	if last == nil || !slices.Equal(last.titles, titles) {
		last = &grouped{titles, families(titles)}
		s.families.Store(last)
	}
	return last.families
}

type grouped struct{ titles, families []string }

// families names titles of one family together, in order of first appearance:
// "40GBASE-ER4, FR, LR4", "GPON class B, B+", "1GFC, 2GFC (1310 nm)".
func families(titles []string) []string {
	type family struct{ before, after string }
	split := func(title string) (f family, own string) {
		if i := strings.LastIndex(title, ", "); i >= 0 && strings.IndexAny(title[i+2:], "0123456789") == 0 {
			return family{"", "\u00A0(" + strings.ReplaceAll(title[i+2:], " ", "\u00A0") + ")"}, title[:i]
		}
		i := strings.LastIndex(title, " ")
		if i < 0 {
			i = strings.Index(title, "-")
		}
		if i < 0 {
			return family{title, ""}, ""
		}
		return family{title[:i+1], ""}, title[i+1:]
	}
	var order []family
	members := map[family][]string{}
	for _, title := range titles {
		f, own := split(title)
		if members[f] == nil {
			order = append(order, f)
		}
		members[f] = append(members[f], own)
	}
	out := make([]string, len(order))
	for i, f := range order {
		out[i] = f.before + strings.Join(members[f], ", ") + f.after
	}
	return out
}

// worstOf tells, for each quantity, the reading with the smallest margin: what
// was measured, the limit and the margin together.
func (sh *sheet) worstOf(findings []judge.Finding) string {
	var order []record.Quantity
	worst := map[record.Quantity]judge.Finding{}
	for _, one := range findings {
		if one.Measured == nil || one.Limit == nil || one.Margin == nil {
			continue
		}
		have, seen := worst[one.Quantity]
		if !seen {
			order = append(order, one.Quantity)
		}
		if !seen || one.Margin.Less(*have.Margin) {
			worst[one.Quantity] = one
		}
	}
	var parts []string
	for _, q := range order {
		one := worst[q]
		p, unit := max(one.Measured.Places(), one.Limit.Places()), "\u00A0"+string(one.Unit)
		if q == record.InsertionLoss || q == record.TwoWayAverage { // as everywhere on the paper
			p = one.Places(sh.places)
		}
		parts = append(parts, strings.Join([]string{sh.quantity(q, one.WavelengthNM) + " " + sh.words.Fixed(*one.Measured, p) + unit, sh.bound(one),
			sh.words.Say("reflectance.margin", "margin", sh.words.Fixed(*one.Margin, p)+unit)}, ", "))
	}
	return strings.Join(parts, "; ")
}

// bound is a finding's limit in words: "allowed −35 dB or lower". A figure of
// low confidence is marked.
func (sh *sheet) bound(f judge.Finding) string {
	write := sh.words.Short
	if f.Quantity == record.InsertionLoss || f.Quantity == record.TwoWayAverage { // as everywhere on the paper
		write = func(d quantity.Decimal) string { return sh.words.Fixed(d, f.Places(sh.places)) }
	}
	key, limit := "bound.at_most", write(*f.Limit)
	switch {
	case f.Working != nil && f.Working.Bound == "between" && f.Working.Lower != nil:
		key, limit = "bound.between", sh.words.Say("locale.range", "from", write(*f.Working.Lower), "to", write(f.Working.Limit))
	case f.AtLeast():
		key = "bound.at_least"
	}
	return sh.words.Say(key, "limit", marked(f, limit+"\u00A0"+string(f.Unit)))
}

// isOther reports whether a finding is told in this section rather than with
// the losses and their working.
func (sh *sheet) isOther(f judge.Finding) bool {
	loss := f.Quantity == record.InsertionLoss || f.Quantity == record.TwoWayAverage
	return f.Kind == judge.KindLimit && f.Working != nil && (!loss || sh.folded.Folded(f))
}

// otherSources says where the limits of this section stand, with the mark of
// low confidence explained; "" where there are none.
func (sh *sheet) otherSources() string {
	w := sh.words
	var values []figure
	low := false
	for _, f := range sh.l.Findings {
		if !sh.isOther(f) {
			continue
		}
		for i := range f.Working.Terms {
			t := &f.Working.Terms[i]
			values = append(values, figure{f.Working.From(t), w.Term("quantity", string(f.Quantity)), t})
		}
		low = low || isLow(f.Working)
	}
	if len(values) == 0 {
		return ""
	}
	var named []judge.SetOrigin
	for _, f := range sh.losses {
		if f.Working != nil {
			named = append(named, f.Working.Origins()...)
		}
	}
	text := w.Say("small.limits", "sources", strings.Join(sh.stand(values, named), "; "))
	if low && !sh.lowTold {
		sh.lowTold = true
		text += " " + sh.lowText()
	}
	return text
}

// severalSets reports whether the limits of this section, without those that an
// application's line tells, are of more than one set.
func (sh *sheet) severalSets() bool {
	first := ""
	for _, f := range sh.l.Findings {
		if !sh.isOther(f) || sh.folded.Folded(f) {
			continue
		}
		if first != "" && f.Working.SetID != first {
			return true
		}
		first = f.Working.SetID
	}
	return false
}

// others are the limits that are not about loss, those of one quantity and one
// limit in a row: "Reflectance at 1310 nm | end A −52.6 dB, end B −50.9 dB".
// What was measured and no limit binds follows.
// Which quantities they are of is told too.
func (sh *sheet) others(f *layout.Flow) (rows [][]layout.Cell, quantities []record.Quantity) {
	w := sh.words
	type group struct {
		what, limit, unit string
		sets              []string // that set the limit; none where that goes without saying
		measured          []string
		least             *quantity.Decimal // margin; nil where no limit binds
		places            int
		style             page.Style
	}
	var groups []*group
	join := func(q record.Quantity, nm int, limit, set, unit, measured string) *group {
		if !slices.Contains(quantities, q) {
			quantities = append(quantities, q)
		}
		what := sh.quantity(q, nm)
		i := slices.IndexFunc(groups, func(g *group) bool { return g.what == what && g.limit == limit && slices.Contains(g.sets, set) })
		if i < 0 {
			i = len(groups)
			groups = append(groups, &group{what: what, limit: limit, sets: []string{set}, unit: unit, style: f.Body})
		}
		groups[i].measured = append(groups[i].measured, measured)
		return groups[i]
	}
	judged := map[claim.ReadingKey]bool{}
	several := sh.severalSets()
	for _, one := range sh.l.Findings {
		if one.Kind != judge.KindLimit || one.Measured == nil || one.Limit == nil || one.Margin == nil ||
			one.Quantity == record.InsertionLoss || one.Quantity == record.TwoWayAverage {
			continue
		}
		for _, r := range one.Readings {
			judged[claim.KeyOf(r)] = true
		}
		if sh.folded.Folded(one) {
			continue
		}
		p, unit := max(one.Measured.Places(), one.Limit.Places()), "\u00A0"+string(one.Unit) // as read: such readings are coarser than losses
		where := wording.Comma(one.Event, w.Term("way", string(one.Direction)))
		if one.Event == "" && one.End != "" {
			where = strings.ReplaceAll(w.Say("end.name", "end", one.End), " ", "\u00A0")
		}
		g := join(one.Quantity, one.WavelengthNM, sh.bound(one), one.Working.SetID, unit,
			strings.TrimPrefix(where+"\u00A0", "\u00A0")+w.Fixed(*one.Measured, p)+unit)
		g.places = max(g.places, p)
		if g.least == nil || one.Margin.Less(*g.least) {
			g.least = one.Margin
		}
		if one.Verdict == judge.Fail {
			g.style = f.Alarm()
		}
	}
	for _, r := range sh.l.Readings {
		if r.Quantity == record.InsertionLoss || judged[claim.KeyOf(r)] {
			continue
		}
		unit := "\u00A0dB"
		if r.Quantity == record.Length {
			unit = "\u00A0m"
		}
		where := wording.Comma(r.Event, w.Term("way", string(r.Direction)))
		join(r.Quantity, r.WavelengthNM, w.Say("bound.none"), "", unit, strings.TrimSpace(where+" "+w.Fixed(r.Value, r.Value.Places())+unit))
	}
	for i := 0; i < len(groups); i++ { // sets that agree share a row
		g := groups[i]
		groups = slices.Concat(groups[:i+1], slices.DeleteFunc(slices.Clone(groups[i+1:]), func(o *group) bool {
			same := o.what == g.what && o.limit == g.limit && slices.Equal(o.measured, g.measured)
			if same {
				g.sets = append(g.sets, o.sets...)
			}
			return same
		}))
	}
	rows = make([][]layout.Cell, len(groups))
	for i, g := range groups {
		alone := !slices.ContainsFunc(groups, func(o *group) bool { return o != g && o.what == g.what })
		if several && g.sets[0] != "" && (!alone || len(g.sets) == 1) {
			names := make([]string, len(g.sets))
			for k, id := range g.sets {
				names[k] = sh.SetName(id)
			}
			g.limit = w.Say("bound.of", "bound", g.limit, "set", strings.Join(names, ", "))
		}
		margin := ""
		if g.least != nil {
			margin = w.Say("reflectance.margin", "margin", w.Fixed(*g.least, g.places)+g.unit)
		}
		rows[i] = []layout.Cell{{Text: g.what, Style: f.Body}, {Text: strings.Join(g.measured, ", "), Style: g.style}, {Text: g.limit, Style: f.Body}, {Text: margin, Style: f.Body}}
	}
	return rows, quantities
}

// quantity names what was measured, and at which wavelength.
func (sh *sheet) quantity(q record.Quantity, nm int) string {
	what := wording.UpperFirst(sh.words.Term("quantity", string(q)))
	if nm > 0 {
		return sh.words.Say("reflectance.at", "quantity", what, "nm", wording.Nanometres(nm))
	}
	return what
}
