// Package comparison makes the sheet that holds a retest against a certificate or a
// nonconformance sheet: what the numbers show, then and now side by side, what may
// have happened, and room for what only people know of a warranty claim.
//
// It is drawn as the papers of a set are (see package certify): its sentences come from
// templates/wording, its sections and their order from templates/documents/comparison.yaml.
package comparison

import (
	"cmp"
	"slices"
	"strings"

	"spanseal/internal/certify"
	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/quantity"
	"spanseal/internal/rail"
	"spanseal/internal/record"
	"spanseal/internal/retest"
	"spanseal/internal/statement"
	"spanseal/internal/warranty"
	"spanseal/internal/wording"
)

// WarrantyClaim is what a warranty claim says about itself. What is empty is left as a
// place to write.
type WarrantyClaim struct {
	Number               string
	Discovered, Reported record.Date
	Others               string // work or damage by others
	Cleaning             string // done before the retest
	// Token is that of the paper that the retest is held against, "" for none.
	Token string
}

// Source is the set that a comparison sheet is drawn from.
type Source struct {
	*certify.PaperSet
	claimed WarrantyClaim
	symbol  [][]bool
}

// comparison is the sheet of a retest while it is drawn.
type comparison struct {
	*certify.PaperSet
	words   *wording.Wording
	c       *retest.Comparison
	claimed WarrantyClaim
	symbol  [][]bool
}

// New makes the set that a comparison sheet is drawn from: the certified job, with the instruments and people of both measurements.
func New(c *retest.Certified, result *retest.Comparison, documents record.Documents, claim WarrantyClaim, w form.Writer, o certify.Options) (*Source, *diag.List) {
	now := &result.Now
	job := record.Job{Number: c.Job.Number, Title: c.Job.Title, Site: c.Job.Site, Customer: c.Job.Customer, Contractor: c.Job.Contractor,
		TimeZone: c.Job.TimeZone, Location: w.Issued.Location(), Policy: c.Job.Policy, Documents: documents,
		Instruments: slices.Concat(c.Instruments, now.Instruments), People: slices.Concat(c.People, now.People)}
	link := judge.LinkResult{Brief: judge.Brief{Link: &c.Link, Verdict: c.Verdict}, Worst: -1, Readings: slices.Concat(c.Readings, now.Readings)}
	for _, said := range []layout.Field{{Caption: "--claim", Value: claim.Number}, {Caption: "--others", Value: claim.Others}, {Caption: "--cleaning", Value: claim.Cleaning}} {
		o.Also = append(o.Also, certify.Text{Text: said.Value, Place: diag.Place{File: said.Caption}})
	}
	result.Warranty = warranty.Claimed(c.Job.Warranty, c.Job.Completed, warranty.ClaimDays{Discovered: claim.Discovered, Reported: claim.Reported, Compared: record.DateOf(w.Issued)})
	o.Said = slices.Concat(result.Conclusion, result.Advice, result.Questions, result.Warranty)
	for _, r := range result.Rows {
		o.Said = append(o.Said, r.NotCompared)
	}
	w.Facts, w.Judgement = &record.Facts{Job: job}, judge.Settled(link)
	set, problems := certify.NewSet(w, o)
	if set == nil {
		return nil, problems
	}
	p := &Source{PaperSet: set, claimed: claim}
	if claim.Token != "" && o.Symbol != nil {
		p.symbol, _ = o.Symbol(claim.Token) // one too long for a symbol was printed without
	}
	return p, problems
}

// Sheet returns the sheet of a retest. Attached are the comparison itself,
// as comparison.json, the paper it was held against, and the files of the new
// readings; their descriptions are this wording's.
func (s *Source) Sheet(c *retest.Comparison, paper page.Attachment, readings []page.Attachment) (*certify.Paper, error) {
	data, err := form.Encode(c.Told(s.Told))
	if err != nil {
		return nil, err
	}
	sh := &comparison{PaperSet: s.PaperSet, words: s.Words(), c: c, claimed: s.claimed, symbol: s.symbol}
	d := s.NewDocument("comparison.pdf", sh.title()+" "+c.Certificate, sh.compose)
	paper.Description = sh.say("comparison.attached_paper")
	d.Attachments = []page.Attachment{{Name: "comparison.json", MIME: "application/json", Description: sh.words.Say("comparison.attached"),
		Relationship: "Data", Data: data, Modified: s.Issued}, paper}
	for _, file := range readings {
		file.Description = sh.words.Say("comparison.attached_readings")
		d.Attachments = append(d.Attachments, file)
	}
	return d, nil
}

