package intake

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"
	"unicode"

	"spanseal/internal/quantity"
	"spanseal/internal/strict"

	"gopkg.in/yaml.v3"
)

// wallTime is what a clock on the wall showed, with its offset from UTC where
// the text gave one.
type wallTime struct {
	year, month, day, hour, minute, second int
	offset                                 int // seconds east of UTC
	zoned                                  bool
	dayOnly                                bool // no hour was given: the day's first moment
	stored                                 bool // as a number of a workbook
}

var (
	errNotTime   = errors.New("not a time")
	errNoSuch    = errors.New("no such day or hour")
	errSkipped   = errors.New("the clocks were put forward over this hour")
	errTwice     = errors.New("the clocks were put back, so this hour came twice")
	errNoZone    = errors.New("no zone")
	errAmbiguous = errors.New("order of day and month not told")
	errNoDay     = errors.New("no day")
)

// in turns the wall time into an instant. Without an offset of its own it is
// local to loc; an hour that daylight saving skips or repeats is an error.
func (w wallTime) in(loc *time.Location) (time.Time, error) {
	if w.zoned {
		zone := time.UTC
		if w.offset != 0 {
			zone = time.FixedZone("", w.offset)
		}
		return time.Date(w.year, time.Month(w.month), w.day, w.hour, w.minute, w.second, 0, zone), nil
	}
	if loc == nil {
		return time.Time{}, errNoZone
	}
	t := time.Date(w.year, time.Month(w.month), w.day, w.hour, w.minute, w.second, 0, loc)
	if w.dayOnly {
		if t.Day() != w.day { // the clocks are put forward at midnight, and the day begins behind that
			if _, t = t.ZoneBounds(); t.Day() != w.day {
				return time.Time{}, errSkipped
			}
		}
		return t, nil
	}
	if t.Hour() != w.hour || t.Minute() != w.minute {
		return time.Time{}, errSkipped
	}
	// Changes of the clock are 30 minutes to 2 hours; look at both sides.
	_, here := t.Zone()
	for _, side := range []time.Duration{-3 * time.Hour, 3 * time.Hour} {
		if _, there := t.Add(side).Zone(); there != here {
			other := t.Add(time.Duration(here-there) * time.Second)
			if !other.Equal(t) && other.Hour() == t.Hour() && other.Minute() == t.Minute() {
				return time.Time{}, errTwice
			}
		}
	}
	return t, nil
}

// valid reports whether the day and the hour exist.
func (w wallTime) valid() bool {
	if w.month < 1 || w.month > 12 || w.day < 1 || w.hour > 23 || w.minute > 59 || w.second > 59 || w.year < 1900 || w.year > 9999 {
		return false
	}
	return w.day <= 28 || w.day <= time.Date(w.year, time.Month(w.month)+1, 0, 0, 0, 0, 0, time.UTC).Day()
}

// parseISO reads 2026-11-18 10:31 (or 9:31), with T instead of the space, seconds, a
// fraction of a second (dropped) and a zone (Z or +01:00), or the date alone
// (ISO 8601).
func parseISO(s string) (wallTime, error) {
	var w wallTime
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
	if !number(4, &w.year, "") || !number(2, &w.month, "-") || !number(2, &w.day, "-") {
		if isHour(s) {
			return w, errNoDay
		}
		return w, looksLikeDate(s)
	}
	w.dayOnly = rest == ""
	if rest != "" {
		if !number(2, &w.hour, " ") && !number(2, &w.hour, "T") && !number(1, &w.hour, " ") || !number(2, &w.minute, ":") {
			return w, errNotTime
		}
		if number(2, &w.second, ":") && len(rest) > 1 && (rest[0] == '.' || rest[0] == ',') {
			n := 1
			for n < len(rest) && rest[n] >= '0' && rest[n] <= '9' {
				n++
			}
			rest = rest[n:]
		}
		if rest != "" {
			off, after, ok := offset(strings.TrimPrefix(rest, " "))
			if !ok || after != "" {
				return w, errNotTime
			}
			w.offset, w.zoned = off, true
		}
	}
	if !w.valid() {
		return w, errNoSuch
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
			return errAmbiguous
		}
	}
	return errNotTime
}

