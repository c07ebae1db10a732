package certify

import (
	"math"
	"slices"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
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
	Set       *Set
	Treatment Treatment
	Word      string
	Below     []layout.Field // in the block, under the word
	Name      layout.Field   // set large
	Fields    []layout.Field
	Symbol    [][]bool
	Under     string // what the symbol is for
	Key       string
	// beside are baselines of the main column's first page. The name stands on
	// one of them, or else its height tears their rows apart for programs that
	// extract text by lines.
	beside []float64
}

// inset is the rail's own margin on either side.
const inset = 6.0

// Draw draws the rail of a page.
func (r *Rail) Draw(f *layout.Flow) {
	height := f.Paper().Height
	f.Fill(0, 0, f.RailWidth, height, f.RailInk)
	if r.Set.Specimen {
		r.inPlace().block(f)
	} else {
		r.block(f)
	}
	r.Set.band(f)
	foot := height - f.Bottom
	top, draw := r.foot(f, foot)
	r.values(f, f.RailWidth+8, top-4)
	draw()
}

// block draws the verdict.
func (r *Rail) block(f *layout.Flow) {
	const rim = 3.2 // hatching beside the frame
	above := 5.0    // and more above it, less where the frame holds more
	if len(r.Below) > 1 {
		above = 3.7
		if strings.Contains(r.Word, " ") {
			above = 2.4
		}
	}
	side := f.RailWidth
	word, caption, value := f.Verdict, f.Caption, f.Strong
	value.Size += 2
	left, width := inset, side-2*inset
	switch r.Treatment {
	case Solid:
		f.Fill(0, 0, side, side, f.Deep)
		word.Ink, caption.Ink, value.Ink = layout.White, layout.White, layout.White
	case Stroked:
		f.Fill(0, 0, side, side, f.Step2)
		// A band of vertical strokes at the foot of the block.
		const band = 7.0
		for x := 0.75; x < side; x += 3 {
			f.Fill(x, side-band, 1.5, band, f.Deep)
		}
		caption.Ink = f.Ink
	case Bare:
		f.Fill(0, 0, side, side, layout.White)
		f.Fill(0, side-1.1, side, 1.1, f.Deep)
	case Hatched:
		f.Fill(0, 0, side, side, layout.White)
		hatch(f, 0, 0, side, side, 3.4, 0.9, f.Rust)
		f.Fill(rim, rim+above, side-2*rim, side-2*rim-2*above, layout.White)
		f.Frame(rim, rim+above, side-2*rim, side-2*rim-2*above, 1.1, f.Rust)
	}
	lines := []string{r.Word} // a word alone shrinks, several break
	if strings.Contains(r.Word, " ") {
		word.Size *= 0.62
		for one := range strings.FieldsSeq(r.Word) {
			word = f.Shrink(word, 8, width, one)
		}
		lines = f.Wrap(word, width, r.Word)
	} else {
		word = f.Shrink(word, 8, width, r.Word)
	}
	y := 17.0
	if r.Treatment == Hatched { // inside its frame
		y = rim + above + 3 + 0.72*word.Size*page.MM
	}
	f.Together(func() {
		for i, line := range lines {
			f.Put(left, y+float64(i)*word.Size*page.MM*1.15, word, line)
		}
	})
	y += float64(len(lines)-1)*word.Size*page.MM*1.15 + 6.5
	for _, one := range r.Below {
		f.Begin(page.Element{Role: page.Paragraph})
		if one.Caption != "" {
			f.Put(left, y, f.Shrink(caption, 5, width, one.Caption), one.Caption)
			y += 4.4
		}
		if one.Value != "" {
			f.Put(left, y, f.Shrink(value, 6, width, one.Value), one.Value)
			y += 4
		}
		f.Finish()
	}
}

