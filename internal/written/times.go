// Package written reads what a person or an instrument wrote into a cell: times in
// any order ([TimeFormat], ISO 8601, a spreadsheet's serial numbers), the marks of
// decimals and thousands, bounds such as <0.05, directions. It decides nothing that the
// text leaves open: 05/11 and 1,234 have two readings, and its caller has to ask.
package written

import (
	"cmp"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"spanseal/internal/quantity"
)

// Clock is what a clock on the wall showed, with its offset from UTC where
// the text gave one.
type Clock struct {
	Year, Month, Day, Hour, Minute, Second int
	offset                                 int // seconds east of UTC
	zoned                                  bool
	dayOnly                                bool // no hour was given: the day's first moment
	Stored                                 bool // as a number of a workbook
}

var (
	ErrNotTime   = errors.New("not a time")
	ErrNoSuch    = errors.New("no such day or hour")
	ErrSkipped   = errors.New("the clocks were put forward over this hour")
	ErrTwice     = errors.New("the clocks were put back, so this hour came twice")
	ErrNoZone    = errors.New("no zone")
	ErrAmbiguous = errors.New("order of day and month not told")
	ErrNoDay     = errors.New("no day")
)

// In turns the wall time into an instant. Without an offset of its own it is
// local to loc; an hour that daylight saving skips or repeats is an error.
func (w Clock) In(loc *time.Location) (time.Time, error) {
	if w.zoned {
		zone := time.UTC
		if w.offset != 0 {
			zone = time.FixedZone("", w.offset)
		}
		return time.Date(w.Year, time.Month(w.Month), w.Day, w.Hour, w.Minute, w.Second, 0, zone), nil
	}
	if loc == nil {
		return time.Time{}, ErrNoZone
	}
	t := time.Date(w.Year, time.Month(w.Month), w.Day, w.Hour, w.Minute, w.Second, 0, loc)
	if w.dayOnly {
		if t.Day() != w.Day { // the clocks are put forward at midnight, and the day begins behind that
			if _, t = t.ZoneBounds(); t.Day() != w.Day {
				return time.Time{}, ErrSkipped
			}
		}
		return t, nil
	}
	if t.Hour() != w.Hour || t.Minute() != w.Minute {
		return time.Time{}, ErrSkipped
	}
	// Changes of the clock are 30 minutes to 2 hours; look at both sides.
	_, here := t.Zone()
	for _, side := range []time.Duration{-3 * time.Hour, 3 * time.Hour} {
		if _, there := t.Add(side).Zone(); there != here {
			other := t.Add(time.Duration(here-there) * time.Second)
			if !other.Equal(t) && other.Hour() == t.Hour() && other.Minute() == t.Minute() {
				return time.Time{}, ErrTwice
			}
		}
	}
	return t, nil
}

// valid reports whether the day and the hour exist.
func (w Clock) valid() bool {
	if w.Month < 1 || w.Month > 12 || w.Day < 1 || w.Hour > 23 || w.Minute > 59 || w.Second > 59 || w.Year < 1900 || w.Year > 9999 {
		return false
	}
	return w.Day <= 28 || w.Day <= time.Date(w.Year, time.Month(w.Month)+1, 0, 0, 0, 0, 0, time.UTC).Day()
}

