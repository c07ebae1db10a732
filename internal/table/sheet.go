package table

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"iter"
	"regexp"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"

	"spanseal/internal/diag"
	"spanseal/internal/quantity"
	"spanseal/internal/source"
)

// Worksheet is a table of a workbook's sheet. Cells hold what is stored, not what
// is shown: numbers with their point, times as serial numbers.
type Worksheet struct {
	File *source.File
	book *Workbook
	BookSheet
	seen          struct{ rows, bytes int64 } // when most of its rows were read
	HiddenRows    []int                       // rows that hold something and are not shown
	HiddenColumns [][2]int                    // columns that are not shown: first and last, from one
	Read          []int                       // columns that were read, from one
	bad           *diag.Problem
}

// NewSheet is one sheet of a workbook.
func NewSheet(f *source.File, b *Workbook, s BookSheet) *Worksheet {
	return &Worksheet{File: f, book: b, BookSheet: s}
}

func (t *Worksheet) Fault() *diag.Problem { return t.bad }
func (t *Worksheet) RowWord() string      { return "row" }
func (t *Worksheet) Stored() bool         { return true }
func (t *Worksheet) CellDelimiter() byte  { return 0 }

func (t *Worksheet) RowOf(r *Row, _ int) int { return r.Number }

func (t *Worksheet) Column(_ *Row, column int) int { return max(column, 0) + 1 }

func (t *Worksheet) CellName(r *Row, column int) string { return CellIn(t.Name, r.Number, column) }

// CellIn is the name of a cell of a sheet, such as "Sheet1!B7": rows count from one,
// columns from zero.
func CellIn(sheet string, row, column int) string {
	name, err := excelize.CoordinatesToCellName(max(column, 0)+1, max(row, 1))
	if err != nil {
		return ""
	}
	return sheet + "!" + name
}

func (t *Worksheet) Place(r *Row, column int) diag.Place {
	p := diag.Place{File: t.File.Name, Cell: t.CellName(r, column), Excerpt: r.At(column)}
	if column < 0 {
		p.Excerpt = r.Joined()
	}
	return p
}

// About is how many rows the sheet has, by what was read of it.
func (t *Worksheet) About() int64 {
	part, err := t.book.find(t.part)
	if err != nil || t.seen.bytes == 0 {
		return 0
	}
	return int64(part.UncompressedSize64) * t.seen.rows / t.seen.bytes
}

func (t *Worksheet) Rows() iter.Seq[*Row] {
	return func(yield func(*Row) bool) {
		t.bad, t.HiddenRows, t.HiddenColumns = nil, t.HiddenRows[:0], t.HiddenColumns[:0]
		switch err := t.stream(yield); {
		case err == nil:
		case errors.As(err, &t.bad):
		default:
			t.bad = &diag.Problem{Code: "broken-workbook", Place: diag.Place{File: t.File.Name}, Message: fmt.Sprintf("sheet %q cannot be read: %s", t.Name, err),
				Fix: "open it in a spreadsheet program and save it again, or export it as CSV"}
		}
	}
}

// stream reads the sheet's rows (18.3.1.73) until yield has had enough. Rows
// that the sheet leaves out are blank.
func (t *Worksheet) stream(yield func(*Row) bool) error {
	stream, err := t.book.open(t.part)
	if err != nil {
		return err
	}
	defer stream.Close()
	x, r, c, hidden := newElements(stream), &Row{}, sheetCell{}, false
	defer func() {
		if n := int64(r.Number); n > t.seen.rows {
			t.seen.rows, t.seen.bytes = n, x.d.InputOffset()
		}
	}()
	for {
		token, err := x.next()
		switch e := token.(type) {
		case nil:
			if err == io.EOF {
				return nil
			}
			return err
		case xml.StartElement:
			switch {
			case len(x.path) == 1 && !x.is("worksheet"):
				return fmt.Errorf("it holds a %s", e.Name.Local)
			case x.is("worksheet", "cols", "col"): // 18.3.1.13
				first, ok1 := quantity.Whole(attribute(e.Attr, "min"))
				last, ok2 := quantity.Whole(attribute(e.Attr, "max"))
				if ok1 && ok2 && isTrue(attribute(e.Attr, "hidden")) && len(t.HiddenColumns) < MaxColumns {
					t.HiddenColumns = append(t.HiddenColumns, [2]int{first, last})
				}
			case x.is("worksheet", "sheetData", "row"):
				next, err := rowNumber(e, r.Number)
				if err != nil {
					return err
				}
				for r.clear(); r.Number < next-1; {
					if r.Number++; !yield(r) {
						return nil
					}
				}
				r.Number, c.column, hidden = next, 0, isTrue(attribute(e.Attr, "hidden"))
			case x.is("worksheet", "sheetData", "row", "c"):
				if err := c.start(e); err != nil {
					return err
				}
				if c.column > MaxColumns {
					return &diag.Problem{Code: "too-many-columns", Place: diag.Place{File: t.File.Name, Cell: t.CellName(r, MaxColumns)}, Message: fmt.Sprintf("this row has more than %d columns", MaxColumns)}
				}
			case x.inCell() && len(x.path) == 5:
				c.child(e.Name.Local)
			}
		case xml.CharData:
			if x.inCell() && (c.inValue || x.inText()) {
				c.text = append(c.text, e...)
				c.value = c.value || c.inValue
			}
		case xml.EndElement:
			switch {
			case x.is("worksheet", "sheetData", "row", "c"):
				c.inValue = false
			case x.is("worksheet", "sheetData", "row") && e.Name.Local == "c":
				if err := t.end(&c, r); err != nil {
					return err
				}
			case x.is("worksheet") && e.Name.Local == "sheetData":
				// Nothing of what follows the rows is of interest; it is unpacked for
				// its checksum alone, since a cut or changed part shows there.
				_, err := io.Copy(io.Discard, stream)
				return err
			case x.is("worksheet", "sheetData") && e.Name.Local == "row":
				if hidden && !r.Blank() {
					t.HiddenRows = append(t.HiddenRows, r.Number)
				}
				if !yield(r) {
					return nil
				}
			}
		}
	}
}

