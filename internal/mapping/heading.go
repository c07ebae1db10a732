package mapping

import (
	"fmt"
	"iter"
	"maps"
	"slices"
	"strings"

	"spanseal/internal/diag"
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

// Group is the slots of one reading of a row; long form has one group, wide
// form several.
type Group [field.Count]Slot

// Heading is how the columns of a table are bound.
type Heading struct {
	Line      int      // of its last row; 0 where columns go by number
	Skip      int      // the row of units, or 0
	Names     []string // by column
	Bare      []string // the same without units
	Groups    []Group
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

// Refs yields every column that the mapping names.
func (m *Mapping) Refs() iter.Seq[ColumnRef] {
	return func(yield func(ColumnRef) bool) {
		for _, columns := range m.columnSets() {
			for _, f := range slices.Sorted(maps.Keys(columns)) {
				for _, ref := range columns[f].columns() {
					if !yield(ref) {
						return
					}
				}
			}
		}
	}
}

func (m *Mapping) columnSets() []map[field.Field]ColumnRef {
	sets := []map[field.Field]ColumnRef{m.Columns}
	for _, g := range m.Each {
		sets = append(sets, g.Columns)
	}
	return sets
}

// numbered reports that columns are named by number only, so that a file needs
// no heading.
func (m *Mapping) numbered() bool {
	any := false
	for ref := range m.Refs() {
		if ref.Number == 0 {
			return false
		}
		any = true
	}
	return any
}

// knows reports whether a text is the heading of a column that the mapping or
// its own name binds.
func (m *Mapping) knows(text string) bool {
	if text == "" {
		return false
	}
	if _, ok := field.ByName[field.HeadingName(text)]; ok {
		return true
	}
	for ref := range m.Refs() {
		if ref.Number == 0 && (field.SameHeading(ref.heading, text) || field.SameHeading(ref.heading, field.WithoutUnit(text))) {
			return true
		}
	}
	return false
}

// Shape is what the mapping says of how a text file lays its rows out.
func (m *Mapping) Shape() table.Shape {
	s := table.Shape{Delimiter: byte(m.delimiter), FixedWidth: m.FixedWidth, Report: m.Report, List: m.List, Knows: m.knows}
	if m.numbered() {
		for ref := range m.Refs() {
			s.Least = max(s.Least, ref.Number)
		}
	}
	for _, fd := range m.FillDown { // what holds for several records stands before each of them
		mapped := false
		for ref := range m.Refs() {
			if ref.Unit.Field == fd && ref.Number == 0 {
				s.Filled, mapped = append(s.Filled, ref.heading), true
			}
		}
		if !mapped {
			for name, fu := range field.ByName {
				if fu.Field == fd {
					s.Filled = append(s.Filled, name)
				}
			}
		}
	}
	return s
}

// binder finds a table's heading and binds its columns.
type binder struct {
	t    table.Table
	m    *Mapping
	list *diag.List
	file string
	h    *Heading
	used map[int]bool
	said []string // what was concluded of the file so far
	// before is how many errors the list held; more of them end the binding.
	before int
}

// Bind returns nil after adding problems.
func Bind(t table.Table, m *Mapping, file string, said []string, list *diag.List) *Heading {
	b := &binder{t: t, m: m, list: list, file: file, said: said, h: &Heading{}, used: map[int]bool{}, before: list.Errors()}
	if !b.find() {
		return nil
	}
	b.columns()
	if list.Errors() > b.before {
		return nil
	}
	b.askHeadings()
	b.unreadNote()
	return b.h
}

// find reads the rows of the heading.
func (b *binder) find() bool {
	m := b.m
	if t, ok := b.t.(table.SelfNamed); ok {
		b.h.Names = t.ColumnNames()
		return true
	}
	if m.numbered() && m.HeaderLine == 0 {
		return true
	}
	best, line, n := 0, m.HeaderLine, 0
	if line == 0 {
		for r := range b.t.Rows() {
			if n++; n > table.HeadingSearch {
				break
			}
			found := 0
			for _, c := range r.Cells {
				if m.knows(c.Text) || field.FromHeading(c.Text).Field != field.None {
					found++
				}
			}
			if found > best {
				best, line = found, r.Number
			}
		}
		if p := b.t.Fault(); p != nil {
			b.list.Add(*p)
			return false
		}
		if line == 0 || best < 2 && !m.numbered() {
			b.list.Add(diag.Problem{Code: "no-heading", Place: diag.Place{File: b.file},
				Message: "no row of this file names its columns",
				Because: append(b.whatStands(), b.said...),
				Also:    b.m.Says("delimiter", "the mapping says what parts the cells"),
				Mend:    "give header_line and columns in the file's entry of readings, or evidence_only: true if it holds no readings"})
			return false
		}
		b.h.Concluded = append(b.h.Concluded, fmt.Sprintf("heading at %s %d, where %s of fields stand", b.t.Line(), line, diag.Plural(best, "name")))
	}
	last := line + m.HeaderRows - 1
	var texts [][]string // of the heading's rows
	for r := range b.t.Rows() {
		switch {
		case r.Number < line:
		case r.Number <= last:
			row := make([]string, len(r.Cells))
			for i := range row {
				row[i] = strings.Join(strings.Fields(r.Cells[i].Text), " ")
			}
			texts = append(texts, row)
			b.h.Names = Headings(texts)
		default:
			if IsUnits(r, b.h.Names) {
				b.h.Skip = r.Number
				b.h.Concluded = append(b.h.Concluded, fmt.Sprintf("units at %s %d", b.t.Line(), r.Number))
			}
		}
		if r.Number > last {
			break
		}
	}
	if p := b.t.Fault(); p != nil && len(texts) == 0 {
		b.list.Add(*p)
		return false
	}
	if len(texts) == 0 {
		place := m.Place
		if place.File == "" { // a mapping that no job.yaml holds yet
			place.File = fmt.Sprint(b.file)
		}
		b.list.Add(diag.Problem{Code: "no-heading", Place: place,
			Message: fmt.Sprintf("%s has no row at %s %d, where the mapping puts the heading", b.file, b.t.Line(), line),
			Mend:    "correct header_line"})
		return false
	}
	b.h.Line = last
	for _, name := range b.h.Names {
		b.h.Bare = append(b.h.Bare, field.WithoutUnit(name))
	}
	return true
}

// Headings joins the texts of the heading's rows, top to bottom. In all but the
// last an empty cell continues the one at its left, as merged cells do.
func Headings(rows [][]string) []string {
	columns := 0
	for _, row := range rows {
		columns = max(columns, len(row))
	}
	names := make([]string, columns)
	for n, row := range rows {
		left := ""
		for i := range names {
			text := ""
			if i < len(row) {
				text = row[i]
			}
			if text == "" && n < len(rows)-1 {
				text = left
			}
			left = text
			names[i] = strings.TrimSpace(names[i] + " " + text)
		}
	}
	return names
}

// IsUnits reports a row in which every text is a unit, and adds them to the names that
// have none.
func IsUnits(r *table.Row, names []string) bool {
	n := 0
	for _, c := range r.Cells {
		switch _, ok := field.HeadingUnit(c.Text); {
		case ok:
			n++
		case c.Text != "" && c.Text != "-":
			return false
		}
	}
	if n == 0 {
		return false
	}
	for i := range r.Cells {
		if u, ok := field.HeadingUnit(r.Cells[i].Text); ok && i < len(names) {
			if _, has := field.HeadingUnit(names[i]); !has {
				names[i] += " (" + string(u) + ")"
			}
		}
	}
	return true
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
			if of := strings.TrimSpace(g[field.Wavelength].Fixed + " " + g[field.Direction].Fixed); len(h.Groups) > 1 && of != "" && !slices.ContainsFunc(h.Groups, func(o Group) bool {
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

// Takes reports that the slot takes its text, or a part of it, from a column.
func (s *Slot) Takes(column int) bool {
	return s.Column == column || s.Composed != nil && slices.Contains(s.ColumnsOf(), column)
}
