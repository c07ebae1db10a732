package archive

import (
	"encoding/binary"
	"encoding/hex"
	"errors"
	"hash/crc32"
	"iter"
	"os"
	"path/filepath"
	"slices"

	"spanseal/internal/record"
)

// maxIndex is the size up to which an index is read, in bytes: that of 100 of
// our largest revisions.
const maxIndex = 1 << 28

const magic = "spanseal index 3\n"

// LinkPaper is one link of a revision and the paper about it.
type LinkPaper struct {
	Name    string
	Verdict string // "" where results.json could not be read
	Number  string // of its certificate, "" without one
	File    string // relative to the revision
	// Names are those of the schedule, by key or heading of its own.
	Names []record.GivenName
}

// verdicts by their number in the index, from one.
var verdicts = []string{"pass", "marginal", "incomplete", "fail"}

// The folders of papers in a revision.
const (
	certificates   = "certificates"
	nonconformance = "nonconformance"
)

// number of a link's certificate: it has none unless it passes.
func (r *Revision) number(name, verdict string) string {
	if verdict == "pass" || verdict == "marginal" {
		return r.Job + "/" + name
	}
	return ""
}

// usualFile is the paper of a link whose name is fit for a file.
func usualFile(name, verdict string) string {
	if verdict == "pass" || verdict == "marginal" {
		return certificates + "/" + name + ".pdf"
	}
	return nonconformance + "/" + name + ".pdf"
}

// add appends a link, with the number of its set of uses.
func (r *Revision) add(l LinkPaper, set int) {
	if l.File == usualFile(l.Name, l.Verdict) {
		l.File = ""
	}
	w := writer(r.links)
	w.text(l.Name)
	w.nat(slices.Index(verdicts, l.Verdict) + 1)
	w.nat(set)
	w.text(l.File)
	w.nat(len(l.Names))
	for _, n := range l.Names {
		w.nat(r.column(n.Key))
		w.text(n.Text)
	}
	r.links = w
	r.count++
}

// column numbers a key of a name.
func (r *Revision) column(key string) int {
	at := slices.Index(r.columns, key)
	if at < 0 {
		at = len(r.columns)
		r.columns = append(r.columns, key)
	}
	return at
}

// naming is one of a row: which of the columns, and its text.
type naming struct {
	column int
	text   []byte
}

// row is a link as it lies in the index: texts are not copied.
type row struct {
	name, file   []byte
	verdict, set int
	names        []naming // of this row until the next is read
}

// rows yields the links in schedule order, with their position.
func (r *Revision) rows() iter.Seq2[int, row] {
	return func(yield func(int, row) bool) {
		c := cursor{data: r.links}
		var names []naming
		for i := range r.count {
			var x row
			x.name, x.verdict, x.set, x.file = c.bytes(), c.nat(), c.nat(), c.bytes()
			names = names[:0]
			for range c.count() {
				n := naming{c.nat(), c.bytes()}
				if c.bad || n.column >= len(r.columns) {
					return
				}
				names = append(names, n)
			}
			x.names = names
			if c.bad || x.verdict > len(verdicts) || x.set >= len(r.sets) || !yield(i, x) {
				return
			}
		}
	}
}

// link spells a row out.
func (r *Revision) link(x row) LinkPaper {
	l := LinkPaper{Name: string(x.name), File: string(x.file)}
	if x.verdict > 0 {
		l.Verdict = verdicts[x.verdict-1]
	}
	for _, n := range x.names {
		l.Names = append(l.Names, record.GivenName{Key: r.columns[n.column], Text: string(n.text)})
	}
	l.Number = r.number(l.Name, l.Verdict)
	if l.File == "" {
		l.File = usualFile(l.Name, l.Verdict)
	}
	return l
}

// texts are the texts of an entry in their order.
func (r *Revision) texts(specimen *string) []*string {
	return []*string{&r.Job, &r.Title, &r.Site, &r.Customer, &r.Order, &r.Contractor, &r.Invoice, &r.Issued, &r.SignerKey, &r.previous, &r.Signer, &r.Reason, specimen,
		&r.ways[0], &r.ways[1], &r.ways[2], &r.ways[3], &r.ways[4]}
}

func (r *Revision) encode() []byte {
	var w writer
	w.text(r.Path)
	for _, s := range r.stamps {
		w.int(s.size)
		w.int(s.modified)
	}
	var sum [32]byte
	hex.Decode(sum[:], []byte(r.SHA256))
	w = append(w, sum[:]...)
	specimen := ""
	if r.Specimen {
		specimen = "specimen"
	}
	for _, t := range r.texts(&specimen) {
		w.text(*t)
	}
	w.nat(r.Number)
	for _, list := range [][]string{r.Doubts, r.Changes, r.columns} {
		w.nat(len(list))
		for _, t := range list {
			w.text(t)
		}
	}
	w.nat(len(r.instruments))
	for _, i := range r.instruments {
		w.text(i.ID)
		w.text(i.Kind)
		w.text(i.Serial)
	}
	w.nat(len(r.people))
	for _, p := range r.people {
		w.text(p.ID)
		w.text(p.Name)
	}
	w.nat(len(r.uses))
	for _, u := range r.uses {
		w.nat(u.instrument)
		w.nat(u.source)
		w.nat(u.person)
		w.int(day(u.day))
	}
	w.nat(len(r.sets))
	for _, s := range r.sets {
		w.nat(len(s))
		for _, n := range s {
			w.nat(n)
		}
	}
	w.nat(r.count)
	return append(w, r.links...)
}

var errIndex = errors.New("not an entry of an index")

