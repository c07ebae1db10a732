package intake

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/quantity"
	"spanseal/internal/strict"
	"spanseal/internal/table"
)

// A mapping may make one text of several cells, "{Cabinet}/{Panel}/{Port}", and
// take one of several values out of a cell, such as the second of 0.35/0.22.

// made says how a slot makes its text.
type made struct {
	text   string // the template as the mapping writes it, or ""
	pieces []piece
	part   int    // which of the values in a cell, from one; 0: the whole cell
	parts  int    // how many there may be
	mark   string // between them
}

// piece is a text, or what stands in a column.
type piece struct {
	text   string
	column int // −1 for a text
}

// columnsOf lists the columns that a slot takes its text from.
func (s *slot) columnsOf() []int {
	switch {
	case s.column < 0:
		return nil
	case s.made == nil:
		return []int{s.column}
	}
	var columns []int
	for _, p := range s.made.pieces {
		if p.column >= 0 {
			columns = append(columns, p.column)
		}
	}
	return columns
}

// makeText puts the text together; cell gives the text of a column. Where every
// cell is empty there is none.
func (m *made) makeText(cell func(column int) string) string {
	if m.part > 0 {
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
func (m *made) nth(text string) string {
	parts := strings.Split(text, m.mark)
	if m.part > len(parts) {
		return ""
	}
	return strings.TrimSpace(parts[m.part-1])
}

var templateColumn = regexp.MustCompile(`\{([^{}]+)\}`)

// isTemplate reports a text that names columns in braces.
func isTemplate(s string) bool { return templateColumn.MatchString(s) }

// readTemplate reads a template into the columns that it names, with a
// reference for each; a number names a column by its number.
func (ref *columnRef) readTemplate(d *strict.Document, n *yaml.Node) bool {
	rest := ref.heading
	for rest != "" {
		at := templateColumn.FindStringSubmatchIndex(rest)
		if at == nil {
			at = []int{len(rest), len(rest), 0, 0}
		}
		if at[0] > 0 {
			ref.template = append(ref.template, columnRef{literal: rest[:at[0]]})
		}
		if at[1] > at[0] {
			name := strings.TrimSpace(rest[at[2]:at[3]])
			part := columnRef{heading: name, unit: ref.unit, place: ref.place}
			if v, ok := quantity.Whole(name); ok {
				if part.number = v; v < 1 || v > table.MaxColumns {
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
func (ref columnRef) columns() []columnRef {
	if ref.template == nil {
		return []columnRef{ref}
	}
	return slices.DeleteFunc(slices.Clone(ref.template), func(p columnRef) bool { return p.literal != "" })
}

// make resolves a template; −1 after a problem.
func (b *binder) make(ref columnRef) (first int, m *made) {
	m, first = &made{text: ref.heading}, -1
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
func (b *binder) takePart(g *group, e *eachGroup) {
	for f, ref := range e.columns {
		s := &g[f]
		if s.column < 0 || ref.template != nil && len(ref.template) > 1 {
			continue
		}
		s.made = &made{pieces: []piece{{"", s.column}}, part: e.part, parts: b.m.parts(), mark: b.m.split}
	}
}

// parts is how many values a cell may hold.
func (m *mapping) parts() (n int) {
	for _, e := range m.each {
		n = max(n, e.part)
	}
	return n
}

// parted complains of a row whose cells hold more or fewer values than others
// that they go with: nobody could say which belongs to which.
func (a *assembler) parted(row *table.Row) bool {
	if a.m.split == "" {
		return false
	}
	for i := range a.groups {
		a.partsAgree(row, &a.groups[i])
	}
	return a.bad()
}

func (a *assembler) partsAgree(row *table.Row, g *group) {
	count, of, told := 0, -1, false
	for f := field.Link; f < field.Count; f++ {
		s := &g[f]
		if s.made == nil || s.made.part == 0 {
			continue
		}
		told = told || f < field.Loss
		text := row.At(s.column)
		if text == "" || slices.Contains(a.m.notMeasured, text) {
			continue
		}
		n := len(strings.Split(text, s.made.mark))
		switch {
		case n > s.made.parts:
			a.fault(row, s.column, diag.Problem{Code: "parts-differ", Message: fmt.Sprintf("%q holds %d values, but the mapping reads %d", text, n, s.made.parts),
				Mend: "add an item with part: " + strconv.Itoa(n) + " to each, in the file's entry of readings"})
			return
		case count > 0 && n != count:
			a.fault(row, s.column, diag.Problem{Code: "parts-differ", Message: fmt.Sprintf("%q holds %s, but %q holds %s", text, diag.Plural(n, "value"), row.At(of), diag.Plural(count, "value")),
				Mend: "leave the row out under ignore_rows, or keep the file as evidence and write its readings to another"})
			return
		}
		count, of = n, s.column
	}
	if count > 0 && count < a.m.parts() && !told { // of which of the readings of the row is it?
		a.fault(row, of, diag.Problem{Code: "parts-differ", Message: fmt.Sprintf("%q holds %s, but the mapping reads %d", row.At(of), diag.Plural(count, "value"), a.m.parts()),
			Mend: "leave the row out under ignore_rows, or keep the file as evidence and write its readings to another"})
	}
}
