package judge

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/limits"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// LedgerState is what became of one limit of one set that binds a link.
type LedgerState string

// Every limit of every set that binds a link ends in exactly one of them.
const (
	Judged        LedgerState = "judged"         // there is a finding with its working
	NotApplicable LedgerState = "not_applicable" // the limit is about other links
	Optional      LedgerState = "optional"       // not measured, or not all of it, and agreed to be optional
	Open          LedgerState = "open"           // it should have been judged, and the link is not certifiable
)

// LedgerEntry is one line of a link's ledger. Links share their ledgers: nobody may
// change one.
type LedgerEntry struct {
	Set   string `json:"set"`
	Limit string `json:"limit"` // id within the set

	Quantity record.Quantity `json:"quantity"`
	State    LedgerState     `json:"state"`
	// Reason says why it is not judged, or is zero. A judged limit has one if only a
	// part of what it is about was measured and the rest was agreed to be optional.
	Reason statement.Statement `json:"reason,omitzero"`
}

// SetTally counts what became of the limits of one set over all links that it
// binds.
type SetTally struct {
	Set           string `json:"set"`
	Links         int    `json:"links"` // that it binds
	Judged        int    `json:"judged"`
	NotApplicable int    `json:"not_applicable,omitempty"`
	Optional      int    `json:"optional,omitempty"`
	Open          int    `json:"open,omitempty"`
}

func (t *SetTally) add(s LedgerState, n int) {
	switch s {
	case Judged:
		t.Judged += n
	case NotApplicable:
		t.NotApplicable += n
	case Optional:
		t.Optional += n
	case Open:
		t.Open += n
	}
}

// why is the reason of an entry as a small code, with what its statement needs
// beside the limit and the job: most links of a job share their ledgers, and those
// that do have the same codes.
type why struct {
	code      reason
	n, of, nm int
	text, end string
	agreed    int // in the job's list
	limit     int // of the set, where another takes its place
}

type reason uint8

const (
	isJudged reason = iota
	restAgreed
	otherFibre
	otherConnector
	otherMethod
	otherLength
	otherPairs
	otherSplices
	otherAttempts
	otherReflections
	otherWavelength
	noSplice
	noConnection
	noFigure
	replacedBy
	ofTheJob
	reflectanceOptional
	exemptOptional
	agreedOptional
	notRead
	notReadAt
	notReadFrom
	splicesMissing
)

// state is the state of an entry with the reason.
func (r reason) state() LedgerState {
	switch {
	case r <= restAgreed:
		return Judged
	case r <= ofTheJob:
		return NotApplicable
	case r <= agreedOptional:
		return Optional
	}
	return Open
}

// ledger enters every limit of every set that binds the link, and asks about those
// that are open.
func (j *linkJudge) ledger(subjects []subject) {
	key := make([]byte, 0, 256)
	whys := j.whys[:0]
	for _, s := range j.sets {
		key = strconv.AppendInt(append(key, '/'), int64(j.numbers[s.Set]), 10)
		for i := range s.Limits {
			y := j.why(&s.Limits[i], s, subjects)
			whys = append(whys, y)
			key = append(key, ' ', byte('a'+y.code))
			for _, n := range []int{y.n, y.of, y.nm, y.agreed, y.limit} {
				key = append(strconv.AppendInt(key, int64(n), 10), ',')
			}
			key = append(append(append(key, y.text...), 0), y.end...)
		}
	}
	j.whys = whys
	entries, known := j.ledgers[string(key)]
	if !known {
		entries = make([]LedgerEntry, 0, len(whys))
		for _, s := range j.sets {
			for i := range s.Limits {
				y := &whys[len(entries)]
				entries = append(entries, LedgerEntry{Set: s.ID, Limit: s.Limits[i].ID, Quantity: s.Limits[i].Quantity, State: y.code.state(), Reason: j.because(y, &s.Limits[i])})
			}
		}
		remember(j.ledgers, string(key), entries, mostWorked)
	}
	j.out.Ledger = entries
	j.unjudged()
}

