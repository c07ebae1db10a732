package certify

import (
	"cmp"
	"slices"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/seal"
)

// digestOf is the set while its summary is drawn.
type digestOf struct {
	*Set
	rail  *rail
	title string
}

// summaryPath is where the summary belongs.
const summaryPath = "summary.pdf"

// Summary returns the cover of the set: whether the job conforms, what is open,
// every link, and what all of it rests on. Its token binds results.json.
func (s *Set) Summary() (*Document, error) {
	results, err := s.ResultsJSON()
	if err != nil {
		return nil, err
	}
	verdict := "does not conform"
	if s.Judgement.Conforms() {
		verdict = "conforms"
	}
	first, last := s.measuredOn(s.allReadings())
	claim := seal.Claim{Certificate: s.Facts.Job.Number, Revision: s.Revision, Job: s.Facts.Job.Number, Verdict: verdict,
		Issued: s.issuedOn().String(), Measured: last.String(), Record: half(results)}
	token, symbol, err := s.seal(claim)
	if err != nil {
		return nil, err
	}
	d := &digestOf{Set: s, title: s.words.say("summary.title")}
	d.rail = d.newRail(symbol, first, last)
	doc := s.document(summaryPath, d.title+" "+s.Facts.Job.Number, d.compose)
	doc.Token = token
	doc.Attachments = append([]Attachment{{Name: "results.json", MIME: "application/json", Description: s.words.say("attach.results"), Relationship: "Data",
		Data: results, Modified: s.Issued}}, s.tokenFile(token)...)
	return doc, nil
}

func (s *Set) allReadings() []record.Reading {
	var all []record.Reading
	for i := range s.Judgement.Links {
		all = append(all, s.Judgement.Links[i].Readings...)
	}
	return all
}

func (d *digestOf) newRail(symbol [][]bool, first, last record.Date) *rail {
	w, job, counts := d.words, &d.Facts.Job, d.Judgement.Counts
	r := &rail{symbol: symbol, under: w.say("rail.set"), key: d.key()}
	if d.Judgement.Conforms() {
		r.treatment, r.word = solid, w.say("summary.conforms")
		r.below = []field{{"", w.count("summary.all_certified", counts.Certified)}}
	} else {
		r.treatment, r.word = hatched, w.say("summary.does_not_conform")
		r.below = []field{{"", w.say("summary.job_open")}}
	}
	if c := counts; c.Certified < c.Scheduled {
		r.below = []field{{"", w.say("summary.some_open", "open", w.whole(counts.Scheduled-counts.Certified), "all", w.whole(counts.Scheduled))}}
	}
	revision := w.say("rail.first", "n", w.whole(d.Revision))
	if d.Revision > 1 {
		revision = w.say("rail.replaces", "n", w.whole(d.Revision), "before", w.whole(d.Revision-1))
	}
	measured := ""
	if !first.IsZero() {
		measured = w.days(first, last)
	}
	var sets []string
	for _, set := range d.Judgement.Sets {
		sets = append(sets, set.ID)
	}
	r.name = field{w.say("rail.job_number"), job.Number}
	r.fields = []field{
		{w.say("rail.title"), job.Title},
		{w.say("rail.revision"), revision},
		{w.say("rail.issued"), w.day(d.issuedOn())},
		{w.say("rail.site"), joinComma(job.Site.Name, job.Site.Address)},
		{w.say("rail.customer"), job.Customer.Name},
		{w.say("rail.order"), strings.Join(unique(job.Customer.Order, job.Invoice), " · ")},
		{w.say("rail.measured"), measured},
		{w.say("rail.completed"), w.day(job.Completed)},
		{w.say("rail.deadline"), w.day(job.Deadline)},
		{w.say("rail.sets"), strings.Join(unique(sets...), "\n")},
		{w.say("rail.decision"), w.term("decision", job.Policy.Decision)},
	}
	return r
}

