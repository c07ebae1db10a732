package intake

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"spanseal/internal/quantity"
	"spanseal/internal/table"
)

// Spreadsheets store a time as days since the end of 1899 (or since 1904), the
// hour as a fraction of the day (ECMA-376 part 1, 18.17.4.1). Serial numbers
// outside these years are taken for something else.
var (
	firstSerial = quantity.Int(20_000) // 1954
	lastSerial  = quantity.Int(80_000) // 2119
)

// storedTime reads a serial number as a local time, rounded to the second; days count
// from the end of 1899, or from the beginning of 1904.
func storedTime(text string, since1904 bool) (wallTime, bool) {
	day, clock, _ := strings.Cut(text, " ") // two cells, if a date and an hour stand apart
	v, err := quantity.ParseStored(day)
	if clock != "" && err == nil {
		var hour quantity.Decimal
		hour, err = quantity.ParseStored(clock)
		v = v.Add(hour)
	}
	if err != nil || v.Less(firstSerial) || lastSerial.Less(v) {
		return wallTime{}, false
	}
	seconds, err := strconv.ParseInt(v.Mul(quantity.Int(86_400)).Round(0).String(), 10, 64)
	if err != nil {
		return wallTime{}, false
	}
	// 1900 has a 29 February in spreadsheets, so the count starts two days
	// before its first; serials before March 1900 are never read here.
	day0 := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	if since1904 {
		day0 = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	at := day0.Add(time.Duration(seconds) * time.Second)
	w := wallTime{year: at.Year(), month: int(at.Month()), day: at.Day(), hour: at.Hour(), minute: at.Minute(), second: at.Second()}
	w.stored = true
	w.dayOnly = clock == "" && v.Round(0).Equal(v)
	return w, true
}

// dayName is how spreadsheets show a name such as 11-12 that they took for a
// date.
var dayName = regexp.MustCompile(`(?i)^(\d{1,2}[-. ]+)?(jan|feb|mar|apr|may|mai|jun|jul|aug|sep|oct|okt|nov|dec|dez)[a-z]*[-. ]*\d{0,4}$|^\d{1,2}[-./]\d{1,2}[-./]\d{4}$`)

// spreadsheetDay recognises the link name that a spreadsheet took for a date
// and stored as a serial number, such as 11-12 stored as 46368, or exported as
// 12-Nov.
func spreadsheetDay(text string, t table.Table) (string, bool) {
	if _, err := parseISO(text); err == nil || dayName.MatchString(text) {
		return "it reads like a date: a name such as 11-12 may have been turned into one by a spreadsheet", true
	}
	if _, whole := quantity.Whole(text); !whole || !t.Stored() {
		return "", false
	}
	w, ok := storedTime(text, table.Since1904(t))
	if !ok {
		return "", false
	}
	return fmt.Sprintf("as a spreadsheet's date it is %04d-%02d-%02d: a name such as %d-%d may have been turned into a date", w.year, w.month, w.day, w.day, w.month), true
}
