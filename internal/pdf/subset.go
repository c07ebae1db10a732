package pdf

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"math/bits"
	"slices"

	"golang.org/x/image/font/sfnt"

	"spanseal/internal/page"
)

// errFont is the cause of every refusal of a font file's tables.
var errFont = errors.New("the font file is damaged or not a TrueType font with outlines")

// subset cuts a TrueType font down to the glyphs of the characters and of
// .notdef, and says which glyph each character became. The cut has only the
// tables that an embedded CIDFontType2 needs (ISO 32000-1, 9.9) and no
// instructions: paper has no pixels to hint for, and they are half the bytes. A face
// for prose has its zero opened.
func subset(face *page.Typeface, runes []rune) (cut []byte, glyphs map[rune]uint16, err error) {
	ttf := face.TTF()
	f, err := sfnt.Parse(ttf)
	if err != nil {
		return nil, nil, err
	}
	src, err := openOutlines(ttf)
	if err != nil {
		return nil, nil, err
	}
	glyphs = make(map[rune]uint16, len(runes))
	order := []uint16{0}              // new glyph number → old
	number := map[uint16]uint16{0: 0} // and back
	add := func(old uint16) uint16 {
		n, ok := number[old]
		if !ok {
			n = uint16(len(order))
			number[old] = n
			order = append(order, old)
		}
		return n
	}
	var buf sfnt.Buffer
	zero := uint16(0)
	for _, r := range runes {
		g, err := f.GlyphIndex(&buf, face.Drawn(r))
		if err != nil {
			return nil, nil, err
		}
		if g != 0 {
			glyphs[r] = add(uint16(g))
		}
		if r == '0' && face.Prose() {
			zero = uint16(g)
		}
	}

	var glyf, loca, hmtx []byte
	ends := []int{0}                  // of the glyphs
	for i := 0; i < len(order); i++ { // order grows by the parts of composites
		outline, err := src.outline(order[i])
		if err == nil {
			outline, err = unhinted(outline, add)
		}
		if err == nil && zero != 0 && order[i] == zero {
			outline = opened(outline, slantOf(f))
		}
		if err != nil {
			return nil, nil, err
		}
		glyf = append(glyf, outline...)
		if len(glyf)%2 != 0 {
			glyf = append(glyf, 0)
		}
		ends = append(ends, len(glyf))
		hmtx = append(hmtx, src.metric(order[i])...)
	}

	long := uint16(0) // loca holds 32 bits, or half of what is even in 16
	if len(glyf)/2 > math.MaxUint16 {
		long = 1
	}
	for _, end := range ends {
		if long == 1 {
			loca = binary.BigEndian.AppendUint32(loca, uint32(end))
		} else {
			loca = binary.BigEndian.AppendUint16(loca, uint16(end/2))
		}
	}

	head, hhea, maxp := slices.Clone(src.head), slices.Clone(src.hhea), slices.Clone(src.maxp)
	binary.BigEndian.PutUint32(head[8:], 0) // checksum adjustment, below
	binary.BigEndian.PutUint16(head[50:], long)
	binary.BigEndian.PutUint16(hhea[34:], uint16(len(order)))
	binary.BigEndian.PutUint16(maxp[4:], uint16(len(order)))
	for _, at := range []int{18, 20, 22, 24, 26} { // storage, functions, stack, instructions
		binary.BigEndian.PutUint16(maxp[at:], 0)
	}
	return sfntFile([]table{
		{"glyf", glyf}, {"head", head}, {"hhea", hhea}, {"hmtx", hmtx}, {"loca", loca}, {"maxp", maxp},
	}), glyphs, nil
}

// outlines are the tables of a TrueType font that carry glyphs.
type outlines struct {
	head, hhea, maxp, loca, glyf, hmtx []byte
	long                               bool // loca holds 32 bits
	glyphs, metrics                    int
}

func openOutlines(ttf []byte) (*outlines, error) {
	if len(ttf) < 12 || binary.BigEndian.Uint32(ttf) != 0x00010000 {
		return nil, errFont
	}
	tables := map[string][]byte{}
	for i := range int(binary.BigEndian.Uint16(ttf[4:])) {
		if len(ttf) < 28+16*i {
			return nil, errFont
		}
		e := ttf[12+16*i:]
		off, n := uint64(binary.BigEndian.Uint32(e[8:])), uint64(binary.BigEndian.Uint32(e[12:]))
		if off+n > uint64(len(ttf)) {
			return nil, errFont
		}
		tables[string(e[:4])] = ttf[off : off+n]
	}
	for tag, least := range map[string]int{"head": 54, "hhea": 36, "maxp": 32, "loca": 4, "glyf": 1, "hmtx": 4} {
		if len(tables[tag]) < least {
			return nil, fmt.Errorf("%w: table %s", errFont, tag)
		}
	}
	o := &outlines{
		head: tables["head"], hhea: tables["hhea"], maxp: tables["maxp"],
		loca: tables["loca"], glyf: tables["glyf"], hmtx: tables["hmtx"],
		long:    binary.BigEndian.Uint16(tables["head"][50:]) == 1,
		glyphs:  int(binary.BigEndian.Uint16(tables["maxp"][4:])),
		metrics: int(binary.BigEndian.Uint16(tables["hhea"][34:])),
	}
	width := 2
	if o.long {
		width = 4
	}
	if len(o.loca) < (o.glyphs+1)*width || o.metrics < 1 || o.metrics > o.glyphs ||
		len(o.hmtx) < 4*o.metrics+2*(o.glyphs-o.metrics) {
		return nil, errFont
	}
	return o, nil
}

