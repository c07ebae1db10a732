package pdf

import (
	"bytes"
	"compress/zlib"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"hash"
	"slices"
	"strings"
	"sync"

	"golang.org/x/image/font/sfnt"

	"spanseal/internal/page"
)

// Options of a Press. The zero value sets documents in the Go fonts with every
// character of Repertoire.
type Options struct {
	// Typefaces are TrueType files to use in place of the Go fonts, by face.
	Typefaces [page.Faces][]byte
	// Runes are the characters that the documents may use; the fonts in each
	// file are cut down to them. Nil stands for Repertoire.
	Runes []rune
	// FaceRunes are those of one face, such as a page.Survey of the documents
	// has found them: files are smaller. Nil stands for Runes.
	FaceRunes [page.Faces][]rune
}

// Repertoire returns the characters that a Press prepares when it is not told
// which it needs: Latin with its accents, Greek, Cyrillic, punctuation, super-
// and subscripts, currency and letterlike signs, fractions, arrows and
// mathematical operators, U+0020 to U+22FF in parts.
func Repertoire() []rune {
	var runes []rune
	for _, r := range [][2]rune{
		{0x20, 0x7E}, {0xA0, 0x24F}, {0x2C6, 0x2DD}, {0x370, 0x3FF}, {0x400, 0x4FF}, {0x1E80, 0x1EF3},
		{0x2010, 0x203F}, {0x2044, 0x2044}, {0x2070, 0x209C}, {0x20A0, 0x20BF}, {0x2100, 0x218F},
		{0x2190, 0x21FF}, {0x2200, 0x22FF},
	} {
		for c := r[0]; c <= r[1]; c++ {
			runes = append(runes, c)
		}
	}
	return runes
}

// Typefaces returns the metrics of the faces, for a page.Survey or recorder.
func (p *Press) Typefaces() (faces [page.Faces]*page.Typeface) {
	for i, f := range p.faces {
		faces[i] = f.Typeface
	}
	return faces
}

// Press holds what the files of one run share: the subset fonts and the colour
// profile, ready as PDF objects. It is safe for concurrent use.
type Press struct {
	paper page.Paper
	faces [page.Faces]*typeface

	mu     sync.Mutex
	starts map[faceSet]*start
}

// typeface is a face of the press: its metrics and its objects' contents.
type typeface struct {
	*page.Typeface
	font string // PostScript name with the subset's tag
	has  map[rune]uint16
	dict typefaceStreams
}

type typefaceStreams struct {
	descendant, descriptor  string // entries
	program, cidToGID, toUC []byte // deflated
	programLength           int
}

// faceSet says which faces a document uses, bit 1<<face.
type faceSet uint8

// start is the beginning of every file that uses the same faces, with the
// state of the digest after it, so that a thousand files deflate and hash
// their fonts once.
type start struct {
	file    file
	hash    hash.Hash
	fonts   ref // resource dictionary of fonts
	profile ref
}

// NewPress prepares the fonts for a run on one paper size. It refuses a
// typeface that is not a TrueType font.
func NewPress(paper page.Paper, opt Options) (*Press, error) {
	p := &Press{paper: paper, starts: map[faceSet]*start{}}
	runes := opt.Runes
	if runes == nil {
		runes = Repertoire()
	}
	for f, face := range page.GoTypefaces() {
		if ttf := opt.Typefaces[f]; ttf != nil {
			var err error
			if face, err = page.ParseTypeface(ttf); err != nil {
				return nil, err
			}
		}
		chosen := runes
		if opt.FaceRunes[f] != nil {
			chosen = opt.FaceRunes[f]
		}
		t, err := newTypeface(face, chosen)
		if err != nil {
			return nil, err
		}
		p.faces[f] = t
	}
	return p, nil
}

