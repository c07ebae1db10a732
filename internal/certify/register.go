package certify

import (
	"cmp"
	"slices"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
)

// links is the list of every link, in schedule order.
func (d *digestOf) links(f *flow) {
	w := d.words
	f.section(w.Say("links.title"), 4, w.Say("links.remark"))
	columns := []column{{name: w.Say("links.link"), wrap: true}, {name: w.Say("links.places"), wrap: true}, {name: w.Say("links.fibre")},
		{name: "m", right: true}, {name: w.Say("links.worst")}, {name: w.Say("readings.measured"), right: true},
		{name: w.Say("readings.allowed"), right: true}, {name: w.Say("readings.margin"), right: true}, {name: w.Say("links.verdict")}}
	rows := make([][]cell, 0, len(d.Judgement.Links))
	for _, l := range d.Judgement.Results() {
		verdict := f.body
		switch {
		case l.Verdict == judge.Marginal:
			verdict = f.strong
		case !l.Verdict.Certifiable():
			verdict = f.alarm()
		}
		margin := f.body
		if one := l.WorstFinding(); one != nil && one.Verdict == l.Verdict {
			margin = verdict
		}
		row := []cell{{l.Link.ID, f.strong}, {l.Link.From + " – " + l.Link.To, f.body}, {l.Link.Fibre, f.body},
			{w.Short(l.Link.Length.Round(min(l.Link.Length.Places(), 3))), f.body}, {"", f.body}, {"", f.body}, {"", f.body}, {"", margin},
			{w.Say("open." + l.Verdict.String()), verdict}}
		if one := noNumber(l); one != nil { // worse than any number
			row[4].text = wording.Nanometres(one.WavelengthNM) + " " + w.Term("arrow", string(one.Direction))
			row[5].text, row[6].text, row[7].text = one.Shown(), d.allowed(*one, d.placesOf(*one)), "–"
			row[7].style = verdict
		} else if one := l.WorstFinding(); one != nil && one.Measured != nil {
			row[4].text = wording.Nanometres(one.WavelengthNM) + " " + w.Term("arrow", string(one.Direction))
			p := d.placesOf(*one)
			row[5].text, row[6].text, row[7].text = w.Fixed(*one.Measured, p), d.allowed(*one, p), w.Fixed(*one.Margin, p)
		}
		for k := range row {
			row[k].style.Size = f.caption.Size + 0.6
		}
		rows = append(rows, row)
	}
	f.index(columns, rows)
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
func (d *digestOf) sets(f *flow) {
	w := d.words
	if len(d.Judgement.Sets) == 0 {
		return
	}
	f.section(w.Say("sets.title"), 3)
	const indent = 34.0
	for _, set := range d.Judgement.Sets {
		kind := w.Say("sets.built_in")
		switch {
		case set.Owner:
			kind = w.Say("sets.owner")
		case !set.BuiltIn:
			kind = w.Say("sets.own")
		}
		state := firstOf(strings.TrimSuffix(w.State(set.Confirmation), "."), w.Say("sets.unconfirmed"))
		if set.LowCount > 0 {
			state += "; " + w.Count("sets.low", set.LowCount)
		}
		ids := f.wrap(f.strong, indent-3, set.ID)
		lines := f.wrap(f.body, f.w-indent, strings.Join([]string{w.Edition(set.Standard, set.Edition), kind, state}, "; "))
		sum := page.Style{Face: page.Mono, Size: f.style.small.Size, Ink: f.soft}
		f.need((2 + 0.86*float64(len(lines)-1)) * f.grid)
		for i, line := range ids {
			f.put(f.x, f.base()+float64(i)*f.valueLeading(), f.strong, line)
		}
		for i, line := range lines {
			f.put(f.x+indent, f.base()+float64(i)*f.valueLeading(), f.body, line)
		}
		f.lines(1 + 0.86*float64(max(len(lines), len(ids))-1))
		text := "SHA-256 " + set.SHA256
		f.put(f.x+indent, f.y+0.5*f.grid, f.shrink(sum, 4.5, f.w-indent, text), text)
		f.lines(1)
	}
}

// whole is the room for a table of one line an item: all of it, or the beginning
// of a long one.
func whole[T any](items []T) float64 { return float64(min(len(items), 8) + 1) }

func (d *digestOf) people(f *flow) {
	job := &d.Facts.Job
	if len(job.People) == 0 {
		return
	}
	w := d.words
	f.section(w.Say("people.title"), whole(job.People))
	var rows [][]cell
	for _, p := range job.People {
		rows = append(rows, cells(f.body, p.Name, w.Known("role", p.Role), p.Qualification, w.Day(p.ValidUntil)))
	}
	f.table([]column{{name: w.Say("people.name"), wrap: true}, {name: w.Say("people.role"), wrap: true}, {name: w.Say("people.qualification"), wrap: true},
		{name: w.Say("people.valid")}}, rows)
}

func (d *digestOf) instruments(f *flow) {
	job := &d.Facts.Job
	if len(job.Instruments) == 0 {
		return
	}
	w := d.words
	f.section(w.Say("instruments.title"), whole(job.Instruments))
	var rows [][]cell
	for _, i := range job.Instruments {
		u := ""
		if i.Uncertainty != nil {
			u = w.Fixed(*i.Uncertainty, max(2, i.Uncertainty.Places()))
		}
		rows = append(rows, cells(f.body, i.ID, w.Known("instrument_kind", i.Kind), strings.TrimSpace(i.Make+" "+i.Model), i.Serial, w.Day(i.Calibrated), w.Day(i.Due), u))
	}
	f.table([]column{{name: w.Say("instruments.id"), wrap: true}, {name: w.Say("instruments.kind"), wrap: true}, {name: w.Say("instruments.made"), wrap: true},
		{name: w.Say("instruments.serial"), wrap: true}, {name: w.Say("instruments.calibrated")}, {name: w.Say("instruments.due")}, {name: "±U (k = 2) dB", right: true}}, rows)
}

// files accounts for every row of every file of readings.
func (d *digestOf) files(f *flow) {
	if len(d.Facts.Accounts) == 0 {
		return
	}
	w := d.words
	f.section(w.Say("files.title"), whole(d.Facts.Accounts))
	var rows [][]cell
	for _, a := range d.Facts.Accounts {
		row := []string{a.File}
		for _, n := range []int{a.Rows, a.Used, a.Superseded, a.Refused, a.Blank} {
			row = append(row, w.Whole(n))
		}
		rows = append(rows, cells(f.body, append(row, abbreviate(a.SHA256))...))
	}
	columns := []column{{name: w.Say("files.file"), wrap: true}}
	for _, key := range []string{"rows", "used", "superseded", "refused", "blank"} {
		columns = append(columns, column{name: w.Say("files." + key), right: true})
	}
	f.table(append(columns, column{name: "SHA-256"}), rows)
}

// mostChanges is how many changes of one revision are printed; the manifest has all.
const mostChanges = 200

// revisions is the history of the set, this issue last.
func (d *digestOf) revisions(f *flow) {
	w := d.words
	f.section(w.Say("revisions.title"), 2)
	all := append(slices.Clone(d.History), Revision{Number: d.Revision, Issued: d.issuedOn(), Reason: d.Reason, Changes: d.Changes})
	slices.SortStableFunc(all, func(a, b Revision) int { return cmp.Compare(a.Number, b.Number) })
	var rows [][]cell
	for _, r := range all {
		text := r.Reason
		if text == "" && len(r.Changes) == 0 {
			text = w.Say("revisions.whole")
			if r.Number == 1 {
				text = w.Say("revisions.first")
			}
		}
		texts := append([]string{text}, d.changed(r.Changes)...)
		rows = append(rows, cells(f.body, "r"+w.Whole(r.Number), w.Day(r.Issued), strings.Join(unique(texts...), "\n")))
	}
	f.table([]column{{name: w.Say("revisions.number")}, {name: w.Say("revisions.issued")}, {name: w.Say("revisions.change"), wrap: true}}, rows)
}

// changed says the changes of a revision in this wording. A text of an earlier
// program has no code and stays as it is.
func (s *Set) changed(changes []statement.Statement) (texts []string) {
	for i, c := range changes {
		if i == mostChanges {
			return append(texts, s.words.Count("revisions.more", len(changes)-i))
		}
		texts = append(texts, cmp.Or(s.words.State(c), c.Text))
	}
	return texts
}

// InEnglish returns statements with their English texts, as records have them.
func (s *Set) InEnglish(all ...statement.Statement) []statement.Statement {
	out := slices.Clone(all)
	for i, one := range out {
		if one.Code != "" {
			out[i] = s.english.Told(one)
		}
	}
	return out
}
