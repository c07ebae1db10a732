// Package claim makes of a judgement the sentences that lead its papers: what was
// measured, when, and what it proves. Each is a statement, so that whoever doubts
// one can work it out again from the record that carries it. Nothing is said that
// the readings, limits and verdicts at hand do not show.
package claim

import (
	"cmp"
	"slices"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// Link is what leads the paper of a link. Losses are printed with so many places
// at least.
func Link(job *record.Job, l *judge.LinkResult, places int) []statement.Statement {
	c := &lead{job: job, of: l, places: places}
	c.measured()
	if !l.Measured {
		return c.out
	}
	switch l.Verdict {
	case judge.Pass, judge.Marginal:
		c.pass()
	case judge.Fail:
		c.fail()
	default:
		c.incomplete()
	}
	if asked, answered := l.QuestionCounts(); l.Verdict.Certifiable() && asked > 0 {
		c.say("lead.questions", statement.Count(asked), statement.Count(answered))
	}
	return c.out
}

// lead gathers the sentences of one paper.
type lead struct {
	job    *record.Job
	of     *judge.LinkResult
	places int
	out    []statement.Statement
}

func (l *lead) say(code string, args ...statement.Argument) {
	l.out = append(l.out, statement.New(code, args...))
}

// measured says at which wavelengths and in which directions losses were
// measured, and on which days.
func (l *lead) measured() {
	link := l.of.Link
	args := []statement.Argument{statement.Name(link.ID), statement.Name(link.From), statement.Name(link.To)}
	switch ways := l.ways(); {
	case !l.of.Measured:
		l.say("lead.never", args...)
		return
	case len(ways) == 0:
		l.say("lead.no-loss", args...)
		return
	default:
		args = append(args, ways)
	}
	switch first, last := l.days(); {
	case first.IsZero():
		l.say("lead.measured", args...)
	case first.Equal(last):
		l.say("lead.measured-on", append(args, statement.Day(first))...)
	default:
		l.say("lead.measured-days", append(args, statement.Day(first), statement.Day(last))...)
	}
}

// ways gathers the wavelengths that were measured alike: in both directions, in
// one, in none that is stated.
func (l *lead) ways() (out statement.List) {
	type directions struct{ ab, ba, unstated bool }
	at := map[int]directions{}
	var nm []int
	for i := range l.of.Readings {
		r := &l.of.Readings[i]
		if r.Quantity != record.InsertionLoss {
			continue
		}
		d, seen := at[r.WavelengthNM]
		if !seen {
			nm = append(nm, r.WavelengthNM)
		}
		d.ab, d.ba = d.ab || r.Direction == record.AB, d.ba || r.Direction == record.BA
		d.unstated = d.unstated || r.Direction.From() == ""
		at[r.WavelengthNM] = d
	}
	slices.Sort(nm)
	alike := func(is func(directions) bool) (list statement.List) {
		for _, n := range nm {
			if is(at[n]) {
				list = append(list, statement.NM(n))
			}
		}
		return list
	}
	if both := alike(func(d directions) bool { return d.ab && d.ba }); both != nil {
		out = append(out, statement.New("lead.both", both))
	}
	for _, way := range []record.Direction{record.AB, record.BA} {
		one := alike(func(d directions) bool { return d.ab != d.ba && d.ab == (way == record.AB) })
		if one != nil {
			out = append(out, statement.New("lead.one", one, statement.Word{Group: "from", Code: string(way)}))
		}
	}
	if none := alike(func(d directions) bool { return d.unstated && !d.ab && !d.ba }); none != nil {
		out = append(out, statement.New("lead.unstated", none))
	}
	return out
}

// days are the first and the last on which the link was measured, in the job's
// zone.
func (l *lead) days() (first, last record.Date) {
	for i := range l.of.Readings {
		t := l.of.Readings[i].Time
		if t.IsZero() {
			continue
		}
		if l.job.Location != nil {
			t = t.In(l.job.Location)
		}
		day := record.DateOf(t)
		if first.IsZero() || day.Before(first) {
			first = day
		}
		if day.After(last) {
			last = day
		}
	}
	return first, last
}

// pass says against which sets the readings are within their limits, which have
// none, what is marginal, and where no uncertainty is known.
func (l *lead) pass() {
	sets, code := l.sets(), ""
	var reference statement.Argument
	var references statement.List
	for _, m := range judge.References(&l.job.Policy, l.of.Link, l.of.Readings) {
		reference = statement.Word{Group: "reference", Code: string(m)}
		references = append(references, reference)
	}
	if len(references) > 1 {
		code, reference = "-references", references
	}
	var unbound statement.List
	for _, r := range l.of.Unbound() {
		if s := (statement.Subject{Quantity: r.Quantity, NM: r.WavelengthNM}); !slices.Contains(unbound, statement.Argument(s)) {
			unbound = append(unbound, s)
		}
	}
	if unbound == nil {
		l.say("lead.pass"+code, sets, reference)
	} else {
		l.say("lead.pass-bound"+code, sets, reference, unbound)
	}
	if f := l.closest(func(f *judge.Finding) bool { return f.Verdict == judge.Marginal }); f != nil {
		p := f.Places(l.places)
		if band := l.job.Policy.Marginal; band != nil && losses[f.Quantity] {
			l.say("lead.marginal-band", Subject(f), statement.Rounded(*f.Margin, p), statement.Short(*band))
		} else {
			l.say("lead.marginal-u", Subject(f), statement.Rounded(*f.Margin, p), statement.Rounded(*f.Uncertainty, p))
		}
	}
	without, all := 0, 0
	for i := range l.of.Findings {
		f := &l.of.Findings[i]
		again := func(o judge.Finding) bool { // by another set
			return isLoss(&o) && len(o.Readings) == 1 && o.WavelengthNM == f.WavelengthNM && o.Direction == f.Direction
		}
		if !isLoss(f) || len(f.Readings) != 1 || slices.ContainsFunc(l.of.Findings[:i], again) {
			continue
		}
		all++
		if f.Uncertainty == nil {
			without++
		}
	}
	switch {
	case without == 0:
	case without == all:
		l.say("lead.no-uncertainty")
	default:
		l.say("lead.some-uncertainty", statement.Count(without), statement.Count(all))
	}
}

// sets are the standards whose limits the losses were held against. One that
// judged some wavelengths only says which.
func (l *lead) sets() (out statement.List) {
	measured := map[int]bool{}
	for i := range l.of.Readings {
		if r := &l.of.Readings[i]; r.Quantity == record.InsertionLoss {
			measured[r.WavelengthNM] = true
		}
	}
	by, order := map[statement.Standard][]int{}, []statement.Standard(nil)
	for i := range l.of.Findings {
		f := &l.of.Findings[i]
		if !isLoss(f) || l.carries(f) {
			continue
		}
		s := standard(f.Working)
		if by[s] == nil {
			order = append(order, s)
		}
		if !slices.Contains(by[s], f.WavelengthNM) {
			by[s] = append(by[s], f.WavelengthNM)
		}
	}
	for _, s := range order {
		if nm := by[s]; len(nm) < len(measured) {
			slices.Sort(nm)
			out = append(out, statement.New("lead.set-some", s, statement.Wavelengths(nm...)))
		} else {
			out = append(out, s)
		}
	}
	if out == nil { // judged as an application alone, or by no limit of loss
		for i := range l.of.Findings {
			if f := &l.of.Findings[i]; f.Kind == judge.KindLimit && f.Working != nil && !slices.Contains(out, statement.Argument(standard(f.Working))) {
				out = append(out, standard(f.Working))
			}
		}
	}
	return out
}

// carries reports whether a finding belongs to an application, which its own line
// on the paper tells.
func (l *lead) carries(f *judge.Finding) bool {
	return slices.ContainsFunc(l.of.Carries, func(a judge.Carries) bool { return a.Required && a.ID == f.Working.SetID })
}

func standard(w *judge.Working) statement.Standard {
	return statement.Standard{Name: w.Standard, Edition: w.Edition}
}

// fail names the reading that is out by most, where it is a loss.
func (l *lead) fail() {
	f := l.closest(func(f *judge.Finding) bool { return f.Verdict == judge.Fail && isLoss(f) })
	switch {
	case f == nil:
		l.say("lead.fail-other")
	case f.Margin.Sign() >= 0:
		p := f.Places(l.places)
		l.say("lead.fail-guard", Subject(f), statement.Rounded(*f.Margin, p), statement.Rounded(*f.Guard, max(p, f.Guard.Places())))
	default:
		l.out = append(l.out, missed(f, f.Places(l.places)))
	}
	l.say("lead.not-certified")
}

// missed says by how much a loss is out of its limit, of a limit between two with both.
func missed(f *judge.Finding, places int) statement.Statement {
	code, args := "lead.fail", []statement.Argument{Subject(f)}
	between := f.Working.Bound == "between" && f.Working.Lower != nil
	number := func(d quantity.Decimal) { args = append(args, statement.Rounded(d, places)) }
	shown := f.Shown()
	if shown != "" {
		args = append(args, statement.Name(shown))
	} else {
		number(*f.Measured)
	}
	switch {
	case between:
		number(*f.Working.Lower)
		number(f.Working.Limit)
		if code = "lead.fail-above"; f.AtLeast() {
			code = "lead.fail-below"
		}
		if shown != "" {
			code = "lead.fail-outside"
		}
	default:
		number(*f.Limit)
		if f.AtLeast() {
			code = "lead.fail-low"
		}
		if shown != "" {
			code += "-shown"
		}
	}
	if shown == "" {
		number(f.Margin.Abs())
	}
	return statement.New(code, args...)
}

// incomplete says what is missing or open.
func (l *lead) incomplete() {
	for i := range l.of.Findings {
		f := &l.of.Findings[i]
		if f.Verdict != judge.Incomplete {
			continue
		}
		code := "lead.unsettled"
		switch question := statement.Question(f.Question.Code); {
		case strings.HasPrefix(question, "missing-"), question == "not-measured", question == "not-judged",
			strings.HasPrefix(f.Question.Code, "application.loss"), strings.HasPrefix(f.Question.Code, "application.average"):
			code = "lead.missing"
		case question == "no-limit", question == "application":
			code = "lead.unlimited"
		case question == "no-uncertainty":
			code = "lead.uncertain"
		}
		if !slices.ContainsFunc(l.out, func(s statement.Statement) bool { return s.Code == code }) {
			l.say(code)
		}
	}
	l.say("lead.not-certified")
}

// closest is the finding of some with the smallest margin, nil of none.
func (l *lead) closest(of func(*judge.Finding) bool) (out *judge.Finding) {
	for i := range l.of.Findings {
		f := &l.of.Findings[i]
		if f.Kind == judge.KindLimit && f.Margin != nil && of(f) && (out == nil || f.Margin.Less(*out.Margin)) {
			out = f
		}
	}
	return out
}

// isLoss reports whether a finding is a limit of the link's loss.
func isLoss(f *judge.Finding) bool {
	return f.Kind == judge.KindLimit && (f.Quantity == record.InsertionLoss || f.Quantity == record.TwoWayAverage)
}

// Subject is what a finding is about.
func Subject(f *judge.Finding) statement.Subject {
	return statement.Subject{Quantity: f.Quantity, NM: f.WavelengthNM, Way: f.Direction, End: f.End, Event: f.Event}
}

// Job is what leads the summary; declared are the files of readings that differ from
// those of the revision before, as the job explains them.
func Job(job *record.Job, j *judge.Judgement, declared []record.Declared) []statement.Statement {
	c := &lead{job: job}
	n := j.Counts
	c.say("lead.job", statement.Amount{N: n.Scheduled, Of: "link"}, statement.Count(n.Measured), statement.Count(n.Certified))
	t := tally(job, j)
	if len(t.order) > 0 {
		sets := make(statement.List, len(t.order))
		for i, s := range t.order {
			if t.links[s] == n.Certified {
				sets[i] = statement.New("lead.set-all", s)
			} else {
				sets[i] = statement.New("lead.set-links", s, statement.Count(t.links[s]), statement.Count(n.Certified))
			}
		}
		c.say("lead.job-sets", sets)
	}
	if methods := references(job, j); methods != nil {
		c.say("lead.job-references", methods)
	}
	exempt, witnessed := departures(job, j)
	if exempt > 0 {
		c.say("lead.job-exempt", statement.Count(exempt))
	}
	if witnessed > 0 {
		c.say("lead.job-witnessed", statement.Count(witnessed), statement.Count(n.Measured))
	}
	if t.byBand > 0 {
		c.say("lead.job-marginal-band", statement.Count(t.byBand), statement.Short(*job.Policy.Marginal))
	}
	if t.byU > 0 {
		c.say("lead.job-marginal-u", statement.Count(t.byU))
	}
	if j.Conforms() {
		c.say("lead.job-all")
	}
	if n.Failed > 0 {
		c.say("lead.job-failed", statement.Count(n.Failed))
	}
	if n.Incomplete > 0 {
		c.say("lead.job-incomplete", statement.Count(n.Incomplete))
	}
	if slices.ContainsFunc(j.Questions, func(f judge.Finding) bool { return !f.Verdict.Certifiable() }) {
		c.say("lead.job-whole")
	}
	if asked, answered := j.QuestionCounts(); asked > 0 {
		c.say("lead.job-questions", statement.Count(asked), statement.Count(answered))
	} else {
		c.say("lead.job-no-questions")
	}
	for _, d := range declared {
		by := d.By
		if p, ok := job.Person(by); ok {
			by = p.Name
		}
		if d.On.IsZero() {
			c.say("lead.declared-undated", statement.Name(d.File), statement.Name(by), statement.Name(d.Because))
		} else {
			c.say("lead.declared", statement.Name(d.File), statement.Name(by), statement.Day(d.On), statement.Name(d.Because))
		}
	}
	return c.out
}

// departures counts the links that have no loss at an exempt wavelength, and those that
// a witness named for a day or a link watched.
func departures(job *record.Job, j *judge.Judgement) (exempt, witnessed int) {
	named := len(job.Witnesses) > 0
	for _, l := range j.Results() {
		if slices.ContainsFunc(l.Findings, func(f judge.Finding) bool { return f.Code == "wavelength-exempt" }) {
			exempt++
		}
		named = named || l.Link.Terms != nil && l.Link.Terms.Witness != ""
		if len(job.WitnessesOf(l.Link, l.Readings)) > 0 {
			witnessed++
		}
	}
	if !named {
		witnessed = 0
	}
	return exempt, witnessed
}

// references counts the measured links by reference method; nil where all were
// measured by the job's.
func references(job *record.Job, j *judge.Judgement) (out statement.List) {
	counts, several := map[record.ReferenceMethod]int{}, 0
	for _, l := range j.Results() {
		switch by := judge.References(&job.Policy, l.Link, l.Readings); {
		case !l.Measured:
		case len(by) > 1:
			several++
		default:
			counts[by[0]]++
		}
	}
	if counts[job.Policy.Reference] == j.Counts.Measured {
		return nil
	}
	for _, m := range []record.ReferenceMethod{record.OneCord, record.TwoCord, record.ThreeCord} {
		if n := counts[m]; n > 0 {
			out = append(out, statement.New("lead.by-reference", statement.Count(n), statement.Word{Group: "reference", Code: string(m)}))
		}
	}
	if several > 0 {
		out = append(out, statement.New("lead.by-several", statement.Count(several)))
	}
	return out
}

// tallied is what the summary's lead counts over all links.
type tallied struct {
	order       []statement.Standard // of sets that judged losses of certified links
	links       map[statement.Standard]int
	byU, byBand int // marginal links
}

func tally(job *record.Job, j *judge.Judgement) *tallied {
	t := &tallied{links: map[statement.Standard]int{}}
	for _, l := range j.Results() {
		if !l.Verdict.Certifiable() {
			continue
		}
		c := &lead{job: job, of: l}
		var judged []statement.Standard
		u, band := false, false
		for i := range l.Findings {
			f := &l.Findings[i]
			if isLoss(f) && !c.carries(f) && !slices.Contains(judged, standard(f.Working)) {
				judged = append(judged, standard(f.Working))
			}
			if f.Kind == judge.KindLimit && f.Verdict == judge.Marginal {
				if job.Policy.Marginal != nil && losses[f.Quantity] {
					band = true
				} else {
					u = true
				}
			}
		}
		for _, s := range judged {
			if t.links[s]++; t.links[s] == 1 {
				t.order = append(t.order, s)
			}
		}
		switch {
		case band:
			t.byBand++
		case u:
			t.byU++
		}
	}
	slices.SortStableFunc(t.order, func(x, y statement.Standard) int { return cmp.Compare(t.links[y], t.links[x]) })
	return t
}

// losses are the quantities that a job's marginal band is about.
var losses = map[record.Quantity]bool{record.InsertionLoss: true, record.TwoWayAverage: true, record.SpliceLoss: true}
