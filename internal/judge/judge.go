// Package judge is pure: facts and limits in, findings and verdicts out. It
// reads no clock and no files, and the order of rows never changes a verdict.
//
// Every used reading is held against every limit that binds its link: those of
// the job, those of the link and those of the applications that the link must
// carry. Each comparison is a [Finding] with its [Working]; the worst finding
// decides the link.
//
// A limit that is met exactly is met. Under guarded acceptance (JCGM 106:2012,
// 8.3; ILAC-G8:09/2019, 4.2.2) the margin must reach w = r·U as well. A margin
// smaller than the job's marginal band (the uncertainty, where the job names
// none) is marginal. With U known, k = 2, the probability of conformity is
// Φ((T − y)/u), u = U/2 (JCGM 106:2012, 7.2).
//
// Evidence checks are questions, never accusations; package evidence explains each. A
// finding of kind evidence is there only when its question is raised: its
// verdict is incomplete where the owner calls the question fatal, and pass
// where it is a note.
package judge

import (
	"cmp"
	"fmt"
	"maps"
	"runtime"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"spanseal/internal/arrange"
	"spanseal/internal/chance"
	"spanseal/internal/diag"
	"spanseal/internal/evidence"
	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// jobJudge holds what is the same for every link of a job.
type jobJudge struct {
	facts       *record.Facts
	book        *limits.Book
	policy      *record.Policy
	list        *diag.List
	sets        map[string]*limits.Set // by the text that named them
	numbers     map[*limits.Set]int    // of the same, in the order in which they were named
	used        usage
	instruments map[string]*record.Instrument
	people      map[string]*record.Person
	glass       *limits.Set // lowest losses of glass, or nil
	differences *limits.Set // of glass between two wavelengths, or nil
	asks        map[string]evidence.Setting

	applications []*limits.Set
	needs        needs

	links   []LinkResult    // in schedule order
	digests []chance.Digest // of the losses of each
}

// usage is the values of each set that a limit was worked out from.
type usage map[*limits.Set]map[*limits.Value]bool

// worker judges links one after another; several work side by side, each with
// notes of its own.
type worker struct {
	*jobJudge
	used    usage
	tried   map[trialKey][]trial
	lists   map[string][]Carries // by the bytes of which trials are within
	worked  map[situation]result
	matters map[about]*Matter
	differs map[chance.Wavelengths]*quantity.Decimal
	least   map[kindOfGlass]*quantity.Decimal
	ledgers map[string][]LedgerEntry // by what they say
	opens   map[*LedgerEntry]*Matter // the findings of open entries

	draft    []Finding // it and what follows are reused from link to link
	topics   []subject
	extremes []extreme
	works    []work
	whys     []why
}

func (j *jobJudge) worker() *worker {
	w := &worker{jobJudge: j, used: usage{}, tried: map[trialKey][]trial{}, lists: map[string][]Carries{}, worked: map[situation]result{}, matters: map[about]*Matter{},
		differs: map[chance.Wavelengths]*quantity.Decimal{}, least: map[kindOfGlass]*quantity.Decimal{}, ledgers: map[string][]LedgerEntry{}, opens: map[*LedgerEntry]*Matter{}, draft: make([]Finding, 0, 32)}
	for s := range j.used {
		w.used[s] = map[*limits.Value]bool{}
	}
	return w
}

// atOnce is how many links a worker takes on at a time.
const atOnce = 64

// each judges every link, on as many processors as there are. The outcome does
// not depend on how the links fall to the workers.
func (j *jobJudge) each() {
	var next atomic.Int64
	var done sync.WaitGroup
	workers := make([]*worker, max(1, min(runtime.GOMAXPROCS(0), len(j.links)/atOnce)))
	for i := range workers {
		w := j.worker()
		workers[i] = w
		done.Go(func() {
			for {
				to := int(next.Add(atOnce))
				for k := to - atOnce; k < min(to, len(j.links)); k++ {
					w.link(&j.links[k])
					finish(&j.links[k])
					j.digests[k] = chance.DigestOf(j.links[k].Readings)
				}
				if to >= len(j.links) {
					return
				}
			}
		})
	}
	done.Wait()
	for _, w := range workers {
		for set, values := range w.used {
			maps.Copy(j.used[set], values)
		}
	}
}

// Judge judges a whole job. The judgement is nil when the list holds an error:
// a limit set or an application that is not known.
func Judge(facts *record.Facts, book *limits.Book) (*Judgement, *diag.List) {
	j := newJobJudge(facts, book)
	j.resolve()
	if j.list.Errors() > 0 {
		return nil, j.list
	}
	j.each()
	out := &Judgement{Questions: append(j.crosscheck(), j.populations()...), answers: answersOf(&facts.Job)}
	for i := range j.links {
		finish(&j.links[i]) // with what was asked of many links together
		out.Links = append(out.Links, j.links[i].Brief)
		out.Counts.add(&out.Links[i])
	}
	out.results = j.links
	j.tally(out)
	out.Sets, out.counted = j.setsUsed(), out.countedOnce()
	out.answers.give("", out.Questions)
	for i := range out.results {
		r := &out.results[i]
		out.answers.give(r.Link.ID, r.Findings)
		for k := range r.Carries {
			out.answers.give(r.Link.ID, r.Carries[k].Findings)
		}
	}
	return out, j.list
}

// Alone judges the first link of a job by itself, as a test of limits wants it: no
// other link bears on it, and no answer. It also returns the values of each set that
// its limits were worked out from.
func Alone(facts *record.Facts, book *limits.Book) (*LinkResult, map[*limits.Set]map[*limits.Value]bool) {
	j := newJobJudge(facts, book)
	j.resolve()
	w, out := j.worker(), &j.links[0]
	w.link(out)
	finish(out)
	return out, w.used
}

func newJobJudge(facts *record.Facts, book *limits.Book) *jobJudge {
	j := &jobJudge{
		facts: facts, book: book, policy: &facts.Job.Policy, list: new(diag.List),
		sets:        map[string]*limits.Set{},
		numbers:     map[*limits.Set]int{},
		used:        usage{},
		instruments: map[string]*record.Instrument{},
		people:      map[string]*record.Person{},
		links:       unjudged(facts),
		digests:     make([]chance.Digest, len(facts.Links)),
	}
	for i := range facts.Job.Instruments {
		j.instruments[facts.Job.Instruments[i].ID] = &facts.Job.Instruments[i]
	}
	for i := range facts.Job.People {
		j.people[facts.Job.People[i].ID] = &facts.Job.People[i]
	}
	j.glass, _ = book.Find("lowest-glass-loss")
	j.differences, _ = book.Find("glass-differences")
	j.applications = applications(book)
	j.needs = needsOf(j.applications)
	return j
}

// resolve finds every set and application that the job names.
func (j *jobJudge) resolve() {
	for _, id := range j.policy.Limits {
		j.find(id, "limit set", j.facts.Job.Origin)
	}
	for i := range j.facts.Links {
		l := &j.facts.Links[i]
		for _, id := range l.Limits {
			j.find(id, "limit set", l.Origin)
			if s := j.sets[id]; s != nil && hasGroupLimits(s) {
				j.list.Add(diag.Problem{
					Code: "population-set", Place: placeOf(l.Origin),
					Message: fmt.Sprintf("limit set %q is about all connections of a job together, not about one link", id),
					Fix:     "name it under judge.limits in job.yaml",
				})
			}
		}
		for _, id := range l.Applications {
			j.find(id, "application", l.Origin)
		}
	}
	var problems *diag.List
	j.asks, problems = evidence.Settings(&j.facts.Job)
	j.list.Join(problems)
	j.checkOptional()
}

func (j *jobJudge) find(id, what string, from record.Origin) {
	if j.sets[id] != nil {
		return
	}
	s, ok := j.book.Find(id)
	if !ok {
		j.list.Add(j.book.Unknown(what, id, placeOf(from)))
		return
	}
	if s.Kind == limits.Planning {
		j.list.Add(diag.Problem{Code: "binds-nothing", Place: placeOf(from),
			Message: fmt.Sprintf("%s %q has figures of kind %s, which are not limits", what, id, s.Kind), Fix: "name the agreed set"})
	}
	j.sets[id] = s
	if _, known := j.numbers[s]; !known {
		j.numbers[s] = len(j.numbers)
	}
	j.used[s] = map[*limits.Value]bool{}
}

func placeOf(o record.Origin) diag.Place {
	return diag.Place{File: o.File, Line: o.Row, Column: o.Column, Cell: o.Cell}
}

// bound is a set that binds a link.
type bound struct {
	*limits.Set
	application bool
}

// bind lists the sets that bind a link, each once: the job's, the link's own,
// then the applications it must carry.
func (j *jobJudge) bind(l *record.Link) []bound {
	out := make([]bound, 0, 4)
	add := func(ids []string, application bool) {
		for _, id := range ids {
			s := j.sets[id]
			if !slices.ContainsFunc(out, func(o bound) bool { return o.Set == s }) {
				out = append(out, bound{s, application || s.Kind == limits.Application})
			}
		}
	}
	add(j.policy.Limits, false)
	add(l.Limits, false)
	add(l.Applications, true)
	return out
}

// finish settles a link once every question about it has been asked.
func finish(r *LinkResult) {
	slices.SortStableFunc(r.Findings, func(x, y Finding) int {
		return cmp.Or(
			cmp.Compare(kindRank[x.Kind], kindRank[y.Kind]),
			cmp.Compare(arrange.Quantity(x.Quantity), arrange.Quantity(y.Quantity)),
			cmp.Compare(x.WavelengthNM, y.WavelengthNM),
			cmp.Compare(arrange.Direction(x.Direction), arrange.Direction(y.Direction)),
			strings.Compare(x.Event, y.Event),
		)
	})
	r.Worst = -1
	for i := range r.Findings {
		f := &r.Findings[i]
		r.Verdict = max(r.Verdict, f.Verdict)
		if f.Kind == KindLimit && f.Margin != nil && (f.Quantity == record.InsertionLoss || f.Quantity == record.TwoWayAverage) && f.Shown() == "" &&
			(r.Worst < 0 || f.Margin.Less(*r.Findings[r.Worst].Margin)) {
			r.Worst = i
		}
	}
}

var kindRank = map[FindingKind]int{KindLimit: 0, KindRequired: 1, KindEstimate: 2, KindEvidence: 3}

func (c *Counts) add(r *Brief) {
	c.Scheduled++
	if r.Measured {
		c.Measured++
	}
	switch r.Verdict {
	case Marginal:
		c.Marginal++
	case Fail:
		c.Failed++
	case Incomplete:
		c.Incomplete++
	}
	if r.Verdict.Certifiable() {
		c.Certified++
	}
}

// setsUsed lists the sets that bound something and those that they extend, in
// the order of their ids. A value counts for the set whose file holds it.
func (j *jobJudge) setsUsed() []SetUsed {
	low := map[string]map[*limits.Value]bool{}
	for s, values := range j.used {
		for base := s; base != nil; base = base.Base {
			if low[base.ID] == nil {
				low[base.ID] = map[*limits.Value]bool{}
			}
		}
		for v := range values {
			if v.Low {
				low[v.Set][v] = true
			}
		}
	}
	out := make([]SetUsed, 0, len(low))
	for _, id := range slices.Sorted(maps.Keys(low)) {
		s, _ := j.book.Find(id)
		u := SetUsed{ID: s.ID, Kind: s.Kind, Extends: s.Extends, Title: s.Title, Standard: s.Standard, Edition: s.Edition, File: s.File, SHA256: s.SHA256, BuiltIn: s.BuiltIn, Owner: s.Owner != "", LowCount: len(low[id])}
		if c, ok := j.book.Confirmed(s); ok {
			u.Confirmed = c.String()
			sum := statement.Name(c.SHA256[:8] + "…" + c.SHA256[60:])
			u.Confirmation = statement.New("confirmed.bare", statement.Name(c.By), statement.Day(c.On), sum)
			if c.Note != "" {
				u.Confirmation = statement.New("confirmed.noted", statement.Name(c.By), statement.Day(c.On), statement.Name(strings.TrimRight(c.Note, ".")), sum)
			}
		}
		out = append(out, u)
	}
	return out
}

// uncertainty of a loss reading, expanded (k = 2): its instrument's, else the
// job's, else nil.
func (j *jobJudge) uncertainty(r *record.Reading) *quantity.Decimal {
	if i := j.instruments[r.Instrument]; i != nil && i.Uncertainty != nil {
		return i.Uncertainty
	}
	return j.policy.Uncertainty
}
