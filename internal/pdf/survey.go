package pdf

import (
	"strings"

	"spanseal/internal/page"
)

// survey is a Sheet that draws nothing and remembers which characters each
// face sets.
type survey struct {
	press *Press
	pages int
	used  [page.Faces]map[rune]bool
}

func (p *Press) survey() *survey {
	s := &survey{press: p}
	for f := range s.used {
		s.used[f] = map[rune]bool{}
	}
	return s
}

func (s *survey) Text(_, _ float64, style page.Style, text string) {
	used := s.used[style.Face]
	for _, r := range strings.TrimSuffix(text, page.Joint) {
		used[r] = true
	}
	used[' '] = true // it goes between texts of one element
}

func (s *survey) Paper() page.PaperSize { return s.press.paper }
func (s *survey) NextPage()             { s.pages++ }
func (s *survey) PageNumber() int       { return s.pages }

func (s *survey) Width(style page.Style, text string) float64 {
	return s.press.faces[style.Face].Width(style.Size, text)
}

func (s *survey) Missing(f page.Face, text string) []rune { return s.press.faces[f].Missing(text) }

func (s *survey) Line(_, _, _, _, _ float64, _ page.Ink)          {}
func (s *survey) Fill(_, _, _, _ float64, _ page.Ink)             {}
func (s *survey) Frame(_, _, _, _, _ float64, _ page.Ink)         {}
func (s *survey) Polygon([]page.Point, page.Ink)                  {}
func (s *survey) Modules(_, _, _ float64, _ [][]bool, _ page.Ink) {}
func (s *survey) Picture(_, _, _, _ float64, _ []byte) error      { return nil }
func (s *survey) Bookmark(string, int)                            {}
func (s *survey) Begin(page.Element)                              {}
func (s *survey) Finish()                                         {}
