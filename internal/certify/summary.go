package certify

import (
	"crypto/sha256"
	"strings"

	"spanseal/internal/claim"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/record"
	"spanseal/internal/seal"
	"spanseal/internal/wording"
)

// digestOf is the set while its summary is drawn.
type digestOf struct {
	*Set
	rail   *rail
	title  string
	digits map[record.Quantity]int // see settle
}

// summaryPath is where the summary belongs.
const summaryPath = "summary.pdf"

// Summary returns the cover of the set: whether the job conforms, what is open,
// every link, and what all of it rests on. Its token binds results.json.
func (s *Set) Summary() (*Document, error) {
	results := s.Stored
	if results == nil {
		results = s.WriteResults
	}
	digest := sha256.New()
	if err := results(digest); err != nil {
		return nil, err
	}
	verdict := "does not conform"
	if s.Judgement.Conforms() {
		verdict = "conforms"
	}
	first, last := s.MeasuredInAll()
	sealed := seal.Claim{Certificate: s.Facts.Job.Number, Revision: s.Revision, Job: s.Facts.Job.Number, Verdict: verdict,
		Issued: s.IssuedOn().String(), Measured: last.String(), Record: [16]byte(digest.Sum(nil))}
	token, symbol, err := s.seal(sealed)
	if err != nil {
		return nil, err
	}
	d := &digestOf{Set: s, title: s.words.Say("summary.title")}
	d.settle()
	d.rail = d.newRail(symbol, first, last)
	doc := s.document(summaryPath, d.title+" "+s.Facts.Job.Number, d.compose)
	doc.Token = token
	doc.Attachments = append([]Attachment{{Name: "results.json", MIME: "application/json", Description: s.words.Say("attach.results"), Relationship: "Data",
		Write: results, Modified: s.Issued}}, s.tokenFile(token)...)
	return doc, nil
}

// settle finds how many digits each quantity is printed with: as many as the finding
// that needs most of those that the summary prints, so that one limit reads the
// same everywhere on it.
func (d *digestOf) settle() {
	d.digits = map[record.Quantity]int{}
	more := false
	need := func(f *judge.Finding) {
		if f == nil || f.Measured == nil || f.Limit == nil || f.Shown() != "" {
			return
		}
		if p := f.Places(d.placesOf(*f)); p > d.placesOf(*f) {
			d.digits[alike(f.Quantity)], more = p, true
		}
	}
	for more = true; more; { // more digits for one may be too few for another
		more = false
		for _, l := range d.Judgement.Results() {
			need(l.WorstFinding())
			if l.Measured && l.Verdict != judge.Pass {
				need(worstOpen(l))
			}
		}
	}
}

// alike is the quantity under which digits are kept: the mean of both directions
// has those of the losses.
func alike(q record.Quantity) record.Quantity {
	if q == record.TwoWayAverage {
		return record.InsertionLoss
	}
	return q
}

// placesOf is how many digits a finding is printed with on the summary.
func (d *digestOf) placesOf(f judge.Finding) int { return max(2, d.digits[alike(f.Quantity)]) }

// BundleTitle is the title of summary and papers in one file.
func (s *Set) BundleTitle() string {
	return s.titled(s.words.Say("bundle.title") + " " + s.Facts.Job.Number)
}

