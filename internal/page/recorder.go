package page

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// Box is a rectangle in millimetres; X, Y is its top left corner.
type Box struct{ X, Y, W, H float64 }

func (b Box) String() string {
	return fmt.Sprintf("%.2f,%.2f %.2fx%.2f mm", b.X, b.Y, b.W, b.H)
}

// slack is how far boxes may pass each other's edge: the precision of the
// coordinates in a PDF, a hundredth of a point, and of sums of floats.
const slack = 0.01

// Contains reports whether c lies inside b.
func (b Box) Contains(c Box) bool {
	return c.X >= b.X-slack && c.Y >= b.Y-slack &&
		c.X+c.W <= b.X+b.W+slack && c.Y+c.H <= b.Y+b.H+slack
}

// Overlaps reports whether the boxes share an area.
func (b Box) Overlaps(c Box) bool {
	return b.X+b.W > c.X+slack && c.X+c.W > b.X+slack &&
		b.Y+b.H > c.Y+slack && c.Y+c.H > b.Y+slack
}

// Kind is what sort of mark stands on a recorded page.
type Kind string

const (
	TextMark    Kind = "text"
	LineMark    Kind = "line"
	FillMark    Kind = "fill"
	FrameMark   Kind = "frame"
	PolygonMark Kind = "polygon"
	ModulesMark Kind = "modules"
	PictureMark Kind = "picture"
)

// Mark is one thing drawn. Box encloses its ink: of text, its advance width,
// cap height and the face's descent, whatever letters it has. Quiet is the
// white that must stay around it: of a symbol four modules (ISO/IEC 18004,
// 5.3.8).
type Mark struct {
	Kind  Kind
	Page  int
	Box   Box
	Quiet float64
	Ink   Ink
	Text  string
	Style Style
	At    Point // of text: the left end of its baseline
	// In is the place, from one, of the innermost element among the recorder's; 0:
	// none. Joined is that the text ended with a Joint.
	In     int
	Joined bool
}

// Room is the box with the white that must stay around it.
func (m Mark) Room() Box {
	return Box{m.Box.X - m.Quiet, m.Box.Y - m.Quiet, m.Box.W + 2*m.Quiet, m.Box.H + 2*m.Quiet}
}

func (m Mark) String() string {
	if m.Kind == TextMark {
		return fmt.Sprintf("%q at %v", m.Text, m.Box)
	}
	return fmt.Sprintf("%s at %v", m.Kind, m.Box)
}

// Outline is a recorded bookmark.
type Outline struct {
	Title       string
	Level, Page int
}

// Node is a recorded element; Parent is the place, from one, of the element that
// it is in, 0 for none.
type Node struct {
	Element
	Parent, Page int
}

// Recorder is a Sheet that remembers what was drawn, in order, for tests of
// documents. It measures text as the PDF does.
type Recorder struct {
	Marks    []Mark
	Outlines []Outline
	Elements []Node

	open  []int // places of the open elements
	paper PaperSize
	page  int
	faces [Faces]*Typeface
}

var _ Sheet = (*Recorder)(nil)

// NewRecorder returns an empty sheet with the Go fonts.
func NewRecorder(p PaperSize) *Recorder {
	return &Recorder{paper: p, faces: GoTypefaces()}
}

func (r *Recorder) Paper() PaperSize { return r.paper }
func (r *Recorder) NextPage()        { r.page++ }
func (r *Recorder) PageNumber() int  { return r.page }

func (r *Recorder) Width(s Style, text string) float64 { return r.faces[s.Face].Width(s.Size, text) }

func (r *Recorder) Missing(f Face, text string) []rune { return r.faces[f].Missing(text) }

// add records a mark; drawing before the first NextPage is a programming
// fault, found here because a PDF would lose the mark.
func (r *Recorder) add(m Mark) {
	if r.page == 0 {
		panic(fmt.Sprintf("page: %v drawn before the first page", m))
	}
	m.Page, m.In = r.page, r.in()
	r.Marks = append(r.Marks, m)
}

