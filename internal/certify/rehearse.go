package certify

import (
	"fmt"
	"slices"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/record"
	"spanseal/internal/seal"
	"spanseal/internal/stationery"
)

// Rehearse refuses what would stop the writing of a revision although its texts
// can be set: names too long for a token, more losses of a link than one holds,
// a symbol too fine for the labels. Keys of RSA make larger symbols, which only
// the writing shows.
func (s *PaperSet) Rehearse() *diag.List {
	problems := &diag.List{}
	for _, i := range s.heavy.tooLong {
		s.rehearse(s.Judgement.Result(i), problems)
	}
	if problems.Errors() == 0 && len(s.Judgement.Links) > 0 {
		modules := s.rehearse(s.Judgement.Result(s.heavy.largest), problems)
		s.rehearseLabels(modules, problems)
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
func (s *PaperSet) weigh(i int, l *judge.LinkResult) {
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

// rehearse goes through the token and the symbol of a link, and returns how many modules
// a side of that has, or 0 without one.
func (s *PaperSet) rehearse(l *judge.LinkResult, problems *diag.List) int {
	place := placeOf(l.Link)
	claim := s.claim(l, nil)
	claim.Certificate, claim.Revision, claim.Issued = form.CertificateNumber(&s.Facts.Job, l.Link.ID), 1, "2026-01-01"
	if claim.Measured != "" {
		claim.Issued = claim.Measured
	}
	token, err := seal.Rehearse(claim)
	if err != nil {
		problems.Add(diag.Problem{Code: "no-token", Place: place, Message: fmt.Sprintf("the certificate of link %s cannot be signed: %v", l.Link.ID, err),
			Fix: "shorten the name of the link in " + place.File + ", or the job's number; a link has at most 32 losses that count"})
		return 0
	}
	modules, err := s.Symbol(s.symbolText(token))
	if err != nil {
		problems.Add(diag.Problem{Code: "no-symbol", Place: place, Message: fmt.Sprintf("the symbol of link %s cannot be made: %v", l.Link.ID, err),
			Fix: "shorten the name of the link, the job's number or check_url"})
		return 0
	}
	g := s.look.labels
	if !l.Verdict.Certifiable() || g.Carries != stationery.Token {
		return len(modules) // it gets no label, or one without the token
	}
	if side, ok := g.Side(len(modules)); !ok {
		tooSmall(problems, l.Link, &LabelError{l.Link.ID, stationery.Wide(side, len(modules)), g.Room(), false})
	}
	return len(modules)
}

// RehearseOther tries the token, the symbol and the label of a paper that is of no link,
// whose name stands at a place: what would be refused only when a revision is written.
func (s *PaperSet) RehearseOther(claim seal.Claim, o Label, place diag.Place) *diag.List {
	problems := &diag.List{}
	refuse := func(code, what string, err error, fix string) *diag.List {
		problems.Add(diag.Problem{Code: code, Place: place, Message: fmt.Sprintf(what+": %v", o.ID, err), Fix: fix})
		return problems
	}
	const shorten = "shorten its name, the job's number or check_url"
	token, err := seal.Rehearse(claim)
	if err != nil {
		return refuse("no-token", "the document of %s cannot be signed", err, shorten)
	}
	modules, err := s.Symbol(s.symbolText(token))
	g := s.look.labels
	if err == nil && o.Verdict.Certifiable() && g.Carries == stationery.Number {
		modules, err = s.Symbol(form.CertificateNumber(&s.Facts.Job, o.ID))
	}
	if err != nil {
		return refuse("no-symbol", "the symbol of %s cannot be made", err, shorten)
	}
	if !o.Verdict.Certifiable() {
		return problems
	}
	box := 0.0
	if g.Carries != stationery.Nothing {
		side, ok := g.Side(len(modules))
		if box = stationery.Wide(side, len(modules)); !ok {
			return refuse("label-too-small", "the label of %s has no room for its symbol", &LabelError{o.ID, box, g.Room(), false}, LabelFix)
		}
	}
	one := labelled{Brief: &judge.Brief{Link: &record.Link{ID: o.ID, From: o.From, To: o.To}, Verdict: o.Verdict}, measured: o.Measured}
	f, short, made := s.ruler(), shortfall{}, 0
	for _, one.end = range ends(g) {
		if small := s.short(f, g, &one, box, -1, &short); small != nil {
			return refuse("label-too-small", "the label of %s has no room for its text", small, LabelFix)
		}
		made += g.Copies
	}
	short.note(g, made, problems)
	return problems
}

func tooSmall(problems *diag.List, l *record.Link, small *LabelError) {
	problems.Add(diag.Problem{Code: "label-too-small", Place: placeOf(l), Message: small.Error(), Fix: LabelFix})
}

// placeOf is the row of the schedule in which a link stands.
func placeOf(l *record.Link) diag.Place {
	return diag.Place{File: l.Origin.File, Line: l.Origin.Row, Column: l.Origin.Column, Cell: l.Origin.Cell}
}

// rehearseLabels refuses labels without room for their number, and says which others do
// without some of their text. A side of the largest token's symbol has so many modules.
func (s *PaperSet) rehearseLabels(modules int, problems *diag.List) {
	g := s.look.labels
	box := 0.0                                    // of all symbols, as they are drawn
	if g.Carries == stationery.Token && !g.Ends { // whose symbols are tried already
		side, _ := g.Side(modules)
		box = stationery.Wide(side, modules)
	}
	for _, l := range s.Judgement.Results() {
		n := modules
		switch {
		case !l.Verdict.Certifiable() || g.Carries == stationery.Nothing || box > 0 && g.Carries == stationery.Token:
			continue
		case g.Carries == stationery.Number:
			symbol, err := s.Symbol(form.CertificateNumber(&s.Facts.Job, l.Link.ID))
			if err != nil {
				problems.Add(diag.Problem{Code: "no-symbol", Place: placeOf(l.Link), Message: fmt.Sprintf("the symbol with the number of link %s cannot be made: %v", l.Link.ID, err),
					Fix: "shorten the name of the link, or the job's number"})
				continue
			}
			n = len(symbol)
		}
		side, ok := g.Side(n)
		if box = max(box, stationery.Wide(side, n)); !ok {
			tooSmall(problems, l.Link, &LabelError{l.Link.ID, stationery.Wide(side, n), g.Room(), false})
		}
	}
	if problems.Errors() > 0 {
		return
	}
	f, short, made := s.ruler(), shortfall{}, 0
	for i, l := range s.Judgement.Results() {
		if !l.Verdict.Certifiable() {
			continue
		}
		one := labelled{Brief: &s.Judgement.Links[i]}
		_, one.measured = s.MeasuredOn(l.Readings)
		for _, one.end = range ends(g) {
			if small := s.short(f, g, &one, box, made, &short); small != nil {
				tooSmall(problems, l.Link, small)
				break
			}
			made += g.Copies
		}
	}
	if problems.Errors() == 0 {
		short.note(g, made, problems)
	}
}

// shortfall is what labels do without.
type shortfall struct {
	labels int
	names  []string                  // of the first of these labels, with their sheets
	gone   [labelContractor + 1]bool // texts that some of them have not
	cut    [labelContractor + 1]bool // texts that some of them have with an ellipsis
}

// short adds what a label does without, which is the n-th or, below 0, somewhere; or says
// that it has no room.
func (s *PaperSet) short(f *layout.Flow, g stationery.Labels, one *labelled, box float64, n int, to *shortfall) *LabelError {
	on := g
	if g.Tape && g.Width == 0 {
		on = g.Long(s.lengthOf(f, g, one), box)
	}
	all, verdict := s.lines(f, one)
	if _, fits := brokenLabel(f, all, verdict, on.Beside(box), on.Height-2*labelMargin, smallestText, nil, nil); fits {
		return nil // as of nearly all, which are then not set at every size
	}
	set, small := s.fitted(f, on, one, box)
	if small != nil {
		return small
	}
	less := false
	for of, text := range all {
		has, cut, said := false, false, text.text != ""
		for _, line := range set {
			if line.of == of {
				has, cut = true, cut || line.cut
			}
		}
		switch {
		case said && !has:
			less, to.gone[of] = true, true
		case said && cut:
			less, to.cut[of] = true, true
		}
	}
	if !less {
		return nil
	}
	if to.labels++; len(to.names) < 3 {
		name := one.Link.ID
		if one.end != "" {
			name += " end " + one.end
		}
		if !g.Tape && n >= 0 {
			name += fmt.Sprintf(" (sheet %d)", (n+g.Start-1)/(g.Columns*g.Rows)+1)
		}
		to.names = append(to.names, name)
	}
	return nil
}

// note says which labels do without what, of so many.
func (s *shortfall) note(g stationery.Labels, made int, problems *diag.List) {
	if s.labels == 0 {
		return
	}
	names := []string{"the link's name", "from", "to", "verdict and day", "the number", "the contractor"}
	if g.Ends {
		names[labelFrom], names[labelTo] = "this end", "the other end"
	}
	list := func(of [labelContractor + 1]bool) string {
		var what []string
		for i, name := range names {
			if of[i] {
				what = append(what, name)
			}
		}
		return strings.Join(what, ", ")
	}
	var what []string
	if text := list(s.gone); text != "" {
		what = append(what, "left out: "+text)
	}
	if text := list(s.cut); text != "" {
		what = append(what, "cut short: "+text)
	}
	which := strings.Join(s.names, ", ")
	if more := s.labels - len(s.names); more > 0 {
		which += fmt.Sprintf(" and %d more", more)
	}
	problems.Add(diag.Problem{Severity: diag.Note, Code: "label-leaves-out", Place: diag.Place{File: "documents/labels.yaml"},
		Message: fmt.Sprintf("%d of %s have no room for all of their text: %s; %s", s.labels*g.Copies, diag.Plural(made, "label"), which, strings.Join(what, "; ")),
		Fix:     "choose larger labels, or leave it: the certificate has the full text"})
}

// LabelFix is the way out of a symbol that is too fine for the labels.
const LabelFix = "give larger labels in documents/labels.yaml (height; width, or flag_wrap of a flag), put less on them (carries: number, or nothing), or shorten the job's number or check_url"

// checkNames refuses papers that cannot be called as the job's pattern has it.
func (s *PaperSet) checkNames(problems *diag.List) {
	if s.Specimen {
		return
	}
	for _, f := range s.NameFaults() {
		p := diag.Problem{Code: "paper-name", Place: placeOf(f.Link), Message: fmt.Sprintf("the document of link %s cannot have the name that the job gives it: %s", f.Link.ID, f.Fault),
			Fix: "change documents.name in job.yaml, or what the schedule has for the words in its braces"}
		if s.PlaceOf != nil {
			if at := s.PlaceOf("documents.name"); at.Line > 0 {
				p.Also = []diag.Beside{{Place: at, What: "this pattern names the documents"}}
			}
		}
		problems.Add(p)
	}
}
