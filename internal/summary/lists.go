package summary

import (
	"cmp"
	"slices"
	"strings"

	"spanseal/internal/certify"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/wording"
)

// links is the list of every link, in schedule order.
func (o *overview) links(f *layout.Flow) {
	w := o.words
	columns := []layout.Column{{Name: w.Say("links.link"), Wrap: true}, {Name: w.Say("links.places"), Wrap: true}, {Name: w.Say("links.fibre")},
		{Name: "m", Right: true}, {Name: w.Say("links.worst")}, {Name: w.Say("readings.measured"), Right: true},
		{Name: w.Say("readings.allowed"), Right: true}, {Name: w.Say("readings.margin"), Right: true}, {Name: w.Say("links.verdict")}}
	rows := make([][]layout.Cell, 0, len(o.Judgement.Links))
	for _, l := range o.Judgement.Results() {
		verdict := f.Body
		switch {
		case l.Verdict == judge.Marginal:
			verdict = f.Strong
		case !l.Verdict.Certifiable():
			verdict = f.Alarm()
		}
		margin := f.Body
		if one := l.WorstFinding(); one != nil && one.Verdict == l.Verdict {
			margin = verdict
		}
		row := []layout.Cell{{Text: l.Link.ID, Style: f.Strong}, {Text: l.Link.From + " – " + l.Link.To, Style: f.Body}, {Text: l.Link.Fibre, Style: f.Body},
			{Text: w.Short(l.Link.Length.Round(min(l.Link.Length.Places(), 3))), Style: f.Body}, {Text: "", Style: f.Body}, {Text: "", Style: f.Body}, {Text: "", Style: f.Body}, {Text: "", Style: margin},
			{Text: w.Say("open." + l.Verdict.String()), Style: verdict}}
		if one := noNumber(l); one != nil { // worse than any number
			row[4].Text = wording.Nanometres(one.WavelengthNM) + " " + w.Term("arrow", string(one.Direction))
			row[5].Text, row[6].Text, row[7].Text = one.Shown(), o.Allowed(*one, o.placesOf(*one)), "–"
			row[7].Style = verdict
		} else if one := l.WorstFinding(); one != nil && one.Measured != nil {
			row[4].Text = wording.Nanometres(one.WavelengthNM) + " " + w.Term("arrow", string(one.Direction))
			p := o.placesOf(*one)
			row[5].Text, row[6].Text, row[7].Text = w.Fixed(*one.Measured, p), o.Allowed(*one, p), w.Fixed(*one.Margin, p)
		}
		for k := range row {
			row[k].Style.Size = f.Caption.Size + 0.6
		}
		rows = append(rows, row)
	}
	f.Index(w.Say("links.title"), columns, rows, w.Say("links.remark"))
}

// noNumber is a loss of a link that fails and that only stands for what the instrument
// showed, nil where there is none.
func noNumber(l *judge.LinkResult) *judge.Finding {
	for i := range l.Findings {
		if f := &l.Findings[i]; f.Kind == judge.KindLimit && f.Verdict == judge.Fail && f.Quantity == record.InsertionLoss && f.Limit != nil && f.Shown() != "" {
			return f
		}
	}
	return nil
}

// sets names the limit sets: what was agreed, in which edition, in which bytes.
func (o *overview) sets(f *layout.Flow) {
	w := o.words
	if len(o.Judgement.Sets) == 0 {
		return
	}
	f.Section(w.Say("sets.title"), 3)
	const indent = 34.0
	f.Begin(page.Element{Role: page.List})
	defer f.Finish()
	for _, set := range o.Judgement.Sets {
		kind := w.Say("sets.built_in")
		switch {
		case set.Owner:
			kind = w.Say("sets.owner")
		case !set.BuiltIn:
			kind = w.Say("sets.own")
		}
		state := wording.FirstOf(strings.TrimSuffix(w.State(set.Confirmation), "."), w.Say("sets.unconfirmed"))
		if set.LowCount > 0 {
			state += "; " + w.Count("sets.low", set.LowCount)
		}
		ids := f.Wrap(f.Strong, indent-3, set.ID)
		lines := f.Wrap(f.Body, f.W-indent, strings.Join([]string{w.Edition(set.Standard, set.Edition), kind, state}, "; "))
		sum := page.Style{Face: page.Mono, Size: f.Style.Small.Size, Ink: f.Soft}
		f.Need((2 + 0.86*float64(len(lines)-1)) * f.Grid)
		f.Pair(func() {
			for i, line := range ids {
				f.Put(f.X, f.Base()+float64(i)*f.ValueLeading(), f.Strong, line)
			}
		}, func() {
			for i, line := range lines {
				f.Put(f.X+indent, f.Base()+float64(i)*f.ValueLeading(), f.Body, line)
			}
			f.Lines(1 + 0.86*float64(max(len(lines), len(ids))-1))
			text := "SHA-256 " + set.SHA256
			f.Put(f.X+indent, f.Y+0.5*f.Grid, f.Shrink(sum, 4.5, f.W-indent, text), text)
		})
		f.Lines(1)
	}
}

