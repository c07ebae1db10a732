package table

import (
	"archive/zip"
	"bufio"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"

	"spanseal/internal/source"
)

// maxUnpacked is how large the parts of a workbook may be when unpacked. A small
// one must not be many times its size either: rows of readings shrink to a
// tenth, not to a hundredth.
const (
	maxUnpacked   = 2_000_000_000
	freeUnpacked  = 20_000_000 // whatever the size of the file
	timesUnpacked = 60
)

// errBomb reports a workbook that unpacks to more than can be honest.
var errBomb = errors.New("it unpacks to more than a workbook of its size can hold")

// Workbook is what a workbook holds beside its cells (ECMA-376 part 1, 18.2, and
// part 2, Open Packaging Conventions). Workbooks are not read by the library
// that writes ours: it ends a sheet in silence where the XML is broken, and
// takes a text that is not there for an empty cell, so readings would be lost.
type Workbook struct {
	parts     *zip.Reader
	Sheets    []BookSheet
	texts     sharedTexts // that cells share
	since1904 bool
	styles    string  // the part that has them
	shown     []Shown // by style, once asked for
	// toCalculate: the values kept with formulas are not those of a calculation.
	toCalculate bool
}

// BookSheet is a sheet as the workbook lists it.
type BookSheet struct {
	Name, part string
	Hidden     bool
}

// OpenBook opens a workbook; what it unpacks is bounded.
func OpenBook(f *source.File) (*Workbook, error) {
	z, err := zip.NewReader(bytes.NewReader(f.Raw), int64(len(f.Raw)))
	if err != nil {
		return nil, err
	}
	seen := map[string]bool{}
	for _, part := range z.File {
		name := partName(part.Name)
		if seen[name] { // programs differ in which of the two they read
			return nil, fmt.Errorf("two of its parts are named %q", name)
		}
		seen[name] = true
	}
	limit := min(maxUnpacked, max(freeUnpacked, timesUnpacked*uint64(len(f.Raw))))
	for _, part := range z.File {
		if part.UncompressedSize64 > limit {
			return nil, errBomb
		}
		limit -= part.UncompressedSize64
	}
	b := &Workbook{parts: z}
	return b, b.read()
}

// read finds the sheets and reads the texts.
func (b *Workbook) read() error {
	root, err := b.relations("")
	if err != nil {
		return err
	}
	i := slices.IndexFunc(root, func(r relation) bool { return r.Type == "officeDocument" })
	if i < 0 {
		return errors.New("it holds no workbook")
	}
	main := root[i].Target
	var content struct {
		Properties struct {
			Date1904 string `xml:"date1904,attr"`
		} `xml:"workbookPr"`
		Calculation struct {
			OnLoad string `xml:"fullCalcOnLoad,attr"`
		} `xml:"calcPr"`
		Sheets []struct {
			Name  string     `xml:"name,attr"`
			State string     `xml:"state,attr"`
			Attr  []xml.Attr `xml:",any,attr"`
		} `xml:"sheets>sheet"`
	}
	related, err := b.relations(main)
	if err := errors.Join(err, b.decode(main, &content)); err != nil {
		return err
	}
	b.since1904, b.toCalculate = isTrue(content.Properties.Date1904), isTrue(content.Calculation.OnLoad)
	for _, s := range content.Sheets {
		id := attribute(s.Attr, "id")
		i := slices.IndexFunc(related, func(r relation) bool { return r.ID == id })
		switch {
		case i < 0:
			return fmt.Errorf("sheet %q is not in it", s.Name)
		case related[i].Type == "worksheet": // not a chart
			b.Sheets = append(b.Sheets, BookSheet{s.Name, related[i].Target, s.State == "hidden" || s.State == "veryHidden"})
		}
	}
	if i := slices.IndexFunc(related, func(r relation) bool { return r.Type == "styles" }); i >= 0 {
		b.styles = related[i].Target
	}
	for _, r := range related {
		if r.Type == "sharedStrings" {
			return b.readTexts(r.Target)
		}
	}
	return nil
}

// isTrue reads xsd:boolean.
func isTrue(s string) bool { return s == "1" || s == "true" }

// relation is what one part says of another.
type relation struct {
	ID     string `xml:"Id,attr"`
	Type   string `xml:"Type,attr"`
	Target string `xml:"Target,attr"`
}

