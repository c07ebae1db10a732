package table

import "testing"

// TestShownBy reads codes of formats, of which those with a section are examples of ECMA-376
// part 1, 18.8.30 and 18.8.31; the others are as spreadsheet programs write them (recalled).
func TestShownBy(t *testing.T) {
	for _, c := range []struct {
		name, code string
		want       Shown
	}{
		{"general", "General", AsNumber},
		{"a fraction", "0.00", AsNumber},
		{"thousands", "#,##0.00_);[Red](#,##0.00)", AsNumber},
		{"decibels", `0.00" dB"`, AsNumber},
		{"metres", `0.0\ \m`, AsNumber},
		{"a scientific number", "0.00E+00", AsNumber},
		{"18.8.30, 14", "mm-dd-yy", AsDay},
		{"18.8.30, 15", "d-mmm-yy", AsDay},
		{"18.8.30, 17", "mmm-yy", AsDay},
		{"18.8.30, 18", "h:mm AM/PM", AsHour},
		{"18.8.30, 22", "m/d/yy h:mm", AsMoment},
		{"18.8.30, 45", "mm:ss", AsHour},
		{"18.8.30, 46", "[h]:mm:ss", AsHour},
		{"18.8.30, 47", "mmss.0", AsHour},
		{"points between", `dd\.mm\.yyyy`, AsDay},
		{"a language and texts", `[$-407]d. mmmm yyyy" um "hh:mm;@`, AsMoment},
		{"capitals", "DD/MM/YYYY HH:MM", AsMoment},
		{"a colour", "[Red]0.0", AsNumber},
		{"a month alone", "mmmm", AsDay},
		{"a day in the second section", "0;dd", AsNumber},
		{"an open bracket", "[h", AsNumber},
		{"an open quote", `"yyyy`, AsDay},
		{"empty", "", AsNumber},
	} {
		if got := shownBy(c.code); got != c.want {
			t.Errorf("%s: %q is shown as %d, want %d", c.name, c.code, got, c.want)
		}
	}
}

func TestBuiltIn(t *testing.T) {
	for id, want := range map[int]Shown{0: AsNumber, 2: AsNumber, 13: AsNumber, 14: AsDay, 17: AsDay, 18: AsHour, 21: AsHour, 22: AsMoment, 37: AsNumber, 44: AsNumber, 45: AsHour, 47: AsHour, 49: AsNumber} {
		if got := builtIn(id); got != want {
			t.Errorf("format %d is shown as %d, want %d", id, got, want)
		}
	}
}
