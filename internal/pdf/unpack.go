package pdf

import (
	"bytes"
	"compress/zlib"
	"errors"
	"io"
	"strconv"
	"strings"
	"sync"
)

// maxObjects is how many objects a file of so many bytes may have: ours, of large
// summaries, take sixty bytes of it each.
func maxObjects(file int) int { return 10_000 + file/20 }

// maxTree is to how many bytes the object streams of a file may inflate together:
// ours inflate to no more than the file has. maxStream is for one of them, which
// ends at 64 KB, or with one long list.
func maxTree(file int) int { return 1<<20 + 4*file }

const maxStream = 16 << 20

// maxRefs is how many references so many objects may have together: ours have four
// each.
func maxRefs(objects int) int { return 1000 + 8*objects }

var errTable = errors.New("the cross-reference stream is not as our files have it")

// table reads a cross-reference stream, which is the file's trailer too.
func (s *structure) table(p *parser) ([]location, error) {
	from := p.at
	self, err := p.int()
	if err != nil {
		return nil, err
	}
	p.at = from
	o, err := p.object(self)
	if err != nil {
		return nil, err
	}
	d, _ := o.value.(dict)
	if err := only("cross-reference stream", d, "Type", "Size", "W", "DecodeParms", "Root", "Info", "ID", "Filter", "Length"); err != nil {
		return nil, err
	}
	size, _ := d["Size"].(int)
	if d["Type"] != name("XRef") || d["Filter"] != name("FlateDecode") || size != self+1 || size > maxObjects(s.size) {
		return nil, errTable
	}
	// The spelling of its form stands once in our files: behind its size.
	if !bytes.HasPrefix(p.data[from:], []byte(strconv.Itoa(self)+" 0 obj\n<</Type/XRef/Size "+strconv.Itoa(size)+xrefForm)) {
		return nil, errTable
	}
	rows, err := inflateWhole(o.data, size*(1+xrefWidth))
	if err != nil {
		return nil, err
	}
	if len(rows) != size*(1+xrefWidth) {
		return nil, errTable
	}
	s.trailer = dict{"Size": size, "Root": d["Root"], "Info": d["Info"], "ID": d["ID"]}
	places := make([]location, size-1)
	var row [xrefWidth]byte
	for n := range size {
		if rows[0] != xrefUp {
			return nil, errTable
		}
		for i := range row {
			row[i] += rows[1+i]
		}
		rows = rows[1+xrefWidth:]
		at, index := int(row[1])<<24|int(row[2])<<16|int(row[3])<<8|int(row[4]), int(row[5])<<8|int(row[6])
		switch {
		case n == 0:
			if row != xrefRow(0, 0, 1<<16-1) {
				return nil, errTable
			}
		case row[0] == 1 && index == 0:
			places[n-1].at = at
		case row[0] == 2 && at > 0 && at < size:
			places[n-1] = location{index, ref(at)}
		default:
			return nil, errTable
		}
	}
	return places, nil
}

// inflaters are kept for the next stream: each has 60 KB of its own, which takes
// longer to make than most streams of a certificate take to unpack.
var inflaters sync.Pool

// inflater starts to unpack a stream. Put it back when it is done.
func inflater(from *bytes.Reader) (io.Reader, error) {
	z, ok := inflaters.Get().(io.Reader)
	if !ok {
		return zlib.NewReader(from)
	}
	return z, z.(zlib.Resetter).Reset(from, nil)
}

// inflateWhole unpacks a stream of at most so many bytes that ends where its data
// do.
func inflateWhole(data []byte, most int) ([]byte, error) {
	in := bytes.NewReader(data)
	z, err := inflater(in)
	if err != nil {
		return nil, err
	}
	defer inflaters.Put(z)
	var out bytes.Buffer
	out.Grow(min(most, 8*len(data)) + bytes.MinRead) // as much as ours mostly need
	_, err = out.ReadFrom(io.LimitReader(z, int64(most)+1))
	switch {
	case err != nil:
		return nil, err
	case out.Len() > most:
		return nil, errors.New("a stream inflates to more than our files have")
	case in.Len() > 0:
		return nil, errors.New("bytes behind the end of a stream")
	}
	return out.Bytes(), nil
}