func (o *overview) people(f *layout.Flow) {
	job := &o.Facts.Job
	if len(job.People) == 0 {
		return
	}
	w := o.words
	var rows [][]layout.Cell
	for _, p := range job.People {
		rows = append(rows, layout.Cells(f.Body, p.Name, w.Known("role", p.Role), p.Qualification, w.Day(p.ValidUntil)))
	}
	f.Tabled(w.Say("people.title"), []layout.Column{{Name: w.Say("people.name"), Wrap: true}, {Name: w.Say("people.role"), Wrap: true}, {Name: w.Say("people.qualification"), Wrap: true},
		{Name: w.Say("people.valid")}}, rows)
}

func (o *overview) instruments(f *layout.Flow) {
	job := &o.Facts.Job
	if len(job.Instruments) == 0 {
		return
	}
	w := o.words
	var rows [][]layout.Cell
	for _, i := range job.Instruments {
		u := ""
		if i.Uncertainty != nil {
			u = w.Fixed(*i.Uncertainty, max(2, i.Uncertainty.Places()))
		}
		rows = append(rows, layout.Cells(f.Body, i.ID, w.Known("instrument_kind", i.Kind), strings.TrimSpace(i.Make+" "+i.Model), i.Serial, w.Day(i.Calibrated), w.Day(i.Due), u))
	}
	f.Tabled(w.Say("instruments.title"), []layout.Column{{Name: w.Say("instruments.id"), Wrap: true}, {Name: w.Say("instruments.kind"), Wrap: true}, {Name: w.Say("instruments.made"), Wrap: true},
		{Name: w.Say("instruments.serial"), Wrap: true}, {Name: w.Say("instruments.calibrated")}, {Name: w.Say("instruments.due")}, {Name: "±U (k = 2) dB", Right: true}}, rows)
}

// files accounts for every row of every file of readings.
func (o *overview) files(f *layout.Flow) {
	if len(o.Facts.Accounts) == 0 {
		return
	}
	w := o.words
	var rows [][]layout.Cell
	for _, a := range o.Facts.Accounts {
		row := []string{a.File}
		for _, n := range []int{a.Rows, a.Used, a.Superseded, a.Refused, a.Blank} {
			row = append(row, w.Whole(n))
		}
		rows = append(rows, layout.Cells(f.Body, append(row, wording.Abbreviate(a.SHA256))...))
	}
	columns := []layout.Column{{Name: w.Say("files.file"), Wrap: true}}
	for _, key := range []string{"rows", "used", "superseded", "refused", "blank"} {
		columns = append(columns, layout.Column{Name: w.Say("files." + key), Right: true})
	}
	f.Tabled(w.Say("files.title"), append(columns, layout.Column{Name: "SHA-256"}), rows)
	if kept := o.Facts.Kept; len(kept) > 0 {
		size := 0
		for _, k := range kept {
			size += int(k.Size)
		}
		f.Need(0.75 * f.Grid)
		f.Paragraph(f.Caption, 0.75, w.Count("files.originals", len(kept), "bytes", w.Whole(size)))
	}
}

// revisions is the history of the set, this issue last.
func (o *overview) revisions(f *layout.Flow) {
	w := o.words
	all := append(slices.Clone(o.History), certify.HistoryLine{Number: o.Revision, Issued: o.IssuedOn(), Reason: o.Reason, Changes: o.Changes})
	slices.SortStableFunc(all, func(a, b certify.HistoryLine) int { return cmp.Compare(a.Number, b.Number) })
	var rows [][]layout.Cell
	for _, r := range all {
		text := r.Reason
		if text == "" && len(r.Changes) == 0 {
			text = w.Say("revisions.whole")
			if r.Number == 1 {
				text = w.Say("revisions.first")
			}
		}
		texts, english := []string{text}, []string(nil)
		for i, said := range o.Changed(r.Changes) {
			if w.Language != "en" && i < len(r.Changes) && said == r.Changes[i].Text && w.State(r.Changes[i]) == "" {
				english = append(english, said) // of an earlier program, which gave its texts no code
				continue
			}
			texts = append(texts, said)
		}
		// A change is a row of its own, so that a long list goes on overleaf.
		first := len(rows)
		add := func(text, lang string) {
			row := layout.Cells(f.Body, "r"+w.Whole(r.Number), w.Day(r.Issued), text)
			if row[2].Lang = lang; len(rows) > first {
				row[0].Text, row[1].Text, row[0].Above, row[1].Above = "", "", true, true
			}
			rows = append(rows, row)
		}
		for _, text := range wording.Distinct(texts...) {
			add(text, "")
		}
		for _, text := range wording.Distinct(english...) {
			add(text, "en")
		}
	}
	f.Tabled(w.Say("revisions.title"), []layout.Column{{Name: w.Say("revisions.number")}, {Name: w.Say("revisions.issued")}, {Name: w.Say("revisions.change"), Wrap: true}}, rows)
}