// unjudged asks about what is open, but for what another finding asks already: a
// link without any loss, and what an application needs.
func (j *linkJudge) unjudged() {
	asked := func(code string) bool {
		return slices.ContainsFunc(j.out.Findings, func(f Finding) bool { return f.Code == code && f.Verdict == Incomplete })
	}
	if asked(notMeasured.Code) {
		return
	}
	face := asked("missing-reflectance")
	n := 0
	for _, s := range j.sets {
		for i := range s.Limits {
			e := &j.out.Ledger[n] // one for all links with the same ledger
			n++
			switch q := alike[e.Quantity]; {
			case e.State != Open, s.application && q == record.InsertionLoss, face && q == record.Reflectance:
				continue
			}
			j.out.Findings = append(j.out.Findings, Finding{
				Matter:  j.openMatter(e, &s.Limits[i]),
				Verdict: Incomplete, Probability: -1,
			})
		}
	}
}

// openMatter is what the finding of an open limit is about, one for all links with
// the same ledger.
func (w *worker) openMatter(e *LedgerEntry, l *limits.Limit) *Matter {
	m := w.opens[e]
	if m == nil {
		m = &Matter{Kind: KindRequired, Code: "not-judged", Quantity: l.Quantity,
			Question: statement.New("not-judged", statement.Name(e.Set), statement.Name(e.Limit), e.Reason)}
		remember(w.opens, e, m, mostWorked)
	}
	return m
}

// why says what became of a limit of a set.
func (j *linkJudge) why(l *limits.Limit, by bound, subjects []subject) why {
	if l.Quantity == record.GroupMean || l.Quantity == record.GroupPercentile {
		return why{code: ofTheJob}
	}
	judged, lacks := false, (*work)(nil)
	var ends [2]bool // judged as seen from A, from B
	for k := range j.works {
		w := &j.works[k]
		switch {
		case w.limit != l:
		case w.working != nil:
			judged = true
			ends[0], ends[1] = ends[0] || w.end == "A", ends[1] || w.end == "B"
		case w.missing != "" && lacks == nil:
			lacks = w
		}
	}
	if judged && l.Quantity != record.SpliceLoss && l.Quantity != record.Reflectance && l.Quantity != record.ReturnLoss {
		return why{}
	}
	if !judged {
		if y, other := j.aboutOthers(l, by, lacks); other {
			return y
		}
	}
	open := why{}
	switch {
	case l.Quantity == record.SpliceLoss:
		open = j.splicesOpen(l, judged, subjects)
	case judged: // a reflectance
		if y, optional := j.agreed(l, by); optional && y.code == reflectanceOptional || j.oneWay() {
			return why{}
		}
		for k, end := range []string{"A", "B"} {
			if _, fits := j.fitsSomeWay(l, end); !ends[k] && fits {
				open = why{code: notReadFrom, end: end}
				break
			}
		}
	case len(l.Where.Wavelengths) > 0:
		open = why{code: notReadAt}
	default:
		open = why{code: notRead}
	}
	if open.code == isJudged {
		return open
	}
	if reason := j.exempts(l); open.code == notReadAt && reason != "" {
		return why{code: exemptOptional, text: reason}
	}
	if y, optional := j.agreed(l, by); optional {
		if judged {
			y.code = restAgreed
		}
		return y
	}
	return open
}