func newTypeface(face *page.Typeface, runes []rune) (*typeface, error) {
	have := slices.DeleteFunc(slices.Clone(runes), func(r rune) bool { return !face.Has(r) })
	slices.Sort(have)
	have = slices.Compact(have)
	cut, glyphs, err := subset(face.TTF(), have)
	if err != nil {
		return nil, fmt.Errorf("typeface: %w", err)
	}
	t := &typeface{Typeface: face, has: glyphs}

	// The tag must differ between subsets (ISO 32000-1, 9.6.4): it is made of
	// the subset's digest.
	sum := sha256.Sum256(cut)
	tag := make([]byte, 6)
	for i := range tag {
		tag[i] = 'A' + sum[i]%26
	}
	name, err := postScriptName(face.TTF())
	if err != nil {
		return nil, fmt.Errorf("typeface: %w", err)
	}
	t.font = string(tag) + "+" + name

	var widths strings.Builder
	for i, r := range have {
		if i == 0 || have[i-1]+1 != r {
			if i > 0 {
				widths.WriteByte(']')
			}
			fmt.Fprintf(&widths, "%d[", r)
		} else {
			widths.WriteByte(' ')
		}
		fmt.Fprint(&widths, face.Advance(r))
	}
	if len(have) > 0 {
		widths.WriteByte(']')
	}
	t.dict.descendant = fmt.Sprintf("/DW %d/W[%s]", face.Advance(-1), widths.String())

	d, err := descriptor(face)
	if err != nil {
		return nil, fmt.Errorf("typeface: %w", err)
	}
	t.dict.descriptor = d
	t.dict.program, t.dict.programLength = deflate(cut), len(cut)

	var last rune
	if len(have) > 0 {
		last = have[len(have)-1]
	}
	gids := make([]byte, 2*(last+1))
	for r, g := range glyphs {
		gids[2*r], gids[2*r+1] = byte(g>>8), byte(g)
	}
	t.dict.cidToGID = deflate(gids)
	t.dict.toUC = deflate(toUnicode(have))
	return t, nil
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
	return fmt.Sprintf("/Flags %d/FontBBox[%d %d %d %d]/ItalicAngle %g/Ascent %d/Descent %d/CapHeight %d/StemV 80",
		flags, bbox[0], bbox[1], bbox[2], bbox[3], angle, face.Ascent, -face.Descent, face.CapHeight), nil
}

// toUnicode is the CMap that makes text selectable: every code is its own
// character (ISO 32000-1, 9.10.3). A range stays within one high byte.
func toUnicode(runes []rune) []byte {
	var ranges [][2]rune
	for _, r := range runes {
		if n := len(ranges); n > 0 && ranges[n-1][1]+1 == r && r&0xFF != 0 {
			ranges[n-1][1] = r
		} else {
			ranges = append(ranges, [2]rune{r, r})
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

// header is the version and the comment that marks the file as binary
// (ISO 19005-3, 6.1.2).
const header = "%PDF-1.7\n%\xE2\xE3\xCF\xD3\n"

// start returns the beginning of a file with these faces.
func (p *Press) start(used faceSet) *start {
	p.mu.Lock()
	defer p.mu.Unlock()
	if s := p.starts[used]; s != nil {
		return s
	}
	s := &start{hash: sha256.New()}
	f := &s.file
	f.str(header)
	s.profile = f.reserve()
	f.stream(s.profile, "/N 3/Filter/FlateDecode", deflate(sRGB()))
	fonts := map[page.Face]ref{}
	for face := range page.Face(page.Faces) {
		if used&(1<<face) != 0 {
			fonts[face] = f.font(p.faces[face])
		}
	}
	s.fonts = f.reserve()
	f.begin(s.fonts)
	f.str("<<")
	for face := range page.Face(page.Faces) {
		if r, ok := fonts[face]; ok {
			f.ref(resourceName(face), r)
		}
	}
	f.str(">>")
	f.end()
	s.hash.Write(f.buf)
	p.starts[used] = s
	return s
}

// resourceName is what content streams call a face.
func resourceName(f page.Face) string { return "/F" + string('0'+rune(f)) }

// font writes the objects of a composite font whose codes are Unicode
// characters (ISO 32000-1, 9.7).
func (f *file) font(t *typeface) ref {
	program, cidToGID, toUC := f.reserve(), f.reserve(), f.reserve()
	descriptor, descendant, font := f.reserve(), f.reserve(), f.reserve()
	f.stream(program, fmt.Sprintf("/Length1 %d/Filter/FlateDecode", t.dict.programLength), t.dict.program)
	f.stream(cidToGID, "/Filter/FlateDecode", t.dict.cidToGID)
	f.stream(toUC, "/Filter/FlateDecode", t.dict.toUC)

	f.begin(descriptor)
	f.str("<</Type/FontDescriptor/FontName/", t.font, t.dict.descriptor)
	f.ref("/FontFile2", program)
	f.str(">>")
	f.end()

	f.begin(descendant)
	f.str("<</Type/Font/Subtype/CIDFontType2/BaseFont/", t.font,
		"/CIDSystemInfo<</Registry(Adobe)/Ordering(Identity)/Supplement 0>>", t.dict.descendant)
	f.ref("/FontDescriptor", descriptor)
	f.ref("/CIDToGIDMap", cidToGID)
	f.str(">>")
	f.end()

	f.begin(font)
	f.str("<</Type/Font/Subtype/Type0/BaseFont/", t.font, "/Encoding/Identity-H")
	f.ref("/DescendantFonts[", descendant)
	f.ref("]/ToUnicode", toUC)
	f.str(">>")
	f.end()
	return font
}

// deflate compresses what is written once a run, as small as it gets.
func deflate(data []byte) []byte {
	var b bytes.Buffer
	w, err := zlib.NewWriterLevel(&b, zlib.BestCompression)
	if err == nil {
		_, err = w.Write(data)
	}
	if err == nil {
		err = w.Close()
	}
	if err != nil {
		panic(err) // a buffer takes everything
	}
	return b.Bytes()
}
