// Package testjobs lays the jobs and samples of testdata/intake out in a folder, for
// tests: an archive's files over those of base/, with the marks of their names.
package testjobs

import (
	"bytes"
	"encoding/base64"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/rogpeppe/go-internal/txtar"
	"github.com/xuri/excelize/v2"
	"golang.org/x/text/encoding/unicode"

	"spanseal/internal/diag"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/table"
)

// Root is where they lie, seen from a package's folder.
const Root = "../../testdata/intake"

// Archive reads an archive.
func Archive(tb testing.TB, name string) *txtar.Archive {
	tb.Helper()
	a, err := txtar.ParseFile(name)
	if err != nil {
		tb.Fatal(err)
	}
	return a
}

// CheckAccounts holds the promise that no row is lost.
func CheckAccounts(t interface{ Errorf(string, ...any) }, facts *record.Facts) {
	for _, a := range facts.Accounts {
		if a.Rows != a.Used+a.Superseded+a.Refused+a.Blank {
			t.Errorf("%s: %d rows are not %d used + %d superseded + %d refused + %d blank", a.File, a.Rows, a.Used, a.Superseded, a.Refused, a.Blank)
		}
	}
}

// Problems prints a list of problems as a terminal shows it.
func Problems(l *diag.List) string {
	var b strings.Builder
	if err := l.Write(&b, nil); err != nil {
		panic(err)
	}
	return b.String()
}

// LayOut writes the base job and the files of an archive over it.
func LayOut(t testing.TB, dir string, files []txtar.File) {
	t.Helper()
	put := func(name string, data []byte) {
		name = filepath.Join(dir, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	get := func(name string) []byte {
		data, err := os.ReadFile(filepath.Join(dir, filepath.FromSlash(name)))
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	for _, name := range []string{"job.yaml", "links.csv"} {
		data, err := os.ReadFile(filepath.Join(Root, "base", name))
		if err != nil {
			t.Fatal(err)
		}
		put(name, data)
	}
	for _, f := range files {
		name, marks, _ := strings.Cut(f.Name, "!")
		data := bytes.ReplaceAll(f.Data, []byte(`\x00`), []byte{0})
		switch base := strings.TrimRight(name, "+~-"); name[len(base):] {
		case "+":
			name, data = base, append(get(base), data...)
		case "~":
			name, data = base, replaceLines(t, get(base), data)
		case "-":
			if err := os.Remove(filepath.Join(dir, base)); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if strings.HasSuffix(name, ".xlsx") && marks == "" {
			data = Workbook(t, data)
		}
		for _, mark := range strings.FieldsFunc(marks, func(r rune) bool { return r == '!' }) {
			data = marked(t, data, mark)
		}
		put(name, data)
	}
}

func replaceLines(t testing.TB, data, lines []byte) []byte {
	for _, line := range strings.Split(strings.Trim(string(lines), "\n"), "\n") {
		from, to, ok := strings.Cut(line, " => ")
		if !ok {
			from, to = strings.TrimSuffix(line, " =>"), ""
		}
		from, to = unescape(from), unescape(to)
		if !bytes.Contains(data, []byte(from)) {
			t.Fatalf("the base file does not hold %q", from)
		}
		data = bytes.Replace(data, []byte(from), []byte(to), 1)
	}
	return data
}

func unescape(s string) string { return strings.NewReplacer(`\n`, "\n", `\t`, "\t").Replace(s) }

func marked(t testing.TB, data []byte, mark string) []byte {
	switch mark {
	case "cr":
		return bytes.ReplaceAll(data, []byte("\n"), []byte("\r"))
	case "crlf":
		return bytes.ReplaceAll(data, []byte("\n"), []byte("\r\n"))
	case "bom":
		return append([]byte("\ufeff"), data...)
	case "no-end":
		return bytes.TrimRight(data, "\n")
	case "raw":
		return data
	case "utf-16le", "utf-16be":
		order := unicode.LittleEndian
		if mark == "utf-16be" {
			order = unicode.BigEndian
		}
		out, err := unicode.UTF16(order, unicode.IgnoreBOM).NewEncoder().Bytes(data)
		if err != nil {
			t.Fatal(err)
		}
		return out
	case "base64":
		out, err := base64.StdEncoding.AppendDecode(nil, bytes.Join(bytes.Fields(data), nil))
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	enc, ok := table.EncodingNamed(mark)
	if !ok {
		t.Fatalf("unknown mark %q", mark)
	}
	out, err := enc.NewEncoder().Bytes(data)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// Workbook writes the text form of a workbook that the corpus's README tells.
func Workbook(t testing.TB, text []byte) []byte {
	f := excelize.NewFile()
	sheet, row := "Sheet1", 0
	check := func(err error) {
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, line := range strings.Split(strings.TrimSuffix(string(text), "\n"), "\n") {
		if name, ok := strings.CutPrefix(line, "# "); ok {
			if row == 0 && sheet == "Sheet1" {
				check(f.SetSheetName("Sheet1", name))
			} else {
				_, err := f.NewSheet(name)
				check(err)
			}
			sheet, row = name, 0
			continue
		}
		if line == "## 1904" {
			yes := true
			check(f.SetWorkbookProps(&excelize.WorkbookPropsOptions{Date1904: &yes}))
			continue
		}
		if line == "## calculate" {
			yes := true
			check(f.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: &yes}))
			continue
		}
		row++
		for i, text := range strings.Split(line, "|") {
			cell, err := excelize.CoordinatesToCellName(i+1, row)
			check(err)
			_, numeric := quantity.ParseStored(text)
			switch formula, value, is := strings.Cut(text, "^"); {
			case text == "":
			case is:
				// excelize writes a formula without its value, so the value is put
				// first and the formula laid over it.
				check(f.SetCellDefault(sheet, cell, value))
				check(f.SetCellFormula(sheet, cell, formula))
			case numeric == nil:
				check(f.SetCellDefault(sheet, cell, text))
			case strings.HasPrefix(text, ">>"): // merged with the next cell
				next, err := excelize.CoordinatesToCellName(i+2, row)
				check(err)
				check(f.SetCellStr(sheet, cell, text[2:]))
				check(f.MergeCell(sheet, cell, next))
			default:
				check(f.SetCellStr(sheet, cell, text))
			}
		}
	}
	out, err := f.WriteToBuffer()
	check(err)
	return out.Bytes()
}

// Texts yields the delimited files of the corpus.
func Texts(t testing.TB) map[string][]byte {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(Root, "*", "*.txtar"))
	if err != nil || len(names) == 0 {
		t.Fatal(err)
	}
	all := map[string][]byte{}
	for _, name := range names {
		for _, f := range Archive(t, name).Files {
			base, _, _ := strings.Cut(f.Name, "!")
			if ext := filepath.Ext(base); ext == ".csv" || ext == ".tsv" {
				all[filepath.Base(name)+" "+f.Name] = f.Data
			}
		}
	}
	return all
}