// aboutOthers says why a limit that judged nothing is about other links, if it is.
func (j *linkJudge) aboutOthers(l *limits.Limit, by bound, lacks *work) (why, bool) {
	ends := []string{""}
	faces := l.Quantity == record.Reflectance || l.Quantity == record.ReturnLoss
	if faces {
		ends = []string{"A", "B"}
	}
	at, fits := j.fitsSomeWay(l, ends[0])
	for _, end := range ends[1:] {
		if s, ok := j.fitsSomeWay(l, end); ok && !fits {
			at, fits = s, true
		}
	}
	wavelengths := j.policy.Require.Wavelengths[j.link.Mode]
	switch {
	case l.Quantity == record.SpliceLoss && j.link.Splices == 0:
		return why{code: noSplice}, true
	case !fits:
		return j.misfit(&l.Where, &at), true
	case faces && j.link.MatedPairs == 0:
		return why{code: noConnection}, true
	}
	for k := range by.Limits {
		o := &by.Limits[k]
		if !slices.Contains(o.Replaces, l.ID) {
			continue
		}
		judges := slices.ContainsFunc(j.works, func(w work) bool { return w.limit == o && w.working != nil })
		if j.fitsAnywhere(o, &at) && j.takesPlace(o, l, judges) || judges && len(o.Where.Attempts) > 0 { // of each splice, by its attempts
			return why{code: replacedBy, limit: k}, true
		}
	}
	// The job's list of wavelengths chooses among those of a set. It does not put the
	// whole set out of force.
	if len(l.Where.Wavelengths) > 0 && len(wavelengths) > 0 && !by.application && !fitsOne(l, wavelengths) {
		for k := range by.Limits {
			o := &by.Limits[k]
			if o.Quantity == l.Quantity && j.fitsAnywhere(o, &at) && fitsOne(o, wavelengths) {
				return why{code: otherWavelength}, true
			}
		}
	}
	if value, nm := j.withoutFigure(l, at, wavelengths, lacks); value != "" {
		return why{code: noFigure, text: value, end: j.link.Fibre, nm: nm}, true
	}
	return why{}, false
}

// takesPlace reports whether a limit stands in the place of another, as far as the job
// wants the link measured: at each wavelength that it requires, or at those that were
// measured where it requires none.
func (j *linkJudge) takesPlace(by, of *limits.Limit, judges bool) bool {
	required := false
	for _, nm := range j.policy.Require.Wavelengths[j.link.Mode] {
		if _, exempt := j.link.ExemptAt(nm); exempt || !fitsOne(of, []int{nm}) {
			continue
		}
		if required = true; !fitsOne(by, []int{nm}) {
			return false
		}
	}
	return required || judges || len(by.Where.Wavelengths) == 0
}

// withoutFigure returns the value that the set lacks for such a link, at each
// wavelength that the job requires, or else at those that were measured.
func (j *linkJudge) withoutFigure(l *limits.Limit, at limits.Situation, wavelengths []int, lacks *work) (value string, nm int) {
	tried := false
	try := func(nm int) (missing string) {
		tried = true
		at.WavelengthNM = nm
		for _, terms := range [][]limits.Term{l.AtMost, l.AtLeast} {
			if _, missing = l.Set.Add(terms, &at); missing != "" {
				break
			}
		}
		return missing
	}
	for _, w := range wavelengths {
		if !fitsOne(l, []int{w}) {
			continue
		}
		if value = try(w); value == "" {
			return "", 0
		}
		nm = w
	}
	switch {
	case lacks != nil:
		return lacks.missing, lacks.wavelength
	case tried:
		return value, nm
	case len(l.Where.Wavelengths) > 0:
		nm = l.Where.Wavelengths[0].Min
	}
	return try(nm), nm
}

// fitsOne reports whether a limit is about one of the wavelengths.
func fitsOne(l *limits.Limit, wavelengths []int) bool {
	only := limits.Selector{Wavelengths: l.Where.Wavelengths}
	return slices.ContainsFunc(wavelengths, func(nm int) bool { return only.Fits(&limits.Situation{WavelengthNM: nm}) })
}

// fitsAnywhere reports whether a limit is about such a link, at whatever wavelength.
func (j *linkJudge) fitsAnywhere(l *limits.Limit, at *limits.Situation) bool {
	where := l.Where
	where.Wavelengths = nil
	return where.Fits(at)
}

// fitsSomeWay reports whether a limit is about the link, at whatever wavelength, as it
// was measured in some way, and the situation in which it is, or else the first.
func (j *linkJudge) fitsSomeWay(l *limits.Limit, end string) (at limits.Situation, fits bool) {
	for i := len(j.ways) - 1; i >= 0; i-- {
		s := j.situation(l.Set, 0, end, j.ways[i])
		if yes := j.fitsAnywhere(l, &s); yes || !fits {
			at, fits = s, yes
		}
	}
	return at, fits
}

