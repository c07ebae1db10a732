package mapping

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/field"
	"spanseal/internal/quantity"
	"spanseal/internal/table"
)

// Slot is where one field of a reading comes from: a column, a constant, or
// nowhere.
type Slot struct {
	Unit     quantity.Unit
	Column   int          // from zero; −1 where there is none
	Fixed    string       // the constant, or what a pattern found
	Mark     rune         // of numbers in fixed; 0: the file's
	Composed *Composition // how its text is made; nil: it is that of the column
}

func (s *Slot) Given() bool { return s.Column >= 0 || s.Fixed != "" }

// ReadingSlots is the slots of one reading of a row; long form has one group, wide
// form several.
type ReadingSlots [field.Count]Slot

// Heading is how the columns of a table are bound.
type Heading struct {
	Line      int      // of its last row; 0 where columns go by number
	Skip      int      // the row of units, or 0
	Names     []string // by column
	Bare      []string // the same without units
	Groups    []ReadingSlots
	Unread    []int // columns with a heading that say nothing to us
	Concluded []string
}

// ColumnsRead are the columns that some group takes a value from, from one.
func (h *Heading) ColumnsRead() (columns []int) {
	for i := range h.Groups {
		for _, s := range h.Groups[i] {
			for _, column := range s.ColumnsOf() {
				if !slices.Contains(columns, column+1) {
					columns = append(columns, column+1)
				}
			}
		}
	}
	slices.Sort(columns)
	return columns
}

// UnitOf is the unit in which a column is read, or "".
func (h *Heading) UnitOf(column int) quantity.Unit {
	for i := range h.Groups {
		for f := field.Loss; f < field.Count; f++ {
			if s := &h.Groups[i][f]; s.Column == column {
				return s.Unit
			}
		}
	}
	return ""
}

// ReadAs lists the fields that a column is read as. Where each group of a row
// has a column of its own, the field says of which reading it is.
func (h *Heading) ReadAs(column int) (fields []string) {
	for i := range h.Groups {
		g := &h.Groups[i]
		for f := field.Link; f < field.Count; f++ {
			s := &g[f]
			if !s.Takes(column) {
				continue
			}
			name := field.InUnit{Field: f, Unit: s.Unit}.Name()
			if of := strings.TrimSpace(g[field.Wavelength].Fixed + " " + g[field.Direction].Fixed); len(h.Groups) > 1 && of != "" && !slices.ContainsFunc(h.Groups, func(o ReadingSlots) bool {
				return o != *g && o[f].Takes(column)
			}) {
				name += " " + of
			}
			switch {
			case s.Composed != nil && s.Composed.Text != "":
				name += " " + s.Composed.Text
			case s.Composed != nil && s.Composed.Part > 0:
				name += fmt.Sprintf(" part %d", s.Composed.Part)
			}
			if !slices.Contains(fields, name) {
				fields = append(fields, name)
			}
		}
	}
	return fields
}

// Because says how a column came to be read as a field.
func (h *Heading) Because(t table.Table, g *ReadingSlots, f field.Field) string {
	if _, named := t.(table.SelfNamed); named {
		return "" // a key stands beside its value
	}
	s := g[f]
	name := field.InUnit{Field: f, Unit: s.Unit}.Name()
	switch {
	case s.Column < 0:
		return ""
	case s.Composed != nil && s.Composed.Text != "":
		return name + " is " + s.Composed.Text
	case h.Line == 0:
		return "column " + strconv.Itoa(s.Column+1) + " is " + name
	}
	return fmt.Sprintf("column %d is %s (heading at %s %d)", s.Column+1, name, t.RowWord(), h.Line)
}

// Takes reports that the slot takes its text, or a part of it, from a column.
func (s *Slot) Takes(column int) bool {
	return s.Column == column || s.Composed != nil && slices.Contains(s.ColumnsOf(), column)
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

// Composition says how a slot makes its text: a mapping may put one together of several
// cells, "{Cabinet}/{Panel}/{Port}", and take one of several values out of a cell, such
// as the second of 0.35/0.22.
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

// noGroup is a group none of whose slots is given.
func noGroup() (g ReadingSlots) {
	for i := range g {
		g[i].Column = -1
	}
	return g
}

// NeedsDirection returns a measured field of the group that means nothing
// without a direction.
func (g *ReadingSlots) NeedsDirection() field.Field {
	for _, f := range []field.Field{field.Loss, field.LossPerKm, field.Received, field.Reflectance, field.ReturnLoss, field.OpticalReturnLoss} {
		if g[f].Column >= 0 {
			return f
		}
	}
	return field.None
}
