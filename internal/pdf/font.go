package pdf

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"slices"
	"strings"

	"golang.org/x/image/font/sfnt"

	"spanseal/internal/page"
)

// typeface is a face of the press: its metrics and its cuts.
type typeface struct {
	*page.Typeface
	wide, narrow *cut // the same where there is no sample
}

// cut is a font cut down to some characters: what its objects hold.
type cut struct {
	name       string   // PostScript name with the subset's tag
	glyphs     []uint16 // by character; 0: none
	descendant string   // entries of the CIDFont
	descriptor string   // entries of the font descriptor

	// Deflated streams.
	program, cidToGID, toUnicode []byte
	programLength                int // inflated
}

func newTypeface(face *page.Typeface, runes []rune, unicodes []byte) (*typeface, error) {
	c, err := newCut(face, runes, unicodes)
	return &typeface{face, c, c}, err
}

// use says which cut has the character, unused for none.
func (t *typeface) use(r rune) faceUse {
	switch {
	case t.narrow.contains(r):
		return narrow
	case t.wide.contains(r):
		return wide
	}
	return unused
}

func (t *typeface) cut(u faceUse) *cut {
	if u == narrow {
		return t.narrow
	}
	return t.wide
}

// newCut cuts a font down; unicodes is the CMap of its codes, deflated.
func newCut(face *page.Typeface, runes []rune, unicodes []byte) (*cut, error) {
	have := slices.DeleteFunc(slices.Clone(runes), func(r rune) bool { return !face.Has(r) })
	slices.Sort(have)
	have = slices.Compact(have)
	ttf, glyphs, err := subset(face, have)
	if err != nil {
		return nil, fmt.Errorf("typeface: %w", err)
	}
	c := &cut{
		descendant: fmt.Sprintf("/DW %d/W[%s]", face.Advance(-1), widths(face, have)),
		program:    deflate(ttf), programLength: len(ttf),
		toUnicode: unicodes,
	}
	if c.name, err = postScriptName(face.TTF()); err != nil {
		return nil, fmt.Errorf("typeface: %w", err)
	}
	c.name = subsetTag(ttf) + "+" + c.name
	if c.descriptor, err = descriptor(face); err != nil {
		return nil, fmt.Errorf("typeface: %w", err)
	}
	if len(have) > 0 {
		c.glyphs = make([]uint16, have[len(have)-1]+1)
	}
	for r, g := range glyphs {
		c.glyphs[r] = g
	}
	var gids []byte
	for _, g := range c.glyphs {
		gids = binary.BigEndian.AppendUint16(gids, g)
	}
	c.cidToGID = deflate(gids)
	return c, nil
}

// subsetTag is six letters that differ between subsets (ISO 32000-1, 9.6.4).
func subsetTag(ttf []byte) string {
	sum := sha256.Sum256(ttf)
	tag := make([]byte, 6)
	for i := range tag {
		tag[i] = 'A' + sum[i]%26
	}
	return string(tag)
}

func (c *cut) contains(r rune) bool { return int(r) < len(c.glyphs) && c.glyphs[r] != 0 }

// widths lists the advances of sorted characters, run by run (ISO 32000-1,
// 9.7.4.3).
func widths(face *page.Typeface, runes []rune) string {
	var b strings.Builder
	for i, r := range runes {
		switch {
		case i > 0 && runes[i-1]+1 == r:
			b.WriteByte(' ')
		case i > 0:
			b.WriteByte(']')
			fallthrough
		default:
			fmt.Fprintf(&b, "%d[", r)
		}
		fmt.Fprint(&b, face.Advance(r))
	}
	if len(runes) > 0 {
		b.WriteByte(']')
	}
	return b.String()
}

// postScriptName is the font's own name, fit for a PDF name.
func postScriptName(ttf []byte) (string, error) {
	f, err := sfnt.Parse(ttf)
	if err != nil {
		return "", err
	}
	s, err := f.Name(nil, sfnt.NameIDPostScript)
	if err != nil {
		return "", fmt.Errorf("%w: no PostScript name", errFont)
	}
	s = strings.Map(func(r rune) rune {
		if r > ' ' && r < 0x7F && !strings.ContainsRune("[](){}<>/%#", r) {
			return r
		}
		return -1
	}, s)
	if s == "" {
		return "", fmt.Errorf("%w: no PostScript name", errFont)
	}
	return s, nil
}

