// Package superseded makes the sheets of readings that later ones replaced.
//
// Each link that was measured again has one: what was measured first and when, what
// is on record of what was done since, and what it is now. So a first test that did
// not pass has a place of its own in every revision, and nobody need ask for it. The
// sheets lie in superseded/, under the names of the papers of their links; they are
// signed and listed as every paper is, and carry no seal: the record on the paper of
// the link holds the same readings.
package superseded

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"spanseal/internal/certify"
	"spanseal/internal/claim"
	"spanseal/internal/inspection"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/rail"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/statistics"
	"spanseal/internal/wording"
)

// Sheet returns the sheet of a link, or nil where none of its readings was replaced.
func Sheet(s *certify.PaperSet, l *judge.LinkResult) (*certify.Paper, error) {
	if len(l.Superseded) == 0 {
		return nil, nil
	}
	sh := &sheet{PaperSet: s, words: s.Words(), l: l, places: max(2, claim.LossesOf(l).Places)}
	w := sh.words
	title := w.Say("superseded.title")
	r := sh.rail()
	return s.NewDocument(s.SupersededPath(l), title+" "+s.CertificateNumber(l.Link.ID), func(f *layout.Flow) {
		f.DrawRail, f.Outline = r.Draw, true
		f.DrawHead = s.Again(w.Say("document.continued", "title", title+" "+s.CertificateNumber(l.Link.ID)))
		f.Start()
		s.Head(f, title, strings.Join(w.States(s.Replaced(l)), " "))
		sh.readings(f)
		sh.done(f)
		sh.now(f)
		sh.read(f)
		s.Signatures(f)
		s.SmallPrint(f, w.Say("superseded.note")+" "+w.Say("small.records")+" "+w.Say("small.live"))
	}), nil
}

// sheet is the sheet of a link while it is drawn.
type sheet struct {
	*certify.PaperSet
	words  *wording.Wording
	l      *judge.LinkResult
	places int
}

func (sh *sheet) rail() *rail.Rail {
	w, job, l := sh.words, &sh.Facts.Job, sh.l
	return &rail.Rail{
		Words: w, Specimen: sh.Specimen, Treatment: rail.Bare, Word: w.Say("superseded.word"), Under: w.Say("rail.beside"), Key: sh.Key(),
		Below: []layout.Field{{Caption: w.Say("superseded.counts_not")}},
		Name:  layout.Field{Caption: w.Say("rail.link"), Value: l.Link.ID},
		Fields: []layout.Field{
			{Caption: w.Say("rail.revision"), Value: w.Whole(sh.Revision)},
			{Caption: w.Say("superseded.first_measured"), Value: sh.Measured(l.Superseded)},
			{Caption: w.Say("rail.measured"), Value: sh.Measured(l.Readings)},
			{Caption: w.Say("rail.issued"), Value: w.Day(sh.IssuedOn())},
			{Caption: w.Say("rail.job"), Value: wording.Comma(job.Site.Name, job.Title)},
			{Caption: w.Say("rail.customer"), Value: job.Customer.Name},
		},
	}
}

func (sh *sheet) when(t time.Time) string {
	at := sh.Local(t)
	if at.IsZero() {
		return ""
	}
	return strings.TrimSpace(sh.words.ShortDay(record.DateOf(at), sh.IssuedOn()) + " " + wording.Clock(at))
}

// readings is every reading that was replaced, beside the one that counts now.
func (sh *sheet) readings(f *layout.Flow) {
	w := sh.words
	f.Section(w.Say("superseded.readings"), float64(min(len(sh.l.Superseded), 6))+1, w.Say("superseded.remark"))
	var rows [][]layout.Cell
	for i := range sh.l.Superseded {
		r := &sh.l.Superseded[i]
		row := layout.Cells(f.Body, w.Subject(statement.Subject{Quantity: r.Quantity, NM: r.WavelengthNM, Way: r.Direction, Event: r.Event}),
			sh.value(r), "–", "", sh.when(r.Time), wording.Comma(r.Instrument, sh.Person(r.Person)), "–")
		if bound := statistics.TightestLimit(sh.l, r); bound != nil {
			row[2].Text, row[3].Text = sh.Allowed(*bound, sh.placesOf(r)), w.Say("superseded.within")
		}
		if over := statistics.MissedLimit(sh.l, r); over != nil {
			row[2].Text, row[3].Text, row[3].Style = sh.Allowed(*over, sh.placesOf(r)), w.Fixed(r.Value.Sub(over.Working.Limit), sh.placesOf(r)), f.Alarm()
			if r.Shown != "" { // the number only stands for it
				row[3].Text = w.Say("superseded.over")
			}
		}
		now := slices.Concat(sh.l.Readings, sh.l.Stages)
		if k := slices.IndexFunc(now, func(n record.Reading) bool {
			return stageOf(&n) == stageOf(r) && n.Quantity == r.Quantity && n.WavelengthNM == r.WavelengthNM && n.Direction == r.Direction && n.Event == r.Event
		}); k >= 0 {
			row[6] = layout.Cell{Text: sh.value(&now[k]), Style: f.Strong}
		}
		rows = append(rows, row)
	}
	f.Table([]layout.Column{{Name: w.Say("superseded.reading"), Wrap: true}, {Name: w.Say("readings.measured"), Right: true}, {Name: w.Say("readings.allowed"), Right: true},
		{Name: w.Say("wrong.by"), Right: true}, {Name: w.Say("superseded.when")}, {Name: w.Say("superseded.by"), Wrap: true}, {Name: w.Say("superseded.now"), Right: true}}, rows)
}

