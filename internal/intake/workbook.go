package intake

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"iter"
	"strings"

	"github.com/xuri/excelize/v2"

	"spanseal/internal/diag"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// maxUnpacked is how large the parts of a workbook may be when unpacked. A small
// one must not be many times its size either: rows of readings shrink to a
// tenth, not to a hundredth.
const (
	maxUnpacked   = 2_000_000_000
	freeUnpacked  = 200_000_000 // whatever the size of the file
	timesUnpacked = 60
)

// errBomb reports a workbook that unpacks to more than can be honest.
var errBomb = errors.New("it unpacks to more than a workbook of its size can hold")

// sheet is a table of a workbook's sheet. Cells hold what is stored, not what
// is shown: numbers with their point, times as serial numbers.
type sheet struct {
	file      *source.File
	book      *excelize.File
	name      string
	since1904 bool
	// unsaved are the cells whose formula has no value, in order.
	unsaved []cellAt
	bad     *diag.Problem
}

func (t *sheet) fault() *diag.Problem { return t.bad }
func (t *sheet) line() string         { return "row" }
func (t *sheet) stored() bool         { return true }

func (t *sheet) column(_ *row, column int) int { return max(column, 0) + 1 }

func (t *sheet) cellName(r *row, column int) string {
	name, err := excelize.CoordinatesToCellName(max(column, 0)+1, max(r.number, 1))
	if err != nil {
		return ""
	}
	return t.name + "!" + name
}

func (t *sheet) place(r *row, column int) diag.Place {
	p := diag.Place{File: t.file.Name, Cell: t.cellName(r, column), Excerpt: r.at(column)}
	if column < 0 {
		p.Excerpt = r.joined()
	}
	return p
}

func (t *sheet) rows() iter.Seq[*row] {
	return func(yield func(*row) bool) {
		t.bad = nil
		broken := func(err error) {
			t.bad = &diag.Problem{Code: "broken-workbook", Place: diag.Place{File: t.file.Name}, Message: fmt.Sprintf("sheet %q cannot be read: %s", t.name, err),
				Mend: "open it in a spreadsheet program and save it again, or export it as CSV"}
		}
		stream, err := t.book.Rows(t.name)
		if err != nil {
			broken(err)
			return
		}
		defer stream.Close()
		r, unsaved := &row{}, t.unsaved
		for stream.Next() {
			r.number++
			texts, err := stream.Columns(excelize.Options{RawCellValue: true})
			if err != nil {
				broken(err)
				return
			}
			if len(texts) > maxColumns {
				t.bad = &diag.Problem{Code: "too-many-columns", Place: diag.Place{File: t.file.Name, Cell: t.cellName(r, maxColumns)}, Message: fmt.Sprintf("this row has more than %d columns", maxColumns)}
				return
			}
			r.cells = r.cells[:0]
			for _, s := range texts {
				r.cells = append(r.cells, cell{text: strings.TrimSpace(s)})
			}
			for r.unsaved = r.unsaved[:0]; len(unsaved) > 0 && unsaved[0].row <= r.number; unsaved = unsaved[1:] {
				r.unsaved = append(r.unsaved, unsaved[0].column-1)
			}
			if !yield(r) {
				return
			}
		}
		if err := stream.Error(); err != nil {
			broken(err)
		}
	}
}

// openBook opens a workbook; what it unpacks is bounded.
func openBook(f *source.File) (*excelize.File, error) {
	z, err := zip.NewReader(bytes.NewReader(f.Raw), int64(len(f.Raw)))
	if err != nil {
		return nil, err
	}
	limit := min(maxUnpacked, max(freeUnpacked, timesUnpacked*uint64(len(f.Raw))))
	for _, part := range z.File {
		if part.UncompressedSize64 > limit {
			return nil, errBomb
		}
		limit -= part.UncompressedSize64
	}
	return excelize.OpenReader(bytes.NewReader(f.Raw), excelize.Options{RawCellValue: true, UnzipSizeLimit: maxUnpacked, UnzipXMLSizeLimit: 16 << 20})
}

func brokenBook(name string, err error) diag.Problem {
	return diag.Problem{Code: "broken-workbook", Place: diag.Place{File: name}, Message: "the workbook cannot be opened: " + reason(err),
		Mend: "open it in a spreadsheet program and save it again as .xlsx, without a password"}
}

func since1904(book *excelize.File) bool {
	props, err := book.GetWorkbookProps()
	return err == nil && props.Date1904 != nil && *props.Date1904
}

// filledSheets names the sheets that hold anything.
func filledSheets(f *source.File, book *excelize.File) (filled []string) {
	for _, name := range book.GetSheetList() {
		t := sheet{file: f, book: book, name: name}
		for row := range t.rows() {
			if !row.blank() {
				filled = append(filled, name)
				break
			}
		}
	}
	return filled
}

// readWorkbook reads the sheets that the mapping names, or the only one that
// holds anything.
func (r *reader) readWorkbook(f *source.File, m *mapping, account *record.Account) {
	book, err := openBook(f)
	if err != nil {
		r.list.Add(brokenBook(f.Name, err))
		return
	}
	defer book.Close()
	fail := func(p diag.Problem) {
		p.Place = diag.Place{File: f.Name}
		r.list.Add(p)
	}
	var chosen []string
	if m.sheet != nil {
		for _, name := range book.GetSheetList() {
			if _, ok := m.sheet.match(name); ok {
				chosen = append(chosen, name)
			}
		}
		if len(chosen) == 0 {
			fail(diag.Problem{Code: "no-such-sheet", Message: fmt.Sprintf("no sheet is named %s, as the mapping says", m.sheet.text), Want: "it has " + strings.Join(book.GetSheetList(), ", "),
				Mend: "correct sheet in the file's entry of readings"})
		}
	} else {
		switch chosen = filledSheets(f, book); len(chosen) {
		case 0:
			fail(diag.Problem{Code: "empty-file", Message: "no sheet of the workbook holds anything"})
		case 1:
			account.Concluded = append(account.Concluded, fmt.Sprintf("sheet %q, as no other holds anything", chosen[0]))
		default:
			fail(diag.Problem{Code: "which-sheet", Message: fmt.Sprintf("%s hold something: %s", plural(len(chosen), "sheet"), strings.Join(chosen, ", ")),
				Mend: `name one under sheet in the file's entry of readings, or say sheet: "*" for all of them`})
			return
		}
	}
	for _, name := range chosen {
		if len(chosen) > 1 {
			account.Concluded = append(account.Concluded, fmt.Sprintf("sheet %q", name))
		}
		r.assemble(&sheet{file: f, book: book, name: name, since1904: since1904(book), unsaved: uncalculated(f, book, name)}, m, f, account)
	}
}