func (r *Recorder) Text(x, y float64, s Style, text string) {
	text, joined := strings.CutSuffix(text, Joint)
	em := s.Size * MM / 1000
	f := r.faces[s.Face]
	ascent, descent := float64(f.CapHeight)*em, float64(f.Descent)*em
	box := Box{x, y - ascent, r.Width(s, text), ascent + descent}
	if joined { // a soft hyphen is seen, and not read
		text = strings.TrimSuffix(text, SoftHyphen)
	}
	r.add(Mark{Kind: TextMark, Box: box, Ink: s.Ink, Text: text, Style: s, At: Point{x, y}, Joined: joined})
}

func (r *Recorder) Line(x1, y1, x2, y2, weight float64, ink Ink) {
	r.add(Mark{Kind: LineMark, Box: around(weight/2, Point{x1, y1}, Point{x2, y2}), Ink: ink})
}

func (r *Recorder) Fill(x, y, w, h float64, ink Ink) {
	r.add(Mark{Kind: FillMark, Box: Box{x, y, w, h}, Ink: ink})
}

func (r *Recorder) Frame(x, y, w, h, weight float64, ink Ink) {
	r.add(Mark{Kind: FrameMark, Box: around(weight/2, Point{x, y}, Point{x + w, y + h}), Ink: ink})
}

func (r *Recorder) Polygon(points []Point, ink Ink) {
	r.add(Mark{Kind: PolygonMark, Box: around(0, points...), Ink: ink})
}

func (r *Recorder) Modules(x, y, side float64, dark [][]bool, ink Ink) {
	r.add(Mark{Kind: ModulesMark, Box: Box{x, y, side, side}, Quiet: 4 * side / float64(max(len(dark), 21)), Ink: ink})
}

func (r *Recorder) Picture(x, y, w, h float64, data []byte) error {
	if _, _, err := PictureSize(data); err != nil {
		return err
	}
	r.add(Mark{Kind: PictureMark, Box: Box{x, y, w, h}})
	return nil
}

func (r *Recorder) Bookmark(title string, level int) {
	r.Outlines = append(r.Outlines, Outline{title, level, r.page})
}

func (r *Recorder) in() int {
	if len(r.open) == 0 {
		return 0
	}
	return r.open[len(r.open)-1]
}

// Begin panics before the first page: there the tape that a layout is kept on
// would lose it.
func (r *Recorder) Begin(e Element) {
	if r.page == 0 {
		panic(fmt.Sprintf("page: %v begun before the first page", e.Role))
	}
	r.Elements = append(r.Elements, Node{e, r.in(), r.page})
	r.open = append(r.open, len(r.Elements))
}

// Finish panics where nothing is open.
func (r *Recorder) Finish() {
	if len(r.open) == 0 {
		panic("page: Finish without Begin")
	}
	r.open = r.open[:len(r.open)-1]
}

// Open is how many elements have no end yet.
func (r *Recorder) Open() int { return len(r.open) }

// Artifact reports whether a mark says nothing to those who hear the document.
func (r *Recorder) Artifact(m Mark) bool {
	figure := false
	for at := m.In; at > 0; at = r.Elements[at-1].Parent {
		switch r.Elements[at-1].Role {
		case Artifact:
			return true
		case Figure:
			figure = true
		}
	}
	return m.Kind != TextMark && !figure
}

// around is the box of the points, grown by a margin.
func around(margin float64, points ...Point) Box {
	if len(points) == 0 {
		return Box{}
	}
	lo, hi := points[0], points[0]
	for _, p := range points {
		lo = Point{min(lo.X, p.X), min(lo.Y, p.Y)}
		hi = Point{max(hi.X, p.X), max(hi.Y, p.Y)}
	}
	return Box{lo.X - margin, lo.Y - margin, hi.X - lo.X + 2*margin, hi.Y - lo.Y + 2*margin}
}