// inPlace is the block of a specimen: it names the verdict whose place it is
// in, and says none.
func (r *Rail) inPlace() *Rail {
	s := r.Set
	caption := s.words.Say("specimen.instead")
	return &Rail{Set: s, Treatment: Bare, Word: s.words.Say("specimen.word"), Below: []layout.Field{{Caption: caption, Value: strings.ToLower(r.Word)}}}
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
	number := f.Wrap(f.Small, width, r.Set.words.Say("rail.page", "n", r.Set.words.Whole(f.PageNumber()), "m", r.Set.words.Whole(max(f.Pages, f.PageNumber()))))
	key := f.Wrap(f.Small, width, r.Key)
	under := r.Under
	if r.Set.Specimen {
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
	y := bottom - float64(len(number)-1)*leading
	page := block(number, y)
	y -= float64(len(key)) * leading
	signed := block(key, y)
	y -= 0.6*leading + float64(len(lines))*leading
	says := block(lines, y)
	y -= leading
	side := f.Style.Symbol
	x := (f.RailWidth - side) / 2
	if r.Symbol != nil || r.Set.Specimen {
		y -= side + 1.2
	}
	return y, func() {
		switch {
		case r.Symbol == nil && r.Set.Specimen:
			r.Set.noSymbol(f, x, y, side)
		case r.Symbol != nil:
			f.Fill(x, y, side, side, layout.White)
			// The quiet zone is four modules on each side (ISO/IEC 18004, from memory).
			n := len(r.Symbol)
			inner := onDots(side*float64(n)/float64(n+8), n, math.Floor)
			f.Illustrate(r.Set.words.Say("figure.symbol"), func() {
				f.Modules(toDot(x+(side-inner)/2), toDot(y+(side-inner)/2), inner, r.Symbol, f.Ink)
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
	for scale := 1.0; ; scale -= 0.08 {
		big, value, caption := f.Big, f.Strong, f.Caption
		big = f.Shrink(big, 0.55*big.Size, width, r.Name.Value)
		big.Size, value.Size, caption.Size = big.Size*scale, value.Size*scale, caption.Size*scale
		y := top
		if f.PageNumber() == 1 {
			first := firstLine(big, caption)
			i := slices.IndexFunc(r.beside, func(base float64) bool { return base > top+first-1.5 })
			if i >= 0 && r.beside[i] < top+first+2*f.Grid {
				y = r.beside[i] - first
			}
		}
		start := y
		whole := r.each(f, big, value, caption, width, &y, bottom, false)
		if whole || scale < 0.7 {
			y = start
			f.Pairs(func() { r.each(f, big, value, caption, width, &y, bottom, true) })
			return
		}
	}
}

func (r *Rail) each(f *layout.Flow, big, value, caption page.Style, width float64, y *float64, bottom float64, draw bool) bool {
	set := func(one layout.Field, s page.Style) bool {
		if one.Value == "" {
			return true
		}
		leading := s.Size * page.MM * 1.3
		lines := f.Wrap(s, width, one.Value)
		first := firstLine(s, caption)
		step := first + leading*float64(len(lines)-1)
		if *y+step > bottom {
			return false
		}
		if draw {
			f.Pair(func() { f.Put(inset, *y, caption, one.Caption) }, func() {
				for i, line := range lines {
					f.Put(inset, *y+first+leading*float64(i), s, line)
				}
			})
		}
		*y += step + 1.3*f.Grid
		return true
	}
	whole := set(r.Name, big)
	*y += 0.3 * f.Grid
	for _, one := range r.Fields {
		whole = set(one, value) && whole
	}
	return whole
}

// hatch fills a box with rising diagonal strokes, cut at its edges.
func hatch(f *layout.Flow, x, y, w, h, pitch, weight float64, ink page.Ink) {
	// A diagonal runs from the left or bottom edge to the top or right one:
	// px + py = c, measured from the top left corner.
	low := func(c float64) page.Point { px := math.Max(0, c-h); return page.Point{X: x + px, Y: y + c - px} }
	high := func(c float64) page.Point { px := math.Min(w, c); return page.Point{X: x + px, Y: y + c - px} }
	for c := pitch / 2; c+weight < w+h; c += pitch {
		end := c + weight
		stroke := []page.Point{low(c), high(c)}
		if c < w && w < end {
			stroke = append(stroke, page.Point{X: x + w, Y: y})
		}
		stroke = append(stroke, high(end), low(end))
		if c < h && h < end {
			stroke = append(stroke, page.Point{X: x, Y: y + h})
		}
		f.Polygon(stroke, ink)
	}
}