func (d *digestOf) compose(f *flow) error {
	f.rails = d.rail.draw
	f.heading = d.again(d.words.say("document.continued", "title", d.title+" "+d.Facts.Job.Number))
	f.start()
	d.head(f, d.title, d.lead())
	draw := map[string]func(*flow){
		"counts": d.counts, "open": d.open, "dots": d.dots, "margins": d.margins, "map": d.places, "statistics": d.statistics,
		"questions": d.questions, "links": d.links, "sets": d.sets, "people": d.people, "instruments": d.instruments, "files": d.files,
		"revisions": d.revisions, "small_print": d.smallPrint,
	}
	for _, name := range d.look.summary {
		draw[name](f)
	}
	return nil
}

// lead is the whole job in words.
func (d *digestOf) lead() string {
	w, c := d.words, d.Judgement.Counts
	var standards []string
	for _, set := range d.Judgement.Sets {
		standards = append(standards, edition(set.Standard, set.Edition))
	}
	text := w.say("summary.lead", "scheduled", w.count("links", c.Scheduled), "measured", w.whole(c.Measured), "certified", w.whole(c.Certified),
		"standards", w.list(unique(standards...)))
	if c.Marginal > 0 {
		text += " " + w.count("summary.lead_marginal", c.Marginal)
	}
	switch {
	case d.Judgement.Conforms():
		return text + " " + w.say("summary.lead_all")
	case c.Certified == c.Scheduled:
		return text + " " + w.say("summary.lead_job")
	}
	if c.Failed > 0 {
		text += " " + w.count("summary.lead_failed", c.Failed)
	}
	if c.Incomplete > 0 {
		text += " " + w.count("summary.lead_incomplete", c.Incomplete)
	}
	return text + " " + w.say("summary.lead_listed")
}

// counts are the numbers that a receiver looks for first.
func (d *digestOf) counts(f *flow) {
	w, c := d.words, d.Judgement.Counts
	all := []struct {
		key string
		n   int
	}{{"scheduled", c.Scheduled}, {"measured", c.Measured}, {"certified", c.Certified}, {"marginal", c.Marginal}, {"failed", c.Failed}, {"incomplete", c.Incomplete}}
	f.need(3 * f.grid)
	width := f.w / float64(len(all))
	for i, one := range all {
		x := f.x + float64(i)*width
		n := w.whole(one.n)
		f.put(x, f.y+1.35*f.grid, f.shrink(f.figure, 9, width-3, n), n)
		caption := w.say("summary.count_" + one.key)
		f.put(x, f.y+2.2*f.grid, f.shrink(f.caption, 5, width-2, caption), caption)
	}
	f.lines(2.5)
}

// exceptions are the links that are not a plain pass, worst first.
func (d *digestOf) exceptions() []*judge.LinkResult {
	var out []*judge.LinkResult
	for _, v := range []judge.Verdict{judge.Fail, judge.Incomplete, judge.Marginal} {
		for i := range d.Judgement.Links {
			if l := &d.Judgement.Links[i]; l.Verdict == v {
				out = append(out, l)
			}
		}
	}
	return out
}

func (d *digestOf) open(f *flow) {
	w := d.words
	all := d.exceptions()
	if len(all) == 0 {
		return
	}
	f.section(w.say("open.title"), 2)
	var rows [][]cell
	for _, l := range all {
		style := f.strong
		if !l.Verdict.Certifiable() {
			style = f.alarm()
		}
		what, next := d.why(l)
		rows = append(rows, []cell{{l.Link.ID, f.strong}, {w.say("open." + l.Verdict.String()), style}, {what, f.body}, {next, f.body}})
	}
	f.table([]column{{wrap: true}, {}, {wrap: true}, {wrap: true}}, rows)
}

// why says in few words what is open on a link and what to try first.
func (d *digestOf) why(l *judge.LinkResult) (what, next string) {
	open := l.Open()
	if len(open) == 0 {
		return "", ""
	}
	// Among findings of the worst verdict, the one that misses by most.
	worst := open[0]
	for _, f := range open {
		if f.Verdict == worst.Verdict && f.Margin != nil && (worst.Margin == nil || f.Margin.Less(*worst.Margin)) {
			worst = f
		}
	}
	w := d.words
	if !l.Measured {
		what = w.say("open.no_reading")
	} else if what = d.numbers(worst); what == "" {
		what = firstOf(w.judged(worst.Question), w.term("code", worst.Code))
	}
	if len(worst.Advice) > 0 {
		next = w.judged(worst.Advice[0])
	}
	return what, next
}

