package certify

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/template"
	"spanseal/internal/wording"
)

// largestSymbol is what labels.yaml says of a symbol that is to be as large as
// the label allows.
const largestSymbol = "largest"

// leastSymbol is the smallest side of a label's symbol, in millimetres, and
// leastDots how many dots of a 300 dpi printer a module has at least: what a
// telephone manages (tested in package label). It has goodDots where there is
// room.
const (
	leastSymbol = 20
	leastDots   = 3
	goodDots    = 4
)

// leastText is the least width of the text beside a symbol, in millimetres.
const leastText = 15

// labelGeometry is a sheet of labels, in millimetres.
type labelGeometry struct {
	flag    bool // folded around a cord: symbol and text on either side of a blank middle
	wrap    float64
	outline bool
	start   int     // first label to use, from one
	symbol  float64 // side of a symbol; 0: as large as the label allows

	columns, rows  int
	left, top      float64
	width, height  float64
	pitchX, pitchY float64
}

// labelsOf reads the geometry for a paper and refuses one that does not fit.
func labelsOf(t template.Values, paper page.Paper) labelGeometry {
	mm := func(key string) float64 { return t.Number(paper.Name+"."+key, 0, 400) }
	g := labelGeometry{
		flag: t.OneOf("form", "plain", "flag") == "flag", wrap: t.Number("flag_wrap", 0, 100),
		outline: t.OneOf("outline", "yes", "no") == "yes", start: int(t.Number("start", 1, 1000)),
		columns: int(mm("columns")), rows: int(mm("rows")), left: mm("left"), top: mm("top"), width: mm("width"), height: mm("height"),
		pitchX: mm("pitch_x"), pitchY: mm("pitch_y"),
	}
	if t.Text("symbol") != largestSymbol {
		g.symbol = t.NumberOr("symbol", leastSymbol, 100, largestSymbol)
	}
	right := g.left + float64(g.columns-1)*g.pitchX + g.width
	bottom := g.top + float64(g.rows-1)*g.pitchY + g.height
	of := func(names ...string) []string {
		for i := range names {
			names[i] = paper.Name + "." + names[i]
		}
		return names
	}
	across, down := of("columns", "left", "width", "pitch_x"), of("rows", "top", "height", "pitch_y")
	switch {
	case g.columns < 1 || g.rows < 1:
		t.RefuseOne("a sheet has at least one label", of("columns", "rows")...)
	case right > paper.Width+0.01:
		t.RefuseOne(fmt.Sprintf("the last column ends at %.1f mm, the paper at %.1f mm", right, paper.Width), across...)
	case bottom > paper.Height+0.01:
		t.RefuseOne(fmt.Sprintf("the last row ends at %.1f mm, the paper at %.1f mm", bottom, paper.Height), down...)
	case g.columns > 1 && g.pitchX < g.width:
		t.RefuseOne("labels would lie on one another: the pitch is at least the width", of("pitch_x", "width")...)
	case g.rows > 1 && g.pitchY < g.height:
		t.RefuseOne("labels would lie on one another: the pitch is at least the height", of("pitch_y", "height")...)
	case g.least()+2*g.quiet() > g.room()+0.01:
		t.RefuseOne(fmt.Sprintf("the symbol and its quiet zone need %.1f mm, the label has %.1f mm", g.least()+2*g.quiet(), g.room()),
			append([]string{"symbol", "form", "flag_wrap"}, of("width", "height")...)...)
	case g.start > g.columns*g.rows:
		t.RefuseOne(fmt.Sprintf("a sheet has %d labels", g.columns*g.rows), append([]string{"start"}, of("columns", "rows")...)...)
	}
	return g
}

// least is the smallest side of a symbol.
func (g labelGeometry) least() float64 { return max(g.symbol, leastSymbol) }

// coarsest is how many modules a side of the coarsest symbol of a token has.
const coarsest = 45

// quiet is the white around the smallest of the coarsest symbols: four modules
// (ISO/IEC 18004, 5.3.8).
func (g labelGeometry) quiet() float64 { return g.least() * 4 / coarsest }

// half is the width of a flag on one side of the cord.
func (g labelGeometry) half() float64 { return (g.width - g.wrap) / 2 }

// room is the largest square for a symbol with the white around it.
func (g labelGeometry) room() float64 {
	if g.flag {
		return min(g.height, g.half())
	}
	return min(g.height, g.width-leastText)
}

// side is how wide a symbol of n modules is drawn. Every module is a whole
// number of dots where the label has the room for that. ok is false without the
// room for modules that a telephone tells apart.
func (g labelGeometry) side(n int) (side float64, ok bool) {
	whole := onDots(g.least(), n, math.Ceil)
	least := leastDots * dot * float64(n)
	sides := []float64{max(whole, goodDots*dot*float64(n)), max(whole, least), max(g.least(), least)}
	if g.symbol == 0 { // of the label's room, four modules of white on either side
		largest := onDots((g.room()-dot)*float64(n)/float64(n+8), n, math.Floor)
		sides = append([]float64{max(largest, sides[0])}, sides...)
	}
	for _, side = range sides {
		if wide(side, n) <= g.room()+0.01 {
			return side, true
		}
	}
	return side, false
}

