package intake

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/xuri/excelize/v2"

	"spanseal/internal/table/testbook"
)

// TestHiddenRows holds that rows which a filter hides are read, and asked about.
func TestHiddenRows(t *testing.T) {
	cells := func(texts ...string) string {
		return `<c t="inlineStr"><is><t>` + strings.Join(texts, `</t></is></c><c t="inlineStr"><is><t>`) + `</t></is></c>`
	}
	raw := testbook.Of(t, testbook.Sheet(`<row hidden="1"/><row>`+cells("link", "wavelength_nm", "direction", "loss_db")+`</row><row hidden="true">`+
		cells("A-11", "1310", "A-B", "0.35")+`</row><row hidden="0">`+cells("A-11", "1310", "B-A", "0.35")+`</row>`), "")
	facts, list := readMemory(t, "readings/a.xlsx", raw, "")
	const want = `readings/a.xlsx:S!A3: question: rows of this sheet are hidden, by a filter or by hand, and read all the same: 1 row from here on [hidden-rows]
     = fix: show all rows and look at them; leave out under ignore_rows what is not to be read
`
	if got := printProblems(list); got != want || len(facts.Readings) != 2 {
		t.Errorf("%d readings\n%s", len(facts.Readings), got)
	}
}

// TestHiddenColumns holds that hidden columns and sheets, as another library
// hides them, are read, and asked about where something is read of them.
func TestHiddenColumns(t *testing.T) {
	const columns = `readings/a.xlsx:S!B1: question: columns of this sheet are hidden, and read all the same: 2 columns from here on [hidden-columns]
     = fix: show all columns and look at them; map others if these are not to be read
`
	const whole = `readings/a.xlsx:S!A1: question: this sheet is hidden, and read all the same [hidden-sheet]
     = fix: show it and look at it; name another under sheet in the file's readings entry if it is not to be read
`
	for name, c := range map[string]struct {
		hide  func(f *excelize.File) error
		want  string
		entry string
	}{
		"nothing":          {func(*excelize.File) error { return nil }, "", ""},
		"columns":          {func(f *excelize.File) error { return f.SetColVisible("S", "B:C", false) }, columns, ""},
		"what is not read": {func(f *excelize.File) error { return f.SetColVisible("S", "E", false) }, "", ""},
		"the sheet":        {func(f *excelize.File) error { return f.SetSheetVisible("S", false) }, whole, ""},
		"the sheet, twice": {func(f *excelize.File) error { return f.SetSheetVisible("S", false, true) }, whole, ""},
		"a sheet without readings": {func(f *excelize.File) error {
			f.SetActiveSheet(1)
			return errors.Join(f.SetSheetRow("Sheet1", "A1", &[]any{"link", "wavelength_nm", "direction", "loss_db"}), f.SetSheetVisible("Sheet1", false))
		}, "", "sheet: \"*\"\n"},
	} {
		f := excelize.NewFile() // its first sheet is a cover that stays empty
		_, err := f.NewSheet("S")
		for i, row := range [][]any{{"link", "wavelength_nm", "direction", "loss_db", "remark"}, {"A-11", 1310, "A-B", "0.35", "dull"}} {
			err = errors.Join(err, f.SetSheetRow("S", fmt.Sprintf("A%d", i+1), &row))
		}
		err = errors.Join(err, c.hide(f))
		raw, failed := f.WriteToBuffer()
		if err = errors.Join(err, failed); err != nil {
			t.Fatal(err)
		}
		facts, list := readMemory(t, "readings/a.xlsx", raw.Bytes(), c.entry)
		unread := "readings/a.xlsx:S!E1: note: 1 column of this file is not read: 5 \"remark\" [column-not-read]\n     | remark\n"
		if got := strings.Replace(printProblems(list), unread, "", 1); got != c.want || len(facts.Readings) != 1 {
			t.Errorf("%s: %d readings\n%s", name, len(facts.Readings), got)
		}
	}
}
