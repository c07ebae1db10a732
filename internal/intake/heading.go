package intake

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

// slot is where one field of a reading comes from: a column, a constant, or
// nowhere.
type slot struct {
	unit   quantity.Unit
	column int    // from zero; −1 where there is none
	fixed  string // the constant, or what a pattern found
	mark   rune   // of numbers in fixed; 0: the file's
	made   *made  // how its text is made; nil: it is that of the column
}

func (s *slot) given() bool { return s.column >= 0 || s.fixed != "" }

// group is the slots of one reading of a row; long form has one group, wide
// form several.
type group [field.Count]slot

// heading is how the columns of a table are bound.
type heading struct {
	line      int      // of its last row; 0 where columns go by number
	skip      int      // the row of units, or 0
	names     []string // by column
	bare      []string // the same without units
	groups    []group
	unread    []int // columns with a heading that say nothing to us
	concluded []string
}

// columnsRead are the columns that some group takes a value from, from one.
func (h *heading) columnsRead() (columns []int) {
	for i := range h.groups {
		for _, s := range h.groups[i] {
			for _, column := range s.columnsOf() {
				if !slices.Contains(columns, column+1) {
					columns = append(columns, column+1)
				}
			}
		}
	}
	slices.Sort(columns)
	return columns
}

// refs yields every column that the mapping names.
func (m *mapping) refs() iter.Seq[columnRef] {
	return func(yield func(columnRef) bool) {
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

func (m *mapping) columnSets() []map[field.Field]columnRef {
	sets := []map[field.Field]columnRef{m.columns}
	for _, g := range m.each {
		sets = append(sets, g.columns)
	}
	return sets
}

// numbered reports that columns are named by number only, so that a file needs
// no heading.
func (m *mapping) numbered() bool {
	any := false
	for ref := range m.refs() {
		if ref.number == 0 {
			return false
		}
		any = true
	}
	return any
}

// knows reports whether a text is the heading of a column that the mapping or
// its own name binds.
func (m *mapping) knows(text string) bool {
	if text == "" {
		return false
	}
	if _, ok := field.ByName[field.HeadingName(text)]; ok {
		return true
	}
	for ref := range m.refs() {
		if ref.number == 0 && (field.SameHeading(ref.heading, text) || field.SameHeading(ref.heading, field.WithoutUnit(text))) {
			return true
		}
	}
	return false
}

// shape is what the mapping says of how a text file lays its rows out.
func (m *mapping) shape() table.Shape {
	s := table.Shape{Delimiter: byte(m.delimiter), FixedWidth: m.fixedWidth, Report: m.report, List: m.list, Knows: m.knows}
	if m.numbered() {
		for ref := range m.refs() {
			s.Least = max(s.Least, ref.number)
		}
	}
	for _, fd := range m.fillDown { // what holds for several records stands before each of them
		mapped := false
		for ref := range m.refs() {
			if ref.unit.Field == fd && ref.number == 0 {
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
	m    *mapping
	list *diag.List
	file string
	h    *heading
	used map[int]bool
	said []string // what was concluded of the file so far
	// before is how many errors the list held; more of them end the binding.
	before int
}

// bind returns nil after adding problems.
func bind(t table.Table, m *mapping, file string, said []string, list *diag.List) *heading {
	b := &binder{t: t, m: m, list: list, file: file, said: said, h: &heading{}, used: map[int]bool{}, before: list.Errors()}
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
		b.h.names = t.ColumnNames()
		return true
	}
	if m.numbered() && m.headerLine == 0 {
		return true
	}
	best, line, n := 0, m.headerLine, 0
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
				Also:    b.m.says("delimiter", "the mapping says what parts the cells"),
				Mend:    "give header_line and columns in the file's entry of readings, or evidence_only: true if it holds no readings"})
			return false
		}
		b.h.concluded = append(b.h.concluded, fmt.Sprintf("heading at %s %d, where %s of fields stand", b.t.Line(), line, diag.Plural(best, "name")))
	}
	last := line + m.headerRows - 1
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
			b.h.names = headings(texts)
		default:
			if b.isUnits(r) {
				b.h.skip = r.Number
				b.h.concluded = append(b.h.concluded, fmt.Sprintf("units at %s %d", b.t.Line(), r.Number))
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
		place := m.place
		if place.File == "" { // a mapping that no job.yaml holds yet
			place.File = fmt.Sprint(b.file)
		}
		b.list.Add(diag.Problem{Code: "no-heading", Place: place,
			Message: fmt.Sprintf("%s has no row at %s %d, where the mapping puts the heading", b.file, b.t.Line(), line),
			Mend:    "correct header_line"})
		return false
	}
	b.h.line = last
	for _, name := range b.h.names {
		b.h.bare = append(b.h.bare, field.WithoutUnit(name))
	}
	return true
}

// headings joins the texts of the heading's rows, top to bottom. In all but the
// last an empty cell continues the one at its left, as merged cells do.
func headings(rows [][]string) []string {
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

// isUnits reports a row in which every text is a unit.
func (b *binder) isUnits(r *table.Row) bool {
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
		if u, ok := field.HeadingUnit(r.Cells[i].Text); ok && i < len(b.h.names) {
			if _, has := field.HeadingUnit(b.h.names[i]); !has {
				b.h.names[i] += " (" + string(u) + ")"
			}
		}
	}
	return true
}
