package mapping

import (
	"fmt"
	"slices"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/strict"
	"spanseal/internal/written"
)

// Given is one text or pattern of a mapping, which is told of if no row ever
// had it: it is mistyped, or what it was for comes no more.
type Given struct {
	Kind, Text string
	Place      diag.Place
	Used       bool
}

// give notes that the mapping gives a text or a pattern.
func (m *Mapping) give(kind, text string, place diag.Place) {
	m.Given = append(m.Given, Given{Kind: kind, Text: text, Place: place})
}

// Use notes that a row had it.
func (m *Mapping) Use(kind, text string) {
	for i := range m.Given {
		if g := &m.Given[i]; g.Kind == kind && g.Text == text {
			g.Used = true
		}
	}
}

// readTexts reads texts that cells may hold.
func (m *Mapping) readTexts(d *strict.Document, what string, to *[]string) func(*yaml.Node) {
	return func(n *yaml.Node) {
		*to = nil
		m.Given = slices.DeleteFunc(m.Given, func(g Given) bool { return g.Kind == what })
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
func (m *Mapping) readPatterns(d *strict.Document, what string, to *[]*Pattern) func(*yaml.Node) {
	return func(n *yaml.Node) {
		*to = nil
		m.Given = slices.DeleteFunc(m.Given, func(g Given) bool { return g.Kind == what })
		d.Items(what, func(n *yaml.Node) {
			var p *Pattern
			if readPattern(d, what, &p)(n); p != nil {
				*to = append(*to, p)
				m.give(what, p.Text, d.At(n))
			}
		})(n)
	}
}

func (m *Mapping) readDoubledHour(d *strict.Document) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if s, ok := d.Scalar(n, "doubled_hour"); ok {
			if _, rest, is := written.Offset(s); !is || rest != "" {
				d.Fault(n, "unknown-time-zone", fmt.Sprintf("%q is not an offset", s), "want such as +01:00", "")
				return
			}
			m.DoubledHour = ZoneNamed(d, n, s)
		}
	}
}
