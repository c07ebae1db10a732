package pdf

import (
	"cmp"
	"strconv"

	"spanseal/internal/page"
)

// element is a structure element of the document being drawn. Its kids are a
// chain in the canvas, so that each of a million takes as long as the first. A
// large summary has as many cells: what few elements have stands elsewhere.
type element struct {
	role            page.Role
	ofRow, numbered bool
	told            bool // it has a text, and what comes next is apart from it
	span            uint8
	extra           int32 // place among the extras, from one; 0: none
	parent          int32 // place among the elements
	first, last     int32 // of its kids; -1: none
}

// extra is what few elements have.
type extra struct {
	alt, lang string
	box       page.Box // of a figure
	sheet     int32    // that the box is on; -1: none, -2: several
}

// kid is an element, or marked content, in an element.
type kid struct {
	next int32
	of   int32 // an element, or of content one less than minus the number of its page
	mcid int32
}

// What the content that is being drawn is marked as: an element or one of these.
const (
	unmarked   = -1
	decoration = -2
)

// beginStructure starts the structure of a document.
func (c *Canvas) beginStructure() {
	c.elements, c.extras, c.kids, c.marks = c.elements[:0], c.extras[:0], c.kids[:0], c.marks[:0]
	c.open, c.artifacts, c.figure, c.marked = c.open[:0], 0, -1, unmarked
	c.elements = append(c.elements, element{first: -1, last: -1}) // the document
	c.open = append(c.open, 0)
}

func (c *Canvas) Begin(e page.Element) {
	if c.artifacts > 0 || e.Role == page.Artifact {
		c.artifacts++
		return
	}
	at := c.adopt(e, c.open[len(c.open)-1])
	c.open = append(c.open, at)
	if e.Role == page.Figure {
		c.figure = at
	}
}

// Finish closes the innermost element. That of the document is closed by nobody.
func (c *Canvas) Finish() {
	switch {
	case c.artifacts > 0:
		c.artifacts--
	case len(c.open) > 1:
		if c.open[len(c.open)-1] == c.figure {
			c.figure = -1
		}
		c.open = c.open[:len(c.open)-1]
	}
}

// adopt makes an element the last kid of another.
func (c *Canvas) adopt(e page.Element, parent int32) int32 {
	at := int32(len(c.elements))
	own := element{role: e.Role, ofRow: e.OfRow, numbered: e.Numbered, span: uint8(min(e.Span, 255)), parent: parent, first: -1, last: -1}
	if e.Role == page.Figure || e.Role == page.Signing || e.Lang != "" {
		c.extras = append(c.extras, extra{alt: e.Alt, lang: e.Lang, sheet: -1})
		own.extra = int32(len(c.extras))
	}
	c.elements = append(c.elements, own)
	c.addKid(parent, kid{next: -1, of: at})
	return at
}

func (c *Canvas) addKid(parent int32, k kid) {
	at := int32(len(c.kids))
	c.kids = append(c.kids, k)
	if e := &c.elements[parent]; e.first < 0 {
		e.first, e.last = at, at
	} else {
		c.kids[e.last].next, e.last = at, at
	}
}

// mark says what is drawn next belongs to: an element or decoration. Content that
// belongs to one and the same thing is marked once.
func (c *Canvas) mark(as int32) {
	if c.marked == as {
		return
	}
	c.unmark()
	if c.marked = as; as == decoration {
		c.operate("/Artifact BMC")
		return
	}
	here := &c.sheets[len(c.sheets)-1]
	mcid := len(c.marks) - here.marks.from
	c.marks = append(c.marks, as)
	here.marks.to = len(c.marks)
	c.addKid(as, kid{next: -1, of: -int32(len(c.sheets)), mcid: int32(mcid)})
	operator := append(append(append(c.pending, '/'), c.elements[as].role.String()...), "<</MCID "...)
	c.pending = append(strconv.AppendInt(operator, int64(mcid), 10), ">>BDC\n"...)
}

