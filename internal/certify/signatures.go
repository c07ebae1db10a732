package certify

import (
	"cmp"
	"slices"

	"spanseal/internal/form"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
)

func (sh *sheet) signatures(f *layout.Flow) { sh.PaperSet.Signatures(f) }

// Signatures are three places to sign: the contractor's is the digital one.
func (s *PaperSet) Signatures(f *layout.Flow) {
	const gutter = 6.0
	width := (f.W - 2*gutter) / 3
	f.Space(0.5)
	f.Need(3.5 * f.Grid)
	top := f.Y
	f.Lines(2)
	digital := func() {
		f.Mark = &layout.SigningPlace{Page: f.PageNumber(), Box: page.Box{X: f.X, Y: top, W: width, H: 2 * f.Grid}}
		f.Put(f.X, f.Y-0.9*f.Grid, f.Shrink(f.Strong, 6, width, s.Signer.Name), s.Signer.Name)
		digital := s.words.Say("sign.digital", "key", s.Signer.KeyID)
		f.Put(f.X, f.Y-0.25*f.Grid, f.Shrink(f.Small, 4.5, width, digital), digital)
	}
	signed := !s.Specimen && s.Signer.Name != ""
	if signed {
		f.SignedHere(s.words.Say("sign.field", "name", s.Signer.Name))
	}
	const day = 0.73 // of a line, where the place for the date begins
	captions := []string{s.words.Say("sign.contractor"), s.words.Say("sign.engineer"), s.words.Say("sign.owner")}
	small := f.Style.Small // of all three
	for i, caption := range captions {
		room := width - f.Width(small, s.words.Day(s.IssuedOn())) - 2
		if i > 0 {
			room = day*width - 2
		}
		small = f.Shrink(small, 4.5, room, caption)
	}
	for i, caption := range captions {
		x := f.X + float64(i)*(width+gutter)
		f.Begin(page.Element{Role: page.Paragraph})
		if i == 0 && signed {
			digital()
		}
		if i == 0 {
			f.Line(x, f.Y, x+width, f.Y, 0.3, f.Ink)
		} else { // a name and a day are written by hand
			f.Line(x, f.Y, x+day*width-2, f.Y, 0.3, f.Ink)
			f.Line(x+day*width, f.Y, x+width, f.Y, 0.3, f.Ink)
		}
		if s.Specimen { // nobody signs it by hand either
			word := page.Style{Face: page.Medium, Size: f.Style.Heading.Size, Ink: f.Rust}
			f.Put(x, f.Y-0.4*f.Grid, word, s.words.Say("specimen.word"))
		}
		f.Put(x, f.Y+0.8*f.Grid, small, caption)
		switch {
		case i > 0:
			f.Put(x+day*width, f.Y+0.8*f.Grid, small, s.words.Say("sign.day"))
		case signed:
			f.PutRight(x+width, f.Y+0.8*f.Grid, small, s.words.Day(s.IssuedOn()))
		}
		f.Finish()
	}
	f.Lines(1.5)
}

// smallPrint says where the original lies and what the paper does not prove.
func (sh *sheet) smallPrint(f *layout.Flow) {
	w := sh.words
	type file struct {
		name, sum string
		rows      []string
	}
	var from []*file
	for r := range form.EveryReading(sh.l) {
		i := slices.IndexFunc(from, func(o *file) bool { return o.name == r.Origin.File })
		if i < 0 {
			from = append(from, &file{name: r.Origin.File, sum: r.Origin.SHA256})
			i = len(from) - 1
		}
		row := r.Origin.Cell
		if row == "" {
			row = w.Whole(r.Origin.Row)
		}
		if !slices.Contains(from[i].rows, row) {
			from[i].rows = append(from[i].rows, row)
		}
	}
	var origins []string
	for _, o := range from {
		slices.SortFunc(o.rows, func(a, b string) int { return cmp.Or(cmp.Compare(len(a), len(b)), cmp.Compare(a, b)) }) // 9 before 10
		origins = append(origins, w.Count("small.rows", len(o.rows), "file", o.name, "rows", w.List(o.rows), "sha", wording.Abbreviate(o.sum)))
	}
	live := w.Say("small.live")
	if !sh.l.Verdict.Certifiable() { // somebody will work on this link again
		live += " " + w.Say("small.rework")
	}
	text := w.Say("small.records") + " " + live + " " + w.Say("small.codes")
	if sh.Facts.Job.Warranty != nil {
		text += " " + w.State(statement.New("warranty.falsified"))
	}
	if len(origins) > 0 && !sh.Specimen {
		text = w.Say("small.transcribed", "origins", w.List(origins)) + " " + text
	}
	if sources := sh.otherSources(); sources != "" {
		text = sources + " " + text
	}
	if unjudged := sh.unjudged(); unjudged != "" && len(sh.l.Readings) > 0 {
		text = unjudged + " " + text
	}
	sh.PaperSet.SmallPrint(f, text)
}

// SmallPrint sets small print.
func (s *PaperSet) SmallPrint(f *layout.Flow, text string) {
	const leading = 0.66
	lines := f.Wrap(f.Style.Small, f.W, text)
	f.Need(leading * f.Grid * float64(min(len(lines), 8)))
	f.Paragraph(f.Style.Small, leading, text)
}
