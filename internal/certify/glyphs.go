package certify

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/text/unicode/bidi"
	"golang.org/x/text/unicode/norm"

	"spanseal/internal/diag"
	"spanseal/internal/judge"
	"spanseal/internal/page"
	"spanseal/internal/record"
)

// signs are the characters that the code itself puts on paper.
const signs = " 0123456789.,:;·–−-+±×=≥≈()[]/*…\"'%" +
	"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"

// told is a text that goes on paper, and where it was written.
type told struct {
	text  string
	place diag.Place
}

// texts are every foreign text that documents print, each where it stands
// first.
func (s *Set) texts(yield func(told) bool) {
	seen, more := map[string]bool{"": true}, true
	add := func(t told) {
		if more && !seen[t.text] {
			seen[t.text] = true
			more = yield(t)
		}
	}
	for _, t := range s.also {
		add(t)
	}
	at := func(o record.Origin, texts ...string) {
		for _, t := range texts {
			add(told{t, diag.Place{File: o.File, Line: o.Row, Column: o.Column, Cell: o.Cell}})
		}
	}
	job := &s.Facts.Job
	from := job.Origin
	if from.File == "" {
		from.File = "job.yaml"
	}
	at(from, job.Number, job.Title, job.Invoice, job.Stage, job.Witness, string(job.Policy.Reference))
	for _, p := range []record.Party{job.Site, job.Customer, job.Contractor} {
		at(from, p.Name, p.Address, p.Order, p.Licence)
	}
	for _, p := range job.People {
		at(from, p.ID, p.Name, p.Role, p.Qualification)
	}
	for _, i := range job.Instruments {
		at(from, i.ID, i.Kind, i.Make, i.Model, i.Serial)
	}
	for _, c := range job.Cables {
		at(from, c.ID, c.Description, c.Reel)
	}
	shown := map[*judge.Working]bool{} // links that are alike share them
	for i := range s.Judgement.Links {
		r := &s.Judgement.Links[i]
		l := &r.Link
		at(l.Origin, l.ID, l.Cable, l.Tube, l.Strand, l.From, l.To, l.Fibre, l.EndA.Text, l.EndB.Text, l.Pair, l.Polarity, l.Exempt, l.Stage)
		for _, readings := range [][]record.Reading{r.Readings, r.Superseded} {
			for k := range readings {
				one := &readings[k]
				at(one.Origin, one.Instrument, one.Source, one.Person, one.Event, one.Origin.File)
			}
		}
		for _, t := range r.Terminations {
			at(t.Origin, t.Kind, t.Lot, t.Person, t.End)
		}
		for k := range r.Findings {
			f := &r.Findings[k]
			at(l.Origin, f.Question, f.Code, f.End, f.Event)
			at(l.Origin, f.Advice...)
			if f.Working != nil && !shown[f.Working] {
				shown[f.Working] = true
				at(record.Origin{File: f.Working.SetID}, f.Working.Standard, f.Working.Edition, f.Working.SetID)
				for _, t := range f.Working.Terms {
					at(record.Origin{File: f.Working.SetID}, t.Clause, t.Label, string(t.RateUnit), string(t.AmountUnit), t.Provenance)
				}
			}
		}
		for _, c := range r.Carries {
			at(l.Origin, c.Title)
		}
	}
	for _, set := range s.Judgement.Sets {
		at(record.Origin{File: set.File}, set.ID, set.Standard, set.Edition, set.Confirmed)
	}
	for _, q := range s.Judgement.Questions {
		at(from, q.Question, q.Code)
	}
	for _, p := range s.Facts.Photos {
		at(p.Origin, p.Origin.File)
	}
	at(from, job.Pay.Currency)
	for _, item := range job.Pay.Items {
		at(from, item.Line, item.Title, item.Fibre, item.Cable)
	}
	for _, a := range s.Facts.Accounts {
		at(record.Origin{File: a.File}, a.File)
	}
	at(record.Origin{File: "key"}, s.Signer.Name, s.Signer.Organisation, s.Signer.KeyID)
	for _, r := range append(slices.Clone(s.History), Revision{Reason: s.Reason, Changes: s.Changes}) {
		at(from, append([]string{r.Reason}, r.Changes...)...)
	}
	for _, key := range slices.Sorted(maps.Keys(s.words.texts)) {
		e := s.words.texts[key]
		for _, one := range append([]entry{e}, e.list...) {
			add(told{one.text, one.place})
		}
	}
}

// Runes returns every character that the documents of the set may use, sorted:
// what a subset of the typefaces must hold.
func (s *Set) Runes() []rune {
	seen := map[rune]bool{}
	for _, r := range signs {
		seen[r] = true
	}
	for t := range s.texts {
		for _, r := range norm.NFC.String(t.text) + strings.ToUpper(t.text) {
			if r >= ' ' {
				seen[r] = true
			}
		}
	}
	return slices.Sorted(maps.Keys(seen))
}

// checkGlyphs refuses, before anything is written, text that could not be set:
// characters that a typeface lacks would come out as boxes, and text that runs
// from right to left would come out backwards.
func (s *Set) checkGlyphs(problems *diag.List) {
	for t := range s.texts {
		text := strings.Map(func(r rune) rune {
			if r == '\n' {
				return ' '
			}
			return r
		}, norm.NFC.String(t.text))
		if r, ok := rightToLeft(text); ok {
			problems.Add(diag.Problem{Code: "right-to-left", Place: t.place,
				Message: fmt.Sprintf("%s has the character %s of a script that runs from right to left", strconv.Quote(text), name(r)),
				Because: []string{"documents are set from left to right; the text would come out backwards"},
				Mend:    "write the name in a left-to-right script as well as on the drawing, such as a transliteration"})
			continue
		}
		var missing []rune
		for _, face := range []page.Face{page.Regular, page.Medium, page.Bold, page.Italic} {
			missing = append(missing, s.Glyphs.Missing(face, text)...)
		}
		if slices.Sort(missing); len(missing) > 0 {
			problems.Add(diag.Problem{Code: "missing-glyph", Place: t.place,
				Message: fmt.Sprintf("%s has the character %s, for which the typefaces have no glyph", strconv.Quote(text), name(missing[0])),
				Mend:    "name a typeface file that has it under typefaces in documents/style.yaml, or write it in another script"})
		}
	}
}

func rightToLeft(text string) (rune, bool) {
	for _, r := range text {
		p, _ := bidi.LookupRune(r)
		if c := p.Class(); c == bidi.R || c == bidi.AL {
			return r, true
		}
	}
	return 0, false
}

func name(r rune) string { return fmt.Sprintf("%q (%U)", r, r) }
