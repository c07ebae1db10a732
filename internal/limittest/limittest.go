// Package limittest tries limit sets by the tests that are written beside them.
//
// A test names a link and what its limits must be. Each is tried by judging such a
// link, at its limit, just below and just above it, so that a test sees what a link
// would.
package limittest

import (
	"cmp"
	"fmt"
	"maps"

	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// Result is what became of one expectation of a test of a limit set.
type Result struct {
	Case   *limits.Case
	Line   int      // of the expectation
	Faults []string // empty: all as expected
}

// Run runs tests of limit sets. It also returns the values of the tested sets that no test
// used, in the order of sets and lines.
func Run(book *limits.Book, cases []limits.Case) (outcomes []Result, untested []*limits.Value) {
	used := map[*limits.Value]bool{}
	tested := map[*limits.Set]bool{}
	for i := range cases {
		c := &cases[i]
		set, ok := book.Find(c.Set)
		if !ok {
			fault := fmt.Sprintf("the set %q is not known", c.Set)
			outcomes = append(outcomes, Result{c, c.Line, []string{fault}})
			continue
		}
		tested[set] = true
		for _, e := range c.Expect {
			p := prober{book: book, set: set, test: c, e: e, used: used}
			p.run()
			outcomes = append(outcomes, Result{c, e.Line, p.faults})
		}
	}
	for _, set := range book.All() {
		if !tested[set] {
			continue
		}
		for _, g := range set.Groups {
			for _, v := range g.Rows {
				if !used[v] && v.Set == set.ID && set.Kind != limits.Constants {
					untested = append(untested, v)
				}
			}
		}
	}
	return outcomes, untested
}

// prober tries one expectation.
type prober struct {
	book   *limits.Book
	set    *limits.Set
	test   *limits.Case
	e      limits.Expectation
	used   map[*limits.Value]bool
	faults []string
}

func (p *prober) fault(format string, args ...any) {
	p.faults = append(p.faults, fmt.Sprintf(format, args...))
}

func (p *prober) run() {
	e := &p.e
	if e.Ledger != "" {
		p.ledger()
		return
	}
	if e.None {
		if f := p.judge(quantity.Int(0)); f != nil {
			p.fault("a limit of %s applies, %s; none was expected", f.Quantity, f.Limit.Short())
		}
		return
	}
	if e.Measured != nil {
		f := p.judge(*e.Measured)
		if f == nil {
			p.fault("no such limit applies")
			return
		}
		if got := f.Verdict.String(); got != e.Verdict {
			p.fault("%s is %s, want %s", e.Measured.Short(), got, e.Verdict)
		}
		if e.Margin != nil && !f.Margin.Equal(*e.Margin) {
			p.fault("margin %s, want %s", f.Margin.Short(), e.Margin.Short())
		}
	}
	if e.Limit == nil {
		return
	}
	f := p.judge(*e.Limit)
	if f == nil {
		p.fault("no such limit applies")
		return
	}
	if !f.Working.Limit.Equal(*e.Limit) {
		p.fault("limit %s, want %s", f.Working.Limit.Short(), e.Limit.Short())
		return
	}
	if (f.Working.Lower == nil) != (e.Lower == nil) || e.Lower != nil && !e.Lower.Equal(*f.Working.Lower) {
		p.fault("the lower bound differs from %v", e.Lower)
		return
	}
	// A thousandth is the smallest step that instruments of the trade show.
	step := quantity.Scaled(1, 3) // not a limit: how near to one a test goes
	p.around(*e.Limit, step, f.Working.Bound == "at_least")
	if e.Lower != nil {
		p.around(*e.Lower, step, true)
	}
}

// around tries a reading at a bound, one just good and one just bad.
func (p *prober) around(bound, step quantity.Decimal, least bool) {
	if least {
		step = step.Neg()
	}
	for _, try := range []struct {
		value quantity.Decimal
		want  judge.Verdict
	}{{bound.Sub(step), judge.Pass}, {bound, judge.Pass}, {bound.Add(step), judge.Fail}} {
		if f := p.judge(try.value); f == nil || f.Verdict != try.want {
			p.fault("%s is not %s", try.value, try.want)
		}
	}
}

// judge judges a job of one link and one reading, and returns the finding of
// the expected quantity, the worst where there are several.
func (p *prober) judge(value quantity.Decimal) *judge.Finding {
	e := &p.e
	if e.Quantity == record.GroupMean || e.Quantity == record.GroupPercentile {
		return p.population(value)
	}
	r := record.Reading{Link: p.test.Link.ID, Quantity: e.Quantity, WavelengthNM: e.WavelengthNM, Direction: record.AB, Value: value, Fate: record.Used}
	readings := []record.Reading{r}
	switch e.Quantity {
	case record.TwoWayAverage:
		readings[0].Quantity = record.InsertionLoss
		r = readings[0]
		r.Direction = record.BA
		readings = append(readings, r)
	case record.SpliceLoss:
		readings[0].Direction, readings[0].Event = record.TwoWay, tried
	case record.Length, record.OpticalReturnLoss:
		readings[0].Direction = record.NoWay
	}
	facts := &record.Facts{
		Job:          record.Job{Policy: record.Policy{Limits: []string{p.set.ID}, Reference: p.test.Reference, TestCords: p.test.TestCords, Decision: "simple"}},
		Links:        []record.Link{p.test.Link},
		Readings:     readings,
		Terminations: p.made(),
	}
	out, used := judge.Alone(facts, p.book)
	if e.Limit != nil { // only a limit that is tried all round counts as tested
		maps.Copy(p.used, used[p.set])
	}
	var worst *judge.Finding
	for i := range out.Findings {
		f := &out.Findings[i]
		if f.Kind == judge.KindLimit && f.Quantity == e.Quantity && f.WavelengthNM == e.WavelengthNM &&
			(e.LimitID == "" || f.Working.LimitID == e.LimitID) && (worst == nil || f.Margin.Less(*worst.Margin)) {
			worst = f
		}
	}
	return worst
}

// tried is the splice that a test measures.
const tried = "S1"

// made is the record of the splice, where a test counts attempts.
func (p *prober) made() []record.Termination {
	if p.test.Attempts == 0 {
		return nil
	}
	return []record.Termination{{Link: p.test.Link.ID, Kind: "splice", Splice: tried, Attempts: p.test.Attempts}}
}

// ledger judges a job of one link that was measured in loss, and in what the
// expectation adds, and compares what became of the limit.
func (p *prober) ledger() {
	e, link := &p.e, p.test.Link
	usual := map[record.Mode][]int{record.Singlemode: {1310, 1550}, record.Multimode: {850, 1300}} // not limits: as intake has them
	var readings []record.Reading
	add := func(q record.Quantity, nm int, v quantity.Decimal) {
		for _, way := range []record.Direction{record.AB, record.BA} {
			readings = append(readings, record.Reading{Link: link.ID, Quantity: q, WavelengthNM: nm, Direction: way, Value: v, Fate: record.Used})
		}
	}
	for _, nm := range usual[link.Mode] {
		add(record.InsertionLoss, nm, quantity.Decimal{})
	}
	if e.Measured != nil {
		n := len(readings)
		add(e.Quantity, e.WavelengthNM, *e.Measured)
		for i := n; i < len(readings) && e.Quantity == record.SpliceLoss; i++ {
			readings[i].Event = tried
		}
	}
	facts := &record.Facts{
		Job: record.Job{Policy: record.Policy{Limits: []string{p.set.ID}, Reference: p.test.Reference, TestCords: p.test.TestCords, Decision: "simple",
			Require: record.Require{Wavelengths: usual, Directions: "both", Reflectance: cmp.Or(p.test.Reflectance, "optional")}}},
		Links:        []record.Link{link},
		Readings:     readings,
		Terminations: p.made(),
	}
	out, _ := judge.Alone(facts, p.book)
	found := false
	for _, entry := range out.Ledger {
		if entry.Quantity != e.Quantity || e.LimitID != "" && entry.Limit != e.LimitID {
			continue
		}
		if found {
			p.fault("the set has several limits of %s: name one by its id", e.Quantity)
			return
		}
		found = true
		if string(entry.State) != e.Ledger || e.Reason != "" && entry.Reason.Code != e.Reason {
			p.fault("%s is %s %s, want %s %s", entry.Limit, entry.State, entry.Reason.Code, e.Ledger, e.Reason)
		}
	}
	if !found {
		p.fault("the set has no such limit")
	}
}

// population judges connections of the same loss, as many as show any percentile.
func (p *prober) population(value quantity.Decimal) *judge.Finding {
	at := limits.Situation{Fibre: p.test.Link.Fibre, Mode: p.test.Link.Mode, WavelengthNM: p.e.WavelengthNM}
	var many judge.Connections
	for range 1000 {
		many.Add(value, 1, false)
	}
	for _, of := range []record.Quantity{record.InsertionLoss, record.SpliceLoss} {
		for _, f := range many.Judge(p.set, of, &at, p.used) {
			if f.Quantity == p.e.Quantity && (p.e.LimitID == "" || f.Working.LimitID == p.e.LimitID) {
				return &f
			}
		}
	}
	return nil
}
