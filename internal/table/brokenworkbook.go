package table

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"

	"spanseal/internal/diag"
	"spanseal/internal/source"
)

// A workbook keeps with each formula the value that it had when a spreadsheet
// program last calculated it (ECMA-376 part 1, 18.3.1.40 and 18.3.1.96). A
// program that only writes workbooks has no value to keep: it leaves the value
// out, or says that all are to be calculated when the workbook is opened
// (18.2.2, fullCalcOnLoad). Such a cell looks empty, or like a zero, and is not.

// NotCalculated is the problem of such a cell.
var NotCalculated = diag.Problem{Code: "formula-without-value",
	Message: "this cell has a formula, but the workbook was saved without its value",
	Fix:     "open the workbook in a spreadsheet program, let it recalculate every cell, and save it; or export the sheet as CSV"}

// BrokenBook is the problem of a workbook that cannot be opened; it says what the
// file is instead, if that shows.
func BrokenBook(f *source.File, err error) diag.Problem {
	p := diag.Problem{Code: "broken-workbook", Place: diag.Place{File: f.Name}, Message: "the workbook cannot be opened: " + err.Error(),
		Fix: "open it in a spreadsheet program and save it again as .xlsx, without a password"}
	raw := f.Raw
	switch {
	case len(raw) == 0:
		p.Code, p.Message, p.Fix = "empty-file", "the file is empty", "copy it again, or export it again"
	case bytes.HasPrefix(raw, []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")): // MS-CFB 2.2
		p.Message = "this is a compound document: a workbook with a password, or one of the older kind .xls"
		p.Fix = "open it in a spreadsheet program, and save it as .xlsx without a password beside this file"
	case !bytes.HasPrefix(raw, []byte("PK")):
		p.Message = "the file's name ends as that of a workbook, but it holds no workbook"
		p.Fix = "export it again"
		if text, ok := firstText(raw); ok {
			p.Message = "the file's name ends as that of a workbook, but it holds text"
			p.Because = []string{"it begins: " + text}
			p.Fix = "rename it so that its name ends in .csv; its bytes stay as they are"
		}
	case errors.Is(err, zip.ErrFormat): // the list of its parts, which stands at the end, is missing
		p.Message = fmt.Sprintf("the workbook is cut off: after %d bytes it ends before the list of its parts", len(raw))
		p.Fix = "copy it again from where it came; a copy or a download that was stopped ends so"
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