// misfit says by what a link is not one that a limit is about.
func (j *linkJudge) misfit(w *limits.Selector, at *limits.Situation) why {
	for _, part := range []struct {
		only limits.Selector
		why  why
	}{
		{limits.Selector{Fibre: w.Fibre, Mode: w.Mode}, why{code: otherFibre, text: j.link.Fibre}},
		{limits.Selector{MatedPairs: w.MatedPairs}, why{code: otherPairs, n: at.MatedPairs}},
		{limits.Selector{Splices: w.Splices}, why{code: otherSplices, n: at.Splices + at.SplicedEnds}},
		{limits.Selector{Length: w.Length}, why{code: otherLength, text: j.link.Length.String()}},
		{limits.Selector{Attempts: w.Attempts}, why{code: otherAttempts}},
		{limits.Selector{TestCords: w.TestCords, Reference: w.Reference}, why{code: otherMethod}},
		{limits.Selector{Connector: w.Connector, Polish: w.Polish}, why{code: otherConnector}},
	} {
		if !part.only.Fits(at) {
			return part.why
		}
	}
	return why{code: otherReflections, n: at.Reflections}
}

// agreed says by whose word what a limit is about need not be measured.
func (j *linkJudge) agreed(l *limits.Limit, by bound) (why, bool) {
	for i := range j.policy.Optional {
		if o := &j.policy.Optional[i]; o.Covers(l.Set.ID, l.ID, l.Quantity, j.link.ID) {
			return why{code: agreedOptional, agreed: i}, true
		}
	}
	// What the job says of all links holds for a set that has more to judge. A set
	// about reflections alone was named for them.
	if reflections[l.Quantity] && j.policy.Require.Reflectance == "optional" &&
		slices.ContainsFunc(by.Limits, func(o limits.Limit) bool { return !reflections[o.Quantity] }) {
		return why{code: reflectanceOptional}, true
	}
	return why{}, false
}

// reflections are the quantities that judge.require.reflectance is about.
var reflections = map[record.Quantity]bool{record.Reflectance: true, record.ReturnLoss: true, record.OpticalReturnLoss: true}

// exempts is the reason for which the link need not be measured at any of the required
// wavelengths that a limit is about, or "".
func (j *linkJudge) exempts(l *limits.Limit) (reason string) {
	for _, nm := range j.policy.Require.Wavelengths[j.link.Mode] {
		if fitsOne(l, []int{nm}) {
			why, exempt := j.link.ExemptAt(nm)
			if !exempt {
				return ""
			}
			reason = strings.TrimRight(why, ".")
		}
	}
	return reason
}

// splicesOpen says what is missing for every splice of the span to be judged: each
// at every wavelength that the job requires and the limit is about.
func (j *linkJudge) splicesOpen(l *limits.Limit, judged bool, subjects []subject) why {
	var wavelengths []int
	for _, nm := range j.policy.Require.Wavelengths[j.link.Mode] {
		if _, exempt := j.link.ExemptAt(nm); !exempt && fitsOne(l, []int{nm}) {
			wavelengths = append(wavelengths, nm)
		}
	}
	if len(wavelengths) == 0 {
		for k := range j.works {
			if w := &j.works[k]; w.limit == l && w.working != nil {
				wavelengths = append(wavelengths, w.wavelength)
			}
		}
	}
	for _, nm := range wavelengths {
		if n := splicesAt(subjects, nm); n < j.link.Splices {
			return why{code: splicesMissing, n: n, of: j.link.Splices, nm: nm}
		}
	}
	switch {
	case judged:
		return why{}
	case len(l.Where.Wavelengths) > 0:
		return why{code: notReadAt}
	}
	return why{code: notRead}
}

// splicesAt counts the splices that are to be judged at a wavelength.
func splicesAt(subjects []subject, nm int) (n int) {
	for i := range subjects {
		s := &subjects[i]
		if s.quantity != record.SpliceLoss || s.wavelength != nm {
			continue
		}
		if !slices.ContainsFunc(subjects[:i], func(o subject) bool {
			return o.quantity == record.SpliceLoss && o.wavelength == nm && o.event == s.event
		}) {
			n++
		}
	}
	return n
}

