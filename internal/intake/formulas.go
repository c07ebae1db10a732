package intake

import (
	"archive/zip"
	"bufio"
	"bytes"
	"cmp"
	"encoding/xml"
	"errors"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"

	"spanseal/internal/diag"
	"spanseal/internal/source"
)

// A workbook keeps with each formula the value that it had when a spreadsheet
// program last calculated it (ECMA-376 part 1, 18.3.1.40 and 18.3.1.96). A
// program that only writes workbooks has no value to keep: it leaves the value
// out, or says that all are to be calculated when the workbook is opened
// (18.2.2, fullCalcOnLoad). Such a cell looks empty, or like a zero, and is not.

// cellAt is a cell of a sheet: its row and its column, from one.
type cellAt struct{ row, column int }

var notCalculated = diag.Problem{Code: "formula-without-value",
	Message: "this cell holds a formula, and the workbook was saved without its value",
	Mend:    "open the workbook in a spreadsheet program, let it calculate every cell anew, and save it there; or export the sheet as CSV"}

// uncalculated finds the cells of a sheet whose formula has no value, in the
// order of rows. A workbook that cannot be read has none: opening it says so.
func uncalculated(f *source.File, book *excelize.File, sheet string) []cellAt {
	z, err := zip.NewReader(bytes.NewReader(f.Raw), int64(len(f.Raw)))
	if err != nil {
		return nil
	}
	part := sheetPart(z, sheet)
	if part == "" || !holdsFormula(z, part) {
		return nil
	}
	stream, err := z.Open(part)
	if err != nil {
		return nil
	}
	defer stream.Close()
	calc, err := book.GetCalcProps()
	return formulasWithoutValue(stream, err == nil && calc.FullCalcOnLoad != nil && *calc.FullCalcOnLoad)
}

// formulasWithoutValue reads the XML of a sheet; all: no value counts.
func formulasWithoutValue(sheet io.Reader, all bool) (found []cellAt) {
	d := xml.NewDecoder(bufio.NewReader(sheet))
	var at cellAt
	var formula, value, text bool // of the current cell
	inValue := false
	for {
		token, err := d.RawToken()
		if err != nil {
			slices.SortStableFunc(found, func(a, b cellAt) int { return cmp.Compare(a.row, b.row) })
			return found
		}
		switch e := token.(type) {
		case xml.StartElement:
			switch e.Name.Local {
			case "row":
				at.row, at.column = at.row+1, 0
				if n, ok := digits(attribute(e, "r")); ok {
					at.row = n
				}
			case "c":
				at.column++
				if column, _, err := excelize.CellNameToCoordinates(attribute(e, "r")); err == nil {
					at.column = column
				}
				formula, value, text = false, false, attribute(e, "t") == "str"
			case "f":
				formula = true
			case "v":
				inValue, value = true, value || text // a text may be empty
			}
		case xml.CharData:
			value = value || inValue && len(e) > 0
		case xml.EndElement:
			switch e.Name.Local {
			case "v":
				inValue = false
			case "c":
				if formula && (all || !value) {
					found = append(found, at)
				}
			}
		}
	}
}

func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// holdsFormula looks for the start of a formula's element before the part is
// parsed, which takes many times longer.
func holdsFormula(z *zip.Reader, part string) bool {
	stream, err := z.Open(part)
	if err != nil {
		return false
	}
	defer stream.Close()
	buf, kept := make([]byte, 64<<10), 0
	for {
		n, err := stream.Read(buf[kept:])
		window := buf[:kept+n]
		for _, mark := range []string{"<f>", "<f ", "<f/", ":f>", ":f ", ":f/"} {
			if bytes.Contains(window, []byte(mark)) {
				return true
			}
		}
		if err != nil {
			return false
		}
		kept = copy(buf, window[max(0, len(window)-2):]) // a mark may be cut in two
	}
}

// sheetPart finds the part of a workbook that holds a sheet (ECMA-376 part 2,
// relationships), or "".
func sheetPart(z *zip.Reader, sheet string) string {
	var root, own relationships
	if decodePart(z, "_rels/.rels", &root) != nil {
		return ""
	}
	workbook := ""
	for _, r := range root.All {
		if strings.HasSuffix(r.Type, "/officeDocument") {
			workbook = strings.TrimPrefix(r.Target, "/")
		}
	}
	var book struct {
		Sheets []struct {
			Name string     `xml:"name,attr"`
			Attr []xml.Attr `xml:",any,attr"`
		} `xml:"sheets>sheet"`
	}
	folder := path.Dir(workbook)
	if errors.Join(decodePart(z, workbook, &book), decodePart(z, path.Join(folder, "_rels", path.Base(workbook)+".rels"), &own)) != nil {
		return ""
	}
	for _, s := range book.Sheets {
		if s.Name != sheet {
			continue
		}
		for _, a := range s.Attr {
			for _, r := range own.All {
				switch {
				case a.Name.Local != "id" || a.Value != r.ID:
				case strings.HasPrefix(r.Target, "/"):
					return r.Target[1:]
				default:
					return path.Join(folder, r.Target)
				}
			}
		}
	}
	return ""
}

type relationships struct {
	All []struct {
		ID     string `xml:"Id,attr"`
		Type   string `xml:"Type,attr"`
		Target string `xml:"Target,attr"`
	} `xml:"Relationship"`
}

func decodePart(z *zip.Reader, name string, to any) error {
	if !fs.ValidPath(name) {
		return fs.ErrInvalid
	}
	stream, err := z.Open(name)
	if err != nil {
		return err
	}
	defer stream.Close()
	return xml.NewDecoder(io.LimitReader(stream, maxYAML)).Decode(to)
}
