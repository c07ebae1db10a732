package pdf

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/klauspost/compress/zlib"

	"spanseal/internal/page"
)

// Canvas is a page.Sheet that writes PDF files, one after the other. It serves
// one goroutine; its fonts, buffers and compressor are reused from document to
// document.
type Canvas struct {
	press  *Press
	inks   map[page.Ink]string // as the operands of a colour operator
	file   file
	zip    *zlib.Writer
	zipped bytes.Buffer
	packed packed
	rows   []byte // of the cross-reference stream

	// The document being drawn.
	sheets   []drawnPage
	contents []byte // their content streams, deflated
	pending  []byte // that of the page which is being drawn
	first    int    // of the sheets of this part
	level    int    // of the part's own bookmarks
	used     faceSet
	style    style
	outline  []bookmark
	pictures []picture
	placed   map[[32]byte]int // pictures by their source
	codes    []byte           // those of the last text
	missing  [page.Faces][]rune

	// Its structure.
	elements  []element
	extras    []extra
	kids      []kid
	marks     []int32 // elements of the marked content, page by page
	open      []int32 // elements that have begun, the document first
	artifacts int     // how many artifacts are open within one another
	figure    int32   // that is open, or -1
	marked    int32   // what is being drawn now: an element, unmarked or decoration
}

// span is a part of a buffer.
type span struct{ from, to int }

// drawnPage is a page that was drawn.
type drawnPage struct {
	content  span // in contents
	marks    span // of its elements
	pictures []int
}

// style is the graphics state that the page has been told.
type style struct {
	face         page.Face
	size, weight float64
	fill, stroke page.Ink
}

// unset is a state that no mark has, for a new page.
var unset = style{size: -1, weight: -1, fill: 1 << 31, stroke: 1 << 31}

var _ page.Sheet = (*Canvas)(nil)

// Canvas returns a new canvas of the press, for one worker.
func (p *Press) Canvas() *Canvas {
	zip, err := zlib.NewWriterLevel(io.Discard, contentLevel)
	if err != nil {
		panic(err) // a constant level
	}
	c := &Canvas{press: p, zip: zip, inks: map[page.Ink]string{}, placed: map[[32]byte]int{}}
	c.packed.zip = c.deflate
	c.beginStructure()
	return c
}

// contentLevel is for streams of a few kilobytes, made once a file. At the fast
// setting this compressor takes a twentieth of the time of the standard
// library's at its best for a seventh more bytes, and half of its fast one's.
const contentLevel = zlib.BestSpeed

// draw draws the parts one after the other and packs the content stream of
// each page.
func (c *Canvas) draw(d *Document) error {
	c.sheets, c.contents, c.outline, c.pictures = c.sheets[:0], c.contents[:0], c.outline[:0], c.pictures[:0]
	c.beginStructure()
	c.used = faceSet{}
	clear(c.placed)
	clear(c.missing[:])
	parts := d.Parts
	if d.Draw != nil {
		parts = []BundlePart{{Draw: d.Draw}}
	}
	for _, p := range parts {
		if err := c.drawPart(p, d.Draw == nil); err != nil {
			return err
		}
	}
	if len(c.sheets) == 0 {
		return errors.New("pdf: the document has no page")
	}
	return c.missed()
}

// drawPart draws one part. What is unpacked at a time is a page, however long the
// bundle.
func (c *Canvas) drawPart(p BundlePart, bundled bool) error {
	c.first, c.level = len(c.sheets), 0
	if p.Title != "" {
		c.outline = append(c.outline, bookmark{p.Title, 0, c.first})
		c.level = 1
	}
	c.open, c.artifacts, c.figure, c.pending = c.open[:1], 0, -1, c.pending[:0]
	if bundled {
		c.Begin(page.Element{Role: page.Part})
	}
	if err := p.Draw(c); err != nil {
		return err
	}
	if len(c.sheets) == c.first {
		return errors.New("pdf: a part of the document has no page")
	}
	c.endPage()
	return nil
}

// endPage packs what was drawn on the page.
func (c *Canvas) endPage() {
	c.unmark()
	from := len(c.contents)
	c.contents = append(c.contents, c.deflate(c.pending)...)
	c.sheets[len(c.sheets)-1].content = span{from, len(c.contents)}
	c.pending = c.pending[:0]
}