// because writes a reason out. It may say nothing of the link that the reason does
// not hold, since links with the same reasons have one ledger.
func (j *linkJudge) because(y *why, l *limits.Limit) statement.Statement {
	say := statement.New
	switch y.code {
	case otherFibre:
		return say("unjudged.fibre", statement.Name(y.text))
	case otherConnector:
		return say("unjudged.connector")
	case otherMethod:
		return say("unjudged.method")
	case otherLength:
		return say("unjudged.length", statement.Short(j.link.Length))
	case otherPairs:
		return say("unjudged.pairs", pairs(y.n))
	case otherSplices:
		return say("unjudged.splices", statement.Amount{N: y.n, Of: "splice"})
	case otherAttempts:
		return say("unjudged.attempts")
	case otherReflections:
		return say("unjudged.reflections", statement.Count(y.n))
	case otherWavelength:
		return say("unjudged.wavelength", nanometres(l.Where.Wavelengths))
	case noSplice:
		return say("unjudged.no-splice")
	case noConnection:
		return say("unjudged.no-connection")
	case noFigure:
		return say("unjudged.figure", statement.Word{Group: "value", Code: y.text}, statement.Name(y.end))
	case replacedBy:
		return say("unjudged.replaced", statement.Name(l.Set.Limits[y.limit].ID))
	case ofTheJob:
		return say("unjudged.job")
	case reflectanceOptional:
		return say("optional.reflectance")
	case exemptOptional:
		return say("optional.exempt", statement.Name(y.text))
	case agreedOptional, restAgreed:
		o := &j.policy.Optional[y.agreed]
		return say("optional.agreed", statement.Name(o.By), statement.Name(o.Reason))
	case notRead:
		return say("open.unread", statement.Word{Group: "quantity", Code: string(l.Quantity)})
	case notReadAt:
		return say("open.unread-at", statement.Word{Group: "quantity", Code: string(l.Quantity)}, nanometres(l.Where.Wavelengths))
	case notReadFrom:
		return say("open.end", statement.Word{Group: "quantity", Code: string(l.Quantity)}, statement.Name(y.end))
	case splicesMissing:
		return say("open.splices", statement.Count(y.n), statement.Amount{N: y.of, Of: "splice"}, statement.NM(y.nm))
	}
	return statement.Statement{}
}

// tally counts the ledgers of all links by set, and enters the limits that are about
// the whole job.
func (j *jobJudge) tally(out *Judgement) {
	ledgers := map[*LedgerEntry]int{}
	var order [][]LedgerEntry
	for i := range j.links {
		l := j.links[i].Ledger
		if len(l) == 0 {
			continue
		}
		if ledgers[&l[0]] == 0 {
			order = append(order, l)
		}
		ledgers[&l[0]]++
	}
	sets := map[string]int{}
	reasons := map[string]statement.List{}
	for _, l := range order {
		n, last := ledgers[&l[0]], ""
		for i := range l {
			e := &l[i]
			k, known := sets[e.Set]
			if !known {
				k = len(out.Ledger)
				sets[e.Set], out.Ledger = k, append(out.Ledger, SetTally{Set: e.Set})
			}
			if t := &out.Ledger[k]; e.Reason.Code != "unjudged.job" {
				t.add(e.State, n)
			}
			if e.Set != last { // the limits of a set stand together
				out.Ledger[k].Links += n
			}
			last = e.Set
			if all := reasons[e.Set]; !e.Reason.IsZero() && !slices.ContainsFunc(all, func(v statement.Argument) bool { return v.(statement.Statement).Key() == e.Reason.Key() }) {
				reasons[e.Set] = append(all, e.Reason)
			}
		}
	}
	j.ofWholeJob(out)
	for _, e := range out.Together {
		out.Ledger[sets[e.Set]].add(e.State, 1)
	}
	for _, t := range out.Ledger {
		if t.Judged > 0 || out.Counts.Measured == 0 || t.Open > 0 && t.Links == 1 { // that link says so itself
			continue
		}
		why := reasons[t.Set]
		const most = 3 // of a job with many kinds of link
		out.Questions = append(out.Questions, Finding{Matter: &Matter{Kind: KindRequired, Code: "set-idle",
			Question: statement.New("set-idle", statement.Name(t.Set), statement.Amount{N: t.Links, Of: "link"}, why[:min(len(why), most)])}, Probability: -1})
	}
}