// ParseISO reads 2026-11-18 10:31 (or 9:31), with T instead of the space, seconds, a
// fraction of a second (dropped) and a zone (Z or +01:00), or the date alone
// (ISO 8601).
func ParseISO(s string) (Clock, error) {
	var w Clock
	rest := s
	number := func(n int, to *int, before string) bool {
		if !strings.HasPrefix(rest, before) || len(rest) < len(before)+n {
			return false
		}
		v, ok := quantity.Whole(rest[len(before) : len(before)+n])
		if ok {
			*to, rest = v, rest[len(before)+n:]
		}
		return ok
	}
	if !number(4, &w.Year, "") || !number(2, &w.Month, "-") || !number(2, &w.Day, "-") {
		if isHour(s) {
			return w, ErrNoDay
		}
		return w, looksLikeDate(s)
	}
	w.dayOnly = rest == ""
	if rest != "" {
		if !number(2, &w.Hour, " ") && !number(2, &w.Hour, "T") && !number(1, &w.Hour, " ") || !number(2, &w.Minute, ":") {
			return w, ErrNotTime
		}
		if number(2, &w.Second, ":") && len(rest) > 1 && (rest[0] == '.' || rest[0] == ',') {
			n := 1
			for n < len(rest) && rest[n] >= '0' && rest[n] <= '9' {
				n++
			}
			rest = rest[n:]
		}
		if rest != "" {
			off, after, ok := Offset(strings.TrimPrefix(rest, " "))
			if !ok || after != "" {
				return w, ErrNotTime
			}
			w.offset, w.zoned = off, true
		}
	}
	if !w.valid() {
		return w, ErrNoSuch
	}
	return w, nil
}

// isHour recognises an hour without a day, such as 10:31 or 9:05 PM.
func isHour(s string) bool {
	hour, rest, _ := strings.Cut(s, ":")
	if _, ok := quantity.Whole(hour); !ok || len(hour) > 2 || len(rest) < 2 {
		return false
	}
	_, ok := quantity.Whole(rest[:2])
	return ok
}

// looksLikeDate tells a date in another order from text that is none.
func looksLikeDate(s string) error {
	for _, sep := range []string{".", "/", "-"} {
		parts := strings.SplitN(s, sep, 3)
		if len(parts) != 3 {
			continue
		}
		_, first := quantity.Whole(parts[0])
		_, second := quantity.Whole(parts[1])
		if first && second && parts[2] != "" && parts[2][0] >= '0' && parts[2][0] <= '9' {
			return ErrAmbiguous
		}
	}
	return ErrNotTime
}

// Offset reads Z, UTC, +01:00, +0100 or +01 at the start of s, in seconds east.
func Offset(s string) (seconds int, rest string, ok bool) {
	switch {
	case strings.HasPrefix(s, "Z"):
		return 0, s[1:], true
	case strings.HasPrefix(s, "UTC"):
		return 0, s[3:], true
	case len(s) < 3 || s[0] != '+' && s[0] != '-':
		return 0, s, false
	}
	h, ok := quantity.Whole(s[1:3])
	rest = s[3:]
	if !ok {
		return 0, s, false
	}
	m := 0
	if after := strings.TrimPrefix(rest, ":"); len(after) >= 2 {
		if v, ok := quantity.Whole(after[:2]); ok {
			m, rest = v, after[2:]
		}
	}
	if h > 14 || m > 59 {
		return 0, s, false
	}
	seconds = h*3600 + m*60
	if s[0] == '-' {
		seconds = -seconds
	}
	return seconds, rest, true
}

// TimeFormat is a written order of day, month and hour, such as
// "DD.MM.YYYY HH:mm" or "M/D/YYYY h:mm:ss AM". What stands between apostrophes
// is meant literally: HH'h'mm reads 10h31.
type TimeFormat struct {
	Text   string
	Tokens []string
	clock  bool
}

// timeTokens by length, so that the longest is tried first.
var timeTokens = []string{"YYYY", "MMM", "YY", "MM", "DD", "HH", "hh", "mm", "ss", "AM", "am", "M", "D", "H", "h", "Z"}

// months is how the names of months begin in English, German, French and
// Spanish.
var months = [12][]string{
	{"jan", "jän", "ene"}, {"feb", "fév", "fev"}, {"mar", "mär", "mrz"}, {"apr", "avr", "abr"}, {"may", "mai"}, {"jun", "juin"},
	{"jul", "juil"}, {"aug", "aoû", "aou", "ago"}, {"sep"}, {"oct", "okt"}, {"nov"}, {"dec", "dez", "déc", "dic"},
}

