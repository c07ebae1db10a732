// Package rail draws the rail of a paper: the coloured column on its left with what a
// person looks for who has it in hand, its verdict, whose it is, and its symbol.
//
// A [Rail] is filled by whoever makes the paper. It draws itself on each page, round the
// holes of a paper that is punched, and with its values closer or smaller where they
// would not fit. That of a specimen says no verdict and has no symbol.
package rail

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/stationery"
	"spanseal/internal/wording"
)

// Treatment is how a verdict block looks. The four stay apart in grey and at
// arm's length: solid and dark, middle tone with strokes, white with hatching
// in a heavy frame, that one for all that is open.
type Treatment int

const (
	Solid Treatment = iota
	Stroked
	Hatched
	Bare // says no verdict
)

// Treat is how a verdict looks.
func Treat(v judge.Verdict) Treatment {
	switch v {
	case judge.Pass:
		return Solid
	case judge.Marginal:
		return Stroked
	}
	return Hatched
}

// Rail is what a person looks for with the page in hand.
type Rail struct {
	Words     *wording.Wording
	Specimen  bool // the paper is for approval only
	Treatment Treatment
	Word      string
	Below     []layout.Field // in the block, under the word
	Name      layout.Field   // set large
	Fields    []layout.Field
	Symbol    [][]bool
	Under     string // what the symbol is for
	Says      string // what it says to those who do not see it; "": that it is the paper's own
	Key       string
	// Beside are baselines of the main column's first page. The name stands on
	// one of them, or else its height tears their rows apart for programs that
	// extract text by lines.
	Beside []float64
}

// inset is the rail's own margin on either side; beyondHole is where a text may begin
// that stands beside a hole.
const inset, beyondHole = 6.0, 17.3

// leastAbove is how much more than the rim is above the frame or the word of a block whose
// texts must end above a hole; closest is how much smaller the word may be for it, and
// densest how much closer the texts may stand.
const leastAbove, closest, densest = 0.6, 0.7, 0.85

// Draw draws the rail of a page.
func (r *Rail) Draw(f *layout.Flow) {
	height := f.Paper().Height
	f.Fill(0, 0, f.RailWidth, height, f.RailInk)
	if r.Specimen {
		r.inPlace().block(f)
	} else {
		r.block(f)
	}
	r.band(f)
	foot := height - f.Bottom + 2
	top, draw := r.foot(f, foot)
	r.values(f, f.RailWidth+8, top-4)
	draw()
}

// rim is the hatching beside the frame of a verdict.
const rim = 3.2

// line is a text under the word of a verdict: the size below which it does not shrink,
// and how far below it the next one stands.
type line struct {
	text        string
	style       page.Style
	least, step float64
}

// under are the texts under the word, by what belongs together.
func (r *Rail) under(caption, value page.Style) [][]line {
	out := make([][]line, len(r.Below))
	for i, one := range r.Below {
		if one.Caption != "" {
			out[i] = append(out[i], line{one.Caption, caption, 4.5, 4.2})
		}
		if one.Value != "" {
			out[i] = append(out[i], line{one.Value, value, 6, 3.8})
		}
	}
	return out
}

// word is the style of the word of the block: one word shrinks, several break.
func (r *Rail) word(f *layout.Flow, width float64) page.Style {
	word := f.Verdict
	if strings.Contains(r.Word, " ") {
		word.Size *= 0.62
	}
	for one := range strings.FieldsSeq(r.Word) {
		word = f.Shrink(word, 8, width, one)
	}
	return word
}

// beside reports whether a text with its baseline at y stands at the height of a hole.
func beside(punched []layout.Hole, s page.Style, y float64) bool {
	size := s.Size * page.MM
	return layout.Below(punched, y-layout.CapHeight*size, y+layout.Descent*size) > 0
}