// statistics are those of the judge, by fibre and by connector; of the other
// groups only those that stand out are named.
func (d *digestOf) statistics(f *flow) {
	w := d.words
	book := d.Book
	if book == nil {
		book = &limits.Book{}
	}
	var rows [][]cell
	var notes []string
	for _, g := range judge.Statistics(d.Facts, d.Judgement, book) {
		if g.StandsOut != "" {
			notes = append(notes, w.say("statistics.stands_out", "group", w.term("statistics.by", g.By)+" "+g.Name, "nm", nanometres(g.WavelengthNM), "how", g.StandsOut))
		}
		if g.By != "fibre" && g.By != "connector" {
			continue
		}
		row := []string{g.Name, nanometres(g.WavelengthNM), w.whole(g.N), w.whole(g.Links)}
		for _, v := range []float64{g.Mean, g.Median, g.P95, g.Worst} {
			row = append(row, w.localise(decimals(v, 2)))
		}
		deviation := ""
		if g.N > 1 {
			deviation = w.localise(decimals(g.SD, 3))
		}
		rows = append(rows, cells(f.body, append(row, deviation, w.localise(decimals(100*g.FirstTime, 0)))...))
	}
	if len(rows) == 0 {
		return
	}
	f.section(w.say("statistics.title"), float64(min(len(rows), 12))+2, w.say("statistics.remark"))
	columns := []column{{name: w.say("statistics.group"), wrap: true}, {name: "nm", right: true}}
	for _, key := range []string{"n", "links", "mean", "median", "p95", "worst", "deviation", "first_time"} {
		columns = append(columns, column{name: w.say("statistics." + key), right: true})
	}
	f.table(columns, rows)
	f.list(notes)
}

// numbers are a finding's reading, limit and margin in one phrase, "" where no
// number was judged.
func (s *Set) numbers(f judge.Finding) string {
	if f.Measured == nil || f.Limit == nil || f.Margin == nil {
		return ""
	}
	w, p := s.words, places(f)
	key := "open.margin"
	values := []string{"subject", s.subject(f), "measured", w.fixed(*f.Measured, p), "allowed", w.fixed(*f.Limit, p),
		"margin", w.fixed(f.Margin.Abs(), p), "unit", string(f.Unit)}
	switch {
	case f.Margin.Sign() < 0:
		key = "open.over"
	case f.Uncertainty != nil:
		key = "open.within"
		values = append(values, "u", w.fixed(*f.Uncertainty, p))
	}
	return w.say(key, values...)
}

// questions lists what a careful reader should know, each question once with
// the links that raise it.
func (d *digestOf) questions(f *flow) {
	w, job := d.words, &d.Facts.Job
	var texts []string
	about := map[string][]string{}
	ask := func(text, link string) {
		if _, asked := about[text]; !asked && text != "" {
			texts = append(texts, text)
		}
		if link != "" {
			about[text] = append(about[text], link)
		} else {
			about[text] = nil
		}
	}
	for _, one := range d.Judgement.Questions {
		ask(strings.TrimSpace(w.judged(one.Question)+" "+d.numbers(one)), "")
	}
	if !job.Deadline.IsZero() && job.Deadline.Before(d.issuedOn()) {
		ask(w.say("questions.late", "deadline", w.day(job.Deadline), "issued", w.day(d.issuedOn())), "")
	}
	for i := range d.Judgement.Links {
		l := &d.Judgement.Links[i]
		for _, one := range l.Findings {
			if one.Kind != judge.KindLimit && l.Measured {
				ask(w.judged(one.Question), l.Link.ID)
			}
		}
		if l.Link.Exempt != "" {
			ask(w.say("questions.exempt", "reason", l.Link.Exempt), l.Link.ID)
		}
	}
	if len(texts) == 0 {
		return
	}
	const named = 4 // links named before the rest are counted
	for i, text := range texts {
		switch links := unique(about[text]...); {
		case len(links) > named:
			texts[i] = w.say("questions.many", "links", strings.Join(links[:named-1], ", "), "n", w.whole(len(links)-named+1), "question", text)
		case len(links) > 0:
			texts[i] = w.say("questions.of", "links", w.list(links), "question", text)
		}
	}
	f.section(w.say("questions.title_all"), 2)
	f.list(texts)
}

