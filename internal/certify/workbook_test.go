package certify_test

import (
	"bytes"
	"encoding/csv"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"
)

// TestWorkbook reads the workbook back and holds it against results.csv, cell
// by cell: the same digits in number cells, times in date cells, texts as
// texts.
func TestWorkbook(t *testing.T) {
	f := library()
	f.Links[0].ID = "=1+1" // a name that a spreadsheet must not run
	for i := range f.Readings {
		if f.Readings[i].Link == "A-01" {
			f.Readings[i].Link = f.Links[0].ID
		}
	}
	set := newSet(t, f, options())
	data, err := set.Workbook()
	if err != nil {
		t.Fatal(err)
	}
	again, err := set.Workbook()
	if err != nil || !bytes.Equal(data, again) {
		t.Errorf("the same judgement gives other bytes, %v", err)
	}
	book, err := excelize.OpenReader(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	defer book.Close()
	table, err := set.ResultsCSV()
	if err != nil {
		t.Fatal(err)
	}
	want, err := csv.NewReader(bytes.NewReader(table)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	got, err := book.GetRows("results")
	if err != nil || len(got) != len(want) {
		t.Fatalf("%d rows, want %d, %v", len(got), len(want), err)
	}
	numbers := map[string]bool{"wavelength_nm": true, "measured": true, "limit": true, "margin": true, "uncertainty": true, "row": true}
	for n, row := range want {
		for i, text := range row {
			name := want[0][i]
			cell := ""
			if i < len(got[n]) {
				cell = got[n][i]
			}
			if text == cell || name == "time" && strings.HasPrefix(text, strings.Replace(cell, " ", "T", 1)) || text == "'"+cell {
				continue
			}
			t.Errorf("row %d, %s: the workbook shows %q, results.csv %q", n+1, name, cell, text)
		}
		if n != 1 {
			continue
		}
		for i, name := range want[0] {
			at, _ := excelize.CoordinatesToCellName(i+1, 2)
			kind, err := book.GetCellType("results", at)
			if err != nil {
				t.Fatal(err)
			}
			text := kind == excelize.CellTypeSharedString || kind == excelize.CellTypeInlineString
			if row[i] != "" && text == (numbers[name] || name == "time") {
				t.Errorf("%s is in a cell of type %v", name, kind)
			}
			if formula, err := book.GetCellFormula("results", at); formula != "" || err != nil {
				t.Errorf("%s is a formula %q, %v", name, formula, err)
			}
		}
	}
	links, err := book.GetRows("links")
	if err != nil || len(links) != len(f.Links)+1 || links[1][0] != "=1+1" {
		t.Errorf("links: %d rows, %v", len(links), err)
	}
}
