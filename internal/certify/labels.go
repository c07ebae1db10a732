package certify

import (
	"fmt"
	"math"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/page"
)

// leastSymbol is the smallest side of a label's symbol, in millimetres: what a
// 300 dpi printer and a telephone manage.
const leastSymbol = 20

// labelGeometry is a sheet of labels, in millimetres.
type labelGeometry struct {
	flag    bool // folded around a cord: symbol and text on either side of a blank middle
	wrap    float64
	outline bool
	start   int // first label to use, from one
	symbol  float64

	columns, rows  int
	left, top      float64
	width, height  float64
	pitchX, pitchY float64
}

// labelsOf reads the geometry for a paper and refuses one that does not fit.
func labelsOf(t typed, paper page.Paper) labelGeometry {
	mm := func(key string) float64 { return t.number(paper.Name+"."+key, 0, 400) }
	g := labelGeometry{
		flag: t.oneOf("form", "plain", "flag") == "flag", wrap: t.number("flag_wrap", 0, 100),
		outline: t.oneOf("outline", "yes", "no") == "yes", start: int(t.number("start", 1, 1000)), symbol: t.number("symbol", leastSymbol, 100),
		columns: int(mm("columns")), rows: int(mm("rows")), left: mm("left"), top: mm("top"), width: mm("width"), height: mm("height"),
		pitchX: mm("pitch_x"), pitchY: mm("pitch_y"),
	}
	right := g.left + float64(g.columns-1)*g.pitchX + g.width
	bottom := g.top + float64(g.rows-1)*g.pitchY + g.height
	half := g.width
	if g.flag {
		half = (g.width - g.wrap) / 2
	}
	of := func(names ...string) []string {
		for i := range names {
			names[i] = paper.Name + "." + names[i]
		}
		return names
	}
	across, down := of("columns", "left", "width", "pitch_x"), of("rows", "top", "height", "pitch_y")
	switch {
	case g.columns < 1 || g.rows < 1:
		t.refuseOne("a sheet has at least one label", of("columns", "rows")...)
	case right > paper.Width+0.01:
		t.refuseOne(fmt.Sprintf("the last column ends at %.1f mm, the paper at %.1f mm", right, paper.Width), across...)
	case bottom > paper.Height+0.01:
		t.refuseOne(fmt.Sprintf("the last row ends at %.1f mm, the paper at %.1f mm", bottom, paper.Height), down...)
	case g.columns > 1 && g.pitchX < g.width:
		t.refuseOne("labels would lie on one another: the pitch is at least the width", of("pitch_x", "width")...)
	case g.rows > 1 && g.pitchY < g.height:
		t.refuseOne("labels would lie on one another: the pitch is at least the height", of("pitch_y", "height")...)
	case g.symbol+2*g.quiet() > min(half, g.height)+0.01:
		t.refuseOne(fmt.Sprintf("the symbol and its quiet zone need %.1f mm, the label has %.1f mm", g.symbol+2*g.quiet(), min(half, g.height)),
			append([]string{"symbol", "form", "flag_wrap"}, of("width", "height")...)...)
	case g.start > g.columns*g.rows:
		t.refuseOne(fmt.Sprintf("a sheet has %d labels", g.columns*g.rows), append([]string{"start"}, of("columns", "rows")...)...)
	}
	return g
}

// quiet is the white around a symbol: four modules of the coarsest that a token
// makes, of 45 modules. A finer symbol that grows to whole dots stays inside.
func (g labelGeometry) quiet() float64 { return g.symbol * 4 / 45 }

// Labels returns a sheet of labels, one for each certified link in schedule
// order, with its symbol and what a person can read. Links that are not
// certified have none. It returns nil where no link is certified.
func (s *Set) Labels() (*Document, error) {
	type labelled struct {
		l      *judge.LinkResult
		symbol symbol
	}
	var all []labelled
	for i := range s.Judgement.Links {
		l := &s.Judgement.Links[i]
		if !l.Verdict.Certifiable() {
			continue
		}
		sealed, err := s.sealed(l, nil)
		if err != nil {
			return nil, err
		}
		all = append(all, labelled{l, sealed.symbol})
	}
	if len(all) == 0 {
		return nil, nil
	}
	return s.document("labels.pdf", s.words.say("labels.title")+" "+s.Facts.Job.Number, func(f *flow) {
		g := f.labels
		each := g.columns * g.rows
		for n, one := range all {
			at := n + g.start - 1
			if n == 0 || at%each == 0 {
				f.NextPage()
			}
			at %= each
			x, y := g.left+float64(at%g.columns)*g.pitchX, g.top+float64(at/g.columns)*g.pitchY
			if g.outline {
				f.Frame(x, y, g.width, g.height, 0.1, f.hair)
			}
			s.label(f, g, x, y, one.l, one.symbol.modules())
		}
	}), nil
}