// outline returns the bytes of a glyph, empty for a blank one.
func (o *outlines) outline(g uint16) ([]byte, error) {
	if int(g) >= o.glyphs {
		return nil, errFont
	}
	at := func(i int) int {
		if o.long {
			return int(binary.BigEndian.Uint32(o.loca[4*i:]))
		}
		return 2 * int(binary.BigEndian.Uint16(o.loca[2*i:]))
	}
	from, to := at(int(g)), at(int(g)+1)
	if from > to || to > len(o.glyf) || to-from > 0 && to-from < 10 {
		return nil, errFont
	}
	return o.glyf[from:to], nil
}

// metric returns a glyph's advance width and left side bearing.
func (o *outlines) metric(g uint16) []byte {
	if i := int(g); i >= o.metrics { // the last advance holds for the rest
		last, bearing := 4*(o.metrics-1), 4*o.metrics+2*(i-o.metrics)
		return slices.Concat(o.hmtx[last:last+2], o.hmtx[bearing:bearing+2])
	}
	return o.hmtx[4*int(g) : 4*int(g)+4]
}

// Flags of a composite glyph's parts (OpenType, table glyf).
const (
	partWords        = 0x0001
	partScale        = 0x0008
	partMore         = 0x0020
	partScaleXY      = 0x0040
	partTwoByTwo     = 0x0080
	partInstructions = 0x0100
)

// unhinted copies an outline without its instructions; the parts of a
// composite get the numbers that add gives them.
func unhinted(g []byte, add func(uint16) uint16) ([]byte, error) {
	if len(g) == 0 {
		return nil, nil
	}
	contours := int(int16(binary.BigEndian.Uint16(g)))
	if contours >= 0 {
		n := 10 + 2*contours // the instructions' length
		if len(g) < n+2 {
			return nil, errFont
		}
		rest := n + 2 + int(binary.BigEndian.Uint16(g[n:]))
		if len(g) < rest {
			return nil, errFont
		}
		return slices.Concat(g[:n], []byte{0, 0}, g[rest:]), nil
	}
	out := slices.Clone(g)
	for at := 10; ; {
		if len(out) < at+4 {
			return nil, errFont
		}
		flags := binary.BigEndian.Uint16(out[at:])
		binary.BigEndian.PutUint16(out[at:], flags&^partInstructions)
		binary.BigEndian.PutUint16(out[at+2:], add(binary.BigEndian.Uint16(out[at+2:])))
		at += 6
		if flags&partWords != 0 {
			at += 2
		}
		switch {
		case flags&partScale != 0:
			at += 2
		case flags&partScaleXY != 0:
			at += 4
		case flags&partTwoByTwo != 0:
			at += 8
		}
		if len(out) < at {
			return nil, errFont
		}
		if flags&partMore == 0 {
			return out[:at], nil
		}
	}
}

type table struct {
	tag  string
	data []byte
}

// sfntFile assembles a font file from tables sorted by tag.
func sfntFile(tables []table) []byte {
	n := len(tables)
	log := bits.Len(uint(n)) - 1
	out := binary.BigEndian.AppendUint32(nil, 0x00010000)
	for _, v := range []int{n, 16 << log, log, 16*n - 16<<log} {
		out = binary.BigEndian.AppendUint16(out, uint16(v))
	}
	at := 12 + 16*n
	var body []byte
	headAt := 0
	for _, t := range tables {
		if t.tag == "head" {
			headAt = at
		}
		length := len(t.data)
		for len(t.data)%4 != 0 {
			t.data = append(t.data, 0)
		}
		out = append(out, t.tag...)
		out = binary.BigEndian.AppendUint32(out, checksum(t.data))
		out = binary.BigEndian.AppendUint32(out, uint32(at))
		out = binary.BigEndian.AppendUint32(out, uint32(length))
		body = append(body, t.data...)
		at += len(t.data)
	}
	out = append(out, body...)
	binary.BigEndian.PutUint32(out[headAt+8:], 0xB1B0AFBA-checksum(out))
	return out
}

// checksum is the sum of 32-bit words; b's length is a multiple of four.
func checksum(b []byte) (sum uint32) {
	for ; len(b) >= 4; b = b[4:] {
		sum += binary.BigEndian.Uint32(b)
	}
	return sum
}