// MissingError says which characters a document uses that the press has no
// glyphs for. The way out is another typeface file, or naming the characters
// in Options.Runes.
type MissingError struct {
	Face  page.Face
	Runes []rune // sorted, each once
}

func (e *MissingError) Error() string {
	return fmt.Sprintf("pdf: no glyph for %q in the %s typeface", string(e.Runes), e.Face)
}

func (c *Canvas) missed() error {
	for face, runes := range c.missing {
		if len(runes) > 0 {
			slices.Sort(runes)
			return &MissingError{page.Face(face), slices.Compact(runes)}
		}
	}
	return nil
}

func (c *Canvas) Paper() page.PaperSize { return c.press.paper }

func (c *Canvas) NextPage() {
	if c.PageNumber() > 0 {
		c.endPage()
	}
	c.sheets = append(c.sheets, drawnPage{marks: span{len(c.marks), len(c.marks)}})
	c.style = unset
}

func (c *Canvas) PageNumber() int { return len(c.sheets) - c.first }

func (c *Canvas) Width(s page.Style, text string) float64 {
	return c.press.faces[s.Face].Width(s.Size, text)
}

func (c *Canvas) Missing(f page.Face, text string) []rune {
	return c.press.faces[f].Missing(text)
}

// Text is set in the codes of the cuts. A space goes before a text that follows
// another of its element, left of where the text begins.
func (c *Canvas) Text(x, y float64, s page.Style, text string) {
	text, joined := strings.CutSuffix(text, page.Joint)
	if text == "" {
		return
	}
	apart := c.markText() && c.press.faces[s.Face].use(' ') != unused
	if joined {
		c.join()
	}
	c.codes = c.codes[:0]
	if apart {
		c.encode(s.Face, " ")
	}
	if !c.encode(s.Face, text) {
		return
	}
	c.fill(s.Ink)
	operator := append(c.pending, "BT "...)
	if c.style.face != s.Face || c.style.size != s.Size {
		operator = append(append(operator, resourceName(s.Face)...), ' ')
		operator = append(number(operator, s.Size, 2), " Tf "...)
		c.style.face, c.style.size = s.Face, s.Size
	}
	if apart { // the text begins where it would without the space, to the fourth digit
		left := math.Round(100*x*points)/100 - float64(c.press.faces[s.Face].Advance(' '))/1000*math.Round(100*s.Size)/100
		operator = append(number(operator, left, 4), ' ')
	} else {
		operator = append(number(operator, x*points, 2), ' ')
	}
	operator = append(number(operator, (c.press.paper.Height-y)*points, 2), " Td("...)
	for _, b := range c.codes {
		switch b {
		case '(', ')', '\\':
			operator = append(operator, '\\', b)
		case '\r':
			operator = append(operator, `\r`...)
		default:
			operator = append(operator, b)
		}
	}
	c.pending = append(operator, ")Tj ET\n"...)
	if c.figure >= 0 && c.artifacts == 0 {
		h := s.Size * page.MM
		c.extend(x, y-0.8*h, c.Width(s, text), h)
	}
}

// operate adds operators to the content, one line.
func (c *Canvas) operate(parts ...string) {
	for _, s := range parts {
		c.pending = append(c.pending, s...)
	}
	c.pending = append(c.pending, '\n')
}

// numbers adds numbers to what is pending, so many digits behind the point, with a
// space between two.
func (c *Canvas) numbers(digits int, all ...float64) {
	for i, v := range all {
		if i > 0 {
			c.pending = append(c.pending, ' ')
		}
		c.pending = number(c.pending, v, digits)
	}
}

// number appends a number with so many digits behind the point at most.
func number(to []byte, v float64, digits int) []byte {
	to = strconv.AppendFloat(to, v, 'f', digits, 64)
	return bytes.TrimRight(bytes.TrimRight(to, "0"), ".")
}

// box adds a rectangle and what is done with it.
func (c *Canvas) box(x, y, w, h float64, operator string) {
	c.numbers(2, x*points, (c.press.paper.Height-y)*points, w*points, -h*points)
	c.operate(operator)
}

// points are those in a millimetre.
const points = 72 / 25.4

// encode adds the codes of a text to the canvas's: two bytes a character, high
// byte first. It notes which cut of a face the text needs, and which characters
// neither has: the document will not be written. The replacement character
// stands for text that is not UTF-8.
func (c *Canvas) encode(f page.Face, text string) bool {
	whole := true
	for _, r := range text {
		u := c.press.faces[f].use(r)
		if u == unused || r == utf8.RuneError {
			c.missing[f] = append(c.missing[f], r)
			whole = false
		}
		c.used[f] = max(c.used[f], u)
		c.codes = append(c.codes, byte(r>>8), byte(r))
	}
	return whole
}

