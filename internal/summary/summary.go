// Package summary makes the papers about a whole job from its set: the summary, which
// says whether the job conforms and what all of it rests on, and the quantities for
// an invoice.
//
// The summary stands alone: whoever reads nothing else learns what is open, how every
// link was judged, against which limits, with which instruments and by whom, and what
// changed since the revision before. Its sections and their order come from
// templates/documents/summary.yaml. Its token binds results.json, which is attached.
//
// Pictures are drawn from the findings as they were judged; floats serve drawing and
// statistics only.
package summary

import (
	"crypto/sha256"
	"fmt"
	"strings"

	"spanseal/internal/certify"
	"spanseal/internal/claim"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/seal"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
)

// New returns the cover of the set: whether the job conforms, what is open,
// every link, and what all of it rests on. Its token binds results.json.
func New(s *certify.PaperSet) (*certify.Paper, error) {
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
	token, symbol, err := s.Seal(sealed)
	if err != nil {
		return nil, err
	}
	d := newOverview(s)
	d.title = d.words.Say("summary.title")
	d.settle()
	d.rail = d.newRail(symbol, first, last)
	doc := s.NewDocument(certify.SummaryPath, d.title+" "+s.Facts.Job.Number, d.compose)
	doc.Token = token
	doc.Attachments = append([]page.Attachment{{Name: "results.json", MIME: "application/json", Description: d.words.Say("attach.results"), Relationship: "Data",
		Write: results, Modified: s.Issued}}, s.TokenFile(token)...)
	return doc, nil
}

func (o *overview) compose(f *layout.Flow) {
	f.DrawRail, f.Outline = o.rail.Draw, true
	f.DrawHead = o.Again(o.words.Say("document.continued", "title", o.title+" "+o.Facts.Job.Number))
	f.Start()
	o.Head(f, o.title, o.lead())
	draw := map[string]func(*layout.Flow){
		"counts": o.counts, "open": o.open, "dots": o.dots, "margins": o.margins, "map": o.places, "statistics": o.statistics,
		"population": o.populations, "questions": o.questions, "links": o.links, "splices": o.splices, "faces": o.faces, "first_tests": o.firstTests, "sets": o.sets, "people": o.people, "instruments": o.instruments, "files": o.files,
		"warranty": o.warranty, "revisions": o.revisions, "small_print": o.smallPrint,
	}
	for _, name := range o.SummarySections() {
		draw[name](f)
	}
}

// lead is the whole job in words.
func (o *overview) lead() string {
	return strings.Join(o.words.States(claim.Job(&o.Facts.Job, o.Judgement, o.Declared)), " ")
}

// counts are the numbers that a receiver looks for first.
func (o *overview) counts(f *layout.Flow) {
	w, c := o.words, o.Judgement.Counts
	asked, answered := o.Judgement.QuestionCounts()
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
	f.Begin(page.Element{Role: page.List})
	for i, one := range all {
		x := f.X + float64(i)*width
		n := w.Whole(one.n)
		caption := w.Say("summary.count_" + one.key)
		if one.key == "questions" && answered > 0 {
			caption = w.Say("summary.count_answers", "answered", w.Whole(answered))
		}
		f.Pair(func() { f.Put(x, f.Y+2.2*f.Grid, f.Shrink(f.Caption, 5, width-2, caption), caption) },
			func() { f.Put(x, f.Y+1.35*f.Grid, style, n) })
	}
	f.Finish()
	f.Lines(2.5)
}

// questions lists what a careful reader should know, each question once with
// the links that raise it.
func (o *overview) questions(f *layout.Flow) {
	w, job := o.words, &o.Facts.Job
	type point struct {
		text  string
		nm    statement.NM
		links []string
	}
	var points []*point
	about := map[string]*point{}
	questions, deviations := 0, 0
	ask := func(count *int, text string, nm statement.NM, link string) {
		*count++
		key := fmt.Sprint(nm, " ", text)
		p := about[key]
		if p == nil {
			p = &point{text: text, nm: nm}
			if about[key] = p; text != "" {
				points = append(points, p)
			}
		}
		if link != "" && (len(p.links) == 0 || p.links[len(p.links)-1] != link) {
			p.links = append(p.links, link)
		}
	}
	pose := func(one judge.Finding, link string) {
		if one.Asks() { // limits are in a table of their own
			text, nm := o.PosedApart(&one)
			ask(&questions, text, nm, link)
		}
	}
	for _, one := range o.Judgement.Questions {
		pose(one, "")
	}
	if !job.Deadline.IsZero() && job.Deadline.Before(o.IssuedOn()) {
		ask(&deviations, w.Say("questions.late", "deadline", w.Day(job.Deadline), "issued", w.Day(o.IssuedOn())), 0, "")
	}
	for _, l := range o.Judgement.Results() {
		for _, one := range l.Findings {
			pose(one, l.Link.ID)
		}
		if certify.UntoldExemption(l) {
			ask(&deviations, w.Say("questions.exempt", "reason", l.Link.Exempt), 0, l.Link.ID)
		}
	}
	if len(points) == 0 {
		return
	}
	const named = 4 // links named before the rest are counted
	var texts []string
	var counts []int
	apart := make([]wording.SaidApart, len(points))
	for i, p := range points { // what is asked of the same links at several wavelengths is one point
		apart[i] = wording.SaidApart{Text: p.text, NM: p.nm, With: strings.Join(p.links, "\n")}
	}
	for _, one := range w.Together(apart) {
		text := one.Text
		switch links := points[one.Of[0]].links; {
		case len(links) > named:
			text = w.Say("questions.many", "links", strings.Join(links[:named-1], ", "), "n", w.Whole(len(links)-named+1), "question", text)
		case len(links) > 0:
			text = w.Say("questions.of", "links", w.List(links), "question", text)
		}
		texts, counts = append(texts, text), append(counts, len(one.Of))
	}
	title := w.Say("questions.title_all")
	switch {
	case deviations == 0:
		title = w.Say("questions.title")
	case questions == 0:
		title = w.Say("questions.deviations")
	}
	f.ListedTogether(title, texts, counts, o.QuestionCounts())
}

func (o *overview) smallPrint(f *layout.Flow) {
	w := o.words
	f.Space(0.5)
	o.SmallPrint(f, w.Say("small.set")+" "+w.Say("small.records")+" "+w.Say("small.payment")+" "+w.Say("small.live")+" "+w.Say("small.codes"))
}