// block draws the verdict.
func (r *Rail) block(f *layout.Flow) {
	above := 7.5 // of the frame, and more hatching than beside it; less where it holds more
	if len(r.Below) > 1 || strings.Contains(r.Word, " ") {
		above = 2.4
	}
	side := f.RailWidth
	caption, value, ink := f.Caption, f.Strong, f.Verdict.Ink
	value.Size += 2
	switch r.Treatment {
	case Solid:
		caption.Ink, value.Ink, ink = layout.White, layout.White, layout.White
	case Stroked:
		caption.Ink = f.Ink
	}
	left, width := inset, side-2*inset
	if r.Treatment == Hatched && !strings.Contains(r.Word, " ") { // a word alone stands off its frame
		left, width = inset+0.5, side-2*inset-1
	}
	word, lines := r.word(f, width), []string(nil)
	word.Ink = ink
	under, punched := r.under(caption, value), layout.Holes(f.Paper())
	full, first, next, closer := word.Size, 12.8, 0.0, 1.0
	// place tries a height and a size, and reports whether all texts are clear of the holes.
	place := func() (clear bool) {
		word.Size = full * closer
		lines = f.Wrap(word, width, r.Word)
		switch within := rim + above + 2.4 + 0.72*word.Size*page.MM; {
		case r.Treatment == Hatched: // inside its frame
			first = within
		case above == leastAbove:
			first = min(first, within)
		}
		next = first + float64(len(lines)-1)*word.Size*page.MM*1.15 + 5.6*max(closer, densest)
		y := next
		for _, group := range under {
			for _, one := range group {
				if beside(punched, one.style, y) {
					return false
				}
				y += one.step * max(closer, densest)
			}
		}
		return true
	}
	for !place() && closer > closest { // higher first, then closer
		if above > leastAbove {
			above = leastAbove
		} else {
			closer -= 0.05
		}
	}
	switch r.Treatment {
	case Solid:
		f.Fill(0, 0, side, side, f.Deep)
	case Stroked:
		f.Fill(0, 0, side, side, f.Step2)
		// A band of vertical strokes at the foot of the block.
		const band = 7.0
		for x := 0.75; x < side; x += 3 {
			f.Fill(x, side-band, 1.5, band, f.Deep)
		}
	case Bare:
		f.Fill(0, 0, side, side, layout.White)
		f.Fill(0, side-1.1, side, 1.1, f.Deep)
	case Hatched:
		f.Fill(0, 0, side, side, layout.White)
		f.Hatch(0, 0, side, side, 3.4, 0.9, f.Rust)
		f.Fill(rim, rim+above, side-2*rim, side-2*rim-2*above, layout.White)
		f.Frame(rim, rim+above, side-2*rim, side-2*rim-2*above, 1.1, f.Rust)
	}
	f.Together(func() {
		for i, line := range lines {
			f.Put(left, first+float64(i)*word.Size*page.MM*1.15, word, line)
		}
	})
	for _, group := range under {
		f.Begin(page.Element{Role: page.Paragraph})
		for _, one := range group {
			x, room := left, width
			if beside(punched, one.style, next) {
				x, room = beyondHole, left+width-beyondHole
			}
			f.Put(x, next, f.Shrink(one.style, one.least, room, one.text), one.text)
			next += one.step * max(closer, densest)
		}
		f.Finish()
	}
}

// inPlace is the block of a specimen: it names the verdict whose place it is
// in, and says none.
func (r *Rail) inPlace() *Rail {
	caption := r.Words.Say("specimen.instead")
	return &Rail{Words: r.Words, Specimen: true, Treatment: Bare, Word: r.Words.Say("specimen.word"), Below: []layout.Field{{Caption: caption, Value: strings.ToLower(r.Word)}}}
}

// firstLine is how far below its caption the first line of a value stands.
func firstLine(value, caption page.Style) float64 {
	return (0.35*caption.Size + 1.05*value.Size) * page.MM
}

