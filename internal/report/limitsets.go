package report

import (
	"fmt"
	"slices"
	"strings"
	"text/tabwriter"

	"spanseal/internal/limits"
)

// kinds are the kinds of limit sets in the order in which people choose from them,
// each with what it is about.
var kinds = []struct {
	limits.Kind
	about string
}{
	{limits.Cabling, "what a link may lose or reflect, by its parts"},
	{limits.Splices, "acceptance of splices"},
	{limits.Population, "many connections together"},
	{limits.Fibre, "fibre alone"},
	{limits.Application, "what a transmission system needs"},
	{limits.Planning, "typical figures, which bind nothing"},
	{limits.Constants, "figures of glass, which bind nothing"},
}

// LimitKinds are the kinds of limit sets, in the order in which they are listed.
func LimitKinds() (all []limits.Kind) {
	for _, k := range kinds {
		all = append(all, k.Kind)
	}
	return all
}

// LimitSets prints sets below the name of their kind, examples of an owner's last.
func (pr *Printer) LimitSets(sets []*limits.Set) error {
	slices.SortStableFunc(sets, func(x, y *limits.Set) int {
		if example := x.Owner != ""; example != (y.Owner != "") {
			if example {
				return 1
			}
			return -1
		}
		return byNumber(x.ID, y.ID)
	})
	gap := ""
	for _, k := range kinds {
		t := tabwriter.NewWriter(pr.w, 0, 0, 2, ' ', 0)
		some := false
		for _, s := range sets {
			if s.Kind != k.Kind {
				continue
			}
			if !some {
				fmt.Fprintf(pr.w, "%s%s: %s\n", gap, pr.style.Strong(string(k.Kind)), k.about)
				some, gap = true, "\n"
			}
			newer := ""
			if s.Newer != "" {
				newer = "; newer: " + s.Newer
			}
			fmt.Fprintf(t, "  %s\t%s\t%s (%s)%s\n", s.ID, s.Title, s.Standard, s.Edition, newer)
		}
		if err := t.Flush(); err != nil {
			return err
		}
	}
	return nil
}

// byNumber orders names as a person would: runs of digits by their number.
func byNumber(x, y string) int {
	for x != "" && y != "" {
		a, b := leadingDigits(x), leadingDigits(y)
		if a > 0 && b > 0 {
			m, n := strings.TrimLeft(x[:a], "0"), strings.TrimLeft(y[:b], "0")
			if c := len(m) - len(n); c != 0 {
				return c
			}
			if c := strings.Compare(m, n); c != 0 {
				return c
			}
			x, y = x[a:], y[b:]
			continue
		}
		if x[0] != y[0] {
			return int(x[0]) - int(y[0])
		}
		x, y = x[1:], y[1:]
	}
	return len(x) - len(y)
}

func leadingDigits(s string) int {
	n := 0
	for n < len(s) && '0' <= s[n] && s[n] <= '9' {
		n++
	}
	return n
}
