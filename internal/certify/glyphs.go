package certify

import (
	"bytes"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/unicode/bidi"
	"golang.org/x/text/unicode/norm"

	"spanseal/internal/diag"
	"spanseal/internal/judge"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/template"
)

// signs are the characters that the code itself puts on paper.
const signs = " 0123456789.,:;·–−-+±×=≥≈()[]/*…\"'%" +
	page.SoftHyphen + // the hyphen of a word that is parted
	"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz"

// told is a text that goes on paper, and where it was written: a place, or a key
// of job.yaml such as "job.site.name".
type told struct {
	text  string
	place diag.Place
	key   string
}

// texts are every foreign text that documents print, each where it stands
// first.
func (s *PaperSet) texts(yield func(told) bool) {
	seen, more := map[string]bool{"": true}, true
	add := func(t told) {
		if more && !seen[t.text] {
			seen[t.text] = true
			more = yield(t)
		}
	}
	for _, t := range s.Also {
		add(told{text: t.Text, place: t.Place})
	}
	for _, text := range s.words.States(s.Said) {
		add(told{text: text, place: diag.Place{File: "comparison"}})
	}
	at := func(o record.Origin, texts ...string) {
		for _, t := range texts {
			add(told{text: t, place: diag.Place{File: o.File, Line: o.Row, Column: o.Column, Cell: o.Cell}})
		}
	}
	from := func(o record.Origin) { // as the small print cites it: the file, and the sheet's name in front of "!A2"
		add(told{text: o.File, place: diag.Place{File: o.File}})
		if i := strings.LastIndexByte(o.Cell, '!'); i >= 0 {
			at(o, o.Cell[:i+1])
		}
	}
	job := &s.Facts.Job
	own := job.Origin
	if own.File == "" {
		own.File = "job.yaml"
	}
	key := func(group string, pairs ...string) { // of a key and its text
		for i := 0; i < len(pairs); i += 2 {
			add(told{pairs[i+1], diag.Place{File: own.File}, group + "." + pairs[i]})
		}
	}
	item := func(list string, i int) string { return list + "[" + strconv.Itoa(i) + "]" }
	key("job", "number", job.Number, "title", job.Title, "invoice", job.Invoice, "stage", job.Stage, "witness", job.Witness)
	key("documents", "name", job.Documents.Name) // in the names of papers that others cite
	key("judge", "reference", string(job.Policy.Reference), "launch", job.Policy.Launch, "software", job.Policy.Software)
	for i, v := range job.Witnesses {
		key(item("job.witness", i), "who", v.Who)
	}
	for i, p := range []record.Party{job.Site, job.Customer, job.Contractor} {
		key("job."+[]string{"site", "customer", "contractor"}[i], "name", p.Name, "address", p.Address, "order", p.Order, "licence", p.Licence)
	}
	for i, p := range job.People {
		key(item("people", i), "id", p.ID, "name", p.Name, "role", p.Role, "qualification", p.Qualification)
	}
	for i, one := range job.Instruments {
		key(item("instruments", i), "id", one.ID, "kind", one.Kind, "make", one.Make, "model", one.Model, "serial", one.Serial)
	}
	for i, c := range job.Cables {
		key(item("cables", i), "id", c.ID, "description", c.Description, "reel", c.Reel)
	}
	if job.Warranty != nil {
		key("job.warranty", "registration", job.Warranty.Registration)
	}
	for i, t := range job.Trunks {
		key(item("trunks", i), "id", t.ID, "description", t.Description, "from", t.From, "to", t.To, "method", t.Method)
	}
	if c := job.Colours; c != nil {
		key("colours", "title", c.Title)
		for i, h := range c.Sequence {
			key("colours", "sequence["+strconv.Itoa(i)+"]", h.String())
		}
	}
	shown := map[*judge.Working]bool{} // links that are alike share them
	for i, r := range s.Judgement.Results() {
		s.weigh(i, r)
		l := r.Link
		at(l.Origin, l.ID, l.Cable, l.Tube, l.Strand, l.From, l.To, l.Fibre, l.EndA.Text, l.EndB.Text, l.Pair, l.Polarity, l.Exempt, l.Stage, l.Leg)
		for _, one := range s.printable(l.Names) {
			at(l.Origin, one.Key, one.Text)
		}
		if t := l.Terms; t != nil {
			at(l.Origin, t.Witness)
			if t.Method != nil {
				at(l.Origin, t.Method.Launch, t.Method.Software)
			}
			for _, reason := range t.NotAt {
				at(l.Origin, reason)
			}
		}
		for _, readings := range [][]record.Reading{r.Readings, r.Superseded, r.Stages} {
			for k := range readings {
				one := &readings[k]
				at(one.Origin, one.Instrument, one.Source, one.Person, one.Event, one.Note, one.Shown)
				if one.Method != nil {
					at(one.Origin, one.Method.Launch, one.Method.Software)
				}
				from(one.Origin)
			}
		}
		for _, t := range r.Terminations {
			at(t.Origin, t.Kind, t.Lot, t.Person, t.End)
		}
		for _, one := range r.InstrumentFiles {
			from(record.Origin{File: one.File})
		}
		for _, one := range r.Inspections {
			at(one.Origin, one.Criterion, one.Edition, one.Person)
		}
		for k := range r.Findings {
			f := &r.Findings[k]
			at(l.Origin, s.words.State(f.Question), f.Code, f.End, f.Event)
			at(l.Origin, s.words.States(f.Advice)...)
			if f.Working != nil && !shown[f.Working] {
				shown[f.Working] = true
				set := record.Origin{File: s.setFile(f.Working.SetID)}
				at(set, f.Working.Standard, f.Working.Edition, f.Working.SetID)
				for _, t := range f.Working.Terms {
					at(set, t.Clause, t.Label, string(t.RateUnit), string(t.AmountUnit), t.Provenance)
				}
			}
		}
		for _, c := range r.Carries {
			at(l.Origin, c.Title)
		}
	}
	for _, set := range s.Judgement.Sets {
		at(record.Origin{File: set.File}, set.ID, set.Title, set.Standard, set.Edition, set.Confirmed, s.words.State(set.Confirmation))
	}
	for _, q := range s.Judgement.Questions {
		at(own, s.words.State(q.Question), q.Code)
	}
	for _, p := range s.Facts.Photos {
		from(p.Origin)
	}
	key("pay", "currency", job.Pay.Currency)
	for i, one := range job.Pay.Releases {
		key(item("pay.releases", i), "reason", one.Reason)
	}
	for i, one := range job.Pay.Items {
		key(item("pay.items", i), "line", one.Line, "title", one.Title, "fibre", one.Fibre, "cable", one.Cable)
	}
	for _, a := range s.Facts.Accounts {
		from(record.Origin{File: a.File})
	}
	at(record.Origin{File: "key"}, s.Signer.Name, s.Signer.Organisation, s.Signer.KeyID)
	for _, r := range append(slices.Clone(s.History), HistoryLine{Reason: s.Reason, Changes: s.Changes}) {
		at(record.Origin{File: "--reason"}, append(s.Changed(r.Changes), r.Reason)...)
	}
	for _, key := range slices.Sorted(maps.Keys(s.words.Texts)) {
		e := s.words.Texts[key]
		if strings.HasPrefix(key, checkTexts) {
			continue // a browser has typefaces of its own
		}
		for _, one := range append([]template.Entry{e}, e.List...) {
			add(told{text: one.Text, place: one.Place})
		}
	}
}

