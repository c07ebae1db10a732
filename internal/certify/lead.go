package certify

import (
	"strings"

	"spanseal/internal/claim"
	"spanseal/internal/judge"
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

// Subject is what a finding is about, in words: "1310 nm, A to B".
func (s *Set) Subject(f judge.Finding) string { return s.words.Subject(claim.Subject(&f)) }
