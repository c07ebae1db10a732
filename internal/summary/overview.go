package summary

import (
	"slices"
	"strings"

	"spanseal/internal/certify"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/rail"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
)

// overview is the set while a paper about the whole job is drawn.
type overview struct {
	*certify.PaperSet
	words  *wording.Wording
	rail   *rail.Rail
	title  string
	digits map[record.Quantity]int // see settle
}

func newOverview(s *certify.PaperSet) *overview { return &overview{PaperSet: s, words: s.Words()} }

// newRail gathers what stands in the rail.
func (o *overview) newRail(symbol [][]bool, first, last record.Date) *rail.Rail {
	w, job, counts := o.words, &o.Facts.Job, o.Judgement.Counts
	r := &rail.Rail{Words: w, Specimen: o.Specimen, Symbol: symbol, Under: w.Say("rail.set"), Key: o.Key()}
	if o.Judgement.Conforms() {
		r.Treatment, r.Word = rail.Solid, w.Say("summary.conforms")
		r.Below = []layout.Field{{Caption: "", Value: w.Count("summary.all_certified", counts.Certified)}}
	} else {
		r.Treatment, r.Word = rail.Hatched, w.Say("summary.does_not_conform")
		r.Below = []layout.Field{{Caption: "", Value: w.Say("summary.job_open")}}
	}
	if c := counts; c.Certified < c.Scheduled {
		r.Below = []layout.Field{{Caption: "", Value: w.Say("summary.some_open", "open", w.Whole(counts.Scheduled-counts.Certified), "all", w.Whole(counts.Scheduled))}}
	}
	revision := w.Say("rail.first", "n", w.Whole(o.Revision))
	if o.Revision > 1 {
		revision = w.Say("rail.replaces", "n", w.Whole(o.Revision), "before", w.Whole(o.Revision-1))
	}
	measured := ""
	if !first.IsZero() {
		measured = w.Days(first, last)
	}
	var sets []string
	for _, set := range o.Judgement.Sets {
		sets = append(sets, o.SetName(set.ID))
	}
	r.Name = layout.Field{Caption: w.Say("rail.job_number"), Value: job.Number}
	r.Fields = []layout.Field{
		{Caption: w.Say("rail.title"), Value: job.Title},
		{Caption: w.Say("rail.revision"), Value: revision},
		{Caption: w.Say("rail.issued"), Value: w.Day(o.IssuedOn())},
		{Caption: w.Say("rail.site"), Value: wording.Comma(job.Site.Name, job.Site.Address)},
		{Caption: w.Say("rail.customer"), Value: job.Customer.Name},
		{Caption: w.Say("rail.order"), Value: job.Customer.Order},
		{Caption: w.Say("rail.invoice"), Value: job.Invoice},
		{Caption: w.Say("rail.measured"), Value: measured},
		{Caption: w.Say("rail.completed"), Value: w.Day(job.Completed)},
		{Caption: w.Say("rail.deadline"), Value: w.Day(job.Deadline)},
		{Caption: w.Say("rail.sets"), Value: strings.Join(wording.Distinct(sets...), "\n")},
		{Caption: w.Say("rail.decision"), Value: w.Term("decision", job.Policy.Decision)},
	}
	return r
}

// exceptions are the links that are not a plain pass, worst first.
func (o *overview) exceptions() []*judge.LinkResult {
	var out []*judge.LinkResult
	for _, v := range []judge.Verdict{judge.Fail, judge.Incomplete, judge.Marginal} {
		for i := range o.Judgement.Links {
			if o.Judgement.Links[i].Verdict == v {
				out = append(out, o.Judgement.Result(i))
			}
		}
	}
	return out
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
func (o *overview) why(l *judge.LinkResult) (what, next string) {
	one := worstOpen(l)
	if one == nil {
		return "", ""
	}
	w, worst := o.words, *one
	if !l.Measured {
		what = strings.TrimSpace(w.Say("open.no_reading") + " " + w.State(worst.Said()))
	} else if what = o.numbers(worst); what == "" {
		for _, one := range o.Fold(l.Open()) {
			if slices.ContainsFunc(one.Questions, func(q statement.Statement) bool { return q.Key() == worst.Question.Key() }) {
				what = one.Posed
				break
			}
		}
		what = wording.FirstOf(what, w.Term("code", worst.Code))
	}
	return what, wording.FirstOf(o.Next(worst)...)
}

// numbers are a finding's reading, limit and margin in one phrase, "" where no
// number was judged.
func (o *overview) numbers(f judge.Finding) string {
	if f.Measured == nil || f.Limit == nil || f.Margin == nil {
		return ""
	}
	w, p := o.words, o.placesOf(f)
	if shown := f.Shown(); shown != "" {
		return w.Say("open.shown", "subject", o.Subject(f), "shown", shown, "allowed", o.Allowed(f, p), "unit", string(f.Unit))
	}
	key := "open.margin"
	values := []string{"subject", o.Subject(f), "measured", w.Fixed(*f.Measured, p), "allowed", o.Allowed(f, p),
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

// settle finds how many digits each quantity is printed with: as many as the finding
// that needs most of those that the summary prints, so that one limit reads the
// same everywhere on it.
func (o *overview) settle() {
	o.digits = map[record.Quantity]int{}
	more := false
	need := func(f *judge.Finding) {
		if f == nil || f.Measured == nil || f.Limit == nil || f.Shown() != "" {
			return
		}
		if p := f.Places(o.placesOf(*f)); p > o.placesOf(*f) {
			o.digits[alike(f.Quantity)], more = p, true
		}
	}
	for more = true; more; { // more digits for one may be too few for another
		more = false
		for _, l := range o.Judgement.Results() {
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
func (o *overview) placesOf(f judge.Finding) int { return max(2, o.digits[alike(f.Quantity)]) }