// links is the list of every link, in schedule order.
func (d *digestOf) links(f *flow) {
	w := d.words
	f.section(w.say("links.title"), 4, w.say("links.remark"))
	f.Bookmark(w.say("links.title"), 0)
	columns := []column{{name: w.say("links.link"), wrap: true}, {name: w.say("links.places"), wrap: true}, {name: w.say("links.fibre")},
		{name: "m", right: true}, {name: w.say("links.worst")}, {name: w.say("readings.measured"), right: true},
		{name: w.say("readings.allowed"), right: true}, {name: w.say("readings.margin"), right: true}, {name: w.say("links.verdict")}}
	rows := make([][]cell, 0, len(d.Judgement.Links))
	p := 2
	for i := range d.Judgement.Links {
		if one := d.Judgement.Links[i].WorstFinding(); one != nil {
			p = max(p, places(*one))
		}
	}
	p = min(p, 3)
	for i := range d.Judgement.Links {
		l := &d.Judgement.Links[i]
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
			{w.short(l.Link.Length.Round(min(l.Link.Length.Places(), 1))), f.body}, {"", f.body}, {"", f.body}, {"", f.body}, {"", margin},
			{w.say("open." + l.Verdict.String()), verdict}}
		if one := l.WorstFinding(); one != nil && one.Measured != nil {
			row[4].text = nanometres(one.WavelengthNM) + " " + w.term("arrow", string(one.Direction))
			row[5].text, row[6].text, row[7].text = w.fixed(*one.Measured, p), w.fixed(*one.Limit, p), w.fixed(*one.Margin, p)
		}
		for k := range row {
			row[k].style.Size = f.caption.Size + 0.6
		}
		rows = append(rows, row)
	}
	f.index(columns, rows)
}

// sets names the limit sets: what was agreed, in which edition, in which bytes.
func (d *digestOf) sets(f *flow) {
	w := d.words
	if len(d.Judgement.Sets) == 0 {
		return
	}
	f.section(w.say("sets.title"), 3)
	var rows [][]cell
	unconfirmed := false
	for _, set := range d.Judgement.Sets {
		kind := w.say("sets.built_in")
		switch {
		case set.Owner:
			kind = w.say("sets.owner")
		case !set.BuiltIn:
			kind = w.say("sets.own")
		}
		state := set.Confirmed
		if state == "" {
			state, unconfirmed = w.say("sets.unconfirmed"), true
		}
		if set.LowCount > 0 {
			state += "; " + w.count("sets.low", set.LowCount)
		}
		rows = append(rows, cells(f.body, set.ID, edition(set.Standard, set.Edition), kind, state, set.SHA256))
		_ = unconfirmed
	}
	for _, row := range rows {
		f.need(2.25 * f.grid)
		f.put(f.x, f.base(), f.strong, row[0].text)
		f.lines(0)
		rest := strings.Join([]string{row[1].text, row[2].text, row[3].text}, "; ")
		lines := f.wrap(f.body, f.w-34, rest)
		for i, line := range lines {
			f.put(f.x+34, f.base()+float64(i)*f.valueLeading(), f.body, line)
		}
		f.lines(1 + float64(len(lines)-1)*0.86)
		f.put(f.x+34, f.y+0.5*f.grid, page.Style{Face: page.Mono, Size: f.look.small.Size, Ink: f.soft}, "SHA-256 "+row[4].text)
		f.lines(1)
	}
}

