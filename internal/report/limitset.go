package report

import (
	"fmt"
	"strings"
	"text/tabwriter"

	"spanseal/internal/diag"
	"spanseal/internal/limits"
	"spanseal/internal/limittest"
)

// LimitSet prints a limit set: every value with its clause and origin, and the limits made
// of them as formulas.
func (pr *Printer) LimitSet(s *limits.Set) error {
	fmt.Fprintf(pr.w, "%s  %s (%s)\n%s\n", pr.style.Strong(s.ID), s.Standard, s.Edition, s.Title)
	if s.Newer != "" {
		fmt.Fprintf(pr.w, "newer: %s\n", s.Newer)
	}
	if s.Scope != "" {
		fmt.Fprintf(pr.w, "%s\n", s.Scope)
	}
	if s.Owner != "" {
		fmt.Fprintf(pr.w, "the figures of %s\n", s.Owner)
	}
	if s.Extends != "" {
		fmt.Fprintf(pr.w, "extends %s\n", s.Extends)
	}
	fmt.Fprintf(pr.w, "%s, SHA-256 %s\n", s.File, s.SHA256)

	fmt.Fprintf(pr.w, "\nvalues\n")
	t := tabwriter.NewWriter(pr.w, 0, 0, 2, ' ', 0)
	for _, g := range s.Groups {
		for _, v := range g.Rows {
			origin := string(v.Provenance)
			if v.Low {
				origin += ", low confidence"
			}
			if v.Source != "" {
				origin += ": " + v.Source
			}
			if v.Set != s.ID {
				origin += " (of " + v.Set + ")"
			}
			fmt.Fprintf(t, "  %s\t%s\t%s\t%s\t%s\n", words(v.Group),
				strings.TrimSpace(v.Number.String()+" "+string(v.Unit)), where(&v.Where), v.Clause, origin)
		}
	}
	if err := t.Flush(); err != nil {
		return err
	}

	if len(s.Limits) > 0 {
		fmt.Fprintf(pr.w, "\nlimits\n")
	}
	for i := range s.Limits {
		l := &s.Limits[i]
		fmt.Fprintf(pr.w, "  %s: %s", l.ID, Quantity(l.Quantity))
		if on := where(&l.Where); on != "" {
			fmt.Fprintf(pr.w, ", %s", on)
		}
		if len(l.Replaces) > 0 {
			fmt.Fprintf(pr.w, ", in place of %s", strings.Join(l.Replaces, " and "))
		}
		fmt.Fprintln(pr.w)
		for _, side := range []struct {
			bound string
			terms []limits.Term
		}{{"at least", l.AtLeast}, {"at most", l.AtMost}} {
			if side.terms != nil {
				fmt.Fprintf(pr.w, "    %s %s\n", side.bound, formula(s, side.terms))
			}
		}
	}
	differs, from := "elsewhere it differs", s
	for ; from.Conflicts == nil && from.Base != nil; from = from.Base {
		differs = "elsewhere " + from.Base.ID + " differs" // whose figures these are, not the set's
	}
	for _, list := range []struct {
		title string
		lines []string
	}{{"notes", s.Notes}, {differs, from.Conflicts}} {
		if len(list.lines) > 0 {
			fmt.Fprintf(pr.w, "\n%s\n", list.title)
		}
		for _, line := range list.lines {
			fmt.Fprintf(pr.w, "  %s\n", diag.Safe(line))
		}
	}
	return nil
}

// formula prints terms before any number is known, but for a flat figure.
func formula(s *limits.Set, terms []limits.Term) string {
	sum := ""
	for i, t := range terms {
		var rates []string
		for _, r := range t.Rates {
			if g, ok := s.Group(r); ok && strings.HasPrefix(r, limits.Inline) {
				r = strings.TrimSpace(g.Rows[0].Number.Short() + " " + string(g.Rows[0].Unit))
				if t.Less && strings.HasPrefix(r, "-") {
					r = "(" + strings.Replace(r, "-", "−", 1) + ")"
				}
			}
			rates = append(rates, words(r))
		}
		part := strings.Join(rates, " or ")
		if t.Amount != limits.One {
			part += " × " + words(string(t.Amount))
		}
		switch {
		case t.Less:
			sum += " − "
		case i > 0:
			sum += " + "
		}
		sum += part
	}
	return sum
}

// words turns a key of a file into words.
func words(key string) string { return strings.ReplaceAll(key, "_", " ") }

// where prints a selector.
func where(s *limits.Selector) string {
	var parts []string
	list := func(texts []string) {
		if len(texts) > 0 {
			parts = append(parts, strings.Join(texts, " or "))
		}
	}
	ranges := func(rs []limits.Range, noun string) {
		var texts []string
		for _, r := range rs {
			switch {
			case r.Min == r.Max:
				texts = append(texts, fmt.Sprint(r.Min))
			default:
				texts = append(texts, fmt.Sprintf("%d to %d", r.Min, r.Max))
			}
		}
		if len(texts) > 0 {
			parts = append(parts, strings.Join(texts, ", ")+" "+noun)
		}
	}
	list(s.Fibre)
	if s.Mode != "" {
		list([]string{string(s.Mode)})
	}
	ranges(s.Wavelengths, "nm")
	list(s.Connector)
	list(s.Polish)
	if s.TestCords != "" {
		parts = append(parts, string(s.TestCords)+" test cords")
	}
	var methods []string
	for _, m := range s.Reference {
		methods = append(methods, string(m)+" reference")
	}
	list(methods)
	if l := s.Length; l != nil {
		switch {
		case l.Min == nil:
			parts = append(parts, "up to "+l.Max.String()+" m")
		case l.Max == nil:
			parts = append(parts, "from "+l.Min.String()+" m")
		default:
			parts = append(parts, l.Min.String()+" to "+l.Max.String()+" m")
		}
	}
	ranges(s.MatedPairs, "mated pairs")
	ranges(s.Splices, "splices")
	ranges(s.Reflections, "reflections")
	return strings.Join(parts, ", ")
}

// Cases prints which expectations of tests are not met and which values no test uses, and
// how much was tried. It reports whether all were met.
func (pr *Printer) Cases(cases []limits.Case, outcomes []limittest.Result, untested []*limits.Value) bool {
	failed := 0
	for _, o := range outcomes {
		for _, fault := range o.Faults {
			fmt.Fprintf(pr.w, "%s:%d: %s: %s\n", o.Case.File, o.Line, diag.Safe(o.Case.Name), diag.Safe(fault))
		}
		if len(o.Faults) > 0 {
			failed++
		}
	}
	for _, v := range untested {
		fmt.Fprintf(pr.w, "%s: no test uses %s %s (line %d)\n", v.Set, words(v.Group), strings.TrimSpace(v.Number.String()+" "+string(v.Unit)), v.Line)
	}
	sets := map[string]bool{}
	for _, c := range cases {
		sets[c.Set] = true
	}
	fmt.Fprintf(pr.w, "%s in %s of %s: ", diag.Plural(len(outcomes), "expectation"), diag.Plural(len(cases), "test"), diag.Plural(len(sets), "limit set"))
	if failed > 0 {
		fmt.Fprintf(pr.w, "%s\n", pr.style.Bad(fmt.Sprintf("%d not met", failed)))
	} else {
		fmt.Fprintf(pr.w, "%s\n", pr.style.Good("all met"))
	}
	return failed == 0
}