// offset reads Z, UTC, +01:00, +0100 or +01 at the start of s, in seconds east.
func offset(s string) (seconds int, rest string, ok bool) {
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

// timeFormat is a written order of day, month and hour, such as
// "DD.MM.YYYY HH:mm" or "M/D/YYYY h:mm:ss AM". What stands between apostrophes
// is meant literally: HH'h'mm reads 10h31.
type timeFormat struct {
	text   string
	tokens []string
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

func newTimeFormat(text string) (*timeFormat, error) {
	f := &timeFormat{text: text}
	has := map[byte]bool{}
	for rest := text; rest != ""; {
		if rest[0] == '\'' {
			literal, after, closed := strings.Cut(rest[1:], "'")
			if !closed {
				return nil, errors.New("an apostrophe of time_format is not closed")
			}
			f.tokens = append(f.tokens, "'"+literal)
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
		f.tokens = append(f.tokens, token)
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

// parse reads a text by the format. day is of the date that stands elsewhere,
// if the format has none.
func (f *timeFormat) parse(s string, day wallTime) (wallTime, error) {
	w := wallTime{year: day.year, month: day.month, day: day.day, dayOnly: !f.clock}
	half, rest := "", strings.TrimSpace(s)
	for _, token := range f.tokens {
		least, most := 1, 2
		var to *int
		switch token {
		case "YYYY":
			to, least, most = &w.year, 4, 4
		case "YY":
			to, least = &w.year, 2
		case "MM":
			to, least = &w.month, 2
		case "M":
			to = &w.month
		case "DD":
			to, least = &w.day, 2
		case "D":
			to = &w.day
		case "HH", "hh":
			to, least = &w.hour, 2
		case "H", "h":
			to = &w.hour
		case "mm":
			to, least = &w.minute, 2
		case "ss":
			to, least = &w.second, 2
		case "MMM":
			if w.month, rest = monthNamed(rest); w.month == 0 {
				return w, errNotTime
			}
			continue
		case "AM", "am":
			m := halfDay.FindStringSubmatch(rest)
			if m == nil {
				return w, errNotTime
			}
			half, rest = strings.ToLower(m[1])+"m", rest[len(m[0]):]
			continue
		case "Z":
			off, after, ok := offset(rest)
			if !ok {
				return w, errNotTime
			}
			w.offset, w.zoned, rest = off, true, after
			continue
		case " ":
			if rest == "" || rest[0] != ' ' {
				return w, errNotTime
			}
			rest = strings.TrimLeft(rest, " ")
			continue
		default:
			literal := strings.TrimPrefix(token, "'")
			if !strings.HasPrefix(rest, literal) {
				return w, errNotTime
			}
			rest = rest[len(literal):]
			continue
		}
		n := 0
		for n < most && n < len(rest) && rest[n] >= '0' && rest[n] <= '9' {
			n++
		}
		if n < least {
			return w, errNotTime
		}
		*to, _ = quantity.Whole(rest[:n])
		rest = rest[n:]
		if token == "YY" {
			w.year += 2000
		}
	}
	if rest != "" {
		return w, errNotTime
	}
	if half != "" {
		if w.hour < 1 || w.hour > 12 {
			return w, errNoSuch
		}
		w.hour = w.hour % 12
		if half == "pm" {
			w.hour += 12
		}
	}
	switch {
	case w.month == 0 && w.day == 0:
		return w, errNoDay
	case !w.valid():
		return w, errNoSuch
	}
	return w, nil
}

func readTimeFormat(d *strict.Document, to **timeFormat) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := d.Scalar(n, "time_format")
		if !ok {
			return
		}
		f, err := newTimeFormat(s)
		if err != nil {
			d.Fault(n, "bad-time-format", err.Error(), "want letters such as DD.MM.YYYY HH:mm or M/D/YYYY h:mm AM", "")
			return
		}
		*to = f
	}
}
