// Package page is a blank sheet: text, lines, boxes and modules, placed in
// millimetres from the top left corner, y downward. Text stands on its
// baseline. Documents draw on a [Sheet]; package pdf is the paper, and
// [Recorder] stands in for it in tests.
package page

// Face is one of the typefaces of a document.
type Face uint8

const (
	Regular Face = iota
	Medium
	Bold
	Italic
	Mono
	Faces = 5 // how many there are
)

// Ink is a colour, 0xRRGGBB.
type Ink uint32

// Style is how a text is set: face, size in points (1/72 inch) and ink.
type Style struct {
	Face Face
	Size float64
	Ink  Ink
}

// Point is a place in millimetres.
type Point struct{ X, Y float64 }

// Millimetres in a point of type, 1/72 inch (ISO 32000-1, 8.3.2.3).
const MM = 25.4 / 72

// PaperSize is a sheet size in millimetres.
type PaperSize struct {
	Name          string
	Width, Height float64
}

// The papers of the world's offices (ISO 216; ANSI/ASME Y14.1).
var (
	A4     = PaperSize{"A4", 210, 297}
	Letter = PaperSize{"letter", 215.9, 279.4}
)

// Sheet is what documents draw on. Drawing goes to the current page; NextPage
// starts another of the same size. Drawing never fails: text that a face lacks
// glyphs for is found beforehand with Missing.
//
// What a document is made of is told by Begin and Finish, in the order in which it
// is read, and may go on over pages. Texts of one element are apart by a space, as
// lines of a paragraph are, unless one ends with [Joint]. A text outside of
// elements is a paragraph. Lines, boxes, shapes, symbols and pictures are
// decoration outside of figures.
type Sheet interface {
	// Paper is the size of every page.
	Paper() PaperSize
	// NextPage starts a page. The first page needs it too.
	NextPage()
	// PageNumber counts from one; 0 before the first NextPage.
	PageNumber() int

	// Width returns how wide the text sets, in millimetres.
	Width(s Style, text string) float64
	// Missing returns the characters of text for which the face has no glyph.
	Missing(f Face, text string) []rune

	// Text sets one line with its baseline's left end at x, y.
	Text(x, y float64, s Style, text string)
	// Line draws a straight stroke, weight in millimetres.
	Line(x1, y1, x2, y2, weight float64, ink Ink)
	// Fill fills a box.
	Fill(x, y, w, h float64, ink Ink)
	// Frame strokes a box; the stroke lies half inside and half outside.
	Frame(x, y, w, h, weight float64, ink Ink)
	// Polygon fills a closed shape.
	Polygon(points []Point, ink Ink)
	// Modules draws a square symbol: dark[row][column], side millimetres
	// wide without its quiet zone.
	Modules(x, y, side float64, dark [][]bool, ink Ink)
	// Picture places a JPEG or PNG, scaled to the box.
	Picture(x, y, w, h float64, data []byte) error
	// Bookmark names this place in the outline, level from 0.
	Bookmark(title string, level int)

	// Begin opens an element within the one that is open; what is drawn until its
	// Finish belongs to it. What is within an artifact is part of it.
	Begin(e Element)
	Finish()
}
