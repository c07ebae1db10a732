// Package stationery knows labels: where each lies on its sheet, how large a symbol on one
// may be, and which is too small for it.
//
// Measures are millimetres, from documents/labels.yaml. Symbols are QR symbols (ISO/IEC
// 18004); every module of one is a whole number of dots of a 300 dpi printer where the
// label has the room for that.
package stationery

import (
	"fmt"
	"math"

	"spanseal/internal/page"
	"spanseal/internal/template"
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

// Labels is a sheet of labels, in millimetres.
type Labels struct {
	Flag    bool // folded around a cord: symbol and text on either side of a blank middle
	Wrap    float64
	Outline bool
	Start   int     // first label to use, from one
	symbol  float64 // side of a symbol; 0: as large as the label allows

	Columns, Rows  int
	Left, Top      float64
	Width, Height  float64
	PitchX, PitchY float64
}

// Read reads the geometry for a paper and refuses one that does not fit.
func Read(t template.Values, paper page.Paper) Labels {
	mm := func(key string) float64 { return t.Number(paper.Name+"."+key, 0, 400) }
	g := Labels{
		Flag: t.OneOf("form", "plain", "flag") == "flag", Wrap: t.Number("flag_wrap", 0, 100),
		Outline: t.OneOf("outline", "yes", "no") == "yes", Start: int(t.Number("start", 1, 1000)),
		Columns: int(mm("columns")), Rows: int(mm("rows")), Left: mm("left"), Top: mm("top"), Width: mm("width"), Height: mm("height"),
		PitchX: mm("pitch_x"), PitchY: mm("pitch_y"),
	}
	if t.Text("symbol") != largestSymbol {
		g.symbol = t.NumberOr("symbol", leastSymbol, 100, largestSymbol)
	}
	right := g.Left + float64(g.Columns-1)*g.PitchX + g.Width
	bottom := g.Top + float64(g.Rows-1)*g.PitchY + g.Height
	of := func(names ...string) []string {
		for i := range names {
			names[i] = paper.Name + "." + names[i]
		}
		return names
	}
	across, down := of("columns", "left", "width", "pitch_x"), of("rows", "top", "height", "pitch_y")
	switch {
	case g.Columns < 1 || g.Rows < 1:
		t.RefuseOne("a sheet has at least one label", of("columns", "rows")...)
	case right > paper.Width+0.01:
		t.RefuseOne(fmt.Sprintf("the last column ends at %.1f mm, the paper at %.1f mm", right, paper.Width), across...)
	case bottom > paper.Height+0.01:
		t.RefuseOne(fmt.Sprintf("the last row ends at %.1f mm, the paper at %.1f mm", bottom, paper.Height), down...)
	case g.Columns > 1 && g.PitchX < g.Width:
		t.RefuseOne("labels would lie on one another: the pitch is at least the width", of("pitch_x", "width")...)
	case g.Rows > 1 && g.PitchY < g.Height:
		t.RefuseOne("labels would lie on one another: the pitch is at least the height", of("pitch_y", "height")...)
	case g.Least()+2*g.Quiet() > g.Room()+0.01:
		t.RefuseOne(fmt.Sprintf("the symbol and its quiet zone need %.1f mm, the label has %.1f mm", g.Least()+2*g.Quiet(), g.Room()),
			append([]string{"symbol", "form", "flag_wrap"}, of("width", "height")...)...)
	case g.Start > g.Columns*g.Rows:
		t.RefuseOne(fmt.Sprintf("a sheet has %d labels", g.Columns*g.Rows), append([]string{"start"}, of("columns", "rows")...)...)
	}
	return g
}

// Least is the smallest side of a symbol.
func (g Labels) Least() float64 { return max(g.symbol, leastSymbol) }

// Coarsest is how many modules a side of the coarsest symbol of a token has.
const Coarsest = 45

// Quiet is the white around the smallest of the coarsest symbols: four modules
// (ISO/IEC 18004, 5.3.8).
func (g Labels) Quiet() float64 { return g.Least() * 4 / Coarsest }

// Half is the width of a flag on one side of the cord.
func (g Labels) Half() float64 { return (g.Width - g.Wrap) / 2 }

// Room is the largest square for a symbol with the white around it.
func (g Labels) Room() float64 {
	if g.Flag {
		return min(g.Height, g.Half())
	}
	return min(g.Height, g.Width-leastText)
}

// Side is how wide a symbol of n modules is drawn. Every module is a whole
// number of dots where the label has the room for that. ok is false without the
// room for modules that a telephone tells apart.
func (g Labels) Side(n int) (side float64, ok bool) {
	whole := OnDots(g.Least(), n, math.Ceil)
	least := leastDots * Dot * float64(n)
	sides := []float64{max(whole, goodDots*Dot*float64(n)), max(whole, least), max(g.Least(), least)}
	if g.symbol == 0 { // of the label's room, four modules of white on either side
		largest := OnDots((g.Room()-Dot)*float64(n)/float64(n+8), n, math.Floor)
		sides = append([]float64{max(largest, sides[0])}, sides...)
	}
	for _, side = range sides {
		if Wide(side, n) <= g.Room()+0.01 {
			return side, true
		}
	}
	return side, false
}

// Wide is what a symbol of n modules takes with the white around it, and a dot
// to come to lie on the printer's.
func Wide(side float64, n int) float64 { return side*float64(n+8)/float64(n) + Dot }

// Dot is one dot of a 300 dpi printer, in millimetres. Printers of 600 and
// 1200 dpi have their dots on the same lines.
const Dot = 25.4 / 300

// OnDots rounds the side of a symbol of n modules so that every module is a
// whole number of dots wide; else they come out uneven, and worn printers
// close the narrow ones.
func OnDots(side float64, n int, round func(float64) float64) float64 {
	dots := max(1, round(side/float64(n)/Dot))
	return dots * Dot * float64(n)
}

// ToDot moves a coordinate to the nearest line of dots.
func ToDot(v float64) float64 { return math.Round(v/Dot) * Dot }