// monthNamed reads the name of a month, whole or cut short, with a full stop or
// without.
func monthNamed(s string) (month int, rest string) {
	end := strings.IndexFunc(s, func(r rune) bool { return !unicode.IsLetter(r) })
	if end < 0 {
		end = len(s)
	}
	name := strings.ToLower(s[:end])
	for m, begins := range months {
		if slices.ContainsFunc(begins, func(b string) bool { return strings.HasPrefix(name, b) }) {
			return m + 1, strings.TrimPrefix(s[end:], ".")
		}
	}
	return 0, s
}

// NewTimeFormat reads an order; the error says what is wrong with it.
func NewTimeFormat(text string) (*TimeFormat, error) {
	f := &TimeFormat{Text: text}
	has := map[byte]bool{}
	for rest := text; rest != ""; {
		if rest[0] == '\'' {
			literal, after, closed := strings.Cut(rest[1:], "'")
			if !closed {
				return nil, errors.New("an apostrophe of time_format is not closed")
			}
			f.Tokens = append(f.Tokens, "'"+literal)
			rest = after
			continue
		}
		token := ""
		for _, t := range timeTokens {
			if strings.HasPrefix(rest, t) {
				token = t
				break
			}
		}
		if token == "" {
			if c := rest[0]; c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' && c != 'T' {
				return nil, fmt.Errorf("%q of time_format stands for nothing", rest[:1])
			}
			token = rest[:1]
		} else {
			has[token[0]] = true
		}
		f.Tokens = append(f.Tokens, token)
		rest = rest[len(token):]
	}
	f.clock = has['H'] || has['h']
	switch {
	case has['h'] && !has['A'] && !has['a']:
		return nil, errors.New("a 12-hour clock (h) needs AM in time_format")
	case !(has['Y'] && has['M'] && has['D']) && !f.clock:
		return nil, errors.New("time_format needs a day (YYYY, MM, DD), an hour (HH, mm), or both")
	}
	return f, nil
}

// halfDay is AM or PM, as a.m. and p. m. too.
var halfDay = regexp.MustCompile(`^(?i)([ap])(?:m|\. ?m\.)`)

// Parse reads a text by the format. day is of the date that stands elsewhere,
// if the format has none.
func (f *TimeFormat) Parse(s string, day Clock) (Clock, error) {
	w := Clock{Year: day.Year, Month: day.Month, Day: day.Day, dayOnly: !f.clock}
	half, rest := "", strings.TrimSpace(s)
	for _, token := range f.Tokens {
		least, most := 1, 2
		var to *int
		switch token {
		case "YYYY":
			to, least, most = &w.Year, 4, 4
		case "YY":
			to, least = &w.Year, 2
		case "MM":
			to, least = &w.Month, 2
		case "M":
			to = &w.Month
		case "DD":
			to, least = &w.Day, 2
		case "D":
			to = &w.Day
		case "HH", "hh":
			to, least = &w.Hour, 2
		case "H", "h":
			to = &w.Hour
		case "mm":
			to, least = &w.Minute, 2
		case "ss":
			to, least = &w.Second, 2
		case "MMM":
			if w.Month, rest = monthNamed(rest); w.Month == 0 {
				return w, ErrNotTime
			}
			continue
		case "AM", "am":
			m := halfDay.FindStringSubmatch(rest)
			if m == nil {
				return w, ErrNotTime
			}
			half, rest = strings.ToLower(m[1])+"m", rest[len(m[0]):]
			continue
		case "Z":
			off, after, ok := Offset(rest)
			if !ok {
				return w, ErrNotTime
			}
			w.offset, w.zoned, rest = off, true, after
			continue
		case " ":
			if rest == "" || rest[0] != ' ' {
				return w, ErrNotTime
			}
			rest = strings.TrimLeft(rest, " ")
			continue
		default:
			literal := strings.TrimPrefix(token, "'")
			if !strings.HasPrefix(rest, literal) {
				return w, ErrNotTime
			}
			rest = rest[len(literal):]
			continue
		}
		n := 0
		for n < most && n < len(rest) && rest[n] >= '0' && rest[n] <= '9' {
			n++
		}
		if n < least {
			return w, ErrNotTime
		}
		*to, _ = quantity.Whole(rest[:n])
		rest = rest[n:]
		if token == "YY" {
			w.Year += 2000
		}
	}
	if rest != "" {
		return w, ErrNotTime
	}
	if half != "" {
		if w.Hour < 1 || w.Hour > 12 {
			return w, ErrNoSuch
		}
		w.Hour = w.Hour % 12
		if half == "pm" {
			w.Hour += 12
		}
	}
	switch {
	case w.Month == 0 && w.Day == 0:
		return w, ErrNoDay
	case !w.valid():
		return w, ErrNoSuch
	}
	return w, nil
}

