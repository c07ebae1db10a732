// Package splices knows each splice in the spans of a job: where it lies, how it was
// made, what was measured from both sides, and which is out of specification.
//
// A record of terminations.csv and readings are of one splice where they have one name
// for it; of a link with one splice alone they are without a name too. Of several
// records of a splice the last counts, by the time at which it was finished, and the
// attempts are the most that any of them has, as package judge counts them.
package splices

import (
	"slices"

	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// Splice is one of a span.
type Splice struct {
	Link     *record.Link
	Name     string // as readings and records have it, or ""
	Made     *record.Termination
	Attempts int // 0 where none is on record
	At       []Loss
}

// Loss is what was measured of a splice at one wavelength. One way through a splice is an
// apparent loss, negative where it seems to gain; the average of both is the splice's.
type Loss struct {
	WavelengthNM int
	AB, BA       *record.Reading // nil where it was not measured
	Unstated     *record.Reading // of a loss whose direction nobody states
	// Judged is the finding that decides it: the worst, and of those the one with the
	// smallest margin; nil where no limit is about it.
	Judged *judge.Finding
	// Average is that of both ways, nil without both.
	Average *quantity.Decimal
	// Listed says that it is accepted out of specification, by the set's own rule.
	Listed bool
}

// Out reports whether a splice is out of specification: over a limit, or accepted and
// listed.
func (s *Splice) Out() bool {
	return slices.ContainsFunc(s.At, func(l Loss) bool { return l.Listed || l.Judged != nil && l.Judged.Verdict == judge.Fail })
}

// Recorded reports whether any splice in a span is on record.
func Recorded(f *record.Facts) bool {
	return slices.ContainsFunc(f.Terminations, func(t record.Termination) bool { return t.End == "" }) ||
		slices.ContainsFunc(f.Readings, func(r record.Reading) bool { return r.Quantity == record.SpliceLoss })
}

// register is the splices of a link by their names.
type register struct {
	link *record.Link
	all  []*Splice
	by   map[string]*Splice
}

// named returns the splice of a name, a new one where none has it. Without a name it is
// the only one of the link, or another of several.
func (g *register) named(name string) *Splice {
	only := g.link.Splices == 1 && len(g.all) == 1
	s := g.by[name]
	if s == nil && only && (name == "" || g.all[0].Name == "") {
		s = g.all[0]
	}
	if s == nil || name == "" && g.link.Splices != 1 {
		s = &Splice{Link: g.link, Name: name}
		g.all = append(g.all, s)
	}
	if s.Name == "" {
		s.Name = name
	}
	g.by[name] = s
	return s
}

// Of lists the splices of a link: those with a record in the order of the file, then
// those that were only measured.
func Of(r *judge.LinkResult) []*Splice {
	g := &register{link: r.Link, by: map[string]*Splice{}}
	for i := range r.Terminations {
		t := &r.Terminations[i]
		if t.End != "" {
			continue
		}
		s := g.named(t.Splice)
		if s.Made == nil || !t.Finished.Before(s.Made.Finished) {
			s.Made = t
		}
		s.Attempts = max(s.Attempts, t.Attempts)
	}
	read := map[string]*Splice{} // by what readings call them
	for i := range r.Readings {
		one := &r.Readings[i]
		if one.Quantity != record.SpliceLoss {
			continue
		}
		s := read[one.Event]
		if s == nil {
			s = g.named(one.Event)
			read[one.Event] = s
		}
		s.read(one)
	}
	for i := range r.Findings {
		f := &r.Findings[i]
		listed := f.Code == "out-of-specification" && len(f.Readings) > 0
		if !listed && (f.Kind != judge.KindLimit || f.Quantity != record.SpliceLoss || f.Limit == nil || len(f.Readings) == 0) {
			continue
		}
		if s := read[f.Readings[0].Event]; s != nil {
			s.judge(f, f.Readings[0].WavelengthNM, listed)
		}
	}
	return g.all
}

func (s *Splice) read(r *record.Reading) {
	at := slices.IndexFunc(s.At, func(l Loss) bool { return l.WavelengthNM == r.WavelengthNM })
	if at < 0 {
		at = len(s.At)
		s.At = append(s.At, Loss{WavelengthNM: r.WavelengthNM})
	}
	l := &s.At[at]
	switch r.Direction {
	case record.AB:
		l.AB = r
	case record.BA:
		l.BA = r
	case record.TwoWay:
		l.Average = &r.Value
	default:
		l.Unstated = r
	}
	if l.AB != nil && l.BA != nil && l.AB.Shown == "" && l.BA.Shown == "" {
		mean := l.AB.Value.Add(l.BA.Value).Half()
		l.Average = &mean
	}
}

// judge takes in what a finding decides about the loss at a wavelength.
func (s *Splice) judge(f *judge.Finding, nm int, listed bool) {
	for k := range s.At {
		switch l := &s.At[k]; {
		case l.WavelengthNM != nm:
		case listed:
			l.Listed = true
		case l.Judged == nil || f.Verdict > l.Judged.Verdict || f.Verdict == l.Judged.Verdict && f.Margin != nil && l.Judged.Margin != nil && f.Margin.Less(*l.Judged.Margin):
			l.Judged = f
		}
	}
}
