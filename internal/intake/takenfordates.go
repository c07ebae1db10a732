package intake

import (
	"fmt"
	"regexp"

	"spanseal/internal/quantity"
	"spanseal/internal/table"
	"spanseal/internal/written"
)

// dayName is how spreadsheets show a name such as 11-12 that they took for a
// date.
var dayName = regexp.MustCompile(`(?i)^(\d{1,2}[-. ]+)?(jan|feb|mar|apr|may|mai|jun|jul|aug|sep|oct|okt|nov|dec|dez)[a-z]*[-. ]*\d{0,4}$|^\d{1,2}[-./]\d{1,2}[-./]\d{4}$`)

// spreadsheetDay recognises the link name that a spreadsheet took for a date
// and stored as a serial number, such as 11-12 stored as 46368, or exported as
// 12-Nov.
func spreadsheetDay(text string, t table.Table) (string, bool) {
	if _, err := written.ParseISO(text); err == nil || dayName.MatchString(text) {
		return "it reads like a date: a name such as 11-12 may have been turned into one by a spreadsheet", true
	}
	if _, whole := quantity.Whole(text); !whole || !t.Stored() {
		return "", false
	}
	w, ok := written.StoredTime(text, table.Since1904(t))
	if !ok {
		return "", false
	}
	return fmt.Sprintf("as a spreadsheet's date it is %04d-%02d-%02d: a name such as %d-%d may have been turned into a date", w.Year, w.Month, w.Day, w.Day, w.Month), true
}
