// Package testbook makes workbooks by hand, with parts named and written as few programs do,
// for tests.
package testbook

import (
	"archive/zip"
	"bytes"
	"fmt"
	"testing"
)

// Of is a workbook with one sheet S of the given XML and shared texts.
func Of(tb testing.TB, sheet, texts string) []byte {
	tb.Helper()
	const relations = `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">%s</Relationships>`
	const relation = `<Relationship Id="r%d" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/%s" Target="%s"/>`
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, part := range [][2]string{
		{"_rels/.rels", fmt.Sprintf(relations, fmt.Sprintf(relation, 1, "officeDocument", "/xl/workbook.xml"))},
		{"XL/Workbook.xml", `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="S" sheetId="1" r:id="r1"/></sheets></workbook>`},
		{"xl/_rels/workbook.xml.rels", fmt.Sprintf(relations, fmt.Sprintf(relation, 1, "worksheet", "worksheets/one.xml")+fmt.Sprintf(relation, 2, "sharedStrings", "texts.xml"))},
		{`xl\worksheets\one.xml`, sheet},
		{"xl/texts.xml", `<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">` + texts + `</sst>`},
	} {
		w, err := z.Create(part[0])
		if err != nil {
			tb.Fatal(err)
		}
		if _, err := w.Write([]byte(part[1])); err != nil {
			tb.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		tb.Fatal(err)
	}
	return out.Bytes()
}

// Sheet is the XML of a sheet with rows.
func Sheet(rows string) string {
	return `<?xml version="1.0" encoding="UTF-8"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>` + rows + `</sheetData></worksheet>`
}
