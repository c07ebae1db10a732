// Package procedure says on paper how the readings of a link were made: by which
// reference method and with which cords, and what was measured at other stages of the
// work. Where readings differ it says each with the readings that it is of.
package procedure

import (
	"slices"
	"strings"
	"time"

	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/record"
	"spanseal/internal/wording"
)

// Of is a link whose paper is drawn.
type Of struct {
	Job   *record.Job
	Link  *judge.LinkResult
	Words *wording.Wording
}

// made says how the readings of the link were made, by one field of their method: the
// field, and of which readings where they differ.
func (o *Of) made(field func(record.Method) string) string {
	p := &o.Job.Policy
	if len(o.Link.Readings) == 0 {
		return field(p.MethodFor(o.Link.Link))
	}
	var values []string // of each reading
	same := true
	for i := range o.Link.Readings {
		values = append(values, field(p.MethodOf(&o.Link.Readings[i])))
		same = same && values[i] == values[0]
	}
	if same { // as nearly always
		return values[0]
	}
	of := map[string][]record.Reading{}
	var each []string
	for i, v := range values {
		if _, known := of[v]; !known {
			each = append(each, v)
		}
		of[v] = append(of[v], o.Link.Readings[i])
	}
	var all []string
	for _, v := range each {
		if v != "" {
			all = append(all, o.Words.Say("method.of", "value", v, "readings", o.which(of[v], of)))
		}
	}
	return strings.Join(all, "; ")
}

// which names readings among others by as little as tells them apart: their
// wavelengths, their directions, or both.
func (o *Of) which(readings []record.Reading, all map[string][]record.Reading) string {
	w := o.Words
	nm := func(r record.Reading) string { return wording.Nanometres(r.WavelengthNM) + "\u00A0nm" }
	way := func(r record.Reading) string { return w.Term("way_short", string(r.Direction)) }
	for _, name := range []func(record.Reading) string{nm, way, func(r record.Reading) string { return strings.TrimSpace(nm(r) + " " + way(r)) }} {
		var names []string
		for _, r := range readings {
			if text := name(r); r.WavelengthNM > 0 && text != "" && !slices.Contains(names, text) {
				names = append(names, text)
			}
		}
		shared := false // with a reading that was made otherwise
		for _, others := range all {
			if &others[0] != &readings[0] {
				shared = shared || slices.ContainsFunc(others, func(r record.Reading) bool { return slices.Contains(names, name(r)) })
			}
		}
		if !shared && len(names) > 0 {
			return strings.Join(names, ", ")
		}
	}
	return w.Count("method.readings", len(readings)) // that no wavelength or direction tells apart
}

// Reference is the reference method.
func (o *Of) Reference() string {
	return o.made(func(m record.Method) string { return o.Words.Term("reference", string(m.Reference)) })
}

// Cords is the grade of the test cords.
func (o *Of) Cords() string {
	return o.made(func(m record.Method) string { return o.Words.Term("cords", string(m.TestCords)) })
}

// Further are what is not said of every job: launch, software, group index.
func (o *Of) Further() []layout.Field {
	w := o.Words
	return []layout.Field{
		{Caption: w.Say("method.launch"), Value: o.made(func(m record.Method) string { return w.Known("launch", m.Launch) })},
		{Caption: w.Say("method.software"), Value: o.made(func(m record.Method) string { return m.Software })},
		{Caption: w.Say("method.group_index"), Value: o.made(func(m record.Method) string {
			if m.GroupIndex == nil {
				return ""
			}
			return w.Fixed(*m.GroupIndex, m.GroupIndex.Places())
		})},
	}
}

// Witness is who watched while the link was measured, and on which days where that was
// not all of them; "" where nobody is named.
func (o *Of) Witness() string {
	var all []string
	for _, v := range o.Job.WitnessesOf(o.Link.Link, o.Link.Readings) {
		who := v.Who
		if !v.From.IsZero() {
			who = o.Words.Say("method.witnessed", "who", who, "days", o.Words.Days(v.From, v.To))
		}
		all = append(all, who)
	}
	return wording.Comma(all...)
}

// Stages shows what was measured at other stages of the work beside what counts: a
// reading on the reel is no less a fact because it is not judged.
func (o *Of) Stages(f *layout.Flow, places int, local func(time.Time) time.Time) {
	if len(o.Link.Stages) == 0 {
		return
	}
	w := o.Words
	var rows [][]layout.Cell
	for _, r := range o.Link.Stages {
		if r.Method == nil {
			continue
		}
		value := wording.FirstOf(r.Shown, w.Fixed(r.Value, max(places, r.Value.Places()))) + "\u00A0dB"
		if r.Quantity == record.Length {
			value = wording.FirstOf(r.Shown, w.Fixed(r.Value, r.Value.Places())) + "\u00A0m"
		}
		nm := ""
		if r.WavelengthNM > 0 {
			nm = wording.Nanometres(r.WavelengthNM)
		}
		stage := w.Term("stage", string(r.Method.Stage))
		if r.Fate == record.Superseded {
			stage = wording.Comma(stage, w.Say("stages.again"))
		}
		rows = append(rows, layout.Cells(f.Body, nm, w.Term("way_short", string(r.Direction)), stage, wording.Comma(w.Term("quantity", string(r.Quantity)), r.Event),
			value, wording.FirstOf(w.Day(record.DateOf(local(r.Time))))))
	}
	t := f.NewTable([]layout.Column{{Name: "nm", Right: true, Whole: true}, {Name: w.Say("readings.way")}, {Name: w.Say("stages.stage")}, {Name: w.Say("stages.quantity"), Wrap: true},
		{Name: w.Say("readings.measured"), Right: true}, {Name: w.Say("stages.day"), Right: true}}, rows, f.Grid)
	f.Section(w.Say("stages.title"), f.Opening(t), w.Say("stages.remark"))
	f.Tabulate(t, nil)
}
