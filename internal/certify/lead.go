package certify

import (
	"slices"
	"strings"

	"spanseal/internal/claim"
	"spanseal/internal/judge"
	"spanseal/internal/statement"
)

// sheetOf is the paper of a link before it is drawn.
func (s *Set) sheetOf(l *judge.LinkResult) *sheet {
	losses := claim.LossesOf(l)
	return &sheet{Set: s, l: l, losses: losses.Findings, places: losses.Places, folded: losses}
}

// lead says in plain words what was measured, when, and what it proves.
func (sh *sheet) lead() string {
	return strings.Join(sh.words.States(claim.Link(&sh.Facts.Job, sh.l, sh.places)), " ")
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