// foot is the symbol and what stands under it: its top, and how it is drawn. It is
// read behind the values, which end above it.
func (r *Rail) foot(f *layout.Flow, bottom float64) (top float64, draw func()) {
	const leading = 3.1
	width := f.RailWidth - 2*inset + 2
	number := f.Wrap(f.Small, width, r.Words.Say("rail.page", "n", r.Words.Whole(f.PageNumber()), "m", r.Words.Whole(max(f.Pages, f.PageNumber()))))
	key := f.Wrap(f.Small, width, r.Key)
	under := r.Under
	if r.Specimen {
		under = ""
	}
	lines := f.Wrap(f.Small, width, under)
	block := func(lines []string, y float64) func() { // from the baseline of the first
		return func() {
			for i, line := range lines {
				f.Put(inset, y+float64(i)*leading, f.Small, line)
			}
		}
	}
	size, punched := f.Small.Size*page.MM, layout.Holes(f.Paper())
	y := bottom + leading // the baseline below those that are placed
	place := func(lines []string) func() {
		if len(lines) == 0 {
			return func() {}
		}
		y -= float64(len(lines)) * leading
		y -= layout.Above(punched, y-layout.CapHeight*size, y+float64(len(lines)-1)*leading+layout.Descent*size)
		return block(lines, y)
	}
	page := place(number)
	signed := place(key)
	y -= 0.6 * leading
	says := place(lines)
	y -= leading
	side := f.Style.Symbol
	x := (f.RailWidth - side) / 2
	if r.Symbol != nil || r.Specimen {
		y -= side + 1.2
		y -= layout.Above(punched, y, y+side)
	}
	return y, func() {
		switch {
		case r.Specimen:
			NoSymbol(f, r.Words, x, y, side)
		case r.Symbol != nil:
			f.Fill(x, y, side, side, layout.White)
			// The quiet zone is four modules on each side (ISO/IEC 18004, from memory).
			n := len(r.Symbol)
			inner := stationery.OnDots(side*float64(n)/float64(n+8), n, math.Floor)
			f.Illustrate(cmp.Or(r.Says, r.Words.Say("figure.symbol")), func() {
				f.Modules(stationery.ToDot(x+(side-inner)/2), stationery.ToDot(y+(side-inner)/2), inner, r.Symbol, f.Ink)
			})
		}
		if len(lines) > 0 {
			f.Together(says)
		}
		if len(key) > 0 {
			f.Together(signed)
		}
		f.Aside(page)
	}
}

// values draws the name and the captioned values between two heights, smaller
// where they would not fit, and at last without those that do not.
func (r *Rail) values(f *layout.Flow, top, bottom float64) {
	width := f.RailWidth - inset - 3.0
	const least, closer = 0.7, 0.08
	torn := false // whether names may break within words
	for scale := 1.0; ; scale -= closer {
		if scale < least && !torn {
			torn, scale = true, 1
		}
		big, value, caption := f.Big, f.Strong, f.Caption
		big = f.Shrink(big, 0.55*big.Size, width, r.Name.Value)
		big.Size, value.Size, caption.Size = big.Size*scale, value.Size*scale, caption.Size*scale
		y := top
		if f.PageNumber() == 1 {
			first := firstLine(big, caption)
			i := slices.IndexFunc(r.Beside, func(base float64) bool { return base > top+first-1.5 })
			if i >= 0 && r.Beside[i] < top+first+2*f.Grid {
				y = r.Beside[i] - first
			}
		}
		start := y
		for _, gap := range []float64{1.3, 1.15, 1, 0.88} { // rather closer than smaller
			y = start
			whole := r.each(f, big, value, caption, width, &y, gap*f.Grid, bottom, false, torn)
			if whole || scale < least && gap < 1 {
				y = start
				f.Pairs(func() { r.each(f, big, value, caption, width, &y, gap*f.Grid, bottom, true, torn) })
				return
			}
		}
	}
}

func (r *Rail) each(f *layout.Flow, big, value, caption page.Style, width float64, y *float64, gap, bottom float64, draw, torn bool) bool {
	punched := layout.Holes(f.Paper())
	set := func(one layout.Field, s page.Style) bool {
		if one.Value == "" {
			return true
		}
		size := s.Size * page.MM
		lines := f.Wrap(s, width, one.Value)
		if !torn && slices.ContainsFunc(lines, layout.Torn) {
			return false
		}
		first := firstLine(s, caption)
		high := first + 1.3*size*float64(len(lines)-1) + layout.Descent*size
		top := *y + layout.Below(punched, *y-layout.CapHeight*caption.Size*page.MM, *y+high) // whole below a hole
		at := make([]float64, len(lines))                                                    // the baselines
		for i := range at {
			at[i] = top + first + 1.3*size*float64(i)
		}
		last := at[len(at)-1]
		if last > bottom {
			return false
		}
		if draw {
			f.Pair(func() { f.Put(inset, top, caption, one.Caption) }, func() {
				for i, line := range lines {
					f.Put(inset, at[i], s, line)
				}
			})
		}
		*y = last + gap
		return true
	}
	whole := set(r.Name, big)
	*y += 0.3 * f.Grid
	for _, one := range r.Fields {
		whole = set(one, value) && whole
	}
	return whole
}