// fill sets the ink of texts and fills, which are one state in a PDF.
func (c *Canvas) fill(ink page.Ink) {
	if c.style.fill != ink {
		c.operate(c.ink(ink), " rg")
		c.style.fill = ink
	}
}

func (c *Canvas) stroke(weight float64, ink page.Ink) {
	if c.style.stroke != ink {
		c.operate(c.ink(ink), " RG")
		c.style.stroke = ink
	}
	if c.style.weight != weight {
		c.numbers(2, weight*points)
		c.operate(" w")
		c.style.weight = weight
	}
}

// ink returns the red, green and blue of an ink as a content stream has them.
func (c *Canvas) ink(i page.Ink) string {
	text, ok := c.inks[i]
	if !ok {
		red := number(nil, float64(i>>16&0xFF)/255, 3)
		green := number(append(red, ' '), float64(i>>8&0xFF)/255, 3)
		text = string(number(append(green, ' '), float64(i&0xFF)/255, 3))
		c.inks[i] = text
	}
	return text
}

func (c *Canvas) Line(x1, y1, x2, y2, weight float64, ink page.Ink) {
	c.markInk(min(x1, x2)-weight/2, min(y1, y2)-weight/2, math.Abs(x2-x1)+weight, math.Abs(y2-y1)+weight)
	c.stroke(weight, ink)
	height := c.press.paper.Height
	c.numbers(2, x1*points, (height-y1)*points)
	c.pending = append(c.pending, " m "...)
	c.numbers(2, x2*points, (height-y2)*points)
	c.operate(" l S")
}

func (c *Canvas) Fill(x, y, w, h float64, ink page.Ink) {
	c.markInk(x, y, w, h)
	c.fill(ink)
	c.box(x, y, w, h, " re f")
}

func (c *Canvas) Frame(x, y, w, h, weight float64, ink page.Ink) {
	c.markInk(x-weight/2, y-weight/2, w+weight, h+weight)
	c.stroke(weight, ink)
	c.box(x, y, w, h, " re S")
}

func (c *Canvas) Polygon(shape []page.Point, ink page.Ink) {
	if len(shape) == 0 {
		return
	}
	low, high := shape[0], shape[0]
	for _, p := range shape {
		low, high = page.Point{X: min(low.X, p.X), Y: min(low.Y, p.Y)}, page.Point{X: max(high.X, p.X), Y: max(high.Y, p.Y)}
	}
	c.markInk(low.X, low.Y, high.X-low.X, high.Y-low.Y)
	c.fill(ink)
	if len(shape) < 3 {
		return
	}
	for i, p := range shape {
		operator := " l "
		if i == 0 {
			operator = " m "
		}
		c.numbers(2, p.X*points, (c.press.paper.Height-p.Y)*points)
		c.pending = append(c.pending, operator...)
	}
	c.operate("f")
}

func (c *Canvas) Bookmark(title string, level int) {
	c.outline = append(c.outline, bookmark{title, c.level + level, max(len(c.sheets)-1, c.first)})
}

// turns maps the unit square of an image onto itself, for each way to hold the
// camera (see page.Orientation).
var turns = [9]string{
	2: "-1 0 0 1 1 0 cm ", 3: "-1 0 0 -1 1 1 cm ", 4: "1 0 0 -1 0 1 cm ",
	5: "0 -1 -1 0 1 1 cm ", 6: "0 -1 1 0 0 1 cm ", 7: "0 1 1 0 0 0 cm ", 8: "0 1 -1 0 1 0 cm ",
}

// place draws a picture scaled to the box.
func (c *Canvas) place(n, orientation int, x, y, w, h float64) {
	c.markInk(x, y, w, h)
	here := &c.sheets[len(c.sheets)-1]
	if !slices.Contains(here.pictures, n) {
		here.pictures = append(here.pictures, n)
	}
	const k = points
	c.operate(fmt.Sprintf("q %.3f 0 0 %.3f %.3f %.3f cm %s/I%d Do Q",
		w*k, h*k, x*k, (c.press.paper.Height-y-h)*k, turns[orientation], n))
}
