package certify

import (
	"fmt"
	"strings"

	"spanseal/internal/claim"
	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/rail"
	"spanseal/internal/record"
	"spanseal/internal/wording"
)

// sheet is the paper of one link while it is drawn: certificate or
// nonconformance sheet.
type sheet struct {
	*PaperSet
	l      *judge.LinkResult
	title  string
	rail   *rail.Rail
	losses []judge.Finding // without those that an application's line tells
	places int             // of all losses on this paper
	folded *claim.Losses   // the same, with what the lines of applications tell
	// named are the names of the link for which there is room.
	named []layout.Field
	// lowTold is that the mark of figures of low confidence was explained: once a paper.
	lowTold bool
}

// sheetOf is the paper of a link before it is drawn.
func (s *PaperSet) sheetOf(l *judge.LinkResult) *sheet {
	losses := claim.LossesOf(l)
	return &sheet{PaperSet: s, l: l, losses: losses.Findings, places: losses.Places, folded: losses}
}

// lead says in plain words what was measured, when, and what it proves.
func (sh *sheet) lead() string {
	return strings.Join(sh.words.States(claim.Link(&sh.Facts.Job, sh.l, sh.places)), " ")
}

// Certificate returns the certificate of a link. It refuses a link that is not
// certifiable: there is no way to print a certificate for a failed link.
func (s *PaperSet) Certificate(l *judge.LinkResult) (*Paper, error) {
	if !l.Verdict.Certifiable() {
		return nil, fmt.Errorf("link %s is %s: only a link that is pass or marginal gets a certificate", l.Link.ID, l.Verdict)
	}
	return s.paperOf(l, s.words.Say("certificate.title"), s.look.certificate)
}

// Nonconformance returns the sheet of a link that fails or is incomplete. It
// refuses any other.
func (s *PaperSet) Nonconformance(l *judge.LinkResult) (*Paper, error) {
	if l.Verdict.Certifiable() {
		return nil, fmt.Errorf("link %s is %s: it gets a certificate, not a nonconformance sheet", l.Link.ID, l.Verdict)
	}
	return s.paperOf(l, s.words.Say("nonconformance.title"), s.look.nonconformance)
}

func (s *PaperSet) paperOf(l *judge.LinkResult, title string, sections []string) (*Paper, error) {
	recordJSON, err := form.Encode(s.Record(l))
	if err != nil {
		return nil, err
	}
	one, err := s.sealed(l, recordJSON)
	if err != nil {
		return nil, err
	}
	sh := s.sheetOf(l)
	sh.title = title
	sh.rail = sh.newRail(one.symbol.modules())
	d := s.NewDocument(s.PathOf(l), title+" "+s.CertificateNumber(l.Link.ID), func(f *layout.Flow) { sh.compose(f, sections) })
	if names := sh.names(); len(names) > 0 {
		draw := d.Draw
		d.Draw = func(on page.Sheet) error {
			if err := sh.fit(on, names, sections); err != nil {
				return err
			}
			return draw(on)
		}
	}
	d.Token, d.Attachments = one.token, s.attachments(l, recordJSON, one.token)
	return d, nil
}

