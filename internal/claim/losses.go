package claim

import (
	"slices"
	"strings"
	"time"

	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// Losses are the losses that a paper lists, in the judgement's order.
type Losses struct {
	link *judge.LinkResult
	// Findings are of insertion loss and its two-way average against limits,
	// without those that the line of an application tells.
	Findings []judge.Finding
	// Carried holds the required applications that the link carries, by id: their
	// lines tell their losses. It is nil if those are the only losses there are.
	Carried map[string]bool
	// Places is how many decimals all of them are printed with.
	Places int
}

// LossesOf returns the losses that the paper of a link lists.
func LossesOf(l *judge.LinkResult) *Losses {
	s := &Losses{link: l, Carried: map[string]bool{}}
	for _, c := range l.Carries {
		s.Carried[c.ID] = c.Required && c.Within
	}
	all := LossFindings(l)
	s.Findings = slices.DeleteFunc(slices.Clone(all), s.Folded)
	if len(s.Findings) == 0 {
		s.Findings, s.Carried = all, nil
	}
	s.Places = judge.PlacesOf(s.Findings)
	return s
}

// Folded reports whether a finding is told by its application's line.
func (s *Losses) Folded(f judge.Finding) bool {
	return f.Working != nil && f.Verdict == judge.Pass && s.Carried[f.Working.SetID]
}

// Retests say of all losses which failed first and pass now.
func (s *Losses) Retests() (out []statement.Statement) {
	for _, r := range s.link.Superseded {
		if r.Quantity == record.InsertionLoss {
			out = append(out, s.Retested(r)...)
		}
	}
	return out
}

// Replaced leads the sheet of the readings of a link that later ones replaced: how many
// they are, how many of them were over a limit, and on which paper those that count are.
func Replaced(l *judge.LinkResult, over int, paper string) []statement.Statement {
	return []statement.Statement{statement.New("lead.superseded", statement.Name(l.Link.ID), statement.Count(len(l.Superseded)), statement.Count(over), statement.Name(paper))}
}

// Retested says of a reading that was replaced, if it was over a limit that the
// later one is within: then, now and what was noted of the later one. Nothing on
// record says more of what was done.
func (s *Losses) Retested(r record.Reading) []statement.Statement {
	now := slices.IndexFunc(s.link.Readings, func(n record.Reading) bool {
		return n.Quantity == r.Quantity && n.WavelengthNM == r.WavelengthNM && n.Direction == r.Direction && n.Event == r.Event
	})
	if now < 0 || s.link.Readings[now].Shown != "" { // of a bound there is no number to say
		return nil
	}
	n := s.link.Readings[now]
	var worst *judge.Finding
	for i := range s.Findings {
		one := &s.Findings[i]
		if one.Working == nil || len(one.Readings) != 1 || KeyOf(one.Readings[0]) != KeyOf(n) {
			continue
		}
		if !one.Verdict.Certifiable() { // it does not pass now
			return nil
		}
		if one.Working.Bound != "at_least" && one.Working.Limit.Less(r.Value) && (worst == nil || one.Working.Limit.Less(worst.Working.Limit)) {
			worst = one
		}
	}
	if worst == nil {
		return nil
	}
	limit, after := statement.Rounded(worst.Working.Limit, s.Places), statement.Rounded(n.Value, max(s.Places, n.Value.Places()))
	out := []statement.Statement{statement.New("retested", Subject(worst), statement.Rounded(r.Value, max(s.Places, r.Value.Places())), limit, after)}
	if r.Shown != "" { // the number only stands for it
		out[0] = statement.New("retested-shown", Subject(worst), statement.Name(r.Shown), limit, after)
	}
	if n.Note != "" {
		out = append(out, statement.New("retested-note", statement.Name(strings.TrimRight(n.Note, "."))))
	}
	return out
}

// LossFindings are a link's findings of insertion loss and its two-way average
// against limits, in the judgement's order.
func LossFindings(l *judge.LinkResult) []judge.Finding {
	var out []judge.Finding
	for _, f := range l.Findings {
		if f.Kind == judge.KindLimit && isLoss(&f) {
			out = append(out, f)
		}
	}
	return out
}

// ReadingKey tells readings of one link apart.
type ReadingKey struct {
	quantity   record.Quantity
	wavelength int
	direction  record.Direction
	origin     record.Origin
	time       time.Time
	value      quantity.Decimal
}

// KeyOf is the key of a reading.
func KeyOf(r record.Reading) ReadingKey {
	return ReadingKey{quantity: r.Quantity, wavelength: r.WavelengthNM, direction: r.Direction, origin: r.Origin, time: r.Time, value: r.Value}
}
