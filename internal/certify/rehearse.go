package certify

import (
	"fmt"
	"slices"

	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/record"
	"spanseal/internal/seal"
	"spanseal/internal/stationery"
)

// Rehearse refuses what would stop the writing of a revision although its texts
// can be set: names too long for a token, more losses of a link than one holds,
// a symbol too fine for the labels. Keys of RSA make larger symbols, which only
// the writing shows.
func (s *Set) Rehearse() *diag.List {
	problems := &diag.List{}
	for _, i := range s.heavy.tooLong {
		s.rehearse(s.Judgement.Result(i), problems)
	}
	if problems.Errors() == 0 && len(s.Judgement.Links) > 0 {
		s.rehearse(s.Judgement.Result(s.heavy.largest), problems)
	}
	return problems
}

// heavy is which links have the most to say in their tokens.
type heavy struct {
	largest, size int
	tooLong       []int
}

// weigh notes a link whose token is larger than those before. It is called for
// each as the texts of the set are gone through, before any of it is written.
func (s *Set) weigh(i int, l *judge.LinkResult) {
	losses := 0
	for k := range l.Readings {
		if l.Readings[k].Quantity == record.InsertionLoss {
			losses++
		}
	}
	if size := len(l.Link.ID) + 6*losses; size > s.heavy.size { // a loss takes about six bytes
		s.heavy.largest, s.heavy.size = i, size
	}
	if (len(l.Link.ID) > seal.MaxText || losses > seal.MaxReadings) && len(s.heavy.tooLong) < 100 && !slices.Contains(s.heavy.tooLong, i) {
		s.heavy.tooLong = append(s.heavy.tooLong, i)
	}
}

// rehearse goes through the token and the symbol of a link.
func (s *Set) rehearse(l *judge.LinkResult, problems *diag.List) {
	o := l.Link.Origin
	place := diag.Place{File: o.File, Line: o.Row, Column: o.Column, Cell: o.Cell}
	claim := s.claim(l, nil)
	claim.Certificate, claim.Revision, claim.Issued = form.CertificateNumber(&s.Facts.Job, l.Link.ID), 1, "2026-01-01"
	if claim.Measured != "" {
		claim.Issued = claim.Measured
	}
	token, err := seal.Rehearse(claim)
	if err != nil {
		problems.Add(diag.Problem{Code: "no-token", Place: place, Message: fmt.Sprintf("no certificate of link %s can be signed: %v", l.Link.ID, err),
			Fix: "shorten the name of the link in " + place.File + ", or the job's number; a link has at most 32 losses that count"})
		return
	}
	modules, err := s.Symbol(s.symbolText(token))
	if err != nil {
		problems.Add(diag.Problem{Code: "no-symbol", Place: place, Message: fmt.Sprintf("no symbol of link %s can be made: %v", l.Link.ID, err),
			Fix: "shorten the name of the link, the job's number or check_url"})
		return
	}
	if !l.Verdict.Certifiable() {
		return // it gets no label
	}
	g := s.look.labels
	if side, ok := g.Side(len(modules)); !ok {
		small := &LabelError{l.Link.ID, stationery.Wide(side, len(modules)), g.Room()}
		problems.Add(diag.Problem{Code: "label-too-small", Place: place, Message: small.Error(), Fix: LabelFix})
	}
}

// LabelFix is the way out of a symbol that is too fine for the labels.
const LabelFix = "give larger labels in documents/labels.yaml (height; width, or flag_wrap of a flag), or shorten the job's number or check_url"
