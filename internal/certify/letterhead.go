package certify

import (
	"strings"

	"spanseal/internal/layout"
	"spanseal/internal/rail"
	"spanseal/internal/wording"
)

// letterhead is the contractor, over the title.
func (s *PaperSet) letterhead(f *layout.Flow) {
	lines := s.letterheadLines(f)
	if f.Logo != nil {
		top := 2.0
		if s.Specimen {
			top = rail.BelowBand + 0.75
		}
		h := min(f.LogoHeight, max(f.Y+f.Grid-top, 3))
		w := f.LogoWidth * h / f.LogoHeight
		f.Illustrate(s.words.Say("figure.logo", "name", s.Facts.Job.Contractor.Name), func() {
			f.PutPicture(f.X+f.W-w, max(f.Y+f.Grid-h, top), w, h, "logo", f.Logo)
		})
	}
	f.Together(func() {
		for _, line := range lines {
			f.Put(f.X, f.Base(), f.Caption, line)
			f.Lines(1)
		}
	})
}

// letterheadLines are the lines of the letterhead, beside the logo.
func (s *PaperSet) letterheadLines(f *layout.Flow) []string {
	c := s.Facts.Job.Contractor
	licence := ""
	if c.Licence != "" {
		licence = s.words.Say("letterhead.licence", "n", c.Licence)
	}
	width := f.W
	if f.Logo != nil {
		width -= f.LogoWidth + 4
	}
	text := strings.Join(wording.Distinct(c.Name, strings.Join(strings.Fields(c.Address), " "), licence), " · ")
	return f.Wrap(f.Caption, width, text)
}

// aboveTitle and titleLines are the lines of the grid before the title and for it.
const aboveTitle, titleLines = 0.5, 2.5

// Head is the letterhead, the title, by which the outline names the document,
// and the first sentence.
func (s *PaperSet) Head(f *layout.Flow, title, lead string) {
	s.headNamed(f, title, title, lead)
}

// headNamed is the head of a document that the outline names in other words.
func (s *PaperSet) headNamed(f *layout.Flow, name, title, lead string) {
	s.letterhead(f)
	f.Lines(aboveTitle)
	style := f.Shrink(f.Title, 14, f.W, title)
	f.Titled(func() { f.Put(f.X, f.Y+1.5*f.Grid, style, title) })
	f.Lines(titleLines)
	f.Paragraph(f.Lead, 1, lead)
	f.DrawRail(f) // it is read behind the first sentence
	f.Space(1)
	f.Bookmark(name, 0)
}

// headHeight is how high the head of a first page is, in lines of the grid.
func (s *PaperSet) headHeight(f *layout.Flow, lead string) float64 {
	return float64(len(s.letterheadLines(f))) + aboveTitle + titleLines + float64(len(f.Wrap(f.Lead, f.W, lead))) + f.Gap
}

// Again is the head of later pages.
func (s *PaperSet) Again(title string) func(f *layout.Flow) {
	return func(f *layout.Flow) {
		s.letterhead(f)
		f.Lines(0.25)
		lines := f.Wrap(f.Strong, f.W, title)
		for _, line := range lines {
			f.Put(f.X, f.Base(), f.Strong, line)
			f.Lines(1)
		}
		end := f.X + f.Width(f.Strong, lines[len(lines)-1]) + 3
		if f.Part != "" && end+f.Width(f.Caption, f.Part) <= f.X+f.W {
			f.Put(end, f.Base()-f.Grid, f.Caption, f.Part)
		}
		f.Lines(0.5)
	}
}
