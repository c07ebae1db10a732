package certify

import (
	"slices"
	"strings"

	"spanseal/internal/claim"
	"spanseal/internal/judge"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// lead says in plain words what was measured, when, and what it proves.
func (sh *sheet) lead() string { return strings.Join(sh.words.States(sh.claims(sh.l)), " ") }

// claims are the first sentences of a link's paper, with the digits of its losses.
func (s *Set) claims(l *judge.LinkResult) []statement.Statement {
	return claim.Link(&s.Facts.Job, l, s.losses(l).places)
}

// retests say of a link's losses which failed first and pass now.
func (s *Set) retests(l *judge.LinkResult) (out []statement.Statement) {
	sh := s.losses(l)
	for _, r := range l.Superseded {
		if r.Quantity == record.InsertionLoss {
			out = append(out, sh.retested(r)...)
		}
	}
	return out
}

// losses are those of a link's paper, with their digits.
func (s *Set) losses(l *judge.LinkResult) *sheet {
	sh := &sheet{Set: s, l: l, met: map[string]bool{}}
	sh.fold()
	sh.places = judge.PlacesOf(sh.losses)
	return sh
}

// told are statements with their English text, for records.
func (s *Set) told(all []statement.Statement) []statement.Statement {
	for i := range all {
		all[i] = s.english.Told(all[i])
	}
	return all
}

// confirmed are sets whose confirmations have their English text, for records.
func (s *Set) confirmed(sets []judge.SetUsed) []judge.SetUsed {
	out := slices.Clone(sets)
	for i := range out {
		if c := &out[i].Confirmation; !c.IsZero() {
			*c = s.english.Told(*c)
		}
	}
	return out
}

// subject is what a finding is about, in words: "1310 nm, A to B".
func (s *Set) subject(f judge.Finding) string { return s.words.Subject(claim.Subject(&f)) }