// unmark ends what is marked: each page ends what it begins.
func (c *Canvas) unmark() {
	if c.marked != unmarked {
		c.operate("EMC")
		c.marked = unmarked
	}
}

// markText marks a text as the innermost element, or as a paragraph of its own,
// and reports whether a space is to go before it.
func (c *Canvas) markText() (apart bool) {
	if c.artifacts > 0 {
		c.mark(decoration)
		return false
	}
	in := c.open[len(c.open)-1]
	if in == 0 || c.elements[in].role == page.Part {
		in = c.adopt(page.Element{Role: page.Paragraph}, in)
	}
	c.mark(in)
	e := &c.elements[in]
	apart, e.told = e.told, true
	return apart
}

// join says that the text which follows is not apart.
func (c *Canvas) join() {
	if c.artifacts == 0 && c.marked >= 0 {
		c.elements[c.marked].told = false
	}
}

// markInk marks what is no text, within its box: as the figure that is open, or
// as decoration.
func (c *Canvas) markInk(x, y, w, h float64) {
	if c.artifacts > 0 || c.figure < 0 {
		c.mark(decoration)
		return
	}
	c.mark(c.figure)
	c.extend(x, y, w, h)
}

// extend lets the box of the open figure hold another.
func (c *Canvas) extend(x, y, w, h float64) {
	e, here := &c.extras[c.elements[c.figure].extra-1], int32(len(c.sheets)-1)
	switch e.sheet {
	case -1:
		e.box, e.sheet = page.Box{X: x, Y: y, W: w, H: h}, here
	case here:
		b := &e.box
		right, foot := max(b.X+b.W, x+w), max(b.Y+b.H, y+h)
		b.X, b.Y = min(b.X, x), min(b.Y, y)
		b.W, b.H = right-b.X, foot-b.Y
	default: // a figure on two pages has none (ISO 32000-1, table 344)
		e.sheet = -2
	}
}

// signing finds the element of the signature's field: the one that was drawn, or
// one at the end. Those of a document without a signature, and several, of the
// papers of a bundle, are left out.
func (c *Canvas) signing(sig *Signature) int32 {
	at, n := int32(-1), 0
	for i := range c.elements {
		if c.elements[i].role == page.Signing {
			at = int32(i)
			n++
		}
	}
	if sig == nil {
		return -1
	}
	if n != 1 {
		at = c.adopt(page.Element{Role: page.Signing}, 0)
	}
	e := &c.extras[c.elements[at].extra-1]
	e.alt = cmp.Or(e.alt, sig.Reason, sig.Name, "Signature")
	return at
}

// structure writes the tree of elements and the tables that lead from content to
// it (ISO 32000-1, 14.7), and returns its root. Elements without a Pg have no
// content of their own.
func (c *Canvas) structure(pages []ref, field ref, sig *Signature, signing int32) ref {
	p := &c.packed
	root, parents := p.reserve(), p.reserve()
	base := p.reserve()
	for range c.elements[1:] {
		p.reserve()
	}
	num := func(i int32) ref { return base + ref(i) }

	p.begin(root)
	p.ref("<</Type/StructTreeRoot/K", base)
	p.ref("/ParentTree", parents)
	p.str("/ParentTreeNextKey ")
	p.int(len(pages) + 1)
	p.str(">>")
	p.end()

	for i := range c.elements {
		e, at := &c.elements[i], int32(i)
		dropped := e.role == page.Signing && at != signing
		p.begin(num(at))
		kind, parent := e.role.String(), root
		switch {
		case i == 0:
			kind = "Document"
		case dropped: // the field is another's
			kind, parent = "NonStruct", num(e.parent)
		default:
			parent = num(e.parent)
		}
		p.buf = append(append(append(p.buf, "<</S/"...), kind...), "/P "...)
		p.buf = append(strconv.AppendInt(p.buf, int64(parent), 10), " 0 R"...)
		if i > 0 && !dropped {
			c.attributes(e)
		}
		if at == signing {
			p.ref("/K<</Type/OBJR/Obj", field)
			p.ref("/Pg", pages[max(sig.Page, 1)-1])
			p.str(">>")
		}
		c.writeKids(e, num, pages)
		p.str(">>")
		p.end()
	}

	rows := make([]ref, len(pages))
	for i, s := range c.sheets {
		rows[i] = p.reserve()
		p.begin(rows[i])
		p.str("[")
		for _, at := range c.marks[s.marks.from:s.marks.to] {
			p.buf = append(strconv.AppendInt(append(p.buf, ' '), int64(num(at)), 10), " 0 R"...)
		}
		p.str("]")
		p.end()
	}
	p.begin(parents)
	p.str("<</Nums[")
	for i, row := range rows {
		p.str(" ")
		p.int(i)
		p.ref("", row)
	}
	if signing >= 0 {
		p.str(" ")
		p.int(len(pages))
		p.ref("", num(signing))
	}
	p.str("]>>")
	p.end()
	return root
}