// stageOf is the stage of the work that a reading is of, "" for that of the paper.
func stageOf(r *record.Reading) record.Stage {
	if r.Method == nil {
		return ""
	}
	return r.Method.Stage
}

// placesOf is how many decimals a reading and what is allowed of it are printed with.
func (sh *sheet) placesOf(r *record.Reading) int {
	if r.Quantity != record.InsertionLoss {
		return max(1, r.Value.Places())
	}
	return max(sh.places, r.Value.Places())
}

func (sh *sheet) value(r *record.Reading) string {
	if r.Shown != "" {
		return r.Shown
	}
	return sh.words.Fixed(r.Value, sh.placesOf(r))
}

// done is what is on record of what happened between the first of the readings that were
// replaced and the last that counts.
func (sh *sheet) done(f *layout.Flow) {
	w := sh.words
	var from time.Time
	for _, r := range sh.l.Superseded {
		if !r.Time.IsZero() && (from.IsZero() || r.Time.Before(from)) {
			from = r.Time
		}
	}
	to := record.Last(sh.l.Readings).Time
	between := func(t time.Time) bool {
		return !t.IsZero() && !from.IsZero() && !record.Latest(t).Before(from) && !t.After(to)
	}
	var done []string
	end := func(name string) string {
		if name == "" {
			return w.Say("terminations.span")
		}
		return w.Say("end.name", "end", name)
	}
	for _, t := range sh.l.Terminations {
		if between(t.Finished) {
			done = append(done, wording.UpperFirst(wording.Comma(end(t.End), w.Known("made", t.Kind), w.Say("superseded.finished", "when", sh.when(t.Finished)), sh.Person(t.Person))))
		}
	}
	for k := range sh.l.Inspections {
		if i := &sh.l.Inspections[k]; between(i.Time) {
			done = append(done, wording.UpperFirst(wording.Comma(end(i.End), w.Say("photos.face", "outcome", w.EndFace(i.Result)), inspection.Criterion(i), sh.when(i.Time), sh.Person(i.Person))))
		}
	}
	noted := map[string]bool{}
	for _, r := range slices.Concat(sh.l.Superseded, sh.l.Readings) {
		if note := strings.TrimRight(r.Note, "."); note != "" && !noted[note] {
			noted[note] = true
			done = append(done, w.Say("superseded.noted", "reading", w.Row(r.Origin), "note", note))
		}
	}
	if done = wording.Distinct(done...); len(done) == 0 {
		done = []string{w.Say("superseded.nothing")}
	}
	f.Section(w.Say("superseded.done"), 2)
	f.List(done)
}

// now is the paper on which the link stands, and what it says.
func (sh *sheet) now(f *layout.Flow) {
	w := sh.words
	f.Section(w.Say("superseded.stands"), 2)
	f.Fields(3,
		layout.Field{Caption: w.Say("links.verdict"), Value: w.Say("open." + sh.l.Verdict.String())},
		layout.Field{Caption: w.Say("superseded.paper"), Value: sh.PathOf(sh.l)},
		layout.Field{Caption: w.Say("rail.measured"), Value: sh.Measured(sh.l.Readings)},
	)
}

// read names the rows that the readings were transcribed from.
func (sh *sheet) read(f *layout.Flow) {
	w := sh.words
	var places []string
	for _, r := range sh.l.Superseded {
		places = append(places, fmt.Sprintf("%s, SHA-256 %s", w.Row(r.Origin), wording.Abbreviate(r.Origin.SHA256)))
	}
	f.Section(w.Say("superseded.read"), 2)
	f.List(wording.Distinct(places...))
}
