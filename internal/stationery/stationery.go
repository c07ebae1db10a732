// Package stationery knows labels: where each lies on its sheet or tape, how large a symbol
// on one may be, and which is too small for it.
//
// A symbol carries the signed token of a link, or its certificate's number alone, for which
// a smaller one is enough; or a label has no symbol. On tape each label is a page of the
// tape's height. Measures are millimetres, from documents/labels.yaml. Symbols are QR symbols (ISO/IEC
// 18004); every module of one is a whole number of dots of a 300 dpi printer where the
// label has the room for that.
package stationery

import (
	"fmt"
	"math"

	"spanseal/internal/page"
	"spanseal/internal/template"
)

// Words of labels.yaml: a symbol as large as the label allows, a tape cut as long as the
// longest text needs.
const (
	largestSymbol = "largest"
	neededLength  = "needed"
)

// What a symbol carries.
const (
	Token   = "token"
	Number  = "number" // of the certificate
	Nothing = "nothing"
)

// leastSymbol is the smallest side of the symbol of a token, in millimetres, leastNumber
// that of a number, and leastDots how many dots of a 300 dpi printer a module has at least:
// what a telephone manages (tested in packages label and certify). It has goodDots where
// there is room.
const (
	leastSymbol = 20
	leastNumber = 8
	leastDots   = 3
	goodDots    = 4
)

// LeastText is the least width of the text of a label, in millimetres; a line of it is so
// high at least.
const (
	LeastText = 15
	leastLine = 5
)

// Labels is a sheet of labels, in millimetres.
type Labels struct {
	Flag    bool // folded around a cord: symbol and text on either side of a blank middle
	Wrap    float64
	Outline bool
	Start   int     // first label to use, from one
	symbol  float64 // side of a symbol; 0: as large as the label allows
	Carries string  // Token, Number or Nothing
	Ends    bool    // one label for each end, which says at which it is
	Copies  int     // of each label
	Tape    bool    // one label a page; a Width of 0 is as long as its text needs

	Columns, Rows  int
	Left, Top      float64
	Width, Height  float64
	PitchX, PitchY float64
}

// Read reads the geometry for a paper and refuses one that does not fit; it says what the
// least is.
func Read(t template.Values, paper page.PaperSize) Labels {
	mm := func(key string) float64 { return t.Number(paper.Name+"."+key, 0, 400) }
	g := Labels{
		Flag: t.OneOf("form", "plain", "flag") == "flag", Wrap: t.Number("flag_wrap", 0, 100),
		Outline: t.OneOf("outline", "yes", "no") == "yes", Start: int(t.Number("start", 1, 1000)),
		Columns: int(mm("columns")), Rows: int(mm("rows")), Left: mm("left"), Top: mm("top"), Width: mm("width"), Height: mm("height"),
		PitchX: mm("pitch_x"), PitchY: mm("pitch_y"),
	}
	g.Carries = t.OneOf("carries", Token, Number, Nothing)
	g.Ends, g.Copies = t.OneOf("ends", "one", "both") == "both", int(t.Number("copies", 1, 100))
	if t.Text("symbol") != largestSymbol {
		g.symbol = t.NumberOr("symbol", g.leastSymbol(), 100, largestSymbol)
	}
	height, length := t.Number("tape.height", leastLine, 200), 0.0
	if t.Text("tape.length") != neededLength {
		length = t.NumberOr("tape.length", LeastText, 400, neededLength)
	}
	if t.OneOf("stationery", "sheet", "tape") == "tape" {
		g.Tape, g.Columns, g.Rows, g.Left, g.Top, g.Width, g.Height, g.Start, g.Outline = true, 1, 1, 0, 0, length, height, 1, false
		switch {
		case g.short():
			t.RefuseOne(g.want(), "tape.height", "tape.length", "symbol", "form", "flag_wrap", "carries")
		case length > 0 && g.Half() < LeastText && g.Flag:
			t.RefuseOne(fmt.Sprintf("each side of a flag is at least %d mm", LeastText), "tape.length", "flag_wrap")
		}
		return g
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
		t.RefuseOne("labels would overlap: the pitch is at least the width", of("pitch_x", "width")...)
	case g.Rows > 1 && g.PitchY < g.Height:
		t.RefuseOne("labels would overlap: the pitch is at least the height", of("pitch_y", "height")...)
	case g.short():
		size := of("width", "height")
		if g.Room() >= g.Height {
			size = of("height", "width")
		}
		t.RefuseOne(g.want(), append([]string{"symbol", "form", "flag_wrap", "carries"}, size...)...)
	case g.Start > g.Columns*g.Rows:
		t.RefuseOne(fmt.Sprintf("a sheet has %d labels", g.Columns*g.Rows), append([]string{"start"}, of("columns", "rows")...)...)
	}
	return g
}