// say is a text of the sheet that has two forms: of a certificate and, with
// _sheet at the end of its key, of a nonconformance sheet.
func (sh *comparison) say(key string, pairs ...string) string {
	if !sh.c.Verdict.Certifiable() {
		key += "_sheet"
	}
	return sh.words.Say(key, pairs...)
}

func (sh *comparison) title() string { return sh.say("comparison.title") }

// outcomes are the keys of an outcome's word and how its block looks.
var outcomes = map[retest.Outcome]struct {
	key       string
	treatment rail.Treatment
}{
	retest.NoChange:    {"no_change", rail.Solid},
	retest.Changed:     {"changed", rail.Stroked},
	retest.OverLimit:   {"over_limit", rail.Hatched},
	retest.Undecided:   {"undecided", rail.Hatched},
	retest.NotCompared: {"not_compared", rail.Hatched},
}

func (sh *comparison) compose(f *layout.Flow) {
	f.DrawRail, f.Outline = sh.rail().Draw, true
	title := sh.title()
	f.DrawHead = sh.Again(sh.words.Say("document.continued", "title", title+" "+sh.c.Certificate))
	f.Start()
	sh.Head(f, title, sh.lead())
	draw := map[string]func(*layout.Flow){
		"conclusion": sh.conclusion, "plot": sh.plot, "readings": sh.table, "pattern": sh.advice, "questions": sh.questions, "conditions": sh.conditions, "warranty": sh.windows, "claim": sh.boxes,
		"signatures": sh.Signatures, "small_print": sh.smallPrint,
	}
	for _, name := range sh.ComparisonSections() {
		draw[name](f)
	}
}

func (sh *comparison) smallPrint(f *layout.Flow) {
	w := sh.words
	sh.SmallPrint(f, sh.say("comparison.record")+" "+w.Say("small.records")+" "+w.Say("small.live")+" "+w.Say("small.codes"))
}

func (sh *comparison) rail() *rail.Rail {
	w, c, o := sh.words, sh.c, outcomes[sh.c.Outcome]
	r := &rail.Rail{Words: w, Specimen: sh.Specimen, Treatment: o.treatment, Word: w.Say("comparison.outcome." + o.key), Name: layout.Field{Caption: w.Say("rail.link"), Value: c.Link.ID}, Key: sh.Key()}
	if sh.symbol != nil {
		r.Symbol, r.Under, r.Says = sh.symbol, sh.say("comparison.symbol"), sh.say("comparison.symbol")
	}
	var worst *retest.Row
	for i := range c.Rows {
		if one := &c.Rows[i]; one.NormalisedError != nil && (worst == nil || worst.NormalisedError.Less(*one.NormalisedError)) {
			worst = one
		}
	}
	if worst != nil {
		r.Below = []layout.Field{{Caption: w.Say("comparison.largest"), Value: sh.normalised(worst)}}
	}
	paper := w.Say("rail.certificate")
	if !c.Verdict.Certifiable() {
		paper = w.Say("rail.sheet")
	}
	r.Fields = []layout.Field{
		{Caption: w.Say("comparison.number"), Value: sh.claimed.Number},
		{Caption: w.Say("comparison.discovered"), Value: w.Day(sh.claimed.Discovered)},
		{Caption: w.Say("comparison.reported"), Value: w.Day(sh.claimed.Reported)},
		{Caption: paper, Value: c.Certificate},
		{Caption: w.Say("rail.revision"), Value: w.Whole(c.Revision)},
		{Caption: sh.say("comparison.certified"), Value: w.Day(c.Issued)},
		{Caption: w.Say("comparison.measured_then"), Value: sh.Measured(c.Then.Readings)},
		{Caption: w.Say("comparison.measured_now"), Value: sh.Measured(c.Now.Readings)},
		{Caption: w.Say("comparison.compared"), Value: w.Day(sh.IssuedOn())},
		{Caption: w.Say("rail.job"), Value: wording.Comma(sh.Facts.Job.Site.Name, sh.Facts.Job.Title)},
		{Caption: w.Say("rail.customer"), Value: sh.Facts.Job.Customer.Name},
		{Caption: w.Say("rail.order"), Value: sh.Facts.Job.Customer.Order},
	}
	return r
}

func (sh *comparison) lead() string {
	w, c := sh.words, sh.c
	return sh.say("comparison.lead", "link", c.Link.ID, "from", c.Link.From, "to", c.Link.To, "number", c.Certificate, "day", w.LongDay(c.Issued))
}