func decode(data []byte) (*Revision, error) {
	c := cursor{data: data, left: maxElements(len(data))}
	r := &Revision{Path: c.text()}
	for i := range r.stamps {
		r.stamps[i] = stamp{c.int(), c.int()}
	}
	r.SHA256 = hex.EncodeToString(c.take(32))
	var specimen string
	for _, t := range r.texts(&specimen) {
		*t = c.text()
	}
	r.Specimen = specimen != ""
	r.Number = c.nat()
	for _, list := range []*[]string{&r.Doubts, &r.Changes, &r.columns} {
		for range c.list() {
			*list = append(*list, c.text())
		}
	}
	for range c.list() {
		r.instruments = append(r.instruments, record.Instrument{ID: c.text(), Kind: c.text(), Serial: c.text()})
	}
	for range c.list() {
		r.people = append(r.people, record.Person{ID: c.text(), Name: c.text()})
	}
	for range c.list() {
		u := method{c.nat(), c.nat(), c.nat(), date(c.int())}
		c.bad = c.bad || u.instrument > len(r.instruments) || u.source > len(r.instruments) || u.person > len(r.people)
		r.uses = append(r.uses, u)
	}
	for range c.list() {
		var set []int
		for range c.list() {
			n := c.nat()
			c.bad = c.bad || n >= len(r.uses)
			set = append(set, n)
		}
		r.sets = append(r.sets, set)
	}
	r.count = c.count()
	r.links = c.data
	if c.bad {
		return nil, errIndex
	}
	return r, nil
}

// maxElements is how many elements the lists of an entry of so many bytes may
// have, but for the links, which are not taken apart. An entry of an index that
// has more is none.
func maxElements(size int) int { return 1000 + size/8 }

// readIndex returns the revisions of an index by path; none where the file is
// missing, damaged or of another form: it is only a cache.
func readIndex(file string) map[string]*Revision {
	data, err := slurpUpTo(file, maxIndex)
	if err != nil {
		return nil
	}
	list, err := parseIndex(data)
	if err != nil {
		return nil
	}
	known := make(map[string]*Revision, len(list))
	for _, r := range list {
		known[r.Path] = r
	}
	return known
}

func parseIndex(data []byte) ([]*Revision, error) {
	body := len(data) - crc32.Size
	if body < len(magic) || string(data[:len(magic)]) != magic || binary.LittleEndian.Uint32(data[body:]) != crc32.ChecksumIEEE(data[:body]) {
		return nil, errIndex
	}
	c := cursor{data: data[len(magic):body]}
	var list []*Revision
	for len(c.data) > 0 {
		entry := c.bytes()
		if c.bad {
			return nil, errIndex
		}
		r, err := decode(entry)
		if err != nil {
			return nil, err
		}
		list = append(list, r)
	}
	return list, nil
}

func formatIndex(list []*Revision) []byte {
	w := writer(magic)
	for _, r := range list {
		w.text(string(r.encode()))
	}
	return binary.LittleEndian.AppendUint32(w, crc32.ChecksumIEEE(w))
}

// writeIndex puts an index in its place at once, so that a reader never sees
// half of one.
func writeIndex(file string, list []*Revision) error {
	f, err := os.CreateTemp(filepath.Dir(file), filepath.Base(file)+"-*")
	if err != nil {
		return err
	}
	_, err = f.Write(formatIndex(list))
	// Whoever may read the archive may read its index.
	err = errors.Join(err, f.Chmod(0o644), f.Close())
	if err == nil {
		err = os.Rename(f.Name(), file)
	}
	if err != nil {
		os.Remove(f.Name())
	}
	return err
}

// noDay is a day that no calendar has: that of the zero date.
var noDay = record.Date{}.Time().Unix() / secondsADay

const secondsADay = 24 * 60 * 60

func day(d record.Date) int64 { return d.Time().Unix() / secondsADay }

func date(n int64) record.Date {
	const far = 3_000_000 // days: beyond the year 9999
	if n <= noDay || n > far {
		return record.Date{}
	}
	return record.NewDate(1970, 1, 1).AddDays(int(n))
}

// writer appends the parts of an index.
type writer []byte

func (w *writer) nat(n int)     { *w = binary.AppendUvarint(*w, uint64(n)) }
func (w *writer) int(n int64)   { *w = binary.AppendVarint(*w, n) }
func (w *writer) text(s string) { w.nat(len(s)); *w = append(*w, s...) }

// cursor reads the parts of an index. After a fault it is bad and yields
// nothing more.
type cursor struct {
	data []byte
	bad  bool
	left int // elements of lists that may still be read
}

func (c *cursor) fail() { c.bad, c.data = true, nil }

// nat reads a number that fits the data that it stands for.
func (c *cursor) nat() int {
	n, size := binary.Uvarint(c.data)
	if size <= 0 || n > 1<<31-1 {
		c.fail()
		return 0
	}
	c.data = c.data[size:]
	return int(n)
}

// count reads how many things follow; each takes a byte at least.
func (c *cursor) count() int {
	n := c.nat()
	if n > len(c.data) {
		c.fail()
		return 0
	}
	return n
}

// list reads how many elements follow, of which each takes much more memory
// than it has bytes.
func (c *cursor) list() int {
	n := c.count()
	if c.left -= n; c.left < 0 {
		c.fail()
		return 0
	}
	return n
}

func (c *cursor) int() int64 {
	n, size := binary.Varint(c.data)
	if size <= 0 {
		c.fail()
		return 0
	}
	c.data = c.data[size:]
	return n
}

func (c *cursor) take(n int) []byte {
	if n > len(c.data) {
		c.fail()
		return nil
	}
	b := c.data[:n]
	c.data = c.data[n:]
	return b
}

func (c *cursor) bytes() []byte { return c.take(c.nat()) }
func (c *cursor) text() string  { return string(c.bytes()) }