// attributes writes what an element has beside its kind (ISO 32000-1, 14.8.5 and
// 14.9).
func (c *Canvas) attributes(e *element) {
	p := &c.packed
	if e.extra > 0 {
		x := &c.extras[e.extra-1]
		p.entry("/Alt", x.alt)
		p.entry("/Lang", x.lang)
	}
	switch e.role {
	case page.HeaderCell:
		scope := "Column"
		if e.ofRow {
			scope = "Row"
		}
		p.str("/A<</O/Table/Scope/", scope)
		p.span(int(e.span))
	case page.Cell:
		if e.span > 1 {
			p.str("/A<</O/Table")
			p.span(int(e.span))
		}
	case page.List:
		if e.numbered {
			p.str("/A<</O/List/ListNumbering/Decimal>>")
		}
	case page.Figure:
		p.str("/A<</O/Layout/Placement/Block")
		if x := &c.extras[e.extra-1]; x.sheet >= 0 {
			height := c.press.paper.Height
			p.str("/BBox[")
			for i, v := range []float64{x.box.X, height - x.box.Y - x.box.H, x.box.X + x.box.W, height - x.box.Y} {
				if i > 0 {
					p.str(" ")
				}
				p.points(v)
			}
			p.str("]")
		}
		p.str(">>")
	}
}

func (f *file) span(columns int) {
	if columns > 1 {
		f.str("/ColSpan ")
		f.int(columns)
	}
	f.str(">>")
}

// writeKids writes the kids of an element: elements by their numbers, content by
// its number on the page, which is named where it is not the element's first.
func (c *Canvas) writeKids(e *element, num func(int32) ref, pages []ref) {
	p := &c.packed
	if e.first < 0 {
		return
	}
	if k := &c.kids[e.first]; k.of < 0 && k.next < 0 { // as most are
		p.ref("/Pg", pages[-1-k.of])
		p.buf = strconv.AppendInt(append(p.buf, "/K "...), int64(k.mcid), 10)
		return
	}
	own := int32(0) // the page of the element's content, as kids have it
	for at := e.first; at >= 0; at = c.kids[at].next {
		if own = c.kids[at].of; own < 0 {
			p.ref("/Pg", pages[-1-own])
			break
		}
	}
	several := c.kids[e.first].next >= 0
	p.str("/K")
	if several {
		p.str("[")
	}
	for at := e.first; at >= 0; at = c.kids[at].next {
		switch k := &c.kids[at]; {
		case k.of >= 0:
			p.ref("", num(k.of))
		case k.of == own:
			p.str(" ")
			p.int(int(k.mcid))
		default:
			p.ref("<</Type/MCR/Pg", pages[-1-k.of])
			p.str("/MCID ")
			p.int(int(k.mcid))
			p.str(">>")
		}
	}
	if several {
		p.str("]")
	}
}
