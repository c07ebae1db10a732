package certify

import (
	"slices"

	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
)

// wrong lists what is open, with how much it misses by.
func (sh *sheet) wrong(f *layout.Flow) {
	w := sh.words
	open := sh.l.Open()
	if len(open) == 0 {
		f.Section(w.Say("wrong.title"), 2)
		f.Paragraph(f.Body, 1, w.Say("wrong.none"))
		return
	}
	several := len(setsOf(open)) > 1 || sh.severalLimits()
	var rows [][]layout.Cell
	what := "" // a sentence needs no head over it, but numbers do
	for _, each := range sh.Fold(open) {
		one := each.Finding
		head := f.Alarm()
		if one.Verdict == judge.Marginal {
			head = f.Strong
		}
		row := []layout.Cell{{Text: w.Say("finding." + one.Verdict.String()), Style: head}, {Text: wording.UpperFirst(sh.Subject(one)), Style: f.Body}, {Text: "", Style: f.Body}, {Text: "", Style: f.Body}, {Text: "", Style: head}}
		if one.Measured != nil && one.Limit != nil && one.Margin != nil {
			what = w.Say("wrong.what")
			if several && one.Working != nil {
				row[1].Text = w.Say("bound.of", "bound", row[1].Text, "set", sh.limitName(one.Working))
			}
			p, unit := sh.placesOf(one), " "+string(one.Unit)
			row[2].Text = w.Fixed(*one.Measured, p) + unit
			row[3].Text = marked(one, sh.Allowed(one, p)+unit)
			if one.Margin.Sign() < 0 {
				row[4].Text = w.Fixed(one.Margin.Abs(), p) + unit
			} else if short, ok := shortOfGuard(one); ok {
				row[4].Text = w.Say("wrong.short", "short", w.Fixed(short, p)+unit, "guard", w.Fixed(*one.Guard, p)+unit)
			}
			if shown := one.Shown(); shown != "" { // the number only stands for it
				row[2].Text, row[4].Text = shown, "–"
			}
		} else { // a question has no numbers of its own
			row[1].Text = wording.FirstOf(each.Posed, row[1].Text, w.Term("code", one.Code))
		}
		rows = append(rows, row)
	}
	f.Tabled(w.Say("wrong.title"), []layout.Column{{}, {Name: what, Wrap: true, Runs: true}, {Name: w.Say("wrong.measured"), Right: true}, {Name: w.Say("wrong.allowed"), Right: true},
		{Name: w.Say("wrong.by"), Right: true}}, rows)
	sh.lowNote(f, open)
}

// shortOfGuard is by how much a reading within its limit misses the guard band
// that was agreed.
func shortOfGuard(f judge.Finding) (quantity.Decimal, bool) {
	if f.Guard == nil || f.Margin == nil || f.Margin.Sign() < 0 || !f.Margin.Less(*f.Guard) {
		return quantity.Decimal{}, false
	}
	return f.Guard.Sub(*f.Margin), true
}

// causes is advice: what may have caused a failed reading, and, apart from it, how to
// settle what is open.
func (sh *sheet) causes(f *layout.Flow) {
	w := sh.words
	if !sh.l.Measured {
		f.Listed(w.Say("causes.open"), []string{w.Say("causes.measure")})
		return
	}
	var causes, settling []string
	questions := 0
	for _, each := range sh.Fold(sh.l.Open()) {
		next := sh.Next(each.Finding)
		switch {
		case len(each.Advice) > 0:
			causes = append(causes, next...)
		case len(next) > 0:
			settling = append(settling, next...)
			questions++
		}
	}
	if len(causes)+len(settling) == 0 {
		f.Listed(w.Say("causes.open"), []string{w.Say("causes.default")})
		f.Paragraph(f.Note, 0.75, w.Count("causes.note", 1))
		return
	}
	list := func(title string, advice []string, note int) {
		if advice = wording.Distinct(advice...); len(advice) > 0 {
			f.Listed(title, advice)
			f.Paragraph(f.Note, 0.75, w.Count("causes.note", min(note, len(advice))))
		}
	}
	list(w.Say("causes.title"), causes, len(causes))
	list(w.Count("causes.settle", questions), settling, 1) // all of them are to be settled
}

// Next is what to do about a finding: its own advice, or how its question is
// settled.
func (s *PaperSet) Next(f judge.Finding) []string {
	if len(f.Advice) > 0 {
		return s.words.States(f.Advice)
	}
	if code := "settle." + statement.Question(f.Question.Code); s.words.Has("says." + code) {
		return []string{s.words.State(statement.New(code))}
	}
	return nil
}

// corrective is room to write what was done about it.
func (sh *sheet) corrective(f *layout.Flow) {
	w := sh.words
	f.Section(w.Say("corrective.title"), 4.5)
	for range 3 {
		f.Need(1.5 * f.Grid)
		f.Lines(1.5)
		f.Line(f.X, f.Y, f.X+f.W, f.Y, 0.15, f.Soft)
	}
	ruled(f, w.Say("corrective.by"), w.Say("corrective.day"), w.Say("corrective.accepted"))
}

