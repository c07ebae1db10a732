package pdf

import (
	"bytes"
	"crypto/sha256"
	"hash"
	"maps"
	"slices"
	"sync"

	"github.com/klauspost/compress/zlib"

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
	// Sample draws documents like most of those to come. Files whose faces use
	// only characters of the sample get fonts cut down to it, which are
	// smaller; the others get the fonts with all of Runes.
	Sample []func(page.Sheet) error
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

// Press holds what the files of one run share: the subset fonts and the colour
// profile, ready as PDF objects. It is safe for concurrent use.
type Press struct {
	paper page.PaperSize
	faces [page.Faces]*typeface

	mu     sync.Mutex
	starts map[faceSet]*start
}

// faceSet says how a document uses each face.
type faceSet [page.Faces]faceUse

type faceUse uint8

const (
	unused faceUse = iota
	narrow         // the cut for the sample is enough
	wide
)

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
func NewPress(paper page.PaperSize, opt Options) (*Press, error) {
	p := &Press{paper: paper, starts: map[faceSet]*start{}}
	runes := opt.Runes
	if runes == nil {
		runes = Repertoire()
	}
	unicodes := deflate(toUnicode(runes))
	for f, face := range page.GoTypefaces() {
		var err error
		if ttf := opt.Typefaces[f]; ttf != nil {
			if face, err = page.ParseTypeface(ttf); err != nil {
				return nil, err
			}
		}
		if p.faces[f], err = newTypeface(face, runes, unicodes); err != nil {
			return nil, err
		}
	}
	if len(opt.Sample) == 0 {
		return p, nil
	}
	s := p.survey()
	for _, draw := range opt.Sample {
		s.pages = 0
		if err := draw(s); err != nil {
			return nil, err
		}
	}
	for f, t := range p.faces {
		used := slices.Collect(maps.Keys(s.used[f]))
		used = slices.DeleteFunc(used, func(r rune) bool { return !t.wide.contains(r) })
		var err error
		if t.narrow, err = newCut(t.Typeface, used, unicodes); err != nil {
			return nil, err
		}
	}
	return p, nil
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
	shared := map[string]ref{}
	dicts := packed{zip: func(parts ...[]byte) []byte { return deflate(slices.Concat(parts...)) }}
	dicts.into(f)
	for face := range page.Face(page.Faces) {
		if used[face] != unused {
			fonts[face] = dicts.font(p.faces[face].cut(used[face]), shared)
		}
	}
	dicts.flush()
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

// clone returns the digest's state after the shared beginning.
func (s *start) clone() hash.Hash {
	h, err := s.hash.(hash.Cloner).Clone()
	if err != nil {
		panic(err) // SHA-256 can be cloned
	}
	return h
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
