package certify

import (
	"strings"
)

// letterhead is the contractor, over the title.
func (s *Set) letterhead(f *flow) {
	lines := s.letterheadLines(f)
	if f.logo != nil {
		top := 2.0
		if s.Specimen {
			top = bandTop + bandHeight + 0.75
		}
		h := min(f.logoHeight, max(f.y+f.grid-top, 3))
		w := f.logoWidth * h / f.logoHeight
		f.picture(f.x+f.w-w, max(f.y+f.grid-h, top), w, h, "logo", f.logo)
	}
	for _, line := range lines {
		f.put(f.x, f.base(), f.caption, line)
		f.lines(1)
	}
}

// letterheadLines are the lines of the letterhead, beside the logo.
func (s *Set) letterheadLines(f *flow) []string {
	c := s.Facts.Job.Contractor
	licence := ""
	if c.Licence != "" {
		licence = s.words.Say("letterhead.licence", "n", c.Licence)
	}
	width := f.w
	if f.logo != nil {
		width -= f.logoWidth + 4
	}
	text := strings.Join(unique(c.Name, strings.Join(strings.Fields(c.Address), " "), licence), " · ")
	return f.wrap(f.caption, width, text)
}

// aboveTitle and titleLines are the lines of the grid before the title and for it.
const aboveTitle, titleLines = 0.5, 2.5

// head is the letterhead, the title, by which the outline names the document,
// and the first sentence.
func (s *Set) head(f *flow, title, lead string) {
	s.headNamed(f, title, title, lead)
}

// headNamed is the head of a document that the outline names in other words.
func (s *Set) headNamed(f *flow, name, title, lead string) {
	s.letterhead(f)
	f.lines(aboveTitle)
	style := f.shrink(f.title, 14, f.w, title)
	f.put(f.x, f.y+1.5*f.grid, style, title)
	f.lines(titleLines)
	f.paragraph(f.lead, 1, lead)
	f.space(1)
	f.Bookmark(name, 0)
}

// headHeight is how high the head of a first page is, in lines of the grid.
func (s *Set) headHeight(f *flow, lead string) float64 {
	return float64(len(s.letterheadLines(f))) + aboveTitle + titleLines + float64(len(f.wrap(f.lead, f.w, lead))) + f.gap
}

// again is the head of later pages.
func (s *Set) again(title string) func(f *flow) {
	return func(f *flow) {
		s.letterhead(f)
		f.lines(0.25)
		lines := f.wrap(f.strong, f.w, title)
		for _, line := range lines {
			f.put(f.x, f.base(), f.strong, line)
			f.lines(1)
		}
		end := f.x + f.Width(f.strong, lines[len(lines)-1]) + 3
		if f.part != "" && end+f.Width(f.caption, f.part) <= f.x+f.w {
			f.put(end, f.base()-f.grid, f.caption, f.part)
		}
		f.lines(0.5)
	}
}