// wide is what a symbol of n modules takes with the white around it, and a dot
// to come to lie on the printer's.
func wide(side float64, n int) float64 { return side*float64(n+8)/float64(n) + dot }

// A LabelError reports a symbol that cannot be read from labels of the size
// that documents/labels.yaml gives.
type LabelError struct {
	Link       string
	Need, Have float64 // millimetres, with the white around the symbol
}

func (e *LabelError) Error() string {
	return fmt.Sprintf("the label of %s: its symbol needs %.1f mm with the white around it to be read, and a label has %.1f mm", e.Link, e.Need, e.Have)
}

// labelled is what a label shows of its link.
type labelled struct {
	*judge.Brief
	measured record.Date
	symbol   symbol
}

// Label is that of a paper beside those of the links.
type Label struct {
	ID, From, To string
	Verdict      judge.Verdict
	Measured     record.Date
	Symbol       [][]bool // nil of a specimen
}

// Labels is [Set.LabelsWith] no others.
func (s *Set) Labels() (*Document, error) { return s.LabelsWith() }

// LabelsWith returns a sheet of labels, one for each certified link in schedule
// order and then the others, with its symbol and what a person can read. Links that are not
// certified have none. It returns nil where no link is certified, and a
// [*LabelError] where a symbol would be too fine to read.
func (s *Set) LabelsWith(others ...Label) (*Document, error) {
	var all []labelled
	g := s.look.labels
	widest := g.least() + 2*g.quiet() // one for all, so that the texts stand under each other
	for i, l := range s.Judgement.Results() {
		if !l.Verdict.Certifiable() {
			continue
		}
		sealed, err := s.sealed(l, nil)
		if err != nil {
			return nil, err
		}
		_, measured := s.MeasuredOn(l.Readings)
		all = append(all, labelled{&s.Judgement.Links[i], measured, sealed.symbol})
	}
	for _, o := range others {
		all = append(all, labelled{&judge.Brief{Link: &record.Link{ID: o.ID, From: o.From, To: o.To}, Verdict: o.Verdict}, o.Measured, pack(o.Symbol)})
	}
	for _, one := range all {
		n := one.symbol.side
		if n == 0 { // of a specimen
			n = coarsest
		}
		side, ok := g.side(n)
		if !ok {
			return nil, &LabelError{one.Link.ID, wide(side, n), g.room()}
		}
		widest = max(widest, wide(side, n))
	}
	if len(all) == 0 {
		return nil, nil
	}
	return s.NewDocument("labels.pdf", s.words.Say("labels.title")+" "+s.Facts.Job.Number, func(f *layout.Flow) {
		each := g.columns * g.rows
		for n, one := range all {
			at := n + g.start - 1
			if n == 0 || at%each == 0 {
				f.NextPage()
				s.printing(f, g)
			}
			if n == 0 {
				f.Begin(page.Element{Role: page.List})
			}
			at %= each
			x, y := g.left+float64(at%g.columns)*g.pitchX, g.top+float64(at/g.columns)*g.pitchY
			if g.outline {
				f.Frame(x, y, g.width, g.height, 0.1, f.Hair)
			}
			f.Begin(page.Element{Role: page.Item})
			f.Begin(page.Element{Role: page.ItemBody})
			s.label(f, g, x, y, widest, &one)
			f.Finish()
			f.Finish()
		}
		f.Finish()
	}), nil
}