// StoredTime reads a serial number as a local time, rounded to the second; days count
// from the end of 1899, or from the beginning of 1904.
func StoredTime(text string, since1904 bool) (Clock, bool) {
	day, clock, _ := strings.Cut(text, " ") // two cells, if a date and an hour stand apart
	v, err := quantity.ParseStored(day)
	if clock != "" && err == nil {
		var hour quantity.Decimal
		hour, err = quantity.ParseStored(clock)
		v = v.Add(hour)
	}
	if err != nil || v.Less(firstSerial) || lastSerial.Less(v) {
		return Clock{}, false
	}
	seconds, err := strconv.ParseInt(v.Mul(quantity.Int(86_400)).Round(0).String(), 10, 64)
	if err != nil {
		return Clock{}, false
	}
	// 1900 has a 29 February in spreadsheets, so the count starts two days
	// before its first; serials before March 1900 are never read here.
	day0 := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	if since1904 {
		day0 = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	at := day0.Add(time.Duration(seconds) * time.Second)
	w := Clock{Year: at.Year(), Month: int(at.Month()), Day: at.Day(), Hour: at.Hour(), Minute: at.Minute(), Second: at.Second()}
	w.Stored = true
	w.dayOnly = clock == "" && v.Round(0).Equal(v)
	return w, true
}

// ShowDay, ShowHour and ShowMoment write what a workbook stores as a person reads it, such as
// 2026-11-18 09:05:30; they return the text where it is no such number.
func ShowDay(text string, since1904 bool) string { return show(text, since1904, "2006-01-02") }

// ShowHour is the hour of a fraction of a day.
func ShowHour(text string, since1904 bool) string {
	if v, err := quantity.ParseStored(text); err != nil || v.Sign() < 0 || !v.Less(quantity.Int(1)) {
		return ShowMoment(text, since1904)
	}
	if shown := show(firstSerial.String()+" "+text, since1904, "15:04:05"); !strings.Contains(shown, " ") {
		return shown
	}
	return text
}

// ShowMoment is the day and the hour.
func ShowMoment(text string, since1904 bool) string {
	return show(text, since1904, "2006-01-02 15:04:05")
}

func show(text string, since1904 bool, layout string) string {
	w, ok := StoredTime(text, since1904)
	if !ok {
		return text
	}
	return time.Date(w.Year, time.Month(w.Month), w.Day, w.Hour, w.Minute, w.Second, 0, time.UTC).Format(layout)
}

// Spreadsheets store a time as days since the end of 1899 (or since 1904), the
// hour as a fraction of the day (ECMA-376 part 1, 18.17.4.1). Serial numbers
// outside these years are taken for something else.
var (
	firstSerial = quantity.Int(20_000) // 1954
	lastSerial  = quantity.Int(80_000) // 2119
)

// Before compares clocks on the wall; an offset is left out of account.
func (w Clock) Before(v Clock) bool {
	return cmp.Or(w.Year-v.Year, w.Month-v.Month, w.Day-v.Day, w.Hour-v.Hour, w.Minute-v.Minute, w.Second-v.Second) < 0
}
