package intake

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"spanseal/internal/diag"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// A workbook keeps with each formula the value that it had when a spreadsheet
// program last calculated it (ECMA-376 part 1, 18.3.1.40 and 18.3.1.96). A
// program that only writes workbooks has no value to keep: it leaves the value
// out, or says that all are to be calculated when the workbook is opened
// (18.2.2, fullCalcOnLoad). Such a cell looks empty, or like a zero, and is not.

var notCalculated = diag.Problem{Code: "formula-without-value",
	Message: "this cell holds a formula, and the workbook was saved without its value",
	Mend:    "open the workbook in a spreadsheet program, let it calculate every cell anew, and save it there; or export the sheet as CSV"}

func brokenBook(f *source.File, err error) diag.Problem {
	p := diag.Problem{Code: "broken-workbook", Place: diag.Place{File: f.Name}, Message: "the workbook cannot be opened: " + reason(err),
		Mend: "open it in a spreadsheet program and save it again as .xlsx, without a password"}
	raw := f.Raw
	switch {
	case len(raw) == 0:
		p.Code, p.Message, p.Mend = "empty-file", "the file is empty", "copy it again, or export it again"
	case bytes.HasPrefix(raw, []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")): // MS-CFB 2.2
		p.Message = "this is a compound document: a workbook with a password, or one of the older kind .xls"
		p.Mend = "open it in a spreadsheet program, and save it as .xlsx without a password beside this file"
	case !bytes.HasPrefix(raw, []byte("PK")):
		p.Message = "the file's name ends as that of a workbook, but it holds no workbook"
		p.Mend = "export it again"
		if text, ok := firstText(raw); ok {
			p.Message = "the file's name ends as that of a workbook, but it holds text"
			p.Because = []string{"it begins: " + text}
			p.Mend = "rename it so that its name ends in .csv; its bytes stay as they are"
		}
	case errors.Is(err, zip.ErrFormat): // the list of its parts, which stands at the end, is missing
		p.Message = fmt.Sprintf("the workbook is cut off: after %d bytes it ends before the list of its parts", len(raw))
		p.Mend = "copy it again from where it came; a copy or a download that was stopped ends so"
	}
	return p
}

// firstText is the first line of a file that is text.
func firstText(raw []byte) (string, bool) {
	head := raw[:min(len(raw), 1000)]
	line, _, _ := bytes.Cut(bytes.TrimSpace(head), []byte("\n"))
	if bytes.IndexByte(head, 0) >= 0 || len(line) == 0 {
		return "", false
	}
	text := strings.ToValidUTF8(strings.TrimRight(string(line), "\r"), "\uFFFD")
	if r := []rune(text); len(r) > 60 {
		text = string(r[:60]) + "…"
	}
	return text, !strings.ContainsFunc(text, func(r rune) bool { return r != '\t' && source.IsControl(r) && r != utf8.RuneError })
}

// filledSheets are the sheets that hold anything, or cannot be read to the end.
func filledSheets(f *source.File, b *book) (filled []bookSheet) {
	for _, s := range b.sheets {
		t := sheet{file: f, book: b, bookSheet: s}
		holds := false
		for row := range t.rows() {
			if holds = !row.blank() || len(row.unsaved) > 0; holds {
				break
			}
		}
		if holds || t.fault() != nil {
			filled = append(filled, s)
		}
	}
	return filled
}

func namesOfSheets(sheets []bookSheet) string {
	var names []string
	for _, s := range sheets {
		names = append(names, s.name)
	}
	return strings.Join(names, ", ")
}

// readWorkbook reads the sheets that the mapping names, or the only one that
// holds anything.
func (r *reader) readWorkbook(f *source.File, m *mapping, account *record.Account) {
	b, err := openBook(f)
	if err != nil {
		r.list.Add(brokenBook(f, err))
		return
	}
	fail := func(p diag.Problem) {
		p.Place = diag.Place{File: f.Name}
		r.list.Add(p)
	}
	var chosen []bookSheet
	if m.sheet != nil {
		for _, s := range b.sheets {
			if _, ok := m.sheet.match(s.name); ok {
				chosen = append(chosen, s)
			}
		}
		if len(chosen) == 0 {
			fail(diag.Problem{Code: "no-such-sheet", Message: fmt.Sprintf("no sheet is named %s, as the mapping says", m.sheet.text), Want: "it has " + namesOfSheets(b.sheets),
				Mend: "correct sheet in the file's entry of readings"})
		}
	} else {
		switch chosen = filledSheets(f, b); len(chosen) {
		case 0:
			fail(diag.Problem{Code: "empty-file", Message: "no sheet of the workbook holds anything"})
		case 1:
			account.Concluded = append(account.Concluded, fmt.Sprintf("sheet %q, as no other holds anything", chosen[0].name))
		default:
			fail(diag.Problem{Code: "which-sheet", Message: fmt.Sprintf("%s hold something: %s", diag.Plural(len(chosen), "sheet"), namesOfSheets(chosen)),
				Mend: `name one under sheet in the file's entry of readings, or say sheet: "*" for all of them`})
			return
		}
	}
	for _, s := range chosen {
		if len(chosen) > 1 {
			account.Concluded = append(account.Concluded, fmt.Sprintf("sheet %q", s.name))
		}
		t := &sheet{file: f, book: b, bookSheet: s}
		before := len(r.facts.Readings)
		r.assembleTurned(t, m, f, account)
		if len(r.facts.Readings) > before {
			r.askHidden(t)
		}
	}
}

// askHidden asks about what gave readings of a sheet and nobody sees who opens it.
func (r *reader) askHidden(t *sheet) {
	ask := func(code string, at, column int, message, mend string) {
		r.list.Add(diag.Problem{Severity: diag.Question, Code: code, Place: diag.Place{File: t.file.Name, Cell: t.cellName(&row{number: at}, column-1)}, Message: message, Mend: mend})
	}
	if t.hidden {
		ask("hidden-sheet", 1, 1, "this sheet is hidden, and read all the same",
			"show it and look at it; name another under sheet in the file's entry of readings if it is not to be read")
	}
	if len(t.hiddenRows) > 0 {
		ask("hidden-rows", t.hiddenRows[0], 1, fmt.Sprintf("rows of this sheet are hidden, by a filter or by hand, and read all the same: %s from here on", diag.Plural(len(t.hiddenRows), "row")),
			"show all rows and look at them; leave out under ignore_rows what is not to be read")
	}
	away := slices.DeleteFunc(t.read, func(column int) bool {
		return !slices.ContainsFunc(t.hiddenColumns, func(span [2]int) bool { return span[0] <= column && column <= span[1] })
	})
	if len(away) > 0 {
		ask("hidden-columns", 1, away[0], fmt.Sprintf("columns of this sheet are hidden, and read all the same: %s from here on", diag.Plural(len(away), "column")),
			"show all columns and look at them; map others if these are not to be read")
	}
}
