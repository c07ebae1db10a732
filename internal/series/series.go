// Package series knows names that are counted up, such as K1-01..K1-24, which one row of
// a schedule may stand for.
//
// A series is written as its first and its last name with two points between them. The
// two are the same but for one number, which counts up; the last name may be its number
// alone, if the first one ends in a number. A number with a leading zero
// keeps its digits: 01..24 is 01, 02, ... 24, and 1..24 is 1, 2, ... 24. Only the digits
// 0 to 9 count.
//
// Vectors:
//
//	K1-01..K1-24        K1-01, K1-02, ... K1-24
//	K1-8..K1-11         K1-8, K1-9, K1-10, K1-11
//	R1/01/A..R1/12/A    R1/01/A, R1/02/A, ... R1/12/A
//	panel R1 port 1..4  panel R1 port 1, panel R1 port 2, ... panel R1 port 4
package series

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Most is how many names a series may have.
const Most = 10_000

// mark stands between the two ends of a series.
const mark = ".."

// Series is names that are counted up.
type Series struct {
	before, after string
	first, last   int
	step          int // 1, or -1 where a series may count down
	digits        int // the least that a number has
}

// One is a name that stands for itself.
func One(name string) Series { return Series{before: name, first: 1, last: 1, digits: -1} }

// Meant reports whether a text looks like a series, right or wrong: a number stands on
// either side of its two points. Any other text is a name, such as "..x".
func Meant(text string) bool {
	a, b, ok := strings.Cut(text, mark)
	return ok && strings.ContainsAny(a, digits) && strings.ContainsAny(b, digits)
}

const digits = "0123456789"

// Parse reads a series. Where it cannot, it says why and what is wanted. down lets it
// count down, as positions at the far end of a trunk may.
func Parse(text string, down bool) (s Series, why, want string) {
	a, b, _ := strings.Cut(text, mark)
	a, b = strings.TrimSpace(a), strings.TrimSpace(b)
	if strings.HasPrefix(b, ".") {
		return s, fmt.Sprintf("%q has more than two points between its ends", text), "want " + a + mark + strings.TrimLeft(b, ". ")
	}
	first, last := runs(a), runs(b)
	if n := len(first) - 1; n > 0 && isNumber(b) && isNumber(first[n]) {
		last = append(slices.Clone(first[:n]), b)
	}
	at := -1
	for i := range first {
		if len(first) != len(last) || isNumber(first[i]) != isNumber(last[i]) {
			at = -2
			break
		}
		switch same := first[i] == last[i]; {
		case same:
		case !isNumber(first[i]):
			at = -2
		case at == -1:
			at = i
		case at >= 0:
			return s, fmt.Sprintf("%q counts in two places", text), "want one number that counts up, such as K1-01..K1-24; give the others their own rows"
		}
	}
	if at == -2 || len(first) == 0 {
		return s, fmt.Sprintf("the two ends of %q are names of different kinds", text), "want the same name at both ends except for one number, such as K1-01..K1-24"
	}
	if at == -1 {
		return s, fmt.Sprintf("%q ends where it begins", text), "want two ends that differ in one number, or the name alone"
	}
	s.before, s.after, s.digits, s.step = strings.Join(first[:at], ""), strings.Join(first[at+1:], ""), 1, 1
	from, to := first[at], last[at]
	if len(from) > 9 || len(to) > 9 {
		return s, fmt.Sprintf("a number of %q has more than nine digits", text), ""
	}
	if padded(from) || padded(to) {
		if s.digits = len(from); len(from) != len(to) {
			return s, fmt.Sprintf("the numbers of %q have %d and %d digits", text, len(from), len(to)), "want as many digits at both ends, or no leading zeros"
		}
	}
	s.first, _ = strconv.Atoi(from)
	s.last, _ = strconv.Atoi(to)
	if s.last < s.first {
		if s.step = -1; !down {
			return s, fmt.Sprintf("%q ends before it begins", text), "want the lower number first"
		}
	}
	if s.Len() > Most {
		return s, fmt.Sprintf("%q stands for %d names", text, s.Len()), fmt.Sprintf("want at most %d in one series", Most)
	}
	return s, "", ""
}

// Len is how many names the series has.
func (s Series) Len() int {
	if s.step < 0 {
		return s.first - s.last + 1
	}
	return s.last - s.first + 1
}

// At is a name of the series, counted from 0.
func (s Series) At(i int) string {
	if s.digits < 0 {
		return s.before
	}
	return fmt.Sprintf("%s%0*d%s", s.before, s.digits, s.first+i*s.step, s.after)
}

// runs cuts a name into numbers and what stands between them.
func runs(name string) (parts []string) {
	begin := 0
	for i := 1; i <= len(name); i++ {
		if i == len(name) || isDigit(name[i]) != isDigit(name[begin]) {
			parts = append(parts, name[begin:i])
			begin = i
		}
	}
	return parts
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }

func isNumber(s string) bool {
	return s != "" && isDigit(s[0]) && isDigit(s[len(s)-1]) && strings.Trim(s, digits) == ""
}

func padded(s string) bool { return len(s) > 1 && s[0] == '0' }