// Texts returns the texts in the order drawn, which is the order in which a
// screen reader or a copied selection has them.
func (r *Recorder) Texts() []string {
	var texts []string
	for _, m := range r.Marks {
		if m.Kind == TextMark {
			texts = append(texts, m.Text)
		}
	}
	return texts
}

// Lines returns a page as the eye reads it: one string a baseline from the top
// down, its texts from left to right with two spaces between. Baselines less
// than half a millimetre apart are one line.
func (r *Recorder) Lines(page int) []string {
	var texts []Mark
	for _, m := range r.Marks {
		if m.Kind == TextMark && m.Page == page {
			texts = append(texts, m)
		}
	}
	slices.SortStableFunc(texts, func(a, b Mark) int { return cmp.Compare(a.At.Y, b.At.Y) })
	var lines []string
	for len(texts) > 0 {
		n := 1
		for n < len(texts) && texts[n].At.Y-texts[0].At.Y < 0.5 {
			n++
		}
		line := texts[:n]
		slices.SortStableFunc(line, func(a, b Mark) int { return cmp.Compare(a.At.X, b.At.X) })
		words := make([]string, n)
		for i, m := range line {
			words[i] = m.Text
		}
		lines = append(lines, strings.Join(words, "  "))
		texts = texts[n:]
	}
	return lines
}

// Overlaps lists texts, symbols and pictures that lie on one another, or in the
// white that a symbol needs.
func (r *Recorder) Overlaps() []string {
	var solid []Mark
	for _, m := range r.Marks {
		if m.Kind == TextMark && m.Text != "" || m.Kind == ModulesMark || m.Kind == PictureMark {
			solid = append(solid, m)
		}
	}
	slices.SortStableFunc(solid, func(a, b Mark) int {
		return cmp.Or(cmp.Compare(a.Page, b.Page), cmp.Compare(a.Room().Y, b.Room().Y))
	})
	var found []string
	for i, a := range solid {
		for _, b := range solid[i+1:] {
			if b.Page != a.Page || b.Room().Y > a.Room().Y+a.Room().H {
				break
			}
			if a.Room().Overlaps(b.Room()) {
				found = append(found, fmt.Sprintf("page %d: %v lies on %v", a.Page, a, b))
			}
		}
	}
	return found
}

// Outside lists the marks, of every page, that are not inside the box.
func (r *Recorder) Outside(box Box) []string {
	var found []string
	for _, m := range r.Marks {
		if !box.Contains(m.Box) {
			found = append(found, fmt.Sprintf("page %d: %v is outside %v", m.Page, m, box))
		}
	}
	return found
}

// Sheet is the box of the whole paper.
func (p PaperSize) Sheet() Box { return Box{0, 0, p.Width, p.Height} }

// Faint lists the texts whose contrast to the fill below them, or to white
// paper, is under the ratio.
func (r *Recorder) Faint(ratio float64) []string {
	var found []string
	for i, m := range r.Marks {
		if m.Kind != TextMark {
			continue
		}
		ground := Ink(0xFFFFFF)
		for _, under := range r.Marks[:i] {
			if under.Kind == FillMark && under.Page == m.Page && under.Box.Overlaps(m.Box) {
				ground = under.Ink
			}
		}
		if c := Contrast(m.Ink, ground); c < ratio {
			found = append(found, fmt.Sprintf("page %d: %v has contrast %.2f", m.Page, m, c))
		}
	}
	return found
}

// Contrast is the contrast ratio of two colours, 1 to 21 (WCAG 2.2, contrast
// ratio and relative luminance).
func Contrast(a, b Ink) float64 {
	l1, l2 := a.luminance(), b.luminance()
	return (max(l1, l2) + 0.05) / (min(l1, l2) + 0.05)
}

func (i Ink) luminance() float64 {
	linear := func(v Ink) float64 {
		c := float64(v&0xFF) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(i>>16) + 0.7152*linear(i>>8) + 0.0722*linear(i)
}