// ruled draws places to write, each with its caption below.
func ruled(f *layout.Flow, captions ...string) {
	const gutter = 6.0
	width := (f.W+gutter)/float64(len(captions)) - gutter
	f.Need(2.5 * f.Grid)
	f.Lines(1.75)
	for i, c := range captions {
		x := f.X + float64(i)*(width+gutter)
		f.Line(x, f.Y, x+width, f.Y, 0.15, f.Soft)
		f.Put(x, f.Y+0.65*f.Grid, f.Caption, c)
	}
	f.Lines(1)
}

// toMeasure lists the losses that the job requires or that were measured, and what else
// is missing or over its limit. A loss is of a way, a reflectance of an end, a splice of
// an event and a way.
func (sh *sheet) toMeasure() []statement.Subject {
	var want []statement.Subject
	add := func(one statement.Subject) {
		if !slices.Contains(want, one) {
			want = append(want, one)
		}
	}
	ways := []record.Direction{record.AB, record.BA}
	require := sh.Facts.Job.Policy.Require
	if require.Directions == "either" || sh.l.Link.Exempt != "" {
		ways = ways[:1]
	}
	for _, nm := range require.Wavelengths[sh.l.Link.Mode] {
		if _, exempt := sh.l.Link.ExemptAt(nm); exempt {
			continue
		}
		for _, way := range ways {
			add(statement.Subject{Quantity: record.InsertionLoss, NM: nm, Way: way})
		}
	}
	for _, one := range sh.losses {
		if one.Direction.From() != "" {
			add(statement.Subject{Quantity: record.InsertionLoss, NM: one.WavelengthNM, Way: one.Direction})
		}
	}
	for i := range sh.l.Findings {
		one := &sh.l.Findings[i]
		switch over := one.Kind == judge.KindLimit && one.Verdict == judge.Fail; {
		case one.Code == "missing-reflectance":
			add(statement.Subject{Quantity: record.Reflectance, End: one.Direction.From()})
		case over && (one.Quantity == record.Reflectance || one.Quantity == record.ReturnLoss):
			add(statement.Subject{Quantity: one.Quantity, NM: one.WavelengthNM, End: one.End})
		case over && one.Quantity == record.SpliceLoss:
			way := one.Direction
			if way.From() == "" { // a mean, which is measured from both ends
				way = record.NoWay
			}
			add(statement.Subject{Quantity: one.Quantity, NM: one.WavelengthNM, Way: way, Event: one.Event})
		}
	}
	return want
}

// retest is a blank table for measuring what was required, again or at last.
func (sh *sheet) retest(f *layout.Flow) {
	w := sh.words
	want := sh.toMeasure()
	if len(want) == 0 {
		return
	}
	title := w.Say("retest.title")
	if len(sh.l.Readings) == 0 {
		title = w.Say("retest.first")
	}
	f.Section(title, float64(min(len(want), 4))+1)
	captions := []string{w.Say("retest.measured"), w.Say("readings.instrument"), w.Say("readings.time"), w.Say("retest.initials")}
	const gutter = 5.0
	names, label := make([]string, len(want)), 34.0
	for i, one := range want {
		names[i] = wording.UpperFirst(sh.words.Subject(one))
		label = max(label, min(f.Width(f.Body, names[i])+1, 0.4*f.W))
	}
	width := (f.W - label + gutter) / float64(len(captions))
	cell := func(e page.Element, draw func()) {
		f.Begin(e)
		draw()
		f.Finish()
	}
	head := func() {
		cell(page.Element{Role: page.Row}, func() {
			cell(page.Element{Role: page.Cell}, func() {}) // over the names of the rows
			for i, c := range captions {
				cell(page.Element{Role: page.HeaderCell}, func() { f.Put(f.X+label+float64(i)*width, f.Base(), f.Caption, c) })
			}
		})
		f.Lines(1)
	}
	f.Begin(page.Element{Role: page.Table})
	defer f.Finish()
	cell(page.Element{Role: page.TableHead}, head)
	f.Begin(page.Element{Role: page.TableBody})
	defer f.Finish()
	for n, one := range want {
		together := 1.0 // those of one wavelength stay on one page
		if n+1 < len(want) && want[n+1].NM == one.NM {
			together = 2
		}
		if f.Need(together * 1.25 * f.Grid) {
			f.Aside(head)
		}
		cell(page.Element{Role: page.Row}, func() {
			cell(page.Element{Role: page.HeaderCell, OfRow: true}, func() {
				f.Put(f.X, f.Y+0.95*f.Grid, f.Shrink(f.Body, 6, label-1, names[n]), names[n])
			})
			for i := range captions {
				x := f.X + label + float64(i)*width
				f.Line(x, f.Y+1.1*f.Grid, x+width-gutter, f.Y+1.1*f.Grid, 0.15, f.Soft)
				cell(page.Element{Role: page.Cell}, func() {}) // to be filled in
			}
		})
		f.Lines(1.25)
	}
}
