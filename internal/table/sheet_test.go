package table

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"spanseal/internal/source"
	"spanseal/internal/table/testbook"
)

// openSheet opens the first sheet of a workbook.
func openSheet(raw []byte) (*Worksheet, error) {
	f := source.New("a.xlsx", raw)
	b, err := OpenBook(f)
	if err != nil || len(b.Sheets) == 0 {
		return nil, err
	}
	return NewSheet(f, b, b.Sheets[0]), nil
}

// printed is a sheet's rows, a line each: texts, and ! for a formula without
// its value.
func printed(t *Worksheet) string {
	var out strings.Builder
	for r := range t.Rows() {
		var texts []string
		for i := range max(len(r.Cells), slices.Max(append(r.Unsaved, -1))+1) {
			text := r.At(i)
			if slices.Contains(r.Unsaved, i) {
				text = "!"
			}
			texts = append(texts, text)
		}
		fmt.Fprintf(&out, "%d %s\n", r.Number, strings.Join(texts, "|"))
	}
	if p := t.Fault(); p != nil {
		fmt.Fprintln(&out, p.Place.Cell, p.Message)
	}
	return strings.ReplaceAll(out.String(), " \n", "\n")
}

// TestSheet reads cells as several programs write them, after ECMA-376 part 1,
// 18.3.1.4 (c), 18.3.1.40 (f), 18.3.1.96 (v), 18.4.8 (si) and 22.9.2.19
// (ST_Xstring), and refuses what is no whole sheet.
func TestSheet(t *testing.T) {
	const texts = `<si><t>A-11</t></si><si><r><t>A-</t></r><r><t xml:space="preserve">12 </t></r><rPh><t>ei</t></rPh></si><si><t>_x0041__x005F_x0042_</t></si>`
	for _, c := range []struct{ name, rows, want string }{
		{"numbers and texts", `<row r="1"><c r="A1" t="s"><v>0</v></c><c r="C1"><v>0.35</v></c></row>`, "1 A-11||0.35\n"},
		{"runs of several looks", `<row><c t="s"><v>1</v></c><c t="s"><v>2</v></c></row>`, "1 A-12|A_x0042_\n"},
		{"a text in the cell", `<row><c t="inlineStr"><is><r><t>0,</t></r><r><t>3&#53;</t></r><rPh><t>x</t></rPh></is></c></row>`, "1 0,35\n"},
		{"truth, an error, a day", `<row><c t="b"><v>1</v></c><c t="b"><v>0</v></c><c t="e"><v>#N/A</v></c><c t="d"><v>2026-11-18</v></c></row>`, "1 TRUE|FALSE|#N/A|2026-11-18\n"},
		{"rows left out", `<row r="2"/><row r="4"><c r="B4"><v>1</v></c></row>`, "1\n2\n3\n4 |1\n"},
		{"other elements between", `<row><c><v>1</v><extLst><ext><v>9</v></ext></extLst></c></row>`, "1 1\n"},
		{"a formula", `<row><c r="B1"><f>A2+1</f><v>0.3</v></c></row>`, "1 |0.3\n"},
		{"a formula without a value", `<row><c r="B1"><f>A2+1</f></c></row>`, "1 |!\n"},
		{"with an empty value", `<row><c r="B1"><f>A2+1</f><v/></c></row>`, "1 |!\n"},
		{"with an empty text", `<row><c r="B1" t="str"><f>IF(A2="","",1)</f><v></v></c></row>`, "1\n"},
		{"a text that is missing", `<row><c r="B1" t="str"><f>A2</f></c></row>`, "1 |!\n"},
		{"a shared formula", `<row><c r="B1"><f t="shared" si="0"/></c></row>`, "1 |!\n"},
		{"with a prefix", `<x:row><x:c r="B1"><x:f>A2+1</x:f></x:c></x:row>`, "1 |!\n"},
		{"without a place", `<row><c/><c><f>A2+1</f></c></row>`, "1 |!\n"},
		{"a text that is not there", `<row><c t="s"><v>3</v></c></row>`, " sheet \"S\" cannot be read: S!A1 points to text 3, and the workbook has 3 texts\n"},
		{"elements that cross", `<row><c><v>1</v></c></row><row><c></v></row>`, "1 1\n sheet \"S\" cannot be read: </v> closes nothing in its XML\n"},
		{"rows out of order", `<row r="3"/><row r="2"/>`, "1\n2\n3\n sheet \"S\" cannot be read: row 2 comes after row 3\n"},
		{"a cell twice", `<row><c r="B1"><v>1</v></c><c r="B1"><v>2</v></c></row>`, " sheet \"S\" cannot be read: cell B1 comes after one that should follow it\n"},
		{"a row beyond the last", `<row r="1048577"/>`, " sheet \"S\" cannot be read: there is no row \"1048577\"\n"},
		{"a column beyond the last", `<row><c r="FAO1"><v>1</v></c></row>`, "S!FAO1 this row has more than 4096 columns\n"},
		{"a text of 2 MB", `<row><c><v>` + strings.Repeat("0", 2<<20) + `</v></c></row>`, " sheet \"S\" cannot be read: one of its elements or texts has more than 1000000 bytes\n"},
		{"what follows the rows", `<row/></sheetData><mergeCells></sheetData><row/>`, "1\n"},
		{"two values in a cell", `<row><c><v>1</v><v>2</v></c></row>`, " sheet \"S\" cannot be read: cell S!A1 holds 2 values\n"},
		{"a value and a text in a cell", `<row><c t="inlineStr"><v>1</v><is><t>2</t></is></c></row>`, " sheet \"S\" cannot be read: cell S!A1 holds 2 values\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, err := openSheet(testbook.Of(t, testbook.Sheet(c.rows), texts))
			if err != nil {
				t.Fatal(err)
			}
			if got := printed(s); got != c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
		})
	}
	whole := testbook.Sheet(`<row><c><v>1</v></c></row>`)
	for n := range strings.Index(whole, "</sheetData>") + len("</sheetData>") - 1 {
		s, err := openSheet(testbook.Of(t, whole[:n], texts))
		if err != nil {
			t.Fatal(err)
		}
		if got := printed(s); !strings.HasSuffix(got, "EOF\n") {
			t.Fatalf("cut off behind %s:\n%s", whole[:n], got)
		}
	}
}

