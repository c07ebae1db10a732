package trunk

import (
	"strconv"

	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/polarity"
)

// face is where the squares of a connector stand on paper, key up.
type face struct {
	x, y, side, pitch float64
	row               int // places in a row
}

// middle is the middle of a place at the top or the bottom of the face. Lines of a
// second row begin beside those of the first.
func (c face) middle(place, rows int) float64 {
	x := c.x + (float64((place-1)%c.row)+0.5)*c.pitch
	if rows > 1 {
		shift := c.side / 5
		if place <= c.row {
			shift = -shift
		}
		x += shift
	}
	return x
}

// faces draws both faces, numbered, and from each place of end A a line to where it
// comes out: heavy where a test found it elsewhere than the method has it, thin where
// nobody tested.
func (sh *sheet) faces(f *layout.Flow) {
	w := sh.words
	kind := polarity.FaceOf(sh.t.Fibres)
	row := kind.Places / kind.Rows
	const label = 16.0
	pitch := min((f.W-label)/float64(row), 8.5)
	side := pitch - 1.2
	high := float64(kind.Rows)*pitch + 2.5 // with the key
	const between = 26.0
	height := layout.Ceil(2*high+between+3, f.Grid/4)
	f.Need(height)
	a := face{x: f.X + label, y: f.Y + 2.5, side: side, pitch: pitch, row: row}
	b := face{x: f.X + label, y: f.Y + high + between + 2.5, side: side, pitch: pitch, row: row}
	wrong := 0
	for _, p := range sh.record.Positions {
		if p.Far > 0 && p.Far != p.Wanted {
			wrong++
		}
	}
	alt := w.Say("trunk.figure", "n", w.Whole(sh.t.Fibres), "links", w.Whole(len(sh.record.Positions)), "wrong", w.Whole(wrong))
	f.Illustrate(alt, func() {
		sh.face(f, a, kind, w.Say("link.end_a"), func(place int) (bool, bool) {
			l := sh.at[place]
			return l != nil, l != nil && l.Link.FarPosition > 0 && l.Link.FarPosition != polarity.Far(&sh.t, place)
		})
		out := map[int]bool{} // places of end B that a link leads to, and whether it should not
		for _, p := range sh.record.Positions {
			far := p.Far
			if far == 0 {
				far = p.Wanted
			}
			out[far] = out[far] || p.Far > 0 && p.Far != p.Wanted
		}
		sh.face(f, b, kind, w.Say("link.end_b"), func(place int) (bool, bool) {
			bad, leads := out[place]
			return leads, bad
		})
		from, to := a.y+float64(kind.Rows)*pitch-0.6, b.y-2.9
		for _, p := range sh.record.Positions {
			far, weight, ink := p.Far, 0.3, f.Ink
			switch {
			case p.Far == 0:
				far, weight, ink = p.Wanted, 0.15, f.Soft
			case p.Far != p.Wanted:
				weight, ink = 0.8, f.Rust
			}
			f.Line(a.middle(p.Position, kind.Rows), from, b.middle(far, kind.Rows), to, weight, ink)
		}
	})
	f.Lines(height / f.Grid)
	f.Paragraph(f.Note, 0.75, w.Say("trunk.legend"))
}

// face draws the squares of one connector, its key above the middle of them.
func (sh *sheet) face(f *layout.Flow, c face, kind polarity.ArrayFace, name string, state func(place int) (linked, wrong bool)) {
	f.Put(f.X, c.y+c.side*0.62, f.Caption, name)
	key := 2.5 * c.pitch
	f.Fill(c.x+(float64(c.row)*c.pitch-key)/2, c.y-2.3, key, 1.6, f.Deep)
	number := f.Caption
	number.Ink = f.Ink
	for place := 1; place <= kind.Places; place++ {
		x := c.x + float64((place-1)%c.row)*c.pitch + 0.6
		y := c.y + float64((place-1)/c.row)*c.pitch
		linked, wrong := state(place)
		switch {
		case wrong:
			f.Fill(x, y, c.side, c.side, layout.White)
			f.Frame(x, y, c.side, c.side, 0.8, f.Rust)
		case linked:
			f.Fill(x, y, c.side, c.side, f.Step3)
			f.Frame(x, y, c.side, c.side, 0.2, f.Ink)
		case polarity.HasFibre(sh.t.Fibres, place):
			f.Frame(x, y, c.side, c.side, 0.2, f.Hair)
		default: // a place without a fibre is crossed out
			f.Frame(x, y, c.side, c.side, 0.2, f.Hair)
			f.Line(x, y, x+c.side, y+c.side, 0.2, f.Hair)
		}
		text := strconv.Itoa(place)
		style := f.Shrink(number, 4.5, c.side-0.8, text)
		f.Put(x+(c.side-f.Width(style, text))/2, y+c.side/2+style.Size*page.MM*0.36, style, text)
	}
}
