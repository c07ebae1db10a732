package intake

import (
	"fmt"
	"slices"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/strict"
	"spanseal/internal/written"
)

// givenItem is one text or pattern of a mapping, which is told of if no row ever
// had it: it is mistyped, or what it was for comes no more.
type givenItem struct {
	kind, text string
	place      diag.Place
	used       bool
}

// give notes that the mapping gives a text or a pattern.
func (m *mapping) give(kind, text string, place diag.Place) {
	m.given = append(m.given, givenItem{kind: kind, text: text, place: place})
}

// use notes that a row had it.
func (m *mapping) use(kind, text string) {
	for i := range m.given {
		if g := &m.given[i]; g.kind == kind && g.text == text {
			g.used = true
		}
	}
}

// askGiven lists what never matched anything in the files of a mapping.
func (r *reader) askGiven() {
	for _, m := range r.mappings {
		if m.matched == 0 || m.evidenceOnly || m.faulty {
			continue
		}
		for _, g := range m.given {
			if g.used {
				continue
			}
			message := fmt.Sprintf("%s: no cell of %s holds %q", g.kind, m.files, g.text)
			if g.kind == "preamble" || g.kind == "ignore_rows" {
				message = fmt.Sprintf("%s: no row of %s fits %q", g.kind, m.files, g.text)
			}
			r.list.Add(diag.Problem{Severity: diag.Note, Code: "never-matched", Place: g.place, Message: message})
		}
	}
	for alias := range r.aliases {
		if !r.aliasUsed[alias] && len(r.facts.Accounts) > 0 && r.job != nil {
			r.list.Add(diag.Problem{Severity: diag.Note, Code: "never-matched", Place: r.aliasPlace[alias],
				Message: fmt.Sprintf("aliases: no file names a link %q", alias)})
		}
	}
}

// readTexts reads texts that cells may hold.
func (m *mapping) readTexts(d *strict.Document, what string, to *[]string) func(*yaml.Node) {
	return func(n *yaml.Node) {
		*to = nil
		m.given = slices.DeleteFunc(m.given, func(g givenItem) bool { return g.kind == what })
		d.Items(what, func(n *yaml.Node) {
			if s, ok := d.Scalar(n, "an item of "+what); ok {
				*to = append(*to, s)
				m.give(what, s, d.At(n))
				if what == "not_measured" && written.IsBound(s) {
					d.List.Add(diag.Problem{Severity: diag.Question, Code: "bound-not-measured", Place: d.At(n),
						Message: fmt.Sprintf("%q says that something was measured: is it no reading?", s),
						Mend:    "list it under over_range if it means beyond the range of the instrument"})
				}
			}
		})(n)
	}
}

// readPatterns reads patterns that rows may fit.
func (m *mapping) readPatterns(d *strict.Document, what string, to *[]*pattern) func(*yaml.Node) {
	return func(n *yaml.Node) {
		*to = nil
		m.given = slices.DeleteFunc(m.given, func(g givenItem) bool { return g.kind == what })
		d.Items(what, func(n *yaml.Node) {
			var p *pattern
			if readPattern(d, what, &p)(n); p != nil {
				*to = append(*to, p)
				m.give(what, p.text, d.At(n))
			}
		})(n)
	}
}

func (m *mapping) readDoubledHour(d *strict.Document) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if s, ok := d.Scalar(n, "doubled_hour"); ok {
			if _, rest, is := written.Offset(s); !is || rest != "" {
				d.Fault(n, "unknown-time-zone", fmt.Sprintf("%q is not an offset", s), "want such as +01:00", "")
				return
			}
			m.doubledHour = zoneNamed(d, n, s)
		}
	}
}
