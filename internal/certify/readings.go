package certify

import (
	"cmp"
	"slices"
	"strings"

	"spanseal/internal/claim"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/wording"
)

// readings is the table of what was measured, by wavelength. A reading under several
// limit sets has a row for each that allows another loss; what they share stands in
// the first.
func (sh *sheet) readings(f *layout.Flow) {
	w := sh.words
	if len(sh.l.Readings) == 0 && len(sh.l.Superseded) == 0 {
		f.Section(w.Say("readings.title"), 1)
		f.Paragraph(f.Body, 1, w.Say("readings.none"))
		sh.procedure().Stages(f, sh.places, sh.Local)
		return
	}
	several := sh.severalLimits()
	first, last := sh.MeasuredOn(sh.l.Readings)
	at := func(r record.Reading) string {
		t := sh.Local(r.Time)
		if t.IsZero() {
			return ""
		}
		if day := record.DateOf(t); !first.Equal(last) || !day.Equal(first) {
			return strings.TrimSpace(w.ShortDay(day, sh.IssuedOn()) + " " + wording.Clock(t))
		}
		return wording.Clock(t)
	}
	mixed := oneSided(sh.l.Readings) && slices.ContainsFunc(sh.l.Readings, func(r record.Reading) bool { return r.Source != "" })
	with := func(r record.Reading) string {
		both := wording.Distinct(r.Source, r.Instrument)
		if mixed { // a lone id stands in the place of the other kind
			for i, id := range both {
				one, _ := sh.Facts.Job.Instrument(id)
				both[i] = strings.TrimSpace(kindOf(w, one, id == r.Source, id == r.Instrument) + " " + id)
			}
		}
		return strings.Join(both, ", ")
	}
	type line struct {
		nm    int
		cells []layout.Cell
	}
	var lines []line
	row := func(r record.Reading, measured page.Style, text ...string) {
		lines = append(lines, line{r.WavelengthNM, []layout.Cell{{Text: wording.Nanometres(r.WavelengthNM), Style: f.Body}, {Text: sh.way(r.Direction), Style: f.Body}, {Text: text[0], Style: measured}, {Text: text[1], Style: f.Body},
			{Text: text[2], Style: measured}, {Text: text[3], Style: f.Body}, {Text: text[4], Style: f.Body}, {Text: with(r), Style: f.Body}, {Text: at(r), Style: f.Body}}})
	}
	judged := map[claim.ReadingKey]bool{}
	var above claim.ReadingKey
	for _, one := range sh.losses {
		measured := f.Strong
		if one.Verdict == judge.Fail {
			measured = f.Alarm()
		}
		set := ""
		if one.Working != nil && several {
			set = sh.limitName(one.Working)
		}
		r := record.Reading{WavelengthNM: one.WavelengthNM, Direction: one.Direction} // of an average
		if len(one.Readings) == 1 {
			r = one.Readings[0]
		}
		p, u := one.Places(sh.places), ""
		if one.Uncertainty != nil {
			u = w.Fixed(*one.Uncertainty, min(p, max(sh.places, one.Uncertainty.Places())))
		}
		value, margin := sh.fixed(one.Measured, p), sh.fixed(one.Margin, p)
		if shown := one.Shown(); shown != "" { // the number only stands for it
			value, margin, u = shown, "–", ""
		}
		allowed, key := marked(one, sh.Allowed(one, p)), claim.KeyOf(r)
		if key == above {
			last := lines[len(lines)-1].cells
			if last[3].Text == allowed && last[4].Text == margin { // another set allows as much
				last[6].Text = wording.Comma(last[6].Text, set)
				continue
			}
		}
		row(r, measured, value, allowed, margin, u, set)
		if key == above {
			cells := lines[len(lines)-1].cells
			for _, i := range []int{0, 1, 2, 5, 7, 8} {
				cells[i].Text, cells[i].Above = "", true
			}
		} else {
			above, judged[key] = key, true
		}
	}
	for _, r := range sh.l.Readings {
		if r.Quantity == record.InsertionLoss && !judged[claim.KeyOf(r)] {
			row(r, f.Strong, wording.FirstOf(r.Shown, w.Fixed(r.Value, sh.places)), "", "", "", "")
		}
	}
	slices.SortStableFunc(lines, func(a, b line) int { return cmp.Compare(a.nm, b.nm) })
	rows := make([][]layout.Cell, len(lines))
	for i := range lines {
		rows[i] = lines[i].cells
	}
	columns := []layout.Column{{Name: "nm", Right: true, Whole: true}, {Name: w.Say("readings.way")}, {Name: w.Say("readings.measured"), Right: true},
		{Name: w.Say("readings.allowed"), Right: true}, {Name: w.Say("readings.margin"), Right: true}, {Name: "±U", Right: true},
		{Name: w.Say("readings.set"), Wrap: true}, {Name: w.Say("readings.instrument"), Wrap: true}, {Name: w.Say("readings.time"), Right: true}}
	t := f.NewTable(columns, rows, f.Grid)
	if t.Wraps() && several && oneText(rows, 7) { // then the method block alone names the instruments
		for i := range rows {
			rows[i][7].Text = ""
		}
		t = f.NewTable(columns, rows, f.Grid)
	}
	remark := w.Say("readings.remark")
	if len(sh.l.Link.Splitters) > 0 {
		remark += "; " + w.Say("readings.downstream")
	}
	f.Section(w.Say("readings.title"), f.Opening(t), remark)
	f.Tabulate(t, nil)
	sh.superseded(f, func(r record.Reading) string { return wording.Comma(with(r), at(r)) })
	f.Lines(0.25)
	sh.working(f)
	sh.procedure().Stages(f, sh.places, sh.Local)
}

// oneText reports whether the cells of a column have one text, or none.
func oneText(rows [][]layout.Cell, column int) bool {
	var texts []string
	for _, row := range rows {
		texts = append(texts, row[column].Text)
	}
	return len(wording.Distinct(texts...)) == 1
}

// setsOf are the ids of the sets that findings were judged by, each once.
func setsOf(findings []judge.Finding) (ids []string) {
	for _, one := range findings {
		if one.Working != nil {
			ids = wording.Distinct(append(ids, one.Working.SetID)...)
		}
	}
	return ids
}

// superseded tells the losses that later ones replaced: of those that failed
// first and pass now both figures, and what was noted; of the others, those
// measured alike together.
func (sh *sheet) superseded(f *layout.Flow, how func(record.Reading) string) {
	w := sh.words
	var retested []string
	var order []string
	values := map[string][]string{}
	for _, r := range sh.l.Superseded {
		if r.Quantity != record.InsertionLoss {
			continue
		}
		if said := w.States(sh.folded.Retested(r)); len(said) > 0 {
			retested = append(retested, said...)
			continue
		}
		key := how(r)
		if values[key] == nil {
			order = append(order, key)
		}
		text := wording.Comma(wording.Nanometres(r.WavelengthNM)+" nm", sh.way(r.Direction)) + " " + wording.FirstOf(r.Shown, w.Fixed(r.Value, max(sh.places, r.Value.Places())))
		values[key] = append(values[key], strings.ReplaceAll(text, " ", "\u00A0"))
	}
	if len(retested) > 0 {
		f.Paragraph(f.Note, 0.7, strings.Join(wording.Distinct(retested...), " "))
	}
	if len(order) == 0 {
		return
	}
	for i, key := range order {
		order[i] = strings.Join(values[key], "; ")
		if key != "" {
			order[i] += " (" + key + ")"
		}
	}
	f.Paragraph(f.Note, 0.7, w.Say("readings.superseded", "list", strings.Join(order, "; ")))
}
