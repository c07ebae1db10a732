package ledger

import (
	"fmt"
	"slices"
	"strings"

	"spanseal/internal/series"
)

// A row of the schedule may stand for a series of links, K1-01..K1-24. Some of its other
// cells then count up with the names: those of apart must, since no two links of a row
// can have the same; those of along may. All other cells say the same of each link.
var (
	apart = []string{"strand", "pair", "position", "far_position", "splitter_leg"}
	along = []string{"from", "to", "label", "asset"}
)

// Links returns how many links the row stands for, of which the first is taken up: 1,
// unless the cell in the column holds a series. It is 0 after a problem with a series,
// when the row names nothing.
func (l *Ledger) Links(column string) int {
	l.member, l.counting = 0, nil
	text := l.Text(column)
	if l.how.NoSeries || !series.Meant(text) {
		return 1
	}
	s, why, want := series.Parse(text, false)
	if why != "" {
		l.Fault(column, "wrong-series", why, want, "correct the series; if this is the name of one link, set schedule: {series: false} in job.yaml")
		return 0
	}
	counting := map[string]series.Series{column: s}
	for _, column := range slices.Concat(apart, along) {
		text := l.Text(column)
		must := slices.Contains(apart, column)
		switch {
		case text == "" || !must && !series.Meant(text):
			continue
		case !series.Meant(text):
			l.Fault(column, "wrong-series", fmt.Sprintf("this row stands for %d links, which cannot all have the %s %s", s.Len(), Noun(column), text), "want a series such as "+such(text, s.Len()), "")
			continue
		}
		own, why, want := series.Parse(text, column == "far_position")
		switch {
		case why != "":
			l.Fault(column, "wrong-series", why, want, "")
		case own.Len() != s.Len():
			l.Fault(column, "wrong-series", fmt.Sprintf("%q stands for %d, and this row for %d links", text, own.Len(), s.Len()), "want as many as there are links", "")
		default:
			counting[column] = own
		}
	}
	l.counting = counting
	return s.Len()
}

// such is a series that a person may have meant by its first member.
func such(first string, n int) string {
	if i := strings.LastIndexFunc(first, func(r rune) bool { return r < '0' || '9' < r }) + 1; i < len(first) && len(first)-i < 7 {
		number := 0
		for _, c := range first[i:] {
			number = 10*number + int(c-'0')
		}
		return fmt.Sprintf("%s..%s%0*d", first, first[:i], len(first)-i, number+n-1)
	}
	return fmt.Sprintf("1..%d", n)
}

// Take takes up a link of the row, counted from 0: cells that count then say what they
// say of that link.
func (l *Ledger) Take(member int) { l.member = member }

// Faults is how many faults the file has so far.
func (l *Ledger) Faults() int { return l.faults }
