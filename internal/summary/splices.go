package summary

import (
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/splices"
	"spanseal/internal/wording"
)

// splices is the register of every splice in a span, on a page of its own, and those
// of them that are out of specification.
func (o *overview) splices(f *layout.Flow) {
	if !splices.Recorded(o.Facts) {
		return
	}
	w := o.words
	var all, out [][]layout.Cell
	n := 0
	for _, r := range o.Judgement.Results() {
		for _, s := range splices.Of(r) {
			n++
			rows := o.spliceRows(f, s)
			if all = append(all, rows...); s.Out() {
				out = append(out, rows...)
			}
		}
	}
	f.Part = ""
	f.Need(f.End) // a page of its own
	f.Section(w.Say("splices.title"), 4, w.Count("splices.count", n))
	if len(out) > 0 {
		f.Together(func() { f.Put(f.X, f.Base(), f.Alarm(), w.Count("splices.out", len(out))) })
		f.Lines(1)
		f.Table(o.spliceColumns(), out)
		f.Tabled(w.Say("splices.all"), o.spliceColumns(), all)
		return
	}
	f.Table(o.spliceColumns(), all)
}

func (o *overview) spliceColumns() []layout.Column {
	w := o.words
	return []layout.Column{{Name: w.Say("links.link"), Wrap: true}, {Name: w.Say("splices.splice"), Wrap: true}, {Name: w.Say("splices.place"), Wrap: true},
		{Name: w.Say("splices.estimate"), Right: true}, {Name: w.Say("terminations.attempts"), Right: true}, {Name: "nm", Right: true},
		{Name: w.Term("arrow", string(record.AB)), Right: true}, {Name: w.Term("arrow", string(record.BA)), Right: true}, {Name: w.Term("arrow", string(record.TwoWay)), Right: true},
		{Name: w.Say("readings.allowed"), Right: true}, {Name: w.Say("links.verdict"), Wrap: true}, {Name: w.Say("terminations.by"), Wrap: true}}
}

// spliceRows are a row for each wavelength at which the splice was measured, or one.
func (o *overview) spliceRows(f *layout.Flow, s *splices.Splice) (rows [][]layout.Cell) {
	w := o.words
	first := []string{s.Link.ID, s.Name, "", "", "", "", "", "", "", "", "", ""}
	if t := s.Made; t != nil {
		if first[2] = t.Closure; t.Tray != "" {
			first[2] = wording.Comma(t.Closure, w.Say("splices.tray", "tray", t.Tray))
		}
		if t.Estimate != nil {
			first[3] = w.Fixed(*t.Estimate, max(2, t.Estimate.Places()))
		}
		first[11] = wording.Comma(o.Person(t.Person), w.ShortDay(record.DateOf(o.Local(t.Finished)), o.IssuedOn()))
	}
	if s.Attempts > 0 {
		first[4] = w.Whole(s.Attempts)
	}
	number := func(v *quantity.Decimal) string {
		if v == nil {
			return ""
		}
		return w.Fixed(*v, max(2, v.Places()))
	}
	read := func(r *record.Reading) string {
		switch {
		case r == nil:
			return ""
		case r.Shown != "":
			return r.Shown
		}
		return number(&r.Value)
	}
	for _, l := range s.At {
		row := first
		if len(rows) > 0 { // what does not change stands once
			row = make([]string, len(first))
		}
		row[5], row[6], row[7], row[8] = wording.Nanometres(l.WavelengthNM), wording.FirstOf(read(l.AB), read(l.Unstated)), read(l.BA), number(l.Average)
		style := f.Body
		if one := l.Judged; one != nil {
			row[9], row[10] = o.Allowed(*one, max(2, one.Limit.Places())), w.Say("open."+one.Verdict.String())
			if one.Verdict == judge.Fail {
				style = f.Alarm()
			}
		}
		if l.Listed {
			row[10], style = w.Say("splices.listed"), f.Strong
		}
		cells := layout.Cells(f.Body, row...)
		cells[8].Style, cells[10].Style = style, style
		rows = append(rows, cells)
	}
	if len(rows) == 0 {
		first[10] = w.Say("splices.unmeasured")
		rows = append(rows, layout.Cells(f.Body, first...))
	}
	for _, row := range rows {
		row[0].Style = f.Strong
		for k := range row {
			row[k].Text = strings.TrimSpace(row[k].Text)
			row[k].Style.Size = f.Caption.Size + 0.6
		}
	}
	return rows
}