// dot is one dot of a 300 dpi printer, in millimetres. Printers of 600 and
// 1200 dpi have their dots on the same lines.
const dot = 25.4 / 300

// onDots rounds the side of a symbol of n modules so that every module is a
// whole number of dots wide; else they come out uneven, and worn printers
// close the narrow ones.
func onDots(side float64, n int, round func(float64) float64) float64 {
	dots := max(1, round(side/float64(n)/dot))
	return dots * dot * float64(n)
}

// toDot moves a coordinate to the nearest line of dots.
func toDot(v float64) float64 { return math.Round(v/dot) * dot }

// label draws one label: the symbol left, the text right of it.
func (s *Set) label(f *flow, g labelGeometry, x, y float64, l *judge.LinkResult, symbol [][]bool) {
	q := g.quiet()
	half := g.width
	if g.flag {
		half = (g.width - g.wrap) / 2
	}
	top := y + (g.height-g.symbol)/2
	if symbol != nil {
		// Whole dots for every module, where the label has room for them.
		side := onDots(g.symbol, len(symbol), math.Ceil)
		if most := min(g.height, half) - 2*q; side > most {
			side = g.symbol
		}
		f.Modules(toDot(x+q+(g.symbol-side)/2), toDot(y+(g.height-side)/2), side, symbol, 0)
	} else {
		s.noSymbol(f, x+q, top, g.symbol)
	}
	from, width := x+g.symbol+2*q, g.width-g.symbol-3*q
	if g.flag {
		from, width = x+half+g.wrap+q, half-2*q
		for _, fold := range []float64{x + half, x + half + g.wrap} {
			f.Line(fold, y+1, fold, y+3, 0.1, f.soft)
			f.Line(fold, y+g.height-3, fold, y+g.height-1, 0.1, f.soft)
		}
	}
	_, measured := s.measuredOn(l.Readings)
	w := s.words
	lines := []struct {
		style page.Style
		least float64
		text  string
	}{
		{page.Style{Face: page.Medium, Size: 11, Ink: f.ink}, 7, l.Link.ID},
		{page.Style{Face: page.Regular, Size: 6.4, Ink: f.ink}, 6, l.Link.From},
		{page.Style{Face: page.Regular, Size: 6.4, Ink: f.ink}, 6, l.Link.To},
		{page.Style{Face: page.Medium, Size: 6.8, Ink: f.ink}, 6, strings.Join(unique(w.say("verdict."+l.Verdict.String()), w.day(measured)), " · ")},
		{page.Style{Face: page.Regular, Size: 6, Ink: f.ink}, 5, s.CertificateNumber(l.Link.ID)},
		{page.Style{Face: page.Regular, Size: 6, Ink: f.ink}, 5, s.Facts.Job.Contractor.Name},
	}
	at, end := max(y+1, top-1.2), y+g.height-1
	for _, line := range lines {
		style := f.shrink(line.style, line.least, width, line.text)
		for _, text := range f.wrap(style, width, line.text) {
			height := style.Size * page.MM * 1.25
			if at+height > end {
				return
			}
			at += height
			f.put(from, at-0.3*height, style, text)
		}
	}
}

// noSymbol is a hatched box where a specimen has no symbol.
func (s *Set) noSymbol(f *flow, x, y, side float64) {
	hatch(f, x, y, side, side, 2.4, 0.5, f.hair)
	f.Frame(x, y, side, side, 0.4, f.ink)
	word := s.words.say("specimen.word")
	style := f.shrink(f.strong, 5, side-4, word)
	width := f.Width(style, word)
	f.Fill(x+(side-width)/2-1, y+side/2-3, width+2, 5, white)
	f.put(x+(side-width)/2, y+side/2+0.7, style, word)
}
