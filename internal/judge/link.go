package judge

import (
	"slices"
	"strings"

	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// subject is one number to judge, with the readings it comes from.
type subject struct {
	quantity   record.Quantity
	wavelength int
	direction  record.Direction
	event      string
	way        way               // how it was measured
	value      *quantity.Decimal // in the reading, where it is one
	u          *quantity.Decimal
	readings   []record.Reading
}

// way is what of a method decides what is inside a loss.
type way struct {
	reference record.ReferenceMethod
	cords     record.TestCords
}

func wayOf(m record.Method) way { return way{m.Reference, m.TestCords} }

// work is a limit worked out for one wavelength, end and way of measuring of the link
// at hand.
type work struct {
	limit      *limits.Limit
	wavelength int
	end        string
	way        way
	attempts   int // at the splice
	result
}

// result is what came of working a limit out.
type result struct {
	working *Working // nil: the limit does not apply, or missing is set
	missing string   // the value that the set does not give
}

// situation is all that a working depends on.
type situation struct {
	limit *limits.Limit
	at    limits.Situation
}

// linkJudge is one link while it is judged.
type linkJudge struct {
	*worker
	link  *record.Link
	sets  []bound
	at    limits.Situation
	usual way   // how the link is measured where no reading says
	ways  []way // of its losses, or the usual one
	out   *LinkResult
}

// link judges a link by itself.
func (w *worker) link(out *LinkResult) {
	l := out.Link
	d := &linkJudge{worker: w, link: l, sets: w.bind(l), out: out, usual: wayOf(w.policy.MethodFor(l)), at: limits.Situation{
		Fibre: l.Fibre, Mode: l.Mode, LengthM: l.Length, MatedPairs: l.MatedPairs, Splices: l.Splices, SplicedEnds: l.SplicedEnds(), Splitters: limits.SplittersOf(l.Splitters),
	}}
	out.Findings, w.works = w.draft[:0], w.works[:0]
	d.measuredIn()
	subjects := d.subjects()
	d.limits(subjects)
	d.required()
	d.ledger(subjects)
	d.terminations()
	d.evidence()
	d.counts(subjects)
	d.expectORL()
	if d.out.Measured {
		d.carries(subjects)
	}
	w.draft, w.topics, out.Findings = out.Findings, subjects, slices.Clone(out.Findings)
}

// measuredIn gathers the ways in which the losses of the link were measured.
func (j *linkJudge) measuredIn() {
	for i := range j.out.Readings {
		if r := &j.out.Readings[i]; r.Quantity == record.InsertionLoss {
			if w := wayOf(j.policy.MethodOf(r)); !slices.Contains(j.ways, w) {
				j.ways = append(j.ways, w)
			}
		}
	}
	if j.ways == nil {
		j.ways = []way{j.usual}
	}
}

// limits holds every subject of the link against every limit that binds it.
func (j *linkJudge) limits(subjects []subject) {
	for i := range subjects {
		for _, s := range j.sets {
			j.hold(&subjects[i], s)
		}
	}
	j.unlimited(subjects)
}

// subjects lists what there is to judge: every used reading, the two-way
// averages, and the length, measured or as scheduled.
func (j *linkJudge) subjects() []subject {
	rs, out, length := j.out.Readings, j.topics[:0], false
	for i := range rs {
		r := &rs[i]
		s := subject{quantity: r.Quantity, wavelength: r.WavelengthNM, direction: r.Direction, event: r.Event, way: wayOf(j.policy.MethodOf(r)), value: &r.Value, readings: rs[i : i+1 : i+1]}
		switch r.Quantity {
		case record.InsertionLoss, record.SpliceLoss:
			s.u = j.uncertainty(r)
		case record.Length:
			length = true
		}
		// One way through a splice is no more than an apparent loss, and may be
		// an apparent gain: the average of both ways is judged, unless the job
		// is content with one.
		if r.Quantity != record.SpliceLoss || r.Direction.From() == "" || j.oneWay() && !j.hasBothWays(i) {
			out = append(out, s)
		}
		if average, ok := j.twoWay(rs, i); ok {
			s.value, s.direction, s.readings = &average, record.TwoWay, rs[i-1:i+1:i+1]
			s.u = larger(s.u, j.uncertainty(&rs[i-1]))
			if r.Quantity == record.InsertionLoss {
				s.quantity = record.TwoWayAverage
			}
			out = append(out, s)
		}
	}
	if !length {
		out = append(out, subject{quantity: record.Length, way: j.usual, value: &j.link.Length})
	}
	return out
}

// hasBothWays reports whether reading i has its counterpart from the other end.
func (j *linkJudge) hasBothWays(i int) bool {
	_, ok := j.twoWay(j.out.Readings, i)
	if !ok && i+1 < len(j.out.Readings) {
		_, ok = j.twoWay(j.out.Readings, i+1)
		ok = ok && j.out.Readings[i].Direction == record.AB
	}
	return ok
}

// oneWay reports whether the link needs no more than one direction.
func (j *linkJudge) oneWay() bool {
	return j.policy.Require.Directions == "either" || j.link.Exempt != ""
}

// twoWay returns the average of both ways where reading i is B-A and the one
// before it is its A-B; sifted readings stand in that order.
func (j *jobJudge) twoWay(rs []record.Reading, i int) (quantity.Decimal, bool) {
	if i == 0 || rs[i].Direction != record.BA || rs[i].Quantity != record.InsertionLoss && rs[i].Quantity != record.SpliceLoss {
		return quantity.Decimal{}, false
	}
	p, r := &rs[i-1], &rs[i]
	if p.Shown != "" || r.Shown != "" { // a number that only stands for what was shown has no average
		return quantity.Decimal{}, false
	}
	if p.Direction != record.AB || p.Quantity != r.Quantity || p.WavelengthNM != r.WavelengthNM || p.Event != r.Event {
		return quantity.Decimal{}, false
	}
	if r.Quantity == record.InsertionLoss && !j.alike(p, r) {
		return quantity.Decimal{}, false
	}
	return p.Value.Add(r.Value).Half(), true
}

func larger(x, y *quantity.Decimal) *quantity.Decimal {
	if x == nil || y != nil && x.Less(*y) {
		return y
	}
	return x
}

// hold judges a subject by one set.
func (j *linkJudge) hold(s *subject, by bound) {
	own := false // the set has a limit of its own for two-way averages
	for i := range by.Limits {
		own = own || by.Limits[i].Quantity == record.TwoWayAverage
	}
	for i := range by.Limits {
		l := &by.Limits[i]
		value := s.value
		switch {
		case l.Quantity == s.quantity:
		case l.Quantity == record.InsertionLoss && s.quantity == record.TwoWayAverage && !own && !by.application:
			// Without a limit of its own the average is held against that of
			// one way, which it meets wherever both ways do.
		case l.Quantity == record.Reflectance && s.quantity == record.ReturnLoss,
			l.Quantity == record.ReturnLoss && s.quantity == record.Reflectance:
			turned := value.Neg() // one is the other with its sign turned
			value = &turned
		default:
			continue
		}
		attempts := 0
		if l.Quantity == record.SpliceLoss {
			attempts = j.attempts(s.event)
		}
		w := j.work(l, s.wavelength, endOf(l.Quantity, s.direction), s.way, attempts)
		if w.working == nil {
			continue
		}
		f := Finding{Matter: j.matter(l.Quantity, s), Measured: value, Uncertainty: s.u, Working: w.working, Readings: s.readings}
		j.decide(&f)
		if f.Verdict == Fail {
			f.ask(statement.Statement{}, j.advice(&f, l)...)
		}
		if l.Listed && f.Verdict != Fail {
			j.listed(&f, l, attempts)
		}
		j.out.Findings = append(j.out.Findings, f)
	}
}

// matter is what the comparison of a subject with a limit is about, one for all
// links: a large job has a million findings.
func (w *worker) matter(limited record.Quantity, s *subject) *Matter {
	if s.quantity == record.TwoWayAverage {
		limited = s.quantity
	}
	key := about{limited, s.wavelength, s.direction, s.event}
	m := w.matters[key]
	if m == nil {
		m = &Matter{
			Kind: KindLimit, Code: code(limited), Quantity: limited, WavelengthNM: s.wavelength, Direction: s.direction,
			End: endOf(limited, s.direction), Event: s.event, Unit: limited.Unit(),
		}
		remember(w.matters, key, m, mostWorked)
	}
	return m
}

// about tells the matters of limits apart.
type about struct {
	quantity   record.Quantity
	wavelength int
	direction  record.Direction
	event      string
}

// endOf is the end whose face is judged: that which the light entered.
func endOf(q record.Quantity, dir record.Direction) string {
	if q == record.Reflectance || q == record.ReturnLoss {
		return dir.From()
	}
	return ""
}

// code turns a quantity's name into a finding's code.
func code(q record.Quantity) string {
	if c, ok := codeOf[q]; ok {
		return c
	}
	return strings.ReplaceAll(string(q), "_", "-")
}

// codeOf spares the quantities of nearly all findings a string each.
var codeOf = map[record.Quantity]string{
	record.InsertionLoss: "insertion-loss", record.TwoWayAverage: "two-way-average", record.Reflectance: "reflectance", record.Length: "length",
}

// work returns the limit as worked out for the link, once for each wavelength,
// end and way of measuring, and for each number of attempts at a splice.
func (j *linkJudge) work(l *limits.Limit, wavelength int, end string, by way, attempts int) *work {
	for i := range j.works {
		if w := &j.works[i]; w.limit == l && w.wavelength == wavelength && w.end == end && w.way == by && w.attempts == attempts {
			return w
		}
	}
	at := j.situation(l.Set, wavelength, end, by)
	at.Attempts = attempts
	w := work{limit: l, wavelength: wavelength, end: end, way: by, attempts: attempts}
	if l.Applies(&at) {
		w.result = j.once(l, &at)
	}
	j.works = append(j.works, w)
	return &j.works[len(j.works)-1]
}

// situation is the link as the limits of a set see it at a wavelength, and from
// the end whose face is judged, in a way of measuring.
func (j *linkJudge) situation(set *limits.Set, wavelength int, end string, by way) limits.Situation {
	at := j.at
	at.WavelengthNM, at.Reference, at.TestCords = wavelength, by.reference, by.cords
	switch end {
	case "A":
		at.Connector, at.Polish = j.link.EndA.Connector, j.link.EndA.Polish
	case "B":
		at.Connector, at.Polish = j.link.EndB.Connector, j.link.EndB.Polish
	}
	if set != nil && set.CountAbove != nil {
		at.Reflections = j.reflections(*set.CountAbove)
	}
	return at
}

// once works a limit out once for all links that are alike, which then share
// its working: otherwise the workings of a large job take as much memory as its
// readings.
func (w *worker) once(l *limits.Limit, at *limits.Situation) result {
	key := situation{l, *at}
	r, known := w.worked[key]
	if !known {
		r.working, r.missing = w.used.workOut(l, at)
		remember(w.worked, key, r, mostWorked)
	}
	return r
}

// mostWorked is how many workings a worker remembers, and how many matters: where
// every link is unlike the others, remembering is of no use.
const mostWorked = 1000

// remember keeps a value, and first forgets all others where there are so many.
func remember[K comparable, V any](values map[K]V, key K, value V, most int) {
	if len(values) >= most {
		clear(values)
	}
	values[key] = value
}

// reflections counts the connections of a link that may reflect more than a
// level: all of them, but for ends that measured no more than it.
func (j *linkJudge) reflections(above quantity.Decimal) int {
	n := j.link.MatedPairs
	for _, from := range []record.Direction{record.AB, record.BA} {
		seen, strong := false, false
		for i := range j.out.Readings {
			r := &j.out.Readings[i]
			value := r.Value
			switch {
			case r.Direction != from:
				continue
			case r.Quantity == record.ReturnLoss:
				value = value.Neg()
			case r.Quantity != record.Reflectance:
				continue
			}
			seen, strong = true, strong || above.Less(value)
		}
		if seen && !strong {
			n--
		}
	}
	return max(n, 0)
}

// workOut adds up the terms of a limit, or returns the value that the set does
// not give.
func (u usage) workOut(l *limits.Limit, at *limits.Situation) (*Working, string) {
	set := l.Set
	w := &Working{
		SetID: set.ID, LimitID: l.ID, Standard: set.Standard, Edition: set.Edition, SHA256: set.SHA256, Bound: l.Bound(),
		PairsCounted: at.Inner() + at.Ends(), PairsPresent: at.MatedPairs, AllSplices: at.Splices + at.SplicedEnds,
	}
	terms := l.AtMost
	if terms == nil {
		terms = l.AtLeast
	} else if l.AtLeast != nil {
		sum, missing := set.Add(l.AtLeast, at)
		if missing != "" {
			return nil, missing
		}
		u.note(set, sum)
		w.Lower = &sum.Total
	}
	sum, missing := set.Add(terms, at)
	if missing != "" {
		return nil, missing
	}
	u.note(set, sum)
	w.Limit = sum.Total
	w.Terms = make([]WorkedTerm, len(sum.Addends))
	for i, a := range sum.Addends {
		v := a.Value
		w.Terms[i] = WorkedTerm{
			Label: a.Label(), Rate: v.Number, RateUnit: v.Unit, Amount: a.Amount, AmountUnit: a.AmountUnit, Product: a.Product,
			Clause: v.Clause, Provenance: string(v.Provenance), Low: v.Low, Source: v.Source, Base: baseOf(set, v),
		}
	}
	return w, ""
}

// baseOf names the set whose file holds a value, or nil where that is the set
// itself.
func baseOf(set *limits.Set, v *limits.Value) *SetOrigin {
	for s := set.Base; s != nil && v.Set != set.ID; s = s.Base {
		if v.Set == s.ID {
			return &SetOrigin{s.ID, s.Standard, s.Edition, s.SHA256}
		}
	}
	return nil
}

// note remembers which values were used.
func (u usage) note(set *limits.Set, sum limits.Sum) {
	used := u[set]
	if used == nil {
		return // an application that is only tried
	}
	for _, a := range sum.Addends {
		used[a.Value] = true
	}
}

// alike are quantities that one limit may bind: a reflectance is a return loss
// with its sign turned, and the mean of both directions is of the losses.
var alike = map[record.Quantity]record.Quantity{
	record.InsertionLoss: record.InsertionLoss, record.TwoWayAverage: record.InsertionLoss,
	record.Reflectance: record.Reflectance, record.ReturnLoss: record.Reflectance,
	record.OpticalReturnLoss: record.OpticalReturnLoss,
}

// unlimited asks about readings that a set has no figure for, and about those
// that must be there and that no set has one for.
func (j *linkJudge) unlimited(subjects []subject) {
	type gap struct {
		quantity   record.Quantity
		wavelength int
		end        string
		way        way
	}
	asked := make([]gap, 0, 16)
	for i := range subjects {
		s := &subjects[i]
		q := gap{alike[s.quantity], s.wavelength, endOf(s.quantity, s.direction), s.way}
		if q.quantity == "" || s.quantity == record.TwoWayAverage || slices.Contains(asked, q) {
			continue
		}
		asked = append(asked, q)
		judged := false
		var gaps statement.List
		for k := range j.works {
			w := &j.works[k]
			switch {
			case alike[w.limit.Quantity] != q.quantity || w.wavelength != q.wavelength || w.end != q.end || w.way != q.way:
			case w.working != nil:
				judged = true
			case w.missing != "" && (q.quantity == record.InsertionLoss || w.limit.Set.Kind != limits.Application): // see mustCarry
				gaps = append(gaps, j.gap(w, q.end, s.wavelength))
			}
		}
		missing := !judged && j.mustBind(s)
		if !missing && len(gaps) == 0 {
			continue
		}
		f := Finding{Matter: &Matter{Kind: KindRequired, Code: "no-limit", Quantity: s.quantity, WavelengthNM: s.wavelength, End: q.end}, Probability: -1}
		if missing {
			f.Verdict = Incomplete
			if len(gaps) == 0 {
				gaps = statement.List{j.uncovered(q.end, s.wavelength)}
			}
			f.ask(statement.New("no-limit.which", gaps))
		} else {
			f.ask(statement.New("no-limit.unjudged", gaps))
		}
		j.out.Findings = append(j.out.Findings, f)
	}
}

// mustBind reports whether the job requires the reading, so that it must not
// pass for want of a limit.
func (j *linkJudge) mustBind(s *subject) bool {
	switch alike[s.quantity] {
	case record.InsertionLoss:
		return slices.Contains(j.policy.Require.Wavelengths[j.link.Mode], s.wavelength)
	case record.Reflectance:
		return j.policy.Require.Reflectance == "required"
	}
	return false
}

// gap is the value that a set does not give.
func (j *linkJudge) gap(w *work, end string, nm int) statement.Statement {
	set, value := statement.Name(w.limit.Set.ID), statement.Word{Group: "value", Code: w.missing}
	if end != "" {
		return statement.New("gap.value-end", set, value, statement.Name(end), statement.NM(nm))
	}
	return statement.New("gap.value", set, value, statement.Name(j.link.Fibre), statement.NM(nm))
}

// uncovered says that no set covers the link: some are about bare spans only.
func (j *linkJudge) uncovered(end string, nm int) statement.Statement {
	if end != "" {
		return statement.New("gap.none-end", statement.Name(end), statement.NM(nm))
	}
	return statement.New("gap.none", statement.Name(j.link.Fibre), pairs(j.link.MatedPairs), statement.Amount{N: j.link.AllSplices(), Of: "splice"}, statement.NM(nm))
}

func pairs(n int) statement.Amount { return statement.Amount{N: n, Of: "mated_pair"} }