// relations reads the relations of a part, or of the whole file; targets are
// names of parts, and types the last words of theirs.
func (b *Workbook) relations(part string) ([]relation, error) {
	var list struct {
		All []relation `xml:"Relationship"`
	}
	folder, name := path.Split(part)
	err := b.decode(path.Join(folder, "_rels", name+".rels"), &list)
	for i := range list.All {
		r := &list.All[i]
		r.Type = path.Base(r.Type)
		if r.Target = strings.ReplaceAll(r.Target, `\`, "/"); !strings.HasPrefix(r.Target, "/") {
			r.Target = path.Join("/", folder, r.Target)
		}
		r.Target = strings.TrimPrefix(r.Target, "/")
	}
	return list.All, err
}

// partName is the name of a part, in which capitals do not matter (ECMA-376 part
// 2, 6.3).
func partName(s string) string {
	return strings.ToLower(strings.TrimPrefix(strings.ReplaceAll(s, `\`, "/"), "/"))
}

// find returns a part by its name.
func (b *Workbook) find(name string) (*zip.File, error) {
	for _, f := range b.parts.File {
		if partName(f.Name) == partName(name) {
			return f, nil
		}
	}
	return nil, fmt.Errorf("part %q is not in it", name)
}

// maxSmallPart is how many bytes a part may have that is read as a whole.
const maxSmallPart = 2_000_000

// open opens a part by its name.
func (b *Workbook) open(name string) (io.ReadCloser, error) {
	part, err := b.find(name)
	if err != nil {
		return nil, err
	}
	return part.Open()
}

// decode reads a small part.
func (b *Workbook) decode(name string, to any) error {
	stream, err := b.open(name)
	if err != nil {
		return err
	}
	defer stream.Close()
	x := newElements(io.LimitReader(stream, maxSmallPart))
	x.in.left = maxSmallPart
	return x.d.Decode(to)
}

// readTexts reads the texts that cells share (18.4.8): plain, or runs of
// several looks; how a text is pronounced (rPh) is left out.
func (b *Workbook) readTexts(name string) error {
	stream, err := b.open(name)
	if err != nil {
		return err
	}
	defer stream.Close()
	x := newElements(stream)
	var text []byte
	for {
		token, err := x.next()
		switch e := token.(type) {
		case nil:
			if err == io.EOF {
				return nil
			}
			return err
		case xml.StartElement:
			if e.Name.Local == "si" {
				text = text[:0]
			}
		case xml.CharData:
			if x.inText() {
				text = append(text, e...)
			}
		case xml.EndElement:
			if e.Name.Local == "si" {
				if len(b.texts.ends) == maxTexts {
					return fmt.Errorf("it has more than %d shared texts", maxTexts)
				}
				b.texts.add(unescaped(string(text)))
			}
		}
	}
}

// maxTexts is how many texts cells may share: four for each row that a sheet
// can have.
const maxTexts = 4 << 20

// sharedTexts are texts one behind the other: a workbook of 20 MB can have three
// million, most of them empty.
type sharedTexts struct {
	all  strings.Builder
	ends []uint32 // of each; all is bounded by maxUnpacked
}

func (t *sharedTexts) add(s string) {
	t.all.WriteString(s)
	t.ends = append(t.ends, uint32(t.all.Len()))
}

// at returns the text of an index, counted from zero.
func (t *sharedTexts) at(i int) (s string, ok bool) {
	if i < 0 || i >= len(t.ends) {
		return "", false
	}
	from := uint32(0)
	if i > 0 {
		from = t.ends[i-1]
	}
	return t.all.String()[from:t.ends[i]], true
}

// elements is the XML of a part, whose elements must nest and end.
type elements struct {
	d     *xml.Decoder
	in    *ration
	path  []xml.Name // of the current element, from the root
	begun bool
}

// maxDepth of elements; a worksheet's are nine deep.
const maxDepth = 100

// ration is a reader that gives so many bytes at most for one token: the
// decoder holds a token in memory, however long.
type ration struct {
	io.Reader
	left int
}

// maxToken is how many bytes a token may have, without what is read ahead.
const maxToken = MaxRow

func (r *ration) Read(p []byte) (int, error) {
	if r.left <= 0 {
		return 0, fmt.Errorf("one of its elements or texts has more than %d bytes", maxToken)
	}
	n, err := r.Reader.Read(p)
	r.left -= n
	return n, err
}

func newElements(r io.Reader) *elements {
	in := &ration{r, maxToken}
	d := xml.NewDecoder(bufio.NewReaderSize(in, 64<<10))
	d.CharsetReader = func(label string, in io.Reader) (io.Reader, error) {
		enc, ok := EncodingNamed(label)
		if !ok {
			return nil, fmt.Errorf("%q is not an encoding", label)
		}
		return enc.NewDecoder().Reader(in), nil
	}
	return &elements{d: d, in: in}
}

// next returns a token, valid until the next one, or nil and why: io.EOF only
// where the whole was read. At an end element the path is that of its parent.
func (x *elements) next() (xml.Token, error) {
	x.in.left = maxToken
	token, err := x.d.RawToken()
	if err == io.EOF && (len(x.path) > 0 || !x.begun) {
		err = io.ErrUnexpectedEOF
	}
	if err != nil {
		return nil, err
	}
	switch e := token.(type) {
	case xml.StartElement:
		if len(x.path) == maxDepth {
			return nil, errors.New("its elements nest too deeply")
		}
		x.path, x.begun = append(x.path, e.Name), true
	case xml.EndElement:
		n := len(x.path) - 1
		if n < 0 || x.path[n] != e.Name {
			return nil, fmt.Errorf("</%s> closes nothing in its XML", e.Name.Local)
		}
		x.path = x.path[:n]
	}
	return token, nil
}

// is reports that the current element is the last of a path of local names.
func (x *elements) is(names ...string) bool {
	if len(x.path) != len(names) {
		return false
	}
	for i := range names {
		if x.path[len(names)-1-i].Local != names[len(names)-1-i] { // the last differ most
			return false
		}
	}
	return true
}

// inCell reports that the current element is inside a cell of a worksheet.
func (x *elements) inCell() bool {
	return len(x.path) > 4 && x.path[3].Local == "c" && x.path[1].Local == "sheetData"
}

// inText reports that the current element is a text of a string item.
func (x *elements) inText() bool {
	n := len(x.path)
	return n > 1 && x.path[n-1].Local == "t" && x.path[n-2].Local != "rPh"
}

func attribute(list []xml.Attr, name string) string {
	for i := range list {
		if list[i].Name.Local == name {
			return list[i].Value
		}
	}
	return ""
}
