package rail

import (
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/wording"
)

// bandTop and bandHeight are where the band stands at the head of a specimen.
const bandTop, bandHeight = 4.0, 5.0

// BelowBand is where the band at the head ends.
const BelowBand = bandTop + bandHeight

// band marks a page at its head and foot, where a set is for approval only.
func (r *Rail) band(f *layout.Flow) {
	if !r.Specimen {
		return
	}
	text := r.Words.Say("specimen.word") + " · " + r.Words.Say("specimen.band")
	style := f.Shrink(page.Style{Face: page.Bold, Size: f.Caption.Size, Ink: f.Rust}, 4, f.W-4, text)
	band := func(y float64) {
		f.Frame(f.X, y, f.W, bandHeight, 0.5, f.Rust)
		f.Put(f.X+2, y+3.3, style, text)
	}
	f.Together(func() { band(bandTop) })
	f.Aside(func() { band(f.Paper().Height - bandTop - bandHeight) })
}

// NoSymbol is a hatched box where a specimen has no symbol.
func NoSymbol(f *layout.Flow, w *wording.Wording, x, y, side float64) {
	f.Begin(page.Element{Role: page.Figure, Alt: w.Say("figure.no_symbol")})
	defer f.Finish()
	f.Hatch(x, y, side, side, 2.4, 0.5, f.Hair)
	f.Frame(x, y, side, side, 0.4, f.Ink)
	word := w.Say("specimen.word")
	style := f.Shrink(f.Strong, 5, side-4, word)
	width := f.Width(style, word)
	f.Fill(x+(side-width)/2-1, y+side/2-3, width+2, 5, layout.White)
	f.Put(x+(side-width)/2, y+side/2+0.7, style, word)
}
