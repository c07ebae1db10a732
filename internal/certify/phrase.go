package certify

import (
	"cmp"
	"strings"

	"spanseal/internal/claim"
	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
)

// fixed writes a loss with so many places, "" for none.
func (sh *sheet) fixed(d *quantity.Decimal, places int) string {
	if d == nil {
		return ""
	}
	return sh.words.Fixed(*d, places)
}

// db is a loss with its unit, which no line end parts from it.
func (sh *sheet) db(d *quantity.Decimal, places int) string {
	if d == nil {
		return ""
	}
	return sh.fixed(d, places) + "\u00A0dB"
}

// length is the link's length in metres and feet.
func (sh *sheet) length() string {
	l := sh.l.Link
	m := sh.words.Short(l.Length.Round(min(l.Length.Places(), 3))) + " m"
	ft := sh.words.Short(quantity.Feet(l.Length)) + " ft"
	if strings.HasSuffix(strings.TrimSpace(l.LengthText), "ft") {
		return ft + " (" + m + ")"
	}
	return m + " (" + ft + ")"
}

// mostChanges is how many changes of one revision are printed; the manifest has all.
const mostChanges = 200

// Changed says the changes of a revision in this wording. A text of an earlier
// program has no code and stays as it is.
func (s *PaperSet) Changed(changes []statement.Statement) (texts []string) {
	for i, c := range changes {
		if i == mostChanges {
			return append(texts, s.words.Count("revisions.more", len(changes)-i))
		}
		texts = append(texts, cmp.Or(s.words.State(c), c.Text))
	}
	return texts
}

// Folded is findings of one verdict that are put in the same words but for their
// wavelengths.
type Folded struct {
	judge.Finding                       // the first of them
	Posed         string                // their question, with all wavelengths
	Questions     []statement.Statement // of each
}

// Fold puts together findings whose questions differ in the wavelength alone: on paper
// they are one point. Findings with numbers stay alone.
func (s *PaperSet) Fold(findings []judge.Finding) []Folded {
	apart := make([]wording.SaidApart, len(findings))
	for i := range findings {
		f := &findings[i]
		apart[i].Text, apart[i].NM = s.PosedApart(f)
		apart[i].With = f.Verdict.String() + "\n" + strings.Join(s.words.States(f.Advice), "\n")
	}
	var out []Folded
	for _, one := range s.words.Together(apart) {
		folded := Folded{Finding: findings[one.Of[0]], Posed: one.Text}
		for _, i := range one.Of {
			folded.Questions = append(folded.Questions, findings[i].Question)
		}
		out = append(out, folded)
	}
	return out
}

// Subject is what a finding is about, in words: "1310 nm, A to B".
func (s *PaperSet) Subject(f judge.Finding) string { return s.words.Subject(claim.Subject(&f)) }