func (d *digestOf) newRail(symbol [][]bool, first, last record.Date) *rail {
	w, job, counts := d.words, &d.Facts.Job, d.Judgement.Counts
	r := &rail{set: d.Set, symbol: symbol, under: w.Say("rail.set"), key: d.key()}
	if d.Judgement.Conforms() {
		r.treatment, r.word = solid, w.Say("summary.conforms")
		r.below = []layout.Field{{Caption: "", Value: w.Count("summary.all_certified", counts.Certified)}}
	} else {
		r.treatment, r.word = hatched, w.Say("summary.does_not_conform")
		r.below = []layout.Field{{Caption: "", Value: w.Say("summary.job_open")}}
	}
	if c := counts; c.Certified < c.Scheduled {
		r.below = []layout.Field{{Caption: "", Value: w.Say("summary.some_open", "open", w.Whole(counts.Scheduled-counts.Certified), "all", w.Whole(counts.Scheduled))}}
	}
	revision := w.Say("rail.first", "n", w.Whole(d.Revision))
	if d.Revision > 1 {
		revision = w.Say("rail.replaces", "n", w.Whole(d.Revision), "before", w.Whole(d.Revision-1))
	}
	measured := ""
	if !first.IsZero() {
		measured = w.Days(first, last)
	}
	var sets []string
	for _, set := range d.Judgement.Sets {
		sets = append(sets, set.ID)
	}
	r.name = layout.Field{Caption: w.Say("rail.job_number"), Value: job.Number}
	r.fields = []layout.Field{
		{Caption: w.Say("rail.title"), Value: job.Title},
		{Caption: w.Say("rail.revision"), Value: revision},
		{Caption: w.Say("rail.issued"), Value: w.Day(d.IssuedOn())},
		{Caption: w.Say("rail.site"), Value: wording.Comma(job.Site.Name, job.Site.Address)},
		{Caption: w.Say("rail.customer"), Value: job.Customer.Name},
		{Caption: w.Say("rail.order"), Value: strings.Join(wording.Distinct(job.Customer.Order, job.Invoice), " · ")},
		{Caption: w.Say("rail.measured"), Value: measured},
		{Caption: w.Say("rail.completed"), Value: w.Day(job.Completed)},
		{Caption: w.Say("rail.deadline"), Value: w.Day(job.Deadline)},
		{Caption: w.Say("rail.sets"), Value: strings.Join(wording.Distinct(sets...), "\n")},
		{Caption: w.Say("rail.decision"), Value: w.Term("decision", job.Policy.Decision)},
	}
	return r
}

func (d *digestOf) compose(f *layout.Flow) {
	f.DrawRail, f.Outline = d.rail.draw, true
	f.DrawHead = d.again(d.words.Say("document.continued", "title", d.title+" "+d.Facts.Job.Number))
	f.Start()
	d.head(f, d.title, d.lead())
	draw := map[string]func(*layout.Flow){
		"counts": d.counts, "open": d.open, "dots": d.dots, "margins": d.margins, "map": d.places, "statistics": d.statistics,
		"population": d.populations, "questions": d.questions, "links": d.links, "sets": d.sets, "people": d.people, "instruments": d.instruments, "files": d.files,
		"revisions": d.revisions, "small_print": d.smallPrint,
	}
	for _, name := range d.look.summary {
		draw[name](f)
	}
}

// lead is the whole job in words.
func (d *digestOf) lead() string {
	return strings.Join(d.words.States(claim.Job(&d.Facts.Job, d.Judgement, d.Declared)), " ")
}

// counts are the numbers that a receiver looks for first.
func (d *digestOf) counts(f *layout.Flow) {
	w, c := d.words, d.Judgement.Counts
	asked, answered := d.Judgement.QuestionCounts()
	all := []struct {
		key string
		n   int
	}{{"scheduled", c.Scheduled}, {"measured", c.Measured}, {"certified", c.Certified}, {"marginal", c.Marginal}, {"failed", c.Failed}, {"incomplete", c.Incomplete}, {"questions", asked}}
	f.Need(3 * f.Grid)
	width := f.W / float64(len(all))
	style := f.Figure // of all seven: the widest sets the size
	for _, one := range all {
		style = f.Shrink(style, 9, width-5, w.Whole(one.n))
	}
	for i, one := range all {
		x := f.X + float64(i)*width
		n := w.Whole(one.n)
		f.Put(x, f.Y+1.35*f.Grid, style, n)
		caption := w.Say("summary.count_" + one.key)
		if one.key == "questions" && answered > 0 {
			caption = w.Say("summary.count_answers", "answered", w.Whole(answered))
		}
		f.Put(x, f.Y+2.2*f.Grid, f.Shrink(f.Caption, 5, width-2, caption), caption)
	}
	f.Lines(2.5)
}

// exceptions are the links that are not a plain pass, worst first.
func (d *digestOf) exceptions() []*judge.LinkResult {
	var out []*judge.LinkResult
	for _, v := range []judge.Verdict{judge.Fail, judge.Incomplete, judge.Marginal} {
		for i := range d.Judgement.Links {
			if d.Judgement.Links[i].Verdict == v {
				out = append(out, d.Judgement.Result(i))
			}
		}
	}
	return out
}