// Runes returns every character that the documents of the set may use, sorted:
// what a subset of the typefaces must hold.
func (s *PaperSet) Runes() []rune {
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
func (s *PaperSet) checkGlyphs(problems *diag.List) {
	for t := range s.texts {
		text := strings.Map(func(r rune) rune {
			if r == '\n' {
				return ' '
			}
			return r
		}, norm.NFC.String(t.text))
		if r, ok := rightToLeft(text); ok {
			problems.Add(diag.Problem{Code: "right-to-left", Place: s.placeOf(t),
				Message: fmt.Sprintf("%s has the right-to-left character %s", strconv.Quote(text), name(r)),
				Because: []string{"documents are set from left to right; the text would come out backwards"},
				Fix:     "write the name in a left-to-right script as well as on the drawing, such as a transliteration"})
			continue
		}
		var missing []rune
		for _, face := range []page.Face{page.Regular, page.Medium, page.Bold, page.Italic} {
			missing = append(missing, s.Glyphs.Missing(face, text)...)
		}
		if strings.ContainsRune(text, utf8.RuneError) { // it stands for a byte that was none
			missing = append(missing, utf8.RuneError)
		}
		if slices.Sort(missing); len(missing) > 0 {
			problems.Add(diag.Problem{Code: "missing-glyph", Place: s.placeOf(t),
				Message: fmt.Sprintf("%s has the character %s, for which the typefaces have no glyph", strconv.Quote(text), name(missing[0])),
				Fix:     "name a typeface file that has it under typefaces in documents/style.yaml, or write it in another script"})
		}
	}
}

// printable are the names and further columns of a link that the typefaces can set. The
// others stand in the record: a column that nobody has to read on paper refuses no job.
func (s *PaperSet) printable(n *record.Names) []record.GivenName {
	given, further := n.Given()
	return slices.DeleteFunc(slices.Concat(given, further), func(one record.GivenName) bool {
		text := norm.NFC.String(one.Key + one.Text)
		if _, backwards := rightToLeft(text); backwards || strings.ContainsRune(text, utf8.RuneError) {
			return true
		}
		return slices.ContainsFunc([]page.Face{page.Regular, page.Medium, page.Bold, page.Italic}, func(face page.Face) bool {
			return len(s.Glyphs.Missing(face, text)) > 0
		})
	})
}

// placeOf is where a text stands: of a row, its characters in the line; of a
// file read as a whole, the first line that has it; of job.yaml, its key.
func (s *PaperSet) placeOf(t told) diag.Place {
	if t.key != "" && s.PlaceOf != nil {
		return s.PlaceOf(t.key)
	}
	f := s.files[t.place.File]
	if f == nil || t.place.Cell != "" {
		return t.place
	}
	if t.place.Line == 0 {
		if at := bytes.Index(f.Text, []byte(t.text)); at >= 0 {
			return diag.At(f, source.Span{Start: at, End: at + len(t.text)})
		}
		return t.place
	}
	before, _, ok := strings.Cut(f.Line(t.place.Line), t.text)
	if !ok {
		return diag.AtLine(f, source.Position{Line: t.place.Line, Column: max(t.place.Column, 1)}, 1)
	}
	return diag.AtLine(f, source.Position{Line: t.place.Line, Column: utf8.RuneCountInString(before) + 1}, utf8.RuneCountInString(t.text))
}

// setFile is the file of a limit set.
func (s *PaperSet) setFile(id string) string {
	for _, set := range s.Judgement.Sets {
		if set.ID == id && set.File != "" {
			return set.File
		}
	}
	return id
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