// TestToCalculate holds that no value counts that is to be calculated anew.
func TestToCalculate(t *testing.T) {
	s, err := openSheet(testbook.Of(t, testbook.Sheet(`<row><c><v>1</v></c><c><f>A1</f><v>0</v></c></row>`), ""))
	if err != nil {
		t.Fatal(err)
	}
	s.book.toCalculate = true
	if got := printed(s); got != "1 1|!\n" {
		t.Error(got)
	}
}

// TestSheetAgainstLibrary holds our own reading of whole sheets against that of
// the library which wrote them.
func TestSheetAgainstLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := excelize.NewFile()
		texts := rapid.StringOf(rapid.RuneFrom([]rune("aZ0 ,.-_x5F&<>\"'ä‰ж光\n")))
		for row, cells := range rapid.SliceOfN(rapid.SliceOfN(rapid.OneOf(texts.AsAny(), rapid.Int().AsAny(), rapid.Float64Range(-99, 99).AsAny(), rapid.Just(any(nil))), 0, 5), 0, 6).Draw(t, "rows") {
			for column, value := range cells {
				name, err := excelize.CoordinatesToCellName(column+1, row+1)
				if err != nil {
					t.Fatal(err)
				}
				if err := f.SetCellValue("Sheet1", name, value); err != nil {
					t.Fatal(err)
				}
			}
		}
		raw, err := f.WriteToBuffer()
		if err != nil {
			t.Fatal(err)
		}
		ours, err := openSheet(raw.Bytes())
		if err != nil {
			t.Fatal(err)
		}
		lib, err := excelize.OpenReader(bytes.NewReader(raw.Bytes()))
		if err != nil {
			t.Fatal(err)
		}
		rows, err := lib.GetRows("Sheet1", excelize.Options{RawCellValue: true})
		if err != nil {
			t.Fatal(err)
		}
		last := 0
		for r := range ours.Rows() {
			last = r.Number
			var want []string
			if r.Number <= len(rows) {
				want = rows[r.Number-1]
			}
			for i := range max(len(want), len(r.Cells)) {
				text := ""
				if i < len(want) {
					text = strings.TrimSpace(want[i])
				}
				if r.At(i) != text {
					t.Errorf("row %d, cell %d: %q, want %q", r.Number, i, r.At(i), text)
				}
			}
		}
		if p := ours.Fault(); p != nil || last < len(rows) {
			t.Errorf("%d rows of %d: %v", last, len(rows), p)
		}
	})
}

// FuzzSheet reads any bytes as the XML of a sheet: rows come in order, and no
// cell lies beyond the bound.
func FuzzSheet(f *testing.F) {
	f.Add(testbook.Sheet(`<row r="2"><c r="B2"><f>A2+1</f></c></row><row r="3"><c t="s"><v>0</v></c></row>`))
	f.Add(`<worksheet><sheetData><row r="999999999"><c r="XFD1048576" t="str"><f></f>`)
	f.Add(`</c><f><v><c><v>1</c>`)
	f.Fuzz(func(t *testing.T, xml string) {
		s, err := openSheet(testbook.Of(t, xml, `<si><t>x</t></si>`))
		if err != nil {
			t.Fatal(err)
		}
		last := 0
		for r := range s.Rows() {
			if r.Number != last+1 || len(r.Cells) > MaxColumns || !slices.IsSorted(r.Unsaved) {
				t.Fatalf("row %d behind row %d, %d cells, %v without a value", r.Number, last, len(r.Cells), r.Unsaved)
			}
			if last = r.Number; last > 10_000 {
				return // blank rows go on to the last that a sheet can have
			}
		}
	})
}
