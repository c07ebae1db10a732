package certify

import (
	"spanseal/internal/layout"
	"spanseal/internal/page"
)

// bandTop and bandHeight are where the band stands at the head of a specimen.
const bandTop, bandHeight = 4.0, 5.0

// band marks a page at its head and foot, where a set is for approval only.
func (s *Set) band(f *layout.Flow) {
	if !s.Specimen {
		return
	}
	text := s.words.Say("specimen.word") + " · " + s.words.Say("specimen.band")
	style := f.Shrink(page.Style{Face: page.Bold, Size: f.Caption.Size, Ink: f.Rust}, 4, f.W-4, text)
	band := func(y float64) {
		f.Frame(f.X, y, f.W, bandHeight, 0.5, f.Rust)
		f.Put(f.X+2, y+3.3, style, text)
	}
	f.Together(func() { band(bandTop) })
	f.Aside(func() { band(f.Paper().Height - bandTop - bandHeight) })
}