func (d *digestOf) open(f *layout.Flow) {
	w := d.words
	all, rows := d.exceptions(), d.openAsWhole(f)
	if len(all)+len(rows) == 0 {
		return
	}
	f.Section(w.Say("open.title"), 2)
	for _, l := range all {
		style := f.Strong
		if !l.Verdict.Certifiable() {
			style = f.Alarm()
		}
		what, next := d.why(l)
		rows = append(rows, []layout.Cell{{Text: l.Link.ID, Style: f.Strong}, {Text: w.Say("open." + l.Verdict.String()), Style: style}, {Text: what, Style: f.Body}, {Text: next, Style: f.Body}})
	}
	f.Table([]layout.Column{{Wrap: true}, {}, {Wrap: true}, {Wrap: true}}, rows)
}

// worstOpen is among the findings of a link's worst verdict the one that misses by
// most, nil where nothing is open.
func worstOpen(l *judge.LinkResult) (worst *judge.Finding) {
	open := l.Open()
	for i := range open {
		if f := &open[i]; worst == nil || f.Verdict == worst.Verdict && f.Margin != nil && (worst.Margin == nil || f.Margin.Less(*worst.Margin)) {
			worst = f
		}
	}
	return worst
}

// why says in few words what is open on a link and what to try first.
func (d *digestOf) why(l *judge.LinkResult) (what, next string) {
	one := worstOpen(l)
	if one == nil {
		return "", ""
	}
	w, worst := d.words, *one
	if !l.Measured {
		what = strings.TrimSpace(w.Say("open.no_reading") + " " + w.State(worst.Said()))
	} else if what = d.numbers(worst); what == "" {
		what = wording.FirstOf(d.posed(&worst), w.Term("code", worst.Code))
	}
	return what, wording.FirstOf(d.next(worst)...)
}

// numbers are a finding's reading, limit and margin in one phrase, "" where no
// number was judged.
func (d *digestOf) numbers(f judge.Finding) string {
	if f.Measured == nil || f.Limit == nil || f.Margin == nil {
		return ""
	}
	w, p := d.words, d.placesOf(f)
	if shown := f.Shown(); shown != "" {
		return w.Say("open.shown", "subject", d.subject(f), "shown", shown, "allowed", d.allowed(f, p), "unit", string(f.Unit))
	}
	key := "open.margin"
	values := []string{"subject", d.subject(f), "measured", w.Fixed(*f.Measured, p), "allowed", d.allowed(f, p),
		"margin", w.Fixed(f.Margin.Abs(), p), "unit", string(f.Unit)}
	switch {
	case f.Margin.Sign() < 0:
		key = "open.over"
	case f.Uncertainty != nil:
		key = "open.within"
		values = append(values, "u", w.Fixed(*f.Uncertainty, p))
	}
	return w.Say(key, values...)
}

// questions lists what a careful reader should know, each question once with
// the links that raise it.
func (d *digestOf) questions(f *layout.Flow) {
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
		if one.Asks() { // limits are in a table of their own
			ask(d.posed(&one), "")
		}
	}
	if !job.Deadline.IsZero() && job.Deadline.Before(d.IssuedOn()) {
		ask(w.Say("questions.late", "deadline", w.Day(job.Deadline), "issued", w.Day(d.IssuedOn())), "")
	}
	for _, l := range d.Judgement.Results() {
		for _, one := range l.Findings {
			if one.Asks() {
				ask(d.posed(&one), l.Link.ID)
			}
		}
		if untoldExemption(l) {
			ask(w.Say("questions.exempt", "reason", l.Link.Exempt), l.Link.ID)
		}
	}
	if len(texts) == 0 {
		return
	}
	const named = 4 // links named before the rest are counted
	for i, text := range texts {
		switch links := wording.Distinct(about[text]...); {
		case len(links) > named:
			texts[i] = w.Say("questions.many", "links", strings.Join(links[:named-1], ", "), "n", w.Whole(len(links)-named+1), "question", text)
		case len(links) > 0:
			texts[i] = w.Say("questions.of", "links", w.List(links), "question", text)
		}
	}
	f.Section(w.Say("questions.title_all"), 2, d.questionCounts())
	f.List(texts)
}

func (d *digestOf) smallPrint(f *layout.Flow) {
	w := d.words
	f.Space(0.5)
	d.small(f, w.Say("small.set")+" "+w.Say("small.records")+" "+w.Say("small.payment")+" "+w.Say("small.live")+" "+w.Say("small.codes"))
}