// unpack goes through the object streams, and returns which objects nothing needs
// to refer to: they and the cross-reference stream. What the packed objects say
// is not kept but for what they refer to.
func (s *structure) unpack(places []location) (carriers []bool, err error) {
	carriers = make([]bool, len(s.objects))
	if !s.tagged {
		return carriers, nil
	}
	carriers[len(carriers)-1] = true
	packed, room := 0, maxTree(s.size)
	for _, at := range places {
		if at.in != 0 {
			packed++
		}
	}
	for i := range s.objects {
		d, _ := s.objects[i].value.(dict)
		if d["Type"] != name("ObjStm") {
			continue
		}
		carriers[i] = true
		if err := only("object stream", d, "Type", "N", "First", "Filter", "Length"); err != nil {
			return nil, err
		}
		n, _ := d["N"].(int)
		first, _ := d["First"].(int)
		data, err := inflateWhole(s.objects[i].data, min(room, maxStream))
		if err != nil {
			return nil, err
		}
		room -= len(data)
		if packed -= n; packed < 0 || n < 1 || first < 0 || first > len(data) {
			return nil, errors.New("an object stream of another number of objects")
		}
		if err := s.unpackOne(data[:first], data[first:], n, ref(i+1), places); err != nil {
			return nil, err
		}
	}
	if packed != 0 {
		return nil, errors.New("an object is in no object stream")
	}
	return carriers, nil
}

// unpackOne reads the objects of one stream: they follow one another, each with a
// line feed, where the head says they do.
func (s *structure) unpackOne(head, body []byte, n int, stream ref, places []location) error {
	h, p := &parser{data: head}, &parser{data: body}
	for index := range n {
		number, err := h.int()
		if err == nil && !h.take(" "+strconv.Itoa(p.at)+" ") {
			err = h.errorf("want \" %d \"", p.at)
		}
		if err != nil {
			return err
		}
		if number < 1 || number > len(places) || places[number-1] != (location{index, stream}) {
			return p.errorf("object %d is not said to be in object stream %d", number, stream)
		}
		o := &s.objects[number-1]
		o.packed, o.from = true, int32(len(s.refs))
		if s.refs, err = p.skim(0, s.refs); err != nil {
			return err
		}
		if o.to = int32(len(s.refs)); len(s.refs) > maxRefs(len(places)) {
			return p.errorf("more references than our files have")
		}
		if err := p.want("\n"); err != nil {
			return err
		}
	}
	if h.at != len(head) || p.at != len(body) {
		return p.errorf("bytes that no object owns")
	}
	return nil
}

// skim goes over a value of a packed object and adds what it refers to.
func (p *parser) skim(depth int, refs []int32) ([]int32, error) {
	if depth > maxDepth {
		return refs, p.errorf("nested too deep")
	}
	var err error
	switch c := p.peek(); {
	case p.take("<<"):
		for !p.take(">>") {
			p.take(" ")
			from := p.at + 1
			if err = p.word(); err != nil {
				return refs, err
			}
			if key := p.data[from:p.at]; !packedKeys[name(key)] {
				return refs, p.errorf("key /%s has no place in an object stream", key)
			}
			p.take(" ")
			if refs, err = p.skim(depth+1, refs); err != nil {
				return refs, err
			}
		}
		return refs, nil
	case p.take("["):
		for {
			for p.take(" ") {
			}
			if p.take("]") {
				return refs, nil
			}
			if refs, err = p.skim(depth+1, refs); err != nil {
				return refs, err
			}
		}
	case c == '/':
		from := p.at
		if err = p.word(); err == nil && strings.IndexByte("/<[( ]>", p.peek()) < 0 { // a font's
			p.at = from
			_, err = p.name()
		}
	case c == '(':
		_, err = p.literal()
	case c == '<':
		_, err = p.hex()
	case isDigit(c):
		from, n := p.at, 0
		for ; isDigit(p.peek()) && n < 1<<27; p.at++ {
			n = 10*n + int(p.peek()-'0')
		}
		if p.data[from] != '0' && p.take(" 0 R") {
			return append(refs, int32(n)), nil
		}
		for c := p.peek(); isDigit(c) || c == '.'; c = p.peek() {
			p.at++
		}
	case c == '-' || c == '.':
		for c := p.peek(); isDigit(c) || c == '-' || c == '.'; c = p.peek() {
			p.at++
		}
	default:
		err = p.errorf("want a value")
	}
	return refs, err
}

// word reads a name of letters and digits alone.
func (p *parser) word() error {
	if err := p.want("/"); err != nil {
		return err
	}
	from := p.at
	for c := p.peek() | 0x20; c >= 'a' && c <= 'z' || isDigit(p.peek()); c = p.peek() | 0x20 {
		p.at++
	}
	if p.at == from || p.at-from > maxName {
		return p.errorf("want a name")
	}
	return nil
}