func (sh *comparison) conclusion(f *layout.Flow) {
	f.Section(sh.words.Say("comparison.conclusion"), 3)
	f.Paragraph(f.Body, 1, strings.Join(sh.words.States(sh.c.Conclusion), " "))
}

// windows says which windows of the warranty the days of the claim are in.
func (sh *comparison) windows(f *layout.Flow) {
	if len(sh.c.Warranty) > 0 {
		f.Section(sh.words.Say("warranty.title"), 2)
		f.List(sh.words.States(sh.c.Warranty))
	}
}

// normalised prints a normalised error in this wording's numerals.
func (sh *comparison) normalised(r *retest.Row) string {
	text := r.Error()
	if mark, ok := strings.CutPrefix(text, "> "); ok {
		return "> " + sh.words.Localise(mark)
	}
	return sh.words.Localise(text)
}

// table is what was read then and now.
func (sh *comparison) table(f *layout.Flow) {
	w := sh.words
	columns := []layout.Column{{}, {Name: "nm", Right: true}, {Name: w.Say("readings.way")}, {Name: w.Say("comparison.then"), Right: true}, {Name: w.Say("comparison.now"), Right: true},
		{Name: w.Say("comparison.change"), Right: true}, {Name: w.Say("comparison.then"), Over: "±U", Right: true}, {Name: w.Say("comparison.now"), Over: "±U", Right: true},
		{Name: w.Say("comparison.explained"), Right: true}, {Name: "En", Right: true}, {Name: w.Say("comparison.allowed"), Right: true},
		{Name: w.Say("readings.margin"), Right: true}}
	var rows [][]layout.Cell
	var why, subjects []string
	above := ""
	for i := range sh.c.Rows {
		r := &sh.c.Rows[i]
		what, nm := sh.quantityOf(r), ""
		if r.WavelengthNM > 0 {
			nm = wording.Nanometres(r.WavelengthNM)
		}
		p, u := r.Places(), r.UncertaintyPlaces()
		num := func(d *quantity.Decimal, places int) string {
			if d == nil {
				return ""
			}
			return w.Fixed(*d, places)
		}
		row := []layout.Cell{{Text: what, Style: f.Body}, {Text: nm, Style: f.Body}, {Text: wording.FirstOf(r.Event, w.Term("way_short", string(r.Direction))), Style: f.Body}, {Text: num(r.Then, p), Style: f.Body}, {Text: num(r.Now, p), Style: f.Strong}, {Text: "", Style: f.Strong}, {Text: num(r.UncertaintyThen, u), Style: f.Body},
			{Text: num(r.UncertaintyNow, u), Style: f.Body}, {Text: num(r.Explained, u), Style: f.Body}, {Text: sh.normalised(r), Style: f.Strong}, {Text: "", Style: f.Body}, {Text: "", Style: f.Body}}
		if what == above {
			row[0].Text = ""
		}
		above = what
		if r.Change != nil {
			row[5].Text = sh.signed(*r.Change, p)
			if r.Larger || r.BeyondTolerance {
				row[5].Style, row[9].Style = f.Alarm(), f.Alarm()
			}
		}
		if l := r.Tightest(); l != nil {
			p := r.LimitPlaces(l)
			row[10].Text, row[11].Text = w.Fixed(l.Limit, p), w.Fixed(l.Margin, p)
			if !l.Within {
				row[4].Style, row[11].Style = f.Alarm(), f.Alarm()
			}
		}
		if reason := w.State(r.NotCompared); reason != "" {
			n := slices.Index(why, reason)
			if n < 0 {
				n = len(why)
				why, subjects = append(why, reason), append(subjects, "")
			}
			subjects[n] = strings.TrimPrefix(subjects[n]+"; "+w.Subject(r.Subject()), "; ")
		}
		rows = append(rows, row)
	}
	f.Tabled(w.Say("comparison.readings"), columns, rows)
	f.Lines(0.25)
	note := w.Say("comparison.note")
	if t := sh.c.Tolerance; t != nil {
		note += " " + w.Say("comparison.tolerance", "db", w.Localise(t.String()))
	}
	f.Paragraph(f.Note, 0.75, note)
	if len(why) == 0 {
		return
	}
	for i := range why {
		why[i] = subjects[i] + ": " + why[i]
	}
	f.Listed(w.Say("comparison.not_compared"), why)
}

// signed prints a change: a rise has its sign too.
func (sh *comparison) signed(d quantity.Decimal, places int) string {
	text := sh.words.Fixed(d, places)
	if d.Round(places).Sign() > 0 {
		return "+" + text
	}
	return text
}

