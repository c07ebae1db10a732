package record

import (
	"fmt"
	"time"
)

// Date is a calendar day without a zone. The zero Date means not given.
type Date struct{ t time.Time }

// NewDate returns the day.
func NewDate(year int, month time.Month, day int) Date {
	return Date{time.Date(year, month, day, 0, 0, 0, 0, time.UTC)}
}

// ParseDate reads 2026-11-18 (ISO 8601).
func ParseDate(s string) (Date, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		return Date{}, fmt.Errorf("%q is not a date such as 2026-11-18", s)
	}
	return Date{t}, nil
}

// DateOf returns the day on which an instant falls in its own zone.
func DateOf(t time.Time) Date {
	if t.IsZero() {
		return Date{}
	}
	return NewDate(t.Date())
}

func (d Date) IsZero() bool         { return d.t.IsZero() }
func (d Date) Before(e Date) bool   { return d.t.Before(e.t) }
func (d Date) After(e Date) bool    { return d.t.After(e.t) }
func (d Date) Equal(e Date) bool    { return d.t.Equal(e.t) }
func (d Date) Time() time.Time      { return d.t } // midnight UTC
func (d Date) AddDays(n int) Date   { return Date{d.t.AddDate(0, 0, n)} }
func (d Date) AddMonths(n int) Date { return Date{d.t.AddDate(0, n, 0)} }

// DaysUntil returns the number of days from d to e.
func (d Date) DaysUntil(e Date) int { return int(e.t.Sub(d.t).Hours() / 24) }

// DayOnly reports whether an instant stands for a whole day, whose hour nobody
// wrote down: files with dates alone give the day's first moment. A reading
// taken on the stroke of midnight is taken for one too.
func DayOnly(t time.Time) bool {
	if _, minute, second := t.Clock(); minute != 0 || second != 0 { // nearly all
		return false
	}
	return !t.IsZero() && !DateOf(t).Equal(DateOf(t.Add(-time.Nanosecond)))
}

// Latest returns the last moment for which an instant may stand: itself, or the
// end of its day.
func Latest(t time.Time) time.Time {
	if !DayOnly(t) {
		return t
	}
	y, m, d := t.Date()
	return time.Date(y, m, d+1, 0, 0, 0, -1, t.Location())
}

// Moment prints 2026-11-18 09:32, or the day alone where no hour was written.
func Moment(t time.Time) string {
	if DayOnly(t) {
		return t.Format(time.DateOnly)
	}
	return t.Format("2006-01-02 15:04")
}

// String prints 2026-11-18, or "" when not given.
func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	return d.t.Format(time.DateOnly)
}

func (d Date) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

func (d *Date) UnmarshalText(b []byte) error {
	if len(b) == 0 {
		*d = Date{}
		return nil
	}
	v, err := ParseDate(string(b))
	*d = v
	return err
}
