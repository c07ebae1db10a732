package judge

import (
	"slices"

	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// counts holds what loosens a limit against the records at hand: splices scheduled
// against splices recorded, mated pairs against ends, the scheduled length against
// the measured one. Where the limit of the record would fail the link, the question
// is fatal.
func (j *linkJudge) counts(subjects []subject) {
	j.countSplices(subjects)
	j.countPairs()
}

// countSplices asks about splices of the span that are on record more or less often
// than the schedule has them. What is not recorded at all proves nothing.
func (j *linkJudge) countSplices(subjects []subject) {
	made := 0
	for i := range j.out.Terminations {
		if j.out.Terminations[i].End == "" {
			made++
		}
	}
	recorded := made
	for i := range subjects {
		if s := &subjects[i]; s.quantity == record.SpliceLoss {
			recorded = max(recorded, splicesAt(subjects, s.wavelength))
		}
	}
	scheduled := statement.Amount{N: j.link.Splices, Of: "splice"}
	switch {
	case recorded > j.link.Splices:
		j.ask(statement.New("splice-count.more", scheduled, statement.Count(recorded)))
	case recorded == 0 || recorded == j.link.Splices:
	case !j.fails(func(at *limits.Situation) { at.Splices = recorded }, "loosened.splices", scheduled, statement.Count(recorded)):
		j.ask(statement.New("splice-count.fewer", scheduled, statement.Count(recorded)))
	}
}

// attempts is how many are on record for a splice of the span, or 0. A record that
// names no splice is of the only one.
func (j *linkJudge) attempts(splice string) (n int) {
	made := 0
	for i := range j.out.Terminations {
		if j.out.Terminations[i].End == "" {
			made++
		}
	}
	for i := range j.out.Terminations {
		t := &j.out.Terminations[i]
		if t.End == "" && (t.Splice == splice && splice != "" || t.Splice == "" && made == 1 && j.link.Splices == 1) {
			n = max(n, t.Attempts)
		}
	}
	return n
}

// listed tells of a splice that is within a limit which depends on attempts, and over
// the limits that this one replaces.
func (j *linkJudge) listed(f *Finding, l *limits.Limit, attempts int) {
	over := len(l.Replaces) == 0
	at := j.situation(l.Set, f.WavelengthNM, "", j.usual)
	for i := range l.Set.Limits {
		if o := &l.Set.Limits[i]; slices.Contains(l.Replaces, o.ID) && o.Where.Fits(&at) && o.AtMost != nil {
			sum, missing := o.Set.Add(o.AtMost, &at)
			over = over || missing == "" && sum.Total.Less(*f.Measured)
		}
	}
	if over {
		j.ask(statement.New("out-of-specification", statement.Name(l.Set.ID), statement.Subject{Quantity: f.Quantity, NM: f.WavelengthNM, Way: f.Direction, Event: f.Event},
			statement.Short(*f.Measured), statement.Count(attempts)), f.Readings...)
	}
}

// countPairs asks about mated pairs that the ends of the schedule do not have. Three
// and more may lie between the ends.
func (j *linkJudge) countPairs() {
	ends := 0
	for _, e := range []*record.End{&j.link.EndA, &j.link.EndB} {
		switch {
		case e.Text == "" && e.Connector == "":
			return // the schedule does not say
		case e.Connector != "":
			ends++
		}
	}
	n := j.link.MatedPairs
	if n > 2 || n <= ends {
		return
	}
	if !j.fails(func(at *limits.Situation) { at.MatedPairs = ends }, "loosened.pairs", pairs(n), statement.Count(ends)) {
		j.ask(statement.New("connection-count.no-connector", pairs(n), statement.Count(ends)))
	}
}

// fails works out each limit of loss that is met for the link as a record has it, and
// asks about the one that would be missed by most; false where none would be.
func (j *linkJudge) fails(as func(*limits.Situation), code string, args ...statement.Argument) bool {
	var worst *Finding
	var limit, most quantity.Decimal
	for i := range j.out.Findings {
		f := &j.out.Findings[i]
		if f.Kind != KindLimit || f.Quantity != record.InsertionLoss && f.Quantity != record.TwoWayAverage || f.Verdict == Fail {
			continue
		}
		k := slices.IndexFunc(j.works, func(w work) bool { return w.working == f.Working })
		if k < 0 || j.works[k].limit.AtMost == nil {
			continue
		}
		at := j.situation(j.works[k].limit.Set, f.WavelengthNM, "", j.works[k].way)
		as(&at)
		sum, missing := j.works[k].limit.Set.Add(j.works[k].limit.AtMost, &at)
		if missing != "" {
			continue
		}
		allowed := sum.Total
		if f.Guard != nil {
			allowed = allowed.Sub(*f.Guard)
		}
		if over := f.Measured.Sub(allowed); over.Sign() > 0 && (worst == nil || most.Less(over)) {
			worst, limit, most = f, sum.Total, over
		}
	}
	if worst == nil {
		return false
	}
	about := statement.Subject{Quantity: worst.Quantity, NM: worst.WavelengthNM, Way: worst.Direction}
	readings := worst.Readings
	j.ask(statement.New(code, append(args, about, statement.Number{Decimal: *worst.Measured}, statement.Short(limit))...), readings...)
	return true
}