// quantityOf names what a row is about; means stand with their losses.
func (sh *comparison) quantityOf(r *retest.Row) string {
	if r.Quantity == record.InsertionLoss || r.Quantity == record.TwoWayAverage {
		return sh.words.Say("comparison.loss")
	}
	return sh.words.Term("quantity", string(r.Quantity))
}

// plot draws every loss that was compared: hollow then, solid now, a whisker
// for each uncertainty, and the limit as certified.
func (sh *comparison) plot(f *layout.Flow) {
	w := sh.words
	var rows []*retest.Row
	s := layout.Scale{}
	for i := range sh.c.Rows {
		r := &sh.c.Rows[i]
		if r.Change == nil || r.Quantity != record.InsertionLoss {
			continue
		}
		rows = append(rows, r)
		for _, d := range []*quantity.Decimal{r.Then, r.Now} {
			s.Top = max(s.Top, 1.1*form.Float(*d))
		}
		if l := r.Tightest(); l != nil {
			s.Top = max(s.Top, 1.04*form.Float(l.Limit))
		}
	}
	if len(rows) == 0 || s.Top <= 0 {
		return
	}
	const label, right = 34.0, 16.0
	s.X0, s.Width = f.X+label, f.W-label-right
	f.Section(w.Say("comparison.plot"), 4, sh.say("comparison.legend"))
	var said []statement.Statement
	for _, r := range rows {
		said = append(said, statement.New("figure.retest", r.Subject(), statement.Rounded(*r.Then, r.Places()), statement.Rounded(*r.Now, r.Places())))
	}
	f.Illustrate(strings.Join(w.States(said), " "), func() { sh.changes(f, s, rows) })
}

// changes draws the losses of a plot, under each other.
func (sh *comparison) changes(f *layout.Flow, s layout.Scale, rows []*retest.Row) {
	w := sh.words
	const half, pitch = 1.2, 1.25 // a mark, mm, and a row, lines
	for _, r := range rows {
		f.Need(pitch * f.Grid)
		y := f.Y + pitch/2*f.Grid
		f.Put(f.X, y+0.17*f.Grid, f.Body, w.Subject(r.Subject()))
		f.Line(s.X0, y, s.X0+s.Width, y, 0.1, f.Hair)
		if l := r.Tightest(); l != nil && l.Bound != "at_least" {
			x := s.At(form.Float(l.Limit))
			f.Line(x, f.Y+0.05*f.Grid, x, f.Y+(pitch-0.05)*f.Grid, 0.7, f.Ink)
		}
		whisker := func(v, u *quantity.Decimal, y float64) {
			if u != nil && u.Sign() > 0 {
				a, b := s.At(form.Float(v.Sub(*u))), s.At(form.Float(v.Add(*u)))
				f.Line(a, y, b, y, 0.25, f.Ink)
				f.Line(a, y-0.7, a, y+0.7, 0.25, f.Ink)
				f.Line(b, y-0.7, b, y+0.7, 0.25, f.Ink)
			}
		}
		then, now := s.At(form.Float(*r.Then)), s.At(form.Float(*r.Now))
		above, below := y-0.28*f.Grid, y+0.28*f.Grid
		whisker(r.Then, r.UncertaintyThen, above)
		whisker(r.Now, r.UncertaintyNow, below)
		diamond := func(x, y, r float64, ink page.Ink) {
			f.Polygon([]page.Point{{X: x, Y: y - r}, {X: x + r, Y: y}, {X: x, Y: y + r}, {X: x - r, Y: y}}, ink)
		}
		diamond(then, above, half, f.Ink)
		diamond(then, above, half-0.5, layout.White)
		ink := f.Ink
		if r.Larger || r.BeyondTolerance || !r.Within() {
			ink = f.Rust
		}
		diamond(now, below, half, ink)
		style := f.Body
		if ink == f.Rust {
			style = f.Alarm()
		}
		f.PutRight(f.X+f.W, y+0.17*f.Grid, style, sh.signed(*r.Change, r.Places())+" dB")
		f.Lines(pitch)
	}
	sh.Axis(f, s)
}

func (sh *comparison) advice(f *layout.Flow) {
	if len(sh.c.Advice) == 0 {
		return
	}
	title := sh.words.Say("comparison.pattern")
	if !slices.ContainsFunc(sh.c.Advice, func(s statement.Statement) bool { return s.Code != "retest.advice.no-pattern" }) {
		title = sh.words.Say("causes.open")
	}
	f.Section(title, 4, sh.words.Count("causes.note", len(sh.c.Advice)))
	for _, text := range sh.words.States(sh.c.Advice) {
		f.Paragraph(f.Body, 1, text)
	}
}