// printing says beside the labels how to print the sheet, where their first row
// leaves the room: a coarser printer makes symbols that telephones do not read.
func (s *Set) printing(f *layout.Flow, g labelGeometry) {
	const least = 9 // mm above the labels, of which printers leave some blank
	if g.top < least {
		return
	}
	if f.PageNumber() > 1 {
		f.Begin(page.Element{Role: page.Artifact})
		defer f.Finish()
	}
	f.Put(g.left, g.top-2.5, page.Style{Face: page.Regular, Size: 6, Ink: f.Soft}, s.words.Say("labels.printing"))
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

// label draws one label: the symbol in a box of its own, the text right of it or
// on the other side of the cord.
func (s *Set) label(f *layout.Flow, g labelGeometry, x, y, box float64, l *labelled) {
	from, width := x+box, g.width-box-g.quiet()
	if g.flag {
		box = g.half()
		from, width = x+box+g.wrap+g.quiet(), box-2*g.quiet()
		for _, fold := range []float64{x + box, x + box + g.wrap} {
			f.Line(fold, y+1, fold, y+3, 0.1, f.Soft)
			f.Line(fold, y+g.height-3, fold, y+g.height-1, 0.1, f.Soft)
		}
	}
	var side float64
	if symbol := l.symbol.modules(); symbol == nil {
		side, _ = g.side(coarsest)
		s.noSymbol(f, x+(box-side)/2, y+(g.height-side)/2, side)
	} else {
		side, _ = g.side(len(symbol))
		f.Illustrate(s.words.Say("figure.symbol_of", "link", l.Link.ID), func() {
			f.Modules(toDot(x+(box-side)/2), toDot(y+(g.height-side)/2), side, symbol, 0)
		})
	}
	const margin = 1
	set := s.labelText(f, l, width, g.height-2*margin)
	height := heightOf(set)
	// The text begins beside the top of the symbol, or higher where it is long.
	at := min(y+(g.height-side)/2, y+g.height-margin-height)
	for i, line := range set {
		if i == 0 || line.of != set[i-1].of {
			f.Begin(page.Element{Role: page.Paragraph})
		}
		f.Put(from, at+0.7*line.height(), line.style, line.text)
		if i == len(set)-1 || line.of != set[i+1].of {
			f.Finish()
		}
		at += line.height()
	}
}

// labelLine is one line of a label's text.
type labelLine struct {
	style page.Style
	least float64 // size that it may shrink to
	text  string
	of    int // the text that it is a line of
}

func (l labelLine) height() float64 { return l.style.Size * page.MM * 1.25 }

func heightOf(lines []labelLine) (sum float64) {
	for _, l := range lines {
		sum += l.height()
	}
	return sum
}

// The texts of a label are set at most so many times their size, and at least.
const largestText, smallestText = 2.0, 0.7

// labelText is what a person reads on a label, broken into lines for the width: as
// large as the label allows. What does not fit at the smallest size is cut to a line
// that ends with an ellipsis, first the contractor, then the ends: nothing is left out
// without a sign of it.
func (s *Set) labelText(f *layout.Flow, l *labelled, width, height float64) []labelLine {
	w := s.words
	measured := ""
	if !l.measured.IsZero() {
		measured = w.Say("labels.measured", "day", w.Day(l.measured))
	}
	verdict := wording.Distinct(w.Say("verdict."+l.Verdict.String()), measured)
	said := page.Style{Face: page.Medium, Size: 6.8, Ink: f.Ink}
	plain := page.Style{Face: page.Regular, Size: 6.4, Ink: f.Ink}
	fine := page.Style{Face: page.Regular, Size: 6, Ink: f.Ink}
	all := []labelLine{
		{style: page.Style{Face: page.Medium, Size: 11, Ink: f.Ink}, least: 7, text: l.Link.ID},
		{style: plain, least: 6, text: l.Link.From},
		{style: plain, least: 6, text: l.Link.To},
		{style: said, least: 6, text: strings.Join(verdict, " · ")},
		{style: fine, least: 5, text: s.CertificateNumber(l.Link.ID)},
		{style: fine, least: 5, text: s.Facts.Job.Contractor.Name},
	}
	broken := func(scale float64, cut ...int) (set []labelLine, fits bool) {
		whole := true // no word is torn for the size
		for of, line := range all {
			style, text := line.style, line.text
			style.Size = max(5, style.Size*scale)
			if of == 3 && f.Width(style, text) > width { // a date is not broken
				text = strings.Join(verdict, "\n")
			}
			for piece := range strings.SplitSeq(text, "\n") {
				style = f.Shrink(style, max(5, line.least*min(scale, 1)), width, piece)
			}
			lines := f.Wrap(style, width, text)
			if slices.Contains(cut, of) && len(lines) > 1 {
				lines = []string{f.Clip(style, width, text)}
			}
			for _, text := range lines {
				whole = whole && !layout.Torn(text)
				set = append(set, labelLine{style: style, text: text, of: of})
			}
		}
		return set, heightOf(set) <= height && (whole || scale <= 1)
	}
	for scale := largestText; scale > smallestText-0.01; scale -= 0.05 {
		if set, fits := broken(scale); fits {
			return set
		}
	}
	const from, to, contractor = 1, 2, 5
	for _, cut := range [][]int{{contractor}, {contractor, from, to}} {
		if set, fits := broken(smallestText, cut...); fits {
			return set
		}
	}
	all = slices.Delete(slices.Delete(all, contractor, contractor+1), from, to+1) // they are in the certificate
	set, fits := broken(smallestText)
	for ; !fits && len(set) > 1; fits = heightOf(set) <= height { // the symbol says the rest
		set = set[:len(set)-1]
		set[len(set)-1].text = "…"
	}
	return set
}

// noSymbol is a hatched box where a specimen has no symbol.
func (s *Set) noSymbol(f *layout.Flow, x, y, side float64) {
	f.Begin(page.Element{Role: page.Figure, Alt: s.words.Say("figure.no_symbol")})
	defer f.Finish()
	f.Hatch(x, y, side, side, 2.4, 0.5, f.Hair)
	f.Frame(x, y, side, side, 0.4, f.Ink)
	word := s.words.Say("specimen.word")
	style := f.Shrink(f.Strong, 5, side-4, word)
	width := f.Width(style, word)
	f.Fill(x+(side-width)/2-1, y+side/2-3, width+2, 5, layout.White)
	f.Put(x+(side-width)/2, y+side/2+0.7, style, word)
}
