package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"spanseal/internal/diag"
	"spanseal/internal/limits"
	"spanseal/internal/load"
	"spanseal/internal/report"
	"spanseal/internal/source"
)

func (a *app) limits() *cobra.Command {
	return a.group(&cobra.Command{
		Use:   "limits",
		Short: "what limit sets are known, with their sources",
		Long: `Limit sets are YAML files: values with their clause and where they come from, and
the limits made of them. A job names those that bind it, by id or, for files of
its own, by path.`,
		Example: `  spanseal limits list splice
  spanseal limits show tia-568.3-e
  spanseal limits show harbour-library/owner.yaml
  spanseal limits test`,
	}, a.limitsList(), a.limitsShow(), a.limitsTest(), a.limitsConfirm())
}

// table aligns columns.
func (a *app) table() *tabwriter.Writer { return tabwriter.NewWriter(a.out, 0, 0, 2, ' ', 0) }

func (a *app) limitsShow() *cobra.Command {
	return &cobra.Command{
		Use:     "show ID|FILE",
		Short:   "one set: every value with its clause and source",
		Example: "  spanseal limits show iso-11801-1",
		Args:    takes(1, 1, "the id of a set, or a file"),
		RunE: func(_ *cobra.Command, args []string) error {
			s, err := a.findSet(args[0])
			if err != nil {
				return err
			}
			return a.showSet(s)
		},
	}
}

// findSet returns a built-in set by its id, or reads one from a file.
func (a *app) findSet(id string) (*limits.Set, error) {
	book, problems := load.BuiltIn()
	if load.IsFile(id) {
		raw, err := os.ReadFile(id)
		if err != nil {
			return nil, refuse("", "the limit set cannot be read: %v", err)
		}
		id = filepath.ToSlash(id)
		problems.Join(book.Add(source.New(id, raw)))
	}
	if err := a.report(problems); err != nil {
		return nil, err
	}
	return inBook(book, id)
}

// inBook returns the set that a person asked for.
func inBook(book *limits.Book, id string) (*limits.Set, error) {
	if s, ok := book.Find(id); ok {
		return s, nil
	}
	fix := "`spanseal limits list` names them"
	if near := book.Near(id); near != "" {
		fix = fmt.Sprintf("did you mean %s?", near)
	}
	return nil, misuse(fix, "there is no limit set %q", id)
}

func (a *app) showSet(s *limits.Set) error {
	fmt.Fprintf(a.out, "%s  %s (%s)\n%s\n", a.onOut.Strong(s.ID), s.Standard, s.Edition, s.Title)
	if s.Newer != "" {
		fmt.Fprintf(a.out, "newer: %s\n", s.Newer)
	}
	if s.Scope != "" {
		fmt.Fprintf(a.out, "%s\n", s.Scope)
	}
	if s.Owner != "" {
		fmt.Fprintf(a.out, "the figures of %s\n", s.Owner)
	}
	if s.Extends != "" {
		fmt.Fprintf(a.out, "extends %s\n", s.Extends)
	}
	fmt.Fprintf(a.out, "%s, SHA-256 %s\n", s.File, s.SHA256)

	fmt.Fprintf(a.out, "\nvalues\n")
	t := a.table()
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
		fmt.Fprintf(a.out, "\nlimits\n")
	}
	for i := range s.Limits {
		l := &s.Limits[i]
		fmt.Fprintf(a.out, "  %s: %s", l.ID, report.Quantity(l.Quantity))
		if on := where(&l.Where); on != "" {
			fmt.Fprintf(a.out, ", %s", on)
		}
		if len(l.Replaces) > 0 {
			fmt.Fprintf(a.out, ", in place of %s", strings.Join(l.Replaces, " and "))
		}
		fmt.Fprintln(a.out)
		for _, side := range []struct {
			bound string
			terms []limits.Term
		}{{"at least", l.AtLeast}, {"at most", l.AtMost}} {
			if side.terms != nil {
				fmt.Fprintf(a.out, "    %s %s\n", side.bound, formula(s, side.terms))
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
			fmt.Fprintf(a.out, "\n%s\n", list.title)
		}
		for _, line := range list.lines {
			fmt.Fprintf(a.out, "  %s\n", diag.Safe(line))
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
