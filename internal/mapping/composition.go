package mapping

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/quantity"
	"spanseal/internal/strict"
	"spanseal/internal/table"
)

// A mapping may make one text of several cells, "{Cabinet}/{Panel}/{Port}", and
// take one of several values out of a cell, such as the second of 0.35/0.22.

// made says how a slot makes its text.
type Composition struct {
	Text   string // the template as the mapping writes it, or ""
	pieces []piece
	Part   int    // which of the values in a cell, from one; 0: the whole cell
	Parts  int    // how many there may be
	Mark   string // between them
}

// piece is a text, or what stands in a column.
type piece struct {
	text   string
	column int // −1 for a text
}

// ColumnsOf lists the columns that a slot takes its text from.
func (s *Slot) ColumnsOf() []int {
	switch {
	case s.Column < 0:
		return nil
	case s.Composed == nil:
		return []int{s.Column}
	}
	var columns []int
	for _, p := range s.Composed.pieces {
		if p.column >= 0 {
			columns = append(columns, p.column)
		}
	}
	return columns
}

// MakeText puts the text together; cell gives the text of a column. Where every
// cell is empty there is none.
func (m *Composition) MakeText(cell func(column int) string) string {
	if m.Part > 0 {
		return m.nth(cell(m.pieces[0].column))
	}
	var b strings.Builder
	any := false
	for _, p := range m.pieces {
		text := p.text
		if p.column >= 0 {
			text = cell(p.column)
			any = any || text != ""
		}
		b.WriteString(text)
	}
	if !any {
		return ""
	}
	return strings.TrimSpace(b.String())
}

// nth takes the value out of a cell that the slot stands for.
func (m *Composition) nth(text string) string {
	parts := strings.Split(text, m.Mark)
	if m.Part > len(parts) {
		return ""
	}
	return strings.TrimSpace(parts[m.Part-1])
}

var templateColumn = regexp.MustCompile(`\{([^{}]+)\}`)

// isTemplate reports a text that names columns in braces.
func isTemplate(s string) bool { return templateColumn.MatchString(s) }

// readTemplate reads a template into the columns that it names, with a
// reference for each; a number names a column by its number.
func (ref *ColumnRef) readTemplate(d *strict.Document, n *yaml.Node) bool {
	rest := ref.heading
	for rest != "" {
		at := templateColumn.FindStringSubmatchIndex(rest)
		if at == nil {
			at = []int{len(rest), len(rest), 0, 0}
		}
		if at[0] > 0 {
			ref.template = append(ref.template, ColumnRef{literal: rest[:at[0]]})
		}
		if at[1] > at[0] {
			name := strings.TrimSpace(rest[at[2]:at[3]])
			part := ColumnRef{heading: name, Unit: ref.Unit, Place: ref.Place}
			if v, ok := quantity.Whole(name); ok {
				if part.Number = v; v < 1 || v > table.MaxColumns {
					d.Fault(n, "out-of-range", fmt.Sprintf("there is no column %d", v), "want a number from 1, or the heading", "")
					return false
				}
			}
			ref.template = append(ref.template, part)
		}
		rest = rest[at[1]:]
	}
	return true
}

// pieces yields the columns that a reference names: itself, or those of its
// template.
func (ref ColumnRef) columns() []ColumnRef {
	if ref.template == nil {
		return []ColumnRef{ref}
	}
	return slices.DeleteFunc(slices.Clone(ref.template), func(p ColumnRef) bool { return p.literal != "" })
}

// make resolves a template; −1 after a problem.
func (b *binder) make(ref ColumnRef) (first int, m *Composition) {
	m, first = &Composition{Text: ref.heading}, -1
	for _, p := range ref.template {
		if p.literal != "" {
			m.pieces = append(m.pieces, piece{p.literal, -1})
			continue
		}
		i := b.resolve(p)
		if i < 0 {
			return -1, nil
		}
		if first < 0 {
			first = i
		}
		m.pieces = append(m.pieces, piece{"", i})
	}
	return first, m
}

// takePart makes the columns that a reading of each names give one of the values
// in their cells.
func (b *binder) takePart(g *Group, e *Each) {
	for f, ref := range e.Columns {
		s := &g[f]
		if s.Column < 0 || ref.template != nil && len(ref.template) > 1 {
			continue
		}
		s.Composed = &Composition{pieces: []piece{{"", s.Column}}, Part: e.Part, Parts: b.m.Parts(), Mark: b.m.Split}
	}
}

// Parts is how many values a cell may hold.
func (m *Mapping) Parts() (n int) {
	for _, e := range m.Each {
		n = max(n, e.Part)
	}
	return n
}
