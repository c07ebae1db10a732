package written

import (
	"slices"
	"strings"
	"sync"
)

// dateForms and clockForms are the orders in which exports write times. Single
// letters stand for one digit or two.
var (
	dateForms = []string{
		"D.M.YYYY", "M.D.YYYY", "D/M/YYYY", "M/D/YYYY", "D-M-YYYY", "M-D-YYYY", "D.M.YY", "M.D.YY", "D/M/YY", "M/D/YY", "YY.M.D", "YY/M/D", "YY-M-D", "D-M-YY", "M-D-YY",
		"YYYY/M/D", "YYYY.M.D", "YYYYMMDD", "D-MMM-YYYY", "D-MMM-YY", "D MMM YYYY", "MMM D, YYYY",
	}
	ClockForms = []string{"H:mm", "H:mm:ss", "h:mm AM", "h:mm:ss AM", "h:mmAM", "H.mm", "HHmm", "HHmmss", "H'h'mm", "H:mm 'Uhr'"}
)

// FormsOf lists the forms of dates that all values fit.
func FormsOf(values []string) (fits []string) {
	for _, f := range writtenForms() {
		if fitsAll(values, func(s string) bool { _, err := f.Parse(s, Clock{}); return err == nil }) {
			fits = append(fits, twoDigits(f.Text, values))
		}
	}
	return fits
}

// writtenForms are the forms of dates with and without an hour.
var writtenForms = sync.OnceValue(func() (all []*TimeFormat) {
	for _, d := range dateForms {
		for _, c := range append([]string{""}, ClockForms...) {
			if f, err := NewTimeFormat(strings.TrimSpace(d + " " + c)); err == nil {
				all = append(all, f)
			}
		}
	}
	return all
})

// twoDigits is the form with letters for two digits, if all values have them.
func twoDigits(form string, values []string) string {
	f, err := NewTimeFormat(form)
	if err != nil {
		return form
	}
	var wide strings.Builder
	for _, token := range f.Tokens {
		if len(token) == 1 && strings.Contains("DMHh", token) {
			wide.WriteString(token)
		}
		wide.WriteString(token)
		if token[0] == '\'' {
			wide.WriteByte('\'')
		}
	}
	if FitsForm(wide.String(), values, Clock{}) {
		return wide.String()
	}
	return form
}

// FitsForm reports that all values fit a form of times.
func FitsForm(form string, values []string, day Clock) bool {
	f, err := NewTimeFormat(form)
	return err == nil && fitsAll(values, func(s string) bool { _, err := f.Parse(s, day); return err == nil })
}

func fitsAll(values []string, test func(string) bool) bool {
	return !slices.ContainsFunc(values, func(s string) bool { return !test(s) })
}

// FitsISO reports that all values are times by ISO 8601.
func FitsISO(values []string) bool {
	return fitsAll(values, func(s string) bool { _, err := ParseISO(s); return err == nil })
}