// ofWholeJob enters the limits about all connections of the job, and asks about those
// that judged nothing.
func (j *jobJudge) ofWholeJob(out *Judgement) {
	for _, id := range j.policy.Limits {
		set := j.sets[id]
		for i := range set.Limits {
			l := &set.Limits[i]
			if l.Quantity != record.GroupMean && l.Quantity != record.GroupPercentile ||
				slices.ContainsFunc(out.Together, func(e LedgerEntry) bool { return e.Set == set.ID && e.Limit == l.ID }) {
				continue
			}
			e := LedgerEntry{Set: set.ID, Limit: l.ID, Quantity: l.Quantity, State: Judged}
			found := false
			for k := range out.Questions {
				f := &out.Questions[k]
				if f.Working == nil || f.Working.SetID != set.ID || f.Working.LimitID != l.ID {
					continue
				}
				found = true
				if f.Code == "not-shown" { // which asks by itself
					if e.State, e.Reason = j.ungraded(l); e.State == Optional {
						f.Verdict = Pass
					} else {
						e.State, e.Reason = Open, f.Question
					}
				}
			}
			if !found {
				e.State, e.Reason = j.ungraded(l)
			}
			out.Together = append(out.Together, e)
			if !found && e.State == Open && out.Counts.Measured > 0 {
				out.Questions = append(out.Questions, Finding{Matter: &Matter{Kind: KindRequired, Code: "not-judged",
					Question: statement.New("not-judged", statement.Name(e.Set), statement.Name(e.Limit), e.Reason)}, Verdict: Incomplete, Probability: -1})
			}
		}
	}
}

// ungraded says why a limit about the whole job judged nothing.
func (j *jobJudge) ungraded(l *limits.Limit) (LedgerState, statement.Statement) {
	for i := range j.policy.Optional {
		if o := &j.policy.Optional[i]; len(o.Links) == 0 && (o.Set == l.Set.ID || o.Set == "" && o.Quantity == l.Of) && (o.Limit == "" || o.Limit == l.ID) {
			return Optional, statement.New("optional.agreed", statement.Name(o.By), statement.Name(o.Reason))
		}
	}
	fits, spliced, fibre := false, false, ""
	for i := range j.facts.Links {
		k := &j.facts.Links[i]
		only := limits.Selector{Mode: l.Where.Mode, Fibre: l.Where.Fibre}
		if !only.Fits(&limits.Situation{Mode: k.Mode, Fibre: k.Fibre}) {
			fibre = k.Fibre
			continue
		}
		fits, spliced = true, spliced || k.Splices > 0
	}
	switch {
	case !fits:
		return NotApplicable, statement.New("unjudged.fibre", statement.Name(fibre))
	case l.Of == record.SpliceLoss && !spliced:
		return NotApplicable, statement.New("unjudged.no-splice")
	}
	return Open, statement.New("open.unread", statement.Word{Group: "quantity", Code: string(l.Of)})
}

// checkOptional tells of agreements that are about nothing: a set, a limit or a link
// that the job does not have.
func (j *jobJudge) checkOptional() {
	links := map[string]bool{}
	for i := range j.facts.Links {
		links[j.facts.Links[i].ID] = true
	}
	bound := map[string]*limits.Set{}
	for s := range j.numbers {
		bound[s.ID] = s
	}
	for i := range j.policy.Optional {
		o := &j.policy.Optional[i]
		wrong := func(what, fix string) {
			j.list.Add(diag.Problem{Code: "agreed-about-nothing", Place: placeOf(o.Origin), Message: "judge.optional is about " + what, Fix: fix})
		}
		if s := bound[o.Set]; o.Set != "" && s == nil {
			wrong(fmt.Sprintf("the limit set %q, which binds no link", o.Set), "name one of the sets of the job by its id")
		} else if o.Limit != "" && s != nil && !slices.ContainsFunc(s.Limits, func(l limits.Limit) bool { return l.ID == o.Limit }) {
			wrong(fmt.Sprintf("the limit %q, which the set %s does not have", o.Limit, o.Set), fmt.Sprintf("spanseal limits show %s lists its limits", o.Set))
		}
		for _, id := range o.Links {
			if !links[id] {
				wrong(fmt.Sprintf("link %q, which the schedule does not have", id), "name a link of the schedule")
			}
		}
	}
}