// descriptor returns the entries of a font descriptor that do not depend on
// the file (ISO 32000-1, table 122).
func descriptor(face *page.Typeface) (string, error) {
	o, err := openOutlines(face.TTF())
	if err != nil {
		return "", err
	}
	f, err := sfnt.Parse(face.TTF())
	if err != nil {
		return "", err
	}
	upem := int(f.UnitsPerEm())
	bbox := make([]int, 4)
	for i := range bbox {
		bbox[i] = int(int16(binary.BigEndian.Uint16(o.head[36+2*i:]))) * 1000 / upem
	}
	flags, angle := 4, 0.0 // symbolic: not only the standard Latin characters
	if post := f.PostTable(); post != nil {
		if angle = post.ItalicAngle; angle != 0 {
			flags |= 64
		}
		if post.IsFixedPitch {
			flags |= 1
		}
	}
	// A font file has no stem width; 80 is common practice for regular text.
	return fmt.Sprintf("/Flags %d/FontBBox[%d %d %d %d]/ItalicAngle %.2f/Ascent %d/Descent %d/CapHeight %d/StemV 80",
		flags, bbox[0], bbox[1], bbox[2], bbox[3], angle, face.Ascent, -face.Descent, face.CapHeight), nil
}

// toUnicode is the CMap that makes text selectable: every code is its own
// character (ISO 32000-1, 9.10.3), of whole rows of characters, one high byte each, so
// that all faces have the same. It leaves out controls and what is no character.
func toUnicode(runes []rune) []byte {
	var ranges [][2]rune
	for _, r := range slices.Compact(slices.Sorted(slices.Values(runes))) {
		row := [2]rune{max(' ', r&^0xFF), r | 0xFF}
		switch row[1] {
		case 0xFEFF:
			row[1] = 0xFEFE // the last is the mark of byte order
		case 0xFFFF:
			row[1] = 0xFFFD
		}
		if n := len(ranges); n == 0 || ranges[n-1] != row {
			ranges = append(ranges, row)
		}
	}
	var b bytes.Buffer
	b.WriteString("/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n" +
		"/CIDSystemInfo <</Registry (Adobe)/Ordering (UCS)/Supplement 0>> def\n" +
		"/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n" +
		"1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n")
	for part := range slices.Chunk(ranges, 100) { // the most that one block may hold
		fmt.Fprintf(&b, "%d beginbfrange\n", len(part))
		for _, r := range part {
			fmt.Fprintf(&b, "<%04X> <%04X> <%04X>\n", r[0], r[1], r[0])
		}
		b.WriteString("endbfrange\n")
	}
	b.WriteString("endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n")
	return b.Bytes()
}

// font writes the objects of a composite font whose codes are Unicode
// characters (ISO 32000-1, 9.7): its streams to the file, the rest packed. Maps in
// written stand in the file already.
func (p *packed) font(c *cut, written map[string]ref) ref {
	f := p.out
	shared := func(data []byte) ref {
		r, ok := written[string(data)]
		if !ok {
			r = f.reserve()
			f.stream(r, "/Filter/FlateDecode", data)
			written[string(data)] = r
		}
		return r
	}
	program := f.reserve()
	f.stream(program, fmt.Sprintf("/Length1 %d/Filter/FlateDecode", c.programLength), c.program)
	cidToGID, toUC := shared(c.cidToGID), shared(c.toUnicode)
	descriptor, descendant, font := p.reserve(), p.reserve(), p.reserve()

	p.begin(descriptor)
	p.str("<</Type/FontDescriptor/FontName/", c.name, c.descriptor)
	p.ref("/FontFile2", program)
	p.str(">>")
	p.end()

	p.begin(descendant)
	p.str("<</Type/Font/Subtype/CIDFontType2/BaseFont/", c.name,
		"/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)/Supplement 0>>", c.descendant)
	p.ref("/FontDescriptor", descriptor)
	p.ref("/CIDToGIDMap", cidToGID)
	p.str(">>")
	p.end()

	p.begin(font)
	p.str("<</Type/Font/Subtype/Type0/BaseFont/", c.name, "/Encoding/Identity-H")
	p.ref("/DescendantFonts[", descendant)
	p.ref("]/ToUnicode", toUC)
	p.str(">>")
	p.end()
	return font
}