// clear takes the cells out of a row.
func (r *Row) clear() { r.Cells, r.Unsaved, r.Odd = r.Cells[:0], r.Unsaved[:0], r.Odd[:0] }

// rowNumber reads where a row stands; without a number it follows the last.
func rowNumber(e xml.StartElement, last int) (int, error) {
	s := attribute(e.Attr, "r")
	if s == "" {
		s = strconv.Itoa(last + 1)
	}
	n, ok := quantity.Whole(s)
	switch {
	case !ok || n < 1 || n > excelize.TotalRows:
		return 0, fmt.Errorf("there is no row %q", s)
	case n <= last:
		return 0, fmt.Errorf("row %d comes after row %d", n, last)
	}
	return n, nil
}

// sheetCell is a cell while it is read (18.3.1.4).
type sheetCell struct {
	column  int // from one
	kind    string
	style   int32
	text    []byte
	formula bool
	value   bool // there is one
	inValue bool
	values  int // elements that hold one
}

// start reads where a cell stands: behind the last.
func (c *sheetCell) start(e xml.StartElement) error {
	last := c.column
	*c = sheetCell{column: last + 1, kind: attribute(e.Attr, "t"), text: c.text[:0]}
	if style, ok := quantity.Whole(attribute(e.Attr, "s")); ok {
		c.style = int32(style)
	}
	if name := attribute(e.Attr, "r"); name != "" {
		column, _, err := excelize.CellNameToCoordinates(name)
		if err != nil {
			return err
		}
		if c.column = column; column <= last {
			return fmt.Errorf("cell %s comes after one that should follow it", name)
		}
	}
	return nil
}

// child meets an element of the cell: its formula or its value.
func (c *sheetCell) child(name string) {
	switch name {
	case "f":
		c.formula = true
	case "is":
		c.values++
	case "v":
		c.inValue = true
		c.values++
		c.value = c.value || c.kind == "str" // a text may be empty
	}
}

// end puts a cell into its row. A formula whose value was not saved is marked.
func (t *Worksheet) end(c *sheetCell, r *Row) error {
	if c.values > 1 {
		return fmt.Errorf("cell %s holds %d values", t.CellName(r, c.column-1), c.values)
	}
	if c.formula && (t.book.toCalculate || !c.value) {
		r.Unsaved = append(r.Unsaved, c.column-1)
	}
	text := strings.TrimSpace(string(c.text))
	switch c.kind {
	case "s":
		if text == "" {
			break
		}
		shared, ok := "", false
		if i, number := quantity.Whole(text); number {
			shared, ok = t.book.texts.at(i)
		}
		if !ok {
			return fmt.Errorf("%s points to text %s, and the workbook has %s", t.CellName(r, c.column-1), text, diag.Plural(len(t.book.texts.ends), "text"))
		}
		text = shared
	case "b":
		if text != "" {
			text = strings.ToUpper(strconv.FormatBool(isTrue(text)))
		}
	case "inlineStr", "str":
		text = unescaped(text)
	}
	if text = strings.TrimSpace(text); text == "" {
		return nil
	}
	for len(r.Cells) < c.column-1 {
		r.Cells = append(r.Cells, Cell{})
	}
	r.Cells = append(r.Cells, Cell{Text: text, style: c.style, number: c.kind == "" || c.kind == "n"})
	return nil
}

var escape = regexp.MustCompile(`_x[0-9A-Fa-f]{4}_`)

// unescaped reads the characters that a text cannot hold in XML, such as _x000D_
// (22.9.2.19, ST_Xstring).
func unescaped(s string) string {
	if !strings.Contains(s, "_x") {
		return s
	}
	return escape.ReplaceAllStringFunc(s, func(s string) string {
		n, err := strconv.ParseUint(s[2:6], 16, 32)
		if err != nil {
			return s
		}
		return string(rune(n))
	})
}

// FilledSheets are the sheets that hold anything, or cannot be read to the end.
func FilledSheets(f *source.File, b *Workbook) (filled []BookSheet) {
	for _, s := range b.Sheets {
		t := NewSheet(f, b, s)
		holds := false
		for row := range t.Rows() {
			if holds = !row.Blank() || len(row.Unsaved) > 0; holds {
				break
			}
		}
		if holds || t.Fault() != nil {
			filled = append(filled, s)
		}
	}
	return filled
}

// NamesOfSheets are the names as a sentence lists them.
func NamesOfSheets(sheets []BookSheet) string {
	var names []string
	for _, s := range sheets {
		names = append(names, s.Name)
	}
	return strings.Join(names, ", ")
}
