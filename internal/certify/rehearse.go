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
		s.rehearseLink(s.Judgement.Result(i), problems)
	}
	modules := 0
	for _, largest := range slices.Compact([]heaviest{s.heavy.all, s.heavy.certified}) { // mostly one
		if problems.Errors() == 0 && largest.size > 0 {
			modules = s.rehearseLink(s.Judgement.Result(largest.link), problems)
		}
	}
	if problems.Errors() == 0 && s.heavy.certified.size > 0 {
		s.rehearseLabels(s.heavy.certified.link, modules, problems)
	}
	return problems
}

// RehearseOther tries the token, the symbol and the label of a paper that is of no link,
// whose name stands at a place: what would be refused only when a revision is written.
func (s *PaperSet) RehearseOther(claim seal.Claim, o Label, place diag.Place) *diag.List {
	p := rehearsed{o.ID, false, place, &diag.List{}}
	modules, ok := s.rehearseToken(p, claim)
	if !ok || !o.Verdict.Certifiable() {
		return p.problems
	}
	if box, ok := s.rehearseBox(p, modules); ok {
		one := labelled{Brief: &judge.Brief{Link: &record.Link{ID: o.ID, From: o.From, To: o.To}, Verdict: o.Verdict}, measured: o.Measured}
		var short shortfall
		s.rehearseTexts(p, s.ruler(), &one, box, &short)
		short.note(s.look.labels, p.problems)
	}
	return p.problems
}

// heavy is which links have the most to say in their tokens, and which more than one holds.
type heavy struct {
	all, certified heaviest // only those that are certified have labels
	tooLong        []int
}

// heaviest is a link and about how many bytes its token has; no link of size 0.
type heaviest struct{ link, size int }

func (h *heaviest) weigh(link, size int) {
	if size > h.size {
		*h = heaviest{link, size}
	}
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
	size := 1 + len(l.Link.ID) + 6*losses // a loss takes about six bytes
	s.heavy.all.weigh(i, size)
	if l.Verdict.Certifiable() {
		s.heavy.certified.weigh(i, size)
	}
	if (len(l.Link.ID) > seal.MaxText || losses > seal.MaxReadings) && len(s.heavy.tooLong) < 100 && !slices.Contains(s.heavy.tooLong, i) {
		s.heavy.tooLong = append(s.heavy.tooLong, i)
	}
}

// rehearsed is a paper whose token, symbol and label are tried.
type rehearsed struct {
	id       string     // of its link, or of what else it is of
	link     bool       // else a trunk, say
	place    diag.Place // where the id stands
	problems *diag.List
}

func rehearsedLink(l *record.Link, problems *diag.List) rehearsed {
	return rehearsed{l.ID, true, placeOf(l), problems}
}

// refuse adds a problem with the token or a symbol, of which the message says of what;
// besides the name, what else can be shortened follows.
func (p *rehearsed) refuse(code, message string, err error, besides string) {
	what, fix := p.id, "shorten its name"+besides
	if p.link {
		what, fix = "link "+p.id, "shorten the name of the link in "+p.place.File+besides
	}
	p.problems.Add(diag.Problem{Code: code, Place: p.place, Message: fmt.Sprintf(message+": %v", what, err), Fix: fix})
}

func (p *rehearsed) tooSmall(small *LabelError) {
	p.problems.Add(diag.Problem{Code: "label-too-small", Place: p.place, Message: small.Error(), Fix: LabelFix})
}

// rehearseLink goes through the token and the symbol of a link, and returns how many
// modules a side of that has, or 0 without one.
func (s *PaperSet) rehearseLink(l *judge.LinkResult, problems *diag.List) int {
	claim := s.claim(l, nil)
	claim.Certificate, claim.Revision, claim.Issued = form.CertificateNumber(&s.Facts.Job, l.Link.ID), 1, "2026-01-01"
	if claim.Measured != "" {
		claim.Issued = claim.Measured
	}
	modules, _ := s.rehearseToken(rehearsedLink(l.Link, problems), claim)
	return modules
}

