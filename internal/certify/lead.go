package certify

import (
	"strings"

	"spanseal/internal/claim"
	"spanseal/internal/judge"
	"spanseal/internal/statement"
)

// lead says in plain words what was measured, when, and what it proves.
func (sh *sheet) lead() string { return strings.Join(sh.words.States(sh.claims(sh.l)), " ") }

// claims are the first sentences of a link's paper, with the digits of its losses.
func (s *Set) claims(l *judge.LinkResult) []statement.Statement {
	sh := &sheet{Set: s, l: l, met: map[string]bool{}}
	sh.fold()
	return claim.Link(&s.Facts.Job, l, judge.PlacesOf(sh.losses))
}

// told are statements with their English text, for records.
func (s *Set) told(all []statement.Statement) []statement.Statement {
	for i := range all {
		all[i] = s.english.Told(all[i])
	}
	return all
}

// subject is what a finding is about, in words: "1310 nm, A to B".
func (s *Set) subject(f judge.Finding) string { return s.words.Subject(claim.Subject(&f)) }