// newRail gathers what stands in the rail.
func (sh *sheet) newRail(symbol [][]bool) *rail.Rail {
	w, job, l := sh.words, &sh.Facts.Job, sh.l
	r := &rail.Rail{
		Words:     w,
		Specimen:  sh.Specimen,
		Treatment: rail.Treat(l.Verdict),
		Word:      w.Say("verdict." + l.Verdict.String()),
		Name:      layout.Field{Caption: w.Say("rail.link"), Value: l.Link.ID},
		Symbol:    symbol,
		Under:     w.Say("rail.scan"),
		Key:       sh.Key(),
	}
	if f := l.WorstFinding(); f != nil && f.Margin != nil && l.Verdict != judge.Incomplete && (l.Verdict != judge.Fail || f.Verdict == judge.Fail) {
		p, caption, margin := f.Places(sh.places), w.Say("rail.margin"), *f.Margin
		if margin.Sign() < 0 {
			caption, margin = w.Say("rail.over"), margin.Neg()
		} else if short, ok := shortOfGuard(*f); ok && l.Verdict == judge.Fail {
			caption, margin = w.Say("rail.short"), short
		}
		measured := w.Say("rail.of", "measured", w.Fixed(*f.Measured, p), "allowed", sh.Allowed(*f, p))
		if f.AtLeast() && f.Working.Bound != "between" {
			measured = w.Say("rail.at_least", "measured", w.Fixed(*f.Measured, p), "least", w.Fixed(*f.Limit, p))
		}
		r.Below = []layout.Field{{Caption: caption, Value: w.Fixed(margin, p) + " dB"}, {Caption: measured, Value: ""}} // a margin never stands alone
	} else {
		r.Below = []layout.Field{{Caption: "", Value: w.Count("rail.open", len(l.Open()))}}
	}
	revision := w.Whole(sh.Revision)
	if sh.Revision > 1 {
		revision = w.Say("rail.replaces", "n", revision, "before", w.Whole(sh.Revision-1))
	}
	number := w.Say("rail.certificate")
	if !l.Verdict.Certifiable() {
		number = w.Say("rail.sheet")
	}
	r.Fields = []layout.Field{
		{Caption: number, Value: sh.CertificateNumber(l.Link.ID)},
		{Caption: w.Say("rail.revision"), Value: revision},
		{Caption: w.Say("rail.measured"), Value: sh.Measured(l.Readings)},
		{Caption: w.Say("rail.issued"), Value: w.Day(sh.IssuedOn())},
		{Caption: w.Say("rail.job"), Value: wording.Comma(job.Site.Name, job.Title)},
		{Caption: w.Say("rail.customer"), Value: job.Customer.Name},
		{Caption: w.Say("rail.order"), Value: job.Customer.Order},
		{Caption: w.Say("rail.invoice"), Value: job.Invoice},
	}
	if l.Verdict.Certifiable() {
		r.Fields = append(r.Fields, layout.Field{Caption: w.Say("rail.warranty"), Value: sh.warranty()})
	}
	return r
}

// Measured is the day or days of the readings, "" where none has a time.
func (s *PaperSet) Measured(readings []record.Reading) string {
	first, last := s.MeasuredOn(readings)
	if first.IsZero() {
		return ""
	}
	return s.words.Days(first, last)
}

// warranty is the last day of the warranty, where the job states a term and a
// day of completion.
func (s *PaperSet) warranty() string {
	job := &s.Facts.Job
	if job.WarrantyMonths == 0 || job.Completed.IsZero() {
		return ""
	}
	return s.words.Say("rail.until", "day", s.words.Day(job.Completed.AddMonths(job.WarrantyMonths)))
}

// Key is the short name of the signing key.
func (s *PaperSet) Key() string {
	if s.Signer.KeyID == "" || s.Specimen {
		return ""
	}
	return s.words.Say("rail.key", "id", s.Signer.KeyID)
}

// baselines are those of the first rows below the head: of fields, or of a table
// with its head.
func (sh *sheet) baselines(f *layout.Flow, lead, section string) []float64 {
	top := f.Top - f.Grid + (sh.headHeight(f, lead)+f.Gap+layout.HeadingLines)*f.Grid
	at := []float64{layout.LineBase, 1 + layout.LineBase, 2 + layout.LineBase, 3 + layout.LineBase}
	if section == "link" {
		at = []float64{layout.CaptionBase, layout.ValueBase, 2 + layout.CaptionBase, 2 + layout.ValueBase}
	}
	for i := range at {
		at[i] = top + at[i]*f.Grid
	}
	return at
}

// name is what the outline calls the paper: first the link, since all links of
// a job may stand in one file.
func (sh *sheet) name() string {
	key := "outline.nonconformance"
	if sh.l.Verdict.Certifiable() {
		key = "outline.certificate"
	}
	return sh.words.Say(key, "link", sh.l.Link.ID)
}

func (sh *sheet) compose(f *layout.Flow, sections []string) {
	f.DrawRail, f.Outline = sh.rail.Draw, true
	sh.lowTold = false // a paper is set more than once
	f.DrawHead = sh.Again(sh.words.Say("document.continued", "title", sh.title+" "+sh.CertificateNumber(sh.l.Link.ID)))
	lead := sh.lead()
	sh.rail.Beside = sh.baselines(f, lead, sections[0])
	f.Start()
	sh.headNamed(f, sh.name(), sh.title, lead)
	draw := map[string]func(*layout.Flow){
		"link": sh.link, "ladder": sh.ladder, "readings": sh.readings, "terminations": sh.terminations, "inspections": sh.inspections, "originals": sh.originals, "reflectance": sh.reflectance,
		"method": sh.method, "questions": sh.questions, "signatures": sh.signatures, "small_print": sh.smallPrint,
		"wrong": sh.wrong, "causes": sh.causes, "corrective": sh.corrective, "retest": sh.retest, "photos": sh.photos,
	}
	for _, name := range sections {
		draw[name](f)
	}
}