// questions are about the new measurement.
func (sh *comparison) questions(f *layout.Flow) {
	if len(sh.c.Questions) == 0 {
		return
	}
	f.Listed(sh.words.Say("questions.title"), sh.words.States(sh.c.Questions))
}

// conditions are how the two measurements were made, side by side.
func (sh *comparison) conditions(f *layout.Flow) {
	w := sh.words
	row := func(name string, s *retest.Side) []layout.Cell {
		var serials, due, by []string
		for _, i := range certify.Devices(w, s.Readings, s.Instruments) {
			serials = append(serials, wording.Unbroken(i.Name))
			if !i.Calibrated.IsZero() {
				due = append(due, w.Say("method.due", "day", wording.Unbroken(w.Day(i.Calibrated)), "due", wording.Unbroken(w.Day(i.Due))))
			}
		}
		for _, r := range s.Readings {
			by = append(by, sh.personIn(s, r.Person))
		}
		unknown := w.Say("comparison.unknown")
		var references, cords []string
		for _, m := range s.Losses() {
			references, cords = append(references, cmp.Or(w.Term("reference", string(m.Reference)), unknown)), append(cords, cmp.Or(w.Term("cords", string(m.TestCords)), unknown))
		}
		cells := []string{name, wording.Comma(references...), wording.Comma(cords...),
			wording.Comma(serials...), strings.Join(wording.Distinct(due...), "; "), wording.Comma(by...), sh.Measured(s.Readings)}
		out := make([]layout.Cell, len(cells))
		for i, text := range cells {
			out[i] = layout.Cell{Text: text, Style: f.Body}
		}
		out[0].Style = f.Strong
		return out
	}
	f.Tabled(w.Say("comparison.conditions"), []layout.Column{{}, {Name: w.Say("method.reference")}, {Name: w.Say("method.cords"), Wrap: true}, {Name: w.Say("method.instruments"), Wrap: true},
		{Name: w.Say("method.calibrated"), Wrap: true}, {Name: w.Say("method.by"), Wrap: true}, {Name: w.Say("rail.measured"), Wrap: true}},
		[][]layout.Cell{row(w.Say("comparison.word_then"), &sh.c.Then), row(w.Say("comparison.word_now"), &sh.c.Now)})
}

func (sh *comparison) personIn(s *retest.Side, id string) string {
	for _, p := range s.People {
		if p.ID == id {
			return p.Name
		}
	}
	return id
}

// boxes are what only people know of the claim: filled in where it was said, else
// a place to write. What the rail says of it has no box.
func (sh *comparison) boxes(f *layout.Flow) {
	w := sh.words
	f.Section(w.Say("comparison.claim"), 8)
	box := func(height float64, fields ...layout.Field) {
		const gutter = 4.0
		width := (f.W+gutter)/float64(len(fields)) - gutter
		f.Need(height * f.Grid)
		for i, one := range fields {
			x := f.X + float64(i)*(width+gutter)
			f.Frame(x, f.Y, width, height*f.Grid-1.2, 0.2, f.Soft)
			room := int(height - 0.9)
			f.Together(func() {
				f.Put(x+1.5, f.Y+0.62*f.Grid, f.Shrink(f.Caption, 4.5, width-3, one.Caption), one.Caption)
				for n, line := range f.Wrap(f.Body, width-3, one.Value) {
					if n < room {
						f.Put(x+1.5, f.Y+(1.45+float64(n))*f.Grid, f.Body, line)
					}
				}
			})
		}
		f.Lines(height)
	}
	// tall is how high a box of one of so many in a row must be for its text.
	tall := func(text string, of float64) float64 { return 1.2 + float64(len(f.Wrap(f.Body, f.W/of-6, text))) }
	unsaid := slices.DeleteFunc([]layout.Field{{Caption: w.Say("comparison.number"), Value: sh.claimed.Number}, {Caption: w.Say("comparison.discovered"), Value: w.Day(sh.claimed.Discovered)},
		{Caption: w.Say("comparison.reported"), Value: w.Day(sh.claimed.Reported)}}, func(one layout.Field) bool { return one.Value != "" })
	if len(unsaid) > 0 {
		box(2, unsaid...)
	}
	box(max(3, tall(sh.claimed.Others, 2), tall(sh.claimed.Cleaning, 2)), layout.Field{Caption: w.Say("comparison.others"), Value: sh.claimed.Others}, layout.Field{Caption: w.Say("comparison.cleaning"), Value: sh.claimed.Cleaning})
}
