package pdf

import (
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// A value of a PDF object: nil for null, bool, int, float64, name, text,
// array, dict or ref (ISO 32000-1, 7.3).
type (
	value any
	name  string
	array []value
	dict  map[name]value
	// text is a string with its place in the file, delimiters included.
	text struct {
		bytes    []byte
		from, to int
	}
)

// object is one indirect object; data is the stream behind its dictionary. One
// that stands in an object stream has neither, only its references, from and to
// which of those of the structure.
type object struct {
	value    value
	data     []byte
	packed   bool
	from, to int32
}

// parser reads the spelling that this package writes: no comments, no
// superfluous white space except between the items of an array or dictionary.
type parser struct {
	data []byte
	at   int
	read int // values so far
}

// maxDepth is far above what our files nest, maxName what they call anything
// (ISO 32000-1, annex C, allows as much).
const (
	maxDepth = 16
	maxName  = 127
)

// maxValues is how many values a file of so many bytes may hold: ours take fifty
// bytes for each.
func maxValues(file int) int { return 100_000 + file/12 }

func (p *parser) errorf(format string, args ...any) error {
	return fmt.Errorf("byte %d: "+format, append([]any{p.at}, args...)...)
}

// take consumes s, and reports whether it stood there.
func (p *parser) take(s string) bool {
	if p.at+len(s) <= len(p.data) && string(p.data[p.at:p.at+len(s)]) == s {
		p.at += len(s)
		return true
	}
	return false
}

func (p *parser) want(s string) error {
	if !p.take(s) {
		return p.errorf("want %q", s)
	}
	return nil
}

// peek returns the next byte, 0 at the end.
func (p *parser) peek() byte {
	if p.at < len(p.data) {
		return p.data[p.at]
	}
	return 0
}

// int reads a decimal number without sign or leading zero.
func (p *parser) int() (int, error) {
	from := p.at
	for isDigit(p.peek()) {
		p.at++
	}
	s := string(p.data[from:p.at])
	if n, err := strconv.Atoi(s); err == nil && (s[0] != '0' || s == "0") {
		return n, nil
	}
	p.at = from
	return 0, p.errorf("want a number")
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

// object reads object n with everything up to its last line feed.
func (p *parser) object(n int) (o object, err error) {
	if err := p.want(strconv.Itoa(n) + " 0 obj\n"); err != nil {
		return o, err
	}
	if o.value, err = p.value(0); err != nil {
		return o, err
	}
	if p.take("\nstream\n") {
		d, _ := o.value.(dict)
		length, ok := d["Length"].(int)
		if !ok || length < 0 || length > len(p.data)-p.at {
			return o, p.errorf("want a stream with its length")
		}
		o.data = p.data[p.at : p.at+length : p.at+length]
		p.at += length
		if err := p.want("\nendstream"); err != nil {
			return o, err
		}
	}
	return o, p.want("\nendobj\n")
}

func (p *parser) value(depth int) (value, error) {
	if depth > maxDepth {
		return nil, p.errorf("nested too deep")
	}
	if p.read++; p.read > maxValues(len(p.data)) {
		return nil, p.errorf("more values than our files have")
	}
	switch c := p.peek(); {
	case p.take("<<"):
		d := dict{}
		for !p.take(">>") {
			p.take(" ")
			key, err := p.name()
			if err != nil {
				return nil, err
			}
			if _, twice := d[key]; twice {
				return nil, p.errorf("key /%s stands twice", key)
			}
			p.take(" ")
			if d[key], err = p.value(depth + 1); err != nil {
				return nil, err
			}
		}
		return d, nil
	case p.take("["):
		a := array{}
		for {
			for p.take(" ") {
			}
			if p.take("]") {
				return a, nil
			}
			v, err := p.value(depth + 1)
			if err != nil {
				return nil, err
			}
			a = append(a, v)
		}
	case c == '/':
		return p.name()
	case c == '(':
		t, err := p.literal()
		return t, err
	case c == '<':
		t, err := p.hex()
		return t, err
	case p.take("true"):
		return true, nil
	case p.take("false"):
		return false, nil
	case isDigit(c) || c == '-' || c == '.':
		return p.number()
	}
	return nil, p.errorf("want a value")
}

// regular are the characters of a name that stand for themselves.
var regular = func() (is [256]bool) {
	for c := byte('!'); c < 0x7F; c++ {
		is[c] = strings.IndexByte("()<>[]{}/%#", c) < 0
	}
	return is
}()

func (p *parser) name() (name, error) {
	if err := p.want("/"); err != nil {
		return "", err
	}
	from := p.at
	for p.at < len(p.data) && regular[p.data[p.at]] {
		p.at++
	}
	if c := p.peek(); c != '#' && p.at-from <= maxName {
		return name(p.data[from:p.at]), nil
	}
	n := bytes.Clone(p.data[from:p.at]) // and what is written by its code
	for {
		if len(n) > maxName {
			return "", p.errorf("want a shorter name")
		}
		switch c := p.peek(); {
		case c == '#':
			if p.at+3 > len(p.data) {
				return "", p.errorf("want a name")
			}
			b, err := hex.DecodeString(string(p.data[p.at+1 : p.at+3]))
			if err != nil {
				return "", p.errorf("want a name")
			}
			n = append(n, b[0])
			p.at += 3
		case regular[c]:
			n = append(n, c)
			p.at++
		default:
			return name(n), nil
		}
	}
}

// number reads a number or a reference.
func (p *parser) number() (value, error) {
	from := p.at
	for c := p.peek(); isDigit(c) || c == '-' || c == '.'; c = p.peek() {
		p.at++
	}
	s := string(p.data[from:p.at])
	if n, err := strconv.Atoi(s); err == nil {
		if n > 0 && p.take(" 0 R") {
			return ref(n), nil
		}
		return n, nil
	}
	if v, err := strconv.ParseFloat(s, 64); err == nil {
		return v, nil
	}
	p.at = from
	return nil, p.errorf("want a number")
}

func (p *parser) literal() (text, error) {
	t := text{from: p.at}
	p.at++
	if n := bytes.IndexAny(p.data[p.at:], `()\`); n >= 0 { // mostly its end: as it stands in the file
		t.bytes = p.data[p.at : p.at+n : p.at+n]
		p.at += n
	}
	for {
		c := p.peek()
		if p.at == len(p.data) || c == '(' {
			return t, p.errorf("want a string")
		}
		p.at++
		switch c {
		case ')':
			t.to = p.at
			return t, nil
		case '\\':
			i := bytes.IndexByte([]byte(`()\rn`), p.peek())
			if i < 0 || p.at == len(p.data) {
				return t, p.errorf("want a string")
			}
			c = "()\\\r\n"[i]
			p.at++
		}
		t.bytes = append(t.bytes, c)
	}
}

// hex reads digits in lower case: every value has one spelling.
func (p *parser) hex() (text, error) {
	t := text{from: p.at}
	p.at++
	n := bytes.IndexByte(p.data[p.at:], '>')
	if n < 0 {
		return t, p.errorf("want a string")
	}
	digits := p.data[p.at : p.at+n]
	t.bytes = make([]byte, hex.DecodedLen(n))
	if _, err := hex.Decode(t.bytes, digits); err != nil || slices.ContainsFunc(digits, func(c byte) bool { return c >= 'A' && c <= 'F' }) {
		return t, p.errorf("want a string of hexadecimal digits")
	}
	p.at += n + 1
	t.to = p.at
	return t, nil
}

// structure is a file taken apart.
type structure struct {
	objects []object // object n at n-1
	trailer dict
	size    int // of the file, bytes
	// tagged is that the file has a cross-reference stream and a structure tree, as
	// all have that are written today.
	tagged bool
	refs   []int32 // in the objects of object streams
}

// parse takes a file apart and refuses it unless header, objects,
// cross-reference table and trailer, or stream, follow one another without a gap,
// every object is in the table, and every object is used.
func parse(data []byte) (*structure, error) {
	const tail = "\n%%EOF\n"
	if !bytes.HasPrefix(data, []byte(header)) {
		return nil, errors.New("byte 0: want " + strconv.Quote(header))
	}
	p := &parser{data: data, at: bytes.LastIndex(data, []byte("\nstartxref\n")) + 1}
	if err := p.want("startxref\n"); err != nil {
		return nil, err
	}
	end := p.at - len("startxref\n")
	xref, err := p.int()
	if err != nil {
		return nil, err
	}
	if err := p.want(tail); err != nil {
		return nil, err
	}
	if p.at != len(data) {
		return nil, p.errorf("want the end of the file")
	}

	s := &structure{size: len(data)}
	p.at = min(xref, len(data))
	var places []location
	if isDigit(p.peek()) {
		s.tagged = true
		places, err = s.table(p)
	} else if places, err = p.xref(); err == nil {
		err = s.readTrailer(p)
	}
	if err != nil {
		return nil, err
	}
	if p.at != end {
		return nil, p.errorf("want startxref")
	}
	if s.tagged {
		xref = end // of the objects: the table is one
	}
	s.objects = make([]object, len(places))
	order := make([]int, 0, len(places))
	for i, at := range places {
		if at.in == 0 {
			order = append(order, i)
		}
	}
	slices.SortFunc(order, func(a, b int) int { return places[a].at - places[b].at })
	p.at = len(header)
	for _, i := range order {
		if places[i].at != p.at {
			return nil, p.errorf("object %d is said to be at %d", i+1, places[i].at)
		}
		if s.objects[i], err = p.object(i + 1); err != nil {
			return nil, err
		}
	}
	if p.at != xref {
		return nil, p.errorf("bytes that no object owns")
	}
	if n, ok := s.trailer["Size"].(int); !ok || n != len(places)+1 {
		return nil, errors.New("trailer: the size is not the number of objects")
	}
	carriers, err := s.unpack(places)
	if err != nil {
		return nil, err
	}
	return s, s.reach(carriers)
}

// readTrailer reads what stands behind a table.
func (s *structure) readTrailer(p *parser) error {
	if err := p.want("trailer\n"); err != nil {
		return err
	}
	t, err := p.value(0)
	if err != nil {
		return err
	}
	s.trailer, _ = t.(dict)
	return p.want("\n")
}

// xref reads the table and returns the places of objects 1 to n.
func (p *parser) xref() ([]location, error) {
	if err := p.want("xref\n0 "); err != nil {
		return nil, err
	}
	n, err := p.int()
	if err != nil {
		return nil, err
	}
	const entry = len("0000000000 65535 f \n")
	if n < 1 || n > (len(p.data)-p.at)/entry {
		return nil, p.errorf("want the number of objects")
	}
	if err := p.want("\n0000000000 65535 f \n"); err != nil {
		return nil, err
	}
	places := make([]location, n-1)
	for i := range places {
		row := p.data[p.at : p.at+entry]
		if string(row[10:]) != " 00000 n \n" || slices.ContainsFunc(row[:10], func(c byte) bool { return !isDigit(c) }) {
			return nil, p.errorf("want an entry of the cross-reference table")
		}
		if places[i].at, err = strconv.Atoi(string(row[:10])); err != nil {
			return nil, p.errorf("want an offset")
		}
		p.at += entry
	}
	return places, nil
}

// keys are those of every dictionary that this package writes outside of object
// streams. None makes a file act, open another, or show one thing on screen and
// another on paper.
var keys = keySet(`
		AF AFRelationship AP AcroForm Annots Ascent Author BBox BaseFont BitsPerComponent ByteRange CIDSystemInfo
		CIDToGIDMap CapHeight ColorSpace Contents Count CreationDate Creator DW Desc DescendantFonts Descent Dest
		DestOutputProfile DisplayDocTitle DocMDP EF EmbeddedFiles Encoding F FT Fields Filter First Flags Font FontBBox
		FontDescriptor FontFile2 FontName Height ID ImageMask Info ItalicAngle Kids Lang Last Length Length1 Location M
		MediaBox Metadata ModDate N Name Names Next Ordering Outlines OutputConditionIdentifier OutputIntents P PageMode
		Pages Params Parent Perms Prev Producer Reason Rect Reference Registry Resources Root S SigFlags Size StemV
		SubFilter Subject Subtype Supplement T Title ToUnicode TransformMethod TransformParams Type UF V
		ViewerPreferences W Width XObject`)

// taggedKeys are those that only tagged files have, and packedKeys those of the
// objects in object streams: fonts, the outline and the structure tree.
var (
	taggedNames = slices.Collect(maps.Keys(taggedKeys))
	taggedKeys  = keySet("MarkInfo Marked StructParent StructParents StructTreeRoot TU Tabs")
	packedKeys  = keySet(`A Alt BBox ColSpan Count Dest First K Lang Last ListNumbering MCID Next Nums O Obj P Parent ParentTree
		ParentTreeNextKey Pg Placement Prev S Scope Title Type
		Ascent BaseFont CapHeight CIDSystemInfo CIDToGIDMap DescendantFonts Descent DW Encoding Flags FontBBox FontDescriptor FontFile2
		FontName ItalicAngle Ordering Registry StemV Subtype Supplement ToUnicode W`)
)

func keySet(list string) map[name]bool {
	m := map[name]bool{}
	for k := range strings.FieldsSeq(list) {
		m[name(k)] = true
	}
	return m
}

// isKey also takes the resource names of fonts and images, F0 and I0 upward.
func isKey(k name) bool {
	return keys[k] || len(k) > 1 && (k[0] == 'F' || k[0] == 'I') && strings.Trim(string(k[1:]), "0123456789") == ""
}

// reach refuses references to nothing and objects that nothing refers to: a
// hidden object is what a later change would bring to light. Those that are seen
// from the start carry others.
func (s *structure) reach(seen []bool) error {
	work := []value{s.trailer}
	for len(work) > 0 {
		v := work[len(work)-1]
		work = work[:len(work)-1]
		switch v := v.(type) {
		case array:
			work = append(work, v...)
		case dict:
			for k, e := range v {
				if !isKey(k) && !(s.tagged && taggedKeys[k]) {
					return fmt.Errorf("key /%s is not used in our files", k)
				}
				work = append(work, e)
			}
		case ref:
			if int(v) > len(seen) {
				return fmt.Errorf("a reference to object %d, which does not exist", v)
			}
			if !seen[v-1] {
				seen[v-1] = true
				o := &s.objects[v-1]
				if !o.packed {
					work = append(work, o.value)
				}
				for _, r := range s.refs[o.from:o.to] {
					if int(r) > len(seen) || !seen[r-1] {
						work = append(work, ref(r))
					}
				}
			}
		}
	}
	if i := slices.Index(seen, false); i >= 0 {
		return fmt.Errorf("object %d is hidden: nothing refers to it", i+1)
	}
	return nil
}

// follow returns what a reference stands for, or the value itself.
func (s *structure) follow(v value) object {
	if r, ok := v.(ref); ok {
		return s.objects[r-1]
	}
	return object{value: v}
}

// dict returns the dictionary that a value is or refers to, nil otherwise.
func (s *structure) dict(v value) dict {
	d, _ := s.follow(v).value.(dict)
	return d
}