// rehearseToken makes the token of a paper and its symbol, of which a side has so many
// modules.
func (s *PaperSet) rehearseToken(p rehearsed, claim seal.Claim) (modules int, ok bool) {
	token, err := seal.Rehearse(claim)
	if err != nil {
		p.refuse("no-token", "the document of %s cannot be signed", err, ", or the job's number; a link has at most 32 losses that count")
		return 0, false
	}
	symbol, err := s.Symbol(s.symbolText(token))
	if err != nil {
		p.refuse("no-symbol", "the symbol of %s cannot be made", err, ", the job's number or check_url")
		return 0, false
	}
	return len(symbol), true
}

// rehearseBox makes the symbol of a paper's label, and says how wide it is drawn with the
// white around it. A side of that of the token has so many modules.
func (s *PaperSet) rehearseBox(p rehearsed, modules int) (box float64, ok bool) {
	g := s.look.labels
	switch g.Carries {
	case stationery.Nothing:
		return 0, true
	case stationery.Number:
		symbol, err := s.Symbol(form.CertificateNumber(&s.Facts.Job, p.id))
		if err != nil {
			p.refuse("no-symbol", "the symbol with the number of %s cannot be made", err, ", or the job's number")
			return 0, false
		}
		modules = len(symbol)
	}
	side, ok := g.Side(modules)
	box = stationery.Wide(side, modules)
	if !ok {
		p.tooSmall(&LabelError{p.id, box, g.Room(), false})
	}
	return box, ok
}

// rehearseTexts sets the texts of a paper's labels beside their symbol.
func (s *PaperSet) rehearseTexts(p rehearsed, f *layout.Flow, one *labelled, box float64, short *shortfall) {
	g := s.look.labels
	for _, one.end = range ends(g) {
		if small := s.short(f, g, one, box, short); small != nil {
			p.tooSmall(small)
			return
		}
		short.made += g.Copies
	}
}

// placeOf is the row of the schedule in which a link stands.
func placeOf(l *record.Link) diag.Place {
	return diag.Place{File: l.Origin.File, Line: l.Origin.Row, Column: l.Origin.Column, Cell: l.Origin.Cell}
}

// rehearseLabels refuses labels without room for their symbol or their number, and says
// which others do without some of their text. Largest is the link with the largest token,
// and a side of the symbol of that has so many modules.
func (s *PaperSet) rehearseLabels(largest, modules int, problems *diag.List) {
	g := s.look.labels
	box := 0.0 // of all symbols, as they are drawn
	for i, l := range s.Judgement.Results() {
		if !l.Verdict.Certifiable() || g.Carries == stationery.Token && i != largest {
			continue
		}
		one, _ := s.rehearseBox(rehearsedLink(l.Link, problems), modules)
		box = max(box, one)
	}
	if problems.Errors() > 0 {
		return
	}
	f, short := s.ruler(), shortfall{sheets: !g.Tape}
	for i, l := range s.Judgement.Results() {
		if !l.Verdict.Certifiable() {
			continue
		}
		one := labelled{Brief: &s.Judgement.Links[i]}
		_, one.measured = s.MeasuredOn(l.Readings)
		s.rehearseTexts(rehearsedLink(l.Link, problems), f, &one, box, &short)
	}
	if problems.Errors() == 0 {
		short.note(g, problems)
	}
}

// shortfall is what labels do without.
type shortfall struct {
	made   int                       // labels
	sheets bool                      // it is known on which sheet each is
	labels int                       // that do without something
	names  []string                  // of the first of these labels, with their sheets
	gone   [labelContractor + 1]bool // texts that some of them have not
	cut    [labelContractor + 1]bool // texts that some of them have with an ellipsis
}

// short adds what the next label does without, or says that it has no room.
func (s *PaperSet) short(f *layout.Flow, g stationery.Labels, one *labelled, box float64, to *shortfall) *LabelError {
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
		if to.sheets {
			name += fmt.Sprintf(" (sheet %d)", (to.made+g.Start-1)/(g.Columns*g.Rows)+1)
		}
		to.names = append(to.names, name)
	}
	return nil
}

// note says which labels do without what.
func (s *shortfall) note(g stationery.Labels, problems *diag.List) {
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
		Message: fmt.Sprintf("%d of %s have no room for all of their text: %s; %s", s.labels*g.Copies, diag.Plural(s.made, "label"), which, strings.Join(what, "; ")),
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
