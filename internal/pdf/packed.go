package pdf

import "strconv"

// packed is a file within the file: objects that stand in object streams
// (ISO 32000-1, 7.5.7). An object stream is ended when it holds enough, so that
// who reads it need not inflate a large document at once.
type packed struct {
	file
	out    *file
	zip    func(parts ...[]byte) []byte
	head   []byte // numbers of the objects and where they begin
	stream ref
	n      int
}

// enoughPacked is how many bytes an object stream holds.
const enoughPacked = 64 << 10

// into empties the packer, for another file.
func (p *packed) into(out *file) {
	p.out, p.stream, p.n = out, 0, 0
	p.buf, p.head = p.buf[:0], p.head[:0]
}

func (p *packed) reserve() ref { return p.out.reserve() }

func (p *packed) begin(r ref) {
	if p.stream == 0 {
		p.stream = p.out.reserve()
	}
	p.out.places[r-1] = location{p.n, p.stream}
	p.n++
	p.head = append(strconv.AppendInt(p.head, int64(r), 10), ' ')
	p.head = append(strconv.AppendInt(p.head, int64(len(p.buf)), 10), ' ')
}

// end ends an object with a line feed.
func (p *packed) end() {
	p.str("\n")
	if len(p.buf) >= enoughPacked {
		p.flush()
	}
}

// flush writes the object stream.
func (p *packed) flush() {
	if p.stream == 0 {
		return
	}
	f := p.out
	data := p.zip(p.head, p.buf)
	f.begin(p.stream)
	f.str("<</Type/ObjStm/N ")
	f.int(p.n)
	f.str("/First ")
	f.int(len(p.head))
	f.str("/Filter/FlateDecode")
	f.data(data)
	p.into(f)
}

// xref writes the cross-reference stream, the last object (ISO 32000-1, 7.5.8),
// and returns the place of the file identifier. Its rows are differences from
// the row before (PNG's predictor Up, 7.4.4.4), which leaves little of them.
func (f *file) xref(root, info ref, zip func(parts ...[]byte) []byte, scratch []byte) (id int, rows []byte) {
	self := f.reserve()
	at := len(f.buf)
	f.places[self-1] = location{at: at}
	var before, row [xrefWidth]byte
	rows = append(scratch[:0], xrefUp)
	before = xrefRow(0, 0, 1<<16-1)
	rows = append(rows, before[:]...)
	for _, p := range f.places {
		if row = xrefRow(1, p.at, 0); p.in != 0 {
			row = xrefRow(2, int(p.in), p.at)
		}
		rows = append(rows, xrefUp)
		for i, b := range row {
			rows = append(rows, b-before[i])
		}
		before = row
	}
	packed := zip(rows)
	f.begin(self)
	f.str("<</Type/XRef/Size ")
	f.int(len(f.places) + 1)
	f.str(xrefForm)
	f.ref("/Root", root)
	f.ref("/Info", info)
	f.str("/ID[")
	id = len(f.buf)
	f.str("<00000000000000000000000000000000><00000000000000000000000000000000>]/Filter/FlateDecode")
	f.data(packed)
	f.str("startxref\n")
	f.int(at)
	f.str("\n%%EOF\n")
	return id, rows
}

// The rows of a cross-reference stream: a byte that says which kind of place, four
// of it and two of the index in an object stream, behind a byte that names the
// predictor.
const (
	xrefWidth = 7
	xrefUp    = 2
	xrefForm  = "/W[1 4 2]/DecodeParms<</Predictor 12/Columns 7>>"
)

func xrefRow(kind byte, place, index int) [xrefWidth]byte {
	return [xrefWidth]byte{kind, byte(place >> 24), byte(place >> 16), byte(place >> 8), byte(place), byte(index >> 8), byte(index)}
}