func (d *digestOf) people(f *flow) {
	job := &d.Facts.Job
	if len(job.People) == 0 {
		return
	}
	w := d.words
	f.section(w.say("people.title"), 2)
	var rows [][]cell
	for _, p := range job.People {
		rows = append(rows, cells(f.body, p.Name, p.Role, p.Qualification, w.day(p.ValidUntil)))
	}
	f.table([]column{{name: w.say("people.name"), wrap: true}, {name: w.say("people.role"), wrap: true}, {name: w.say("people.qualification"), wrap: true},
		{name: w.say("people.valid")}}, rows)
}

func (d *digestOf) instruments(f *flow) {
	job := &d.Facts.Job
	if len(job.Instruments) == 0 {
		return
	}
	w := d.words
	f.section(w.say("instruments.title"), 2)
	var rows [][]cell
	for _, i := range job.Instruments {
		u := ""
		if i.Uncertainty != nil {
			u = w.fixed(*i.Uncertainty, max(2, i.Uncertainty.Places()))
		}
		rows = append(rows, cells(f.body, i.ID, i.Kind, strings.TrimSpace(i.Make+" "+i.Model), i.Serial, w.day(i.Calibrated), w.day(i.Due), u))
	}
	f.table([]column{{name: w.say("instruments.id"), wrap: true}, {name: w.say("instruments.kind"), wrap: true}, {name: w.say("instruments.made"), wrap: true},
		{name: w.say("instruments.serial"), wrap: true}, {name: w.say("instruments.calibrated")}, {name: w.say("instruments.due")}, {name: "±U (k = 2) dB", right: true}}, rows)
}

// files accounts for every row of every file of readings.
func (d *digestOf) files(f *flow) {
	if len(d.Facts.Accounts) == 0 {
		return
	}
	w := d.words
	f.section(w.say("files.title"), 2)
	var rows [][]cell
	for _, a := range d.Facts.Accounts {
		row := []string{a.File}
		for _, n := range []int{a.Rows, a.Used, a.Superseded, a.Refused, a.Blank} {
			row = append(row, w.whole(n))
		}
		rows = append(rows, cells(f.body, append(row, abbreviate(a.SHA256))...))
	}
	columns := []column{{name: w.say("files.file"), wrap: true}}
	for _, key := range []string{"rows", "used", "superseded", "refused", "blank"} {
		columns = append(columns, column{name: w.say("files." + key), right: true})
	}
	f.table(append(columns, column{name: "SHA-256"}), rows)
}

// revisions is the history of the set, this issue last.
func (d *digestOf) revisions(f *flow) {
	w := d.words
	f.section(w.say("revisions.title"), 2)
	all := append(slices.Clone(d.History), Revision{Number: d.Revision, Issued: d.issuedOn(), Reason: d.Reason, Changes: d.Changes})
	slices.SortStableFunc(all, func(a, b Revision) int { return cmp.Compare(a.Number, b.Number) })
	var rows [][]cell
	for _, r := range all {
		text := r.Reason
		if text == "" && len(r.Changes) == 0 {
			text = w.say("revisions.whole")
			if r.Number == 1 {
				text = w.say("revisions.first")
			}
		}
		rows = append(rows, cells(f.body, "r"+w.whole(r.Number), w.day(r.Issued), strings.Join(unique(append([]string{text}, d.sentences(r.Changes)...)...), "\n")))
	}
	f.table([]column{{name: w.say("revisions.number")}, {name: w.say("revisions.issued")}, {name: w.say("revisions.change"), wrap: true}}, rows)
}

// sentences are sentences of the program in this wording.
func (s *Set) sentences(english []string) []string {
	own := make([]string, len(english))
	for i, text := range english {
		own[i] = s.words.judged(text)
	}
	return own
}

func (d *digestOf) smallPrint(f *flow) {
	w := d.words
	f.lines(f.gap / 2)
	d.small(f, w.say("small.set")+" "+w.say("small.records")+" "+w.say("small.payment")+" "+w.say("small.live")+" "+w.say("small.codes"))
}