// short reports labels without room for what they carry.
func (g Labels) short() bool {
	if g.Carries == Nothing {
		return g.Room() < LeastText && !(g.Tape && g.Width == 0) || g.Height < leastLine
	}
	return g.need() > g.Room()+0.01
}

// need is what the smallest symbol takes, with the white around it.
func (g Labels) need() float64 { return g.Least() + 2*g.Quiet() }

// want says what the least is.
func (g Labels) want() string {
	if g.Carries == Nothing {
		return fmt.Sprintf("text alone needs %d mm of width and %d mm of height", LeastText, leastLine)
	}
	want := fmt.Sprintf("the symbol and its quiet zone need %.1f mm, the label has %.1f mm", g.need(), g.Room())
	if g.Carries == Token {
		number := Labels{Carries: Number}
		want += fmt.Sprintf("; one with carries: number needs %.1f mm, and carries: nothing none", number.need())
	}
	return want
}

func (g Labels) leastSymbol() float64 {
	if g.Carries == Number {
		return leastNumber
	}
	return leastSymbol
}

// Least is the smallest side of a symbol.
func (g Labels) Least() float64 { return max(g.symbol, g.leastSymbol()) }

// Coarsest is how many modules a side of the coarsest symbol has: of a token, or of a
// number of up to twenty characters.
func (g Labels) Coarsest() int {
	if g.Carries == Number {
		return 21
	}
	return 45
}

// Quiet is the white around the smallest of the coarsest symbols: four modules
// (ISO/IEC 18004, 5.3.8). Text keeps this distance too.
func (g Labels) Quiet() float64 {
	if g.Carries == Nothing {
		return 1
	}
	return g.Least() * 4 / float64(g.Coarsest())
}

// Half is the width of a flag on one side of the cord.
func (g Labels) Half() float64 { return (g.Width - g.Wrap) / 2 }

// Room is the largest square for a symbol with the white around it; without a symbol, the
// width of the text.
func (g Labels) Room() float64 {
	switch {
	case g.Carries == Nothing && g.Flag:
		return g.Half()
	case g.Carries == Nothing:
		return g.Width
	case g.Tape && g.Width == 0:
		return g.Height
	case g.Flag:
		return min(g.Height, g.Half())
	}
	return min(g.Height, g.Width-LeastText)
}

// Beside is the width of the text beside a symbol that takes box with the white around
// it, or 0 without one; of a flag, on its side of the cord.
func (g Labels) Beside(box float64) float64 {
	switch {
	case g.Flag:
		return g.Half() - 2*g.Quiet()
	case box == 0:
		return g.Width - 2*g.Quiet()
	}
	return g.Width - box - g.Quiet()
}

// share is how much of the room a symbol takes that is to be as large as the label allows:
// that of a number leaves the text its half.
func (g Labels) share() float64 {
	if g.Carries == Number && !g.Flag && g.Width > 0 {
		return min(g.Room(), g.Width/2)
	}
	return g.Room()
}

// Long is a tape that is cut so long that its text of a width fits, beside a symbol that
// takes box with the white around it.
func (g Labels) Long(text, box float64) Labels {
	text = max(text, LeastText)
	g.Width = box + text + g.Quiet()
	if g.Carries == Nothing {
		g.Width = text + 2*g.Quiet()
	}
	if g.Flag {
		g.Width = 2*max(text+2*g.Quiet(), box) + g.Wrap
	}
	return g
}

// Side is how wide a symbol of n modules is drawn. Every module is a whole
// number of dots where the label has the room for that. ok is false without the
// room for modules that a telephone tells apart.
func (g Labels) Side(n int) (side float64, ok bool) {
	whole := OnDots(g.Least(), n, math.Ceil)
	least := leastDots * Dot * float64(n)
	sides := []float64{max(whole, goodDots*Dot*float64(n)), max(whole, least), max(g.Least(), least)}
	if g.symbol == 0 { // of the label's room, four modules of white on either side
		largest := OnDots((g.share()-Dot)*float64(n)/float64(n+8), n, math.Floor)
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
