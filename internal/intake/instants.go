package intake

import (
	"errors"
	"fmt"
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/mapping"
	"spanseal/internal/table"
	"spanseal/internal/written"
)

// instant turns a wall time into an instant of the file's zone. Of an hour that
// comes twice the mapping may say the offset, which holds for that hour only.
func (a *assembler) instant(w written.Clock) (time.Time, error) {
	t, err := w.In(a.zone)
	if !errors.Is(err, written.ErrTwice) || a.m.DoubledHour == nil {
		return t, err
	}
	t = time.Date(w.Year, time.Month(w.Month), w.Day, w.Hour, w.Minute, w.Second, 0, a.m.DoubledHour)
	if here := t.In(a.zone); here.Hour() == w.Hour && here.Minute() == w.Minute {
		return here, nil
	}
	return time.Time{}, err
}

// offsets are the two offsets at which an hour came twice.
func (a *assembler) offsets(w written.Clock) (both []string) {
	t := time.Date(w.Year, time.Month(w.Month), w.Day, w.Hour, w.Minute, w.Second, 0, a.zone)
	for _, side := range []time.Duration{-3 * time.Hour, 3 * time.Hour} {
		both = append(both, t.Add(side).Format("-07:00"))
	}
	return both
}

// doubled is how a mapping says of which of the two an hour is.
func (a *assembler) doubled(text string, s *mapping.Slot, row *table.Row, g *mapping.ReadingSlots, date field.Field) string {
	day := a.text(row, &g[date])
	if s.Column == g[date].Column || g[date].Mark == 0 || s.Mark != 0 {
		day = ""
	}
	w, err := a.wallTime(text, day, s.Mark != 0)
	if err != nil {
		return `doubled_hour: "+01:00"`
	}
	both := a.offsets(w)
	return fmt.Sprintf("doubled_hour: %q or doubled_hour: %q", both[0], both[1])
}

// timesSeen is how the times of a table are written.
type timesSeen struct {
	written, stored int
	place           diag.Place // of the first that a workbook stores and that could be exchanged
	shown           string
	other           string // where the first written one stands
}

// rememberTime notes whether a workbook stores a time or holds it as a text: a
// program that takes 05/11 for a date of another order leaves 13/11 a text.
func (a *assembler) rememberTime(row *table.Row, s *mapping.Slot, w written.Clock) {
	if s.Column < 0 || !a.t.Stored() {
		return
	}
	if !w.Stored {
		if a.times.written++; a.times.written == 1 {
			a.times.other = a.t.Place(row, s.Column).String()
		}
		return
	}
	if w.Day <= 12 && w.Day != w.Month {
		if a.times.stored++; a.times.stored == 1 {
			a.times.place = a.t.Place(row, s.Column)
			a.times.shown = fmt.Sprintf("%04d-%02d-%02d, which could be %04d-%02d-%02d", w.Year, w.Month, w.Day, w.Year, w.Day, w.Month)
		}
	}
}

// askTimes refuses dates of which a part are stored and a part are texts.
func (a *assembler) askTimes() {
	if a.times.stored == 0 || a.times.written == 0 || a.m.MixedDates {
		return
	}
	a.r.list.Add(diag.Problem{Code: "mixed-dates", Place: a.times.place,
		Message: fmt.Sprintf("this column holds %s as dates and %s as text. Did a program swap day and month? This one is %s", diag.Plural(a.times.stored, "time"), diag.Plural(a.times.written, "time"), a.times.shown),
		Because: []string{"the first text is at " + a.times.other, "a program that expects another order of day and month makes dates of those days that it can, and leaves the others as text"},
		Fix:     "export the file as CSV from the instrument's own program; if the dates are right as they are stored, set mixed_dates: true in the file's readings entry"})
}
