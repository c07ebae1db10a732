package certify

import (
	"slices"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
)

// method is how it was measured: the first thing a dispute asks for.
func (sh *sheet) method(f *layout.Flow) {
	w, how := sh.words, sh.procedure()
	title, witness := w.Say("method.title"), wording.FirstOf(how.Witness(), w.Say("method.none"))
	if len(sh.l.Readings) == 0 { // no word of a measurement that never was
		title, witness = w.Say("method.planned"), sh.Facts.Job.Witness
	}
	f.Section(title, 4)
	var times, powers []string
	for _, r := range sh.l.Readings {
		times = append(times, wording.Clock(sh.Local(r.ReferenceTime)))
		if r.Reference != nil {
			powers = append(powers, w.Fixed(*r.Reference, max(2, r.Reference.Places())))
		}
	}
	taken := wording.Distinct(times...)
	if powers = wording.Distinct(powers...); len(powers) > 0 {
		taken = append(taken, strings.Join(powers, ", ")+" dBm")
	}
	var serials, calibrated, ofEach, made []string
	for _, i := range Devices(w, slices.Concat(sh.l.Readings, sh.l.Superseded, sh.l.Stages), sh.Facts.Job.Instruments) {
		serials = append(serials, i.Name)
		made = append(made, strings.TrimSpace(i.Make+" "+i.Model))
		if !i.Calibrated.IsZero() {
			days := w.Say("method.due", "day", w.Day(i.Calibrated), "due", w.Day(i.Due))
			calibrated, ofEach = append(calibrated, days), append(ofEach, i.ID+" "+days)
		}
	}
	if calibrated = wording.Distinct(calibrated...); len(calibrated) > 1 { // each has days of its own
		calibrated = ofEach
	}
	var by []string
	for _, r := range sh.l.Readings {
		if p, ok := sh.Facts.Job.Person(r.Person); ok {
			qualified := wording.FirstOf(p.Qualification, w.Known("role", p.Role))
			if p.Qualification != "" && !p.ValidUntil.IsZero() {
				qualified = w.Say("method.valid", "qualified", qualified, "day", w.Day(p.ValidUntil))
			}
			by = append(by, wording.Comma(p.Name, qualified))
		} else {
			by = append(by, r.Person)
		}
	}
	f.Fields(3, append([]layout.Field{
		{Caption: w.Say("method.reference"), Value: wording.Comma(append([]string{how.Reference()}, taken...)...)},
		{Caption: w.Say("method.cords"), Value: how.Cords()},
		{Caption: w.Say("method.instruments"), Value: wording.Comma(serials...)},
		{Caption: w.Say("method.calibrated"), Value: strings.Join(calibrated, "; ")},
		{Caption: w.Say("method.by"), Value: strings.Join(wording.Distinct(by...), "; ")},
		{Caption: w.Say("method.witness"), Value: witness},
		{Caption: w.Say("method.made"), Value: strings.Join(wording.Distinct(made...), "; ")},
	}, how.Further()...)...)
}

// Posed is a finding's question, with the answer that the job gives to it.
func (s *PaperSet) Posed(one *judge.Finding) string { return s.posed(one, one.Question) }

// PosedApart is [PaperSet.Posed] without the wavelength of a question that names one, for
// [wording.Wording.Together] to put in; 0 for no wavelength.
func (s *PaperSet) PosedApart(one *judge.Finding) (string, statement.NM) {
	question, nm := statement.Apart(one.Question)
	return s.posed(one, question), nm
}

func (s *PaperSet) posed(one *judge.Finding, question statement.Statement) string {
	return strings.TrimSpace(s.words.State(question) + " " + s.words.State(one.Said()))
}

// QuestionCounts says how many questions there are, and how many have an answer.
func (s *PaperSet) QuestionCounts() string {
	asked, answered := s.Judgement.QuestionCounts()
	text := s.words.Count("questions.asked", asked)
	if answered > 0 {
		text = wording.Comma(text, s.words.Count("questions.answered", answered))
	}
	return text
}

// questions lists what a careful reader should know; never an accusation.
// The job may ask about an exemption; else its reason is said all the same.
func (sh *sheet) questions(f *layout.Flow) {
	var texts []string
	var asked []judge.Finding
	for _, one := range sh.l.Findings {
		if one.Kind == judge.KindLimit || !sh.l.Verdict.Certifiable() && one.Verdict != judge.Pass { // what is open stands first on its sheet
			continue
		}
		asked = append(asked, one)
	}
	for _, one := range sh.Fold(asked) {
		texts = append(texts, one.Posed)
	}
	if UntoldExemption(sh.l) {
		texts = append(texts, sh.words.Say("questions.exempt", "reason", sh.l.Link.Exempt))
	}
	if texts = wording.Distinct(texts...); len(texts) == 0 {
		return
	}
	f.Listed(sh.words.Say("questions.title"), texts)
}

// UntoldExemption reports whether a link was measured in one direction by
// exemption, and no question says so.
func UntoldExemption(l *judge.LinkResult) bool {
	ways := map[record.Direction]bool{}
	for _, r := range l.Readings {
		if r.Quantity == record.InsertionLoss {
			ways[r.Direction] = true
		}
	}
	return l.Link.Exempt != "" && !(ways[record.AB] && ways[record.BA]) && len(ways) > 0 &&
		!slices.ContainsFunc(l.Findings, func(f judge.Finding) bool { return f.Code == "direction-exempt" })
}
