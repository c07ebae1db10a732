package archival

import (
	"encoding/binary"
	"fmt"
	"math"
	"regexp"
	"strconv"

	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/types"
)

// cidFont is a composite font with an embedded TrueType program, as far as the
// rules look into it.
type cidFont struct {
	name       string
	descendant types.Dict
	program    []byte
	glyphs     []byte // CIDToGIDMap
	unicode    map[int]bool
	unitsPerEm int
	advances   []byte // of hmtx
	metrics    int
	count      int // glyphs
	outlined   func(gid int) bool
}

func (f *file) cidFont(font types.Dict) (*cidFont, error) {
	list := f.array(font["DescendantFonts"])
	if len(list) != 1 {
		return nil, fmt.Errorf("not a composite font")
	}
	c := &cidFont{name: f.name(font["BaseFont"]), descendant: f.dict(list[0]), unicode: map[int]bool{}}
	var err error
	if c.program, err = f.stream(f.dict(c.descendant["FontDescriptor"])["FontFile2"]); err != nil {
		return nil, fmt.Errorf("font program: %w", err)
	}
	if c.glyphs, err = f.stream(c.descendant["CIDToGIDMap"]); err != nil {
		return nil, fmt.Errorf("CIDToGIDMap: %w", err)
	}
	cmap, err := f.stream(font["ToUnicode"])
	if err != nil {
		return nil, fmt.Errorf("ToUnicode: %w", err)
	}
	for _, m := range cmapRange.FindAllSubmatch(cmap, -1) {
		from, _ := strconv.ParseInt(string(m[1]), 16, 32)
		to, _ := strconv.ParseInt(string(m[2]), 16, 32)
		target, _ := strconv.ParseInt(string(m[3]), 16, 32)
		if from>>8 != to>>8 {
			return nil, fmt.Errorf("ToUnicode: range %s crosses its first byte", m[0])
		}
		for code := from; code <= to; code++ {
			u := target + code - from
			c.unicode[int(code)] = u != 0 && u != 0xFEFF && u != 0xFFFE
		}
	}
	return c, c.tables()
}

var cmapRange = regexp.MustCompile(`(?m)^<(\w{4})> <(\w{4})> <(\w{4})>$`)

// tables finds the widths in the font program.
func (c *cidFont) tables() (err error) {
	defer func() {
		if fault := recover(); fault != nil { // an index beyond a damaged table
			err = fmt.Errorf("font program: %v", fault)
		}
	}()
	be := binary.BigEndian
	table := map[string][]byte{}
	for i := range int(be.Uint16(c.program[4:])) {
		e := c.program[12+16*i:]
		from, n := be.Uint32(e[8:]), be.Uint32(e[12:])
		table[string(e[:4])] = c.program[from : from+n]
	}
	for _, tag := range []string{"glyf", "head", "hhea", "hmtx", "loca", "maxp"} { // ISO 32000-1, 9.9
		if table[tag] == nil {
			return fmt.Errorf("font program: no table %s", tag)
		}
	}
	c.unitsPerEm = int(be.Uint16(table["head"][18:]))
	c.metrics = int(be.Uint16(table["hhea"][34:]))
	c.count = int(be.Uint16(table["maxp"][4:]))
	c.advances = table["hmtx"]
	width := 2
	if be.Uint16(table["head"][50:]) == 1 {
		width = 4
	}
	if len(c.advances) < 4*c.metrics || len(table["loca"]) != width*(c.count+1) {
		return fmt.Errorf("font program: tables of the wrong length")
	}
	loca := table["loca"]
	c.outlined = func(gid int) bool {
		if width == 2 { // halves, in 16 bits
			return be.Uint16(loca[2*gid:]) < be.Uint16(loca[2*gid+2:])
		}
		return be.Uint32(loca[4*gid:]) < be.Uint32(loca[4*gid+4:])
	}
	return nil
}

// glyph returns the glyph of a code, 0 for none.
func (c *cidFont) glyph(code int) int {
	if 2*code+1 >= len(c.glyphs) {
		return 0
	}
	return int(binary.BigEndian.Uint16(c.glyphs[2*code:]))
}

// advance is the width of a glyph in thousandths of an em.
func (c *cidFont) advance(gid int) float64 {
	gid = min(gid, c.metrics-1)
	return float64(binary.BigEndian.Uint16(c.advances[4*gid:])) * 1000 / float64(c.unitsPerEm)
}

// width is what the PDF says the code's width is.
func (f *file) width(c *cidFont, code int) float64 {
	w := f.array(c.descendant["W"])
	for i := 0; i+1 < len(w); {
		first, _ := f.number(w[i])
		if list := f.array(w[i+1]); list != nil {
			if k := code - int(first); k >= 0 && k < len(list) {
				v, _ := f.number(list[k])
				return v
			}
			i += 2
			continue
		}
		if i+2 >= len(w) {
			break
		}
		last, _ := f.number(w[i+1])
		if code >= int(first) && code <= int(last) {
			v, _ := f.number(w[i+2])
			return v
		}
		i += 3
	}
	if v, ok := f.number(c.descendant["DW"]); ok {
		return v
	}
	return 1000
}

// codes calls visit once for each font and code that is shown.
func (f *file) codes(visit func(where string, c *cidFont, code int, err error)) {
	type use struct {
		font string
		code int
	}
	seen := map[use]bool{}
	if f.fonts == nil {
		f.fonts = map[string]*cidFont{}
	}
	f.shown(func(where string, font types.Dict, code int) {
		name := f.name(font["BaseFont"])
		if seen[use{name, code}] {
			return
		}
		seen[use{name, code}] = true
		if f.fonts[name] == nil {
			c, err := f.cidFont(font)
			if err != nil {
				visit(where, nil, code, fmt.Errorf("font %s: %w", name, err))
				return
			}
			f.fonts[name] = c
		}
		visit(where, f.fonts[name], code, nil)
	})
}

func near(a, b float64) bool { return math.Abs(a-b) <= 1 }
