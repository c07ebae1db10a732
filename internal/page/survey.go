package page

import "slices"

// Survey is a Sheet that draws nothing and remembers which characters each
// face sets, so that fonts can be cut down to them beforehand.
type Survey struct {
	paper Paper
	faces [Faces]*Typeface
	page  int
	used  [Faces]map[rune]bool
}

var _ Sheet = (*Survey)(nil)

// NewSurvey returns a survey of documents set in the typefaces.
func NewSurvey(p Paper, faces [Faces]*Typeface) *Survey {
	s := &Survey{paper: p, faces: faces}
	for f := range s.used {
		s.used[f] = map[rune]bool{}
	}
	return s
}

// Reset begins another document.
func (s *Survey) Reset() { s.page = 0 }

// Merge adds what another survey has found.
func (s *Survey) Merge(other *Survey) {
	for f, used := range other.used {
		for r := range used {
			s.used[f][r] = true
		}
	}
}

// Runes returns the characters found, sorted, by face. No face is nil.
func (s *Survey) Runes() (runes [Faces][]rune) {
	for f, used := range s.used {
		runes[f] = make([]rune, 0, len(used))
		for r := range used {
			runes[f] = append(runes[f], r)
		}
		slices.Sort(runes[f])
	}
	return runes
}

func (s *Survey) Text(_, _ float64, style Style, text string) {
	used := s.used[style.Face]
	for _, r := range text {
		used[r] = true
	}
}

func (s *Survey) Paper() Paper    { return s.paper }
func (s *Survey) NextPage()       { s.page++ }
func (s *Survey) PageNumber() int { return s.page }

func (s *Survey) Width(style Style, text string) float64 {
	return s.faces[style.Face].Width(style.Size, text)
}

func (s *Survey) Missing(f Face, text string) []rune { return s.faces[f].Missing(text) }

func (s *Survey) Line(_, _, _, _, _ float64, _ Ink)          {}
func (s *Survey) Fill(_, _, _, _ float64, _ Ink)             {}
func (s *Survey) Frame(_, _, _, _, _ float64, _ Ink)         {}
func (s *Survey) Polygon([]Point, Ink)                       {}
func (s *Survey) Modules(_, _, _ float64, _ [][]bool, _ Ink) {}
func (s *Survey) Picture(_, _, _, _ float64, _ []byte) error { return nil }
func (s *Survey) Bookmark(string, int)                       {}
