package mapping

import (
	"fmt"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/table"
)

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
				Fix:     "give header_line and columns in the file's readings entry, or evidence_only: true if it holds no readings"})
			return false
		}
		b.h.Concluded = append(b.h.Concluded, fmt.Sprintf("heading at %s %d (%s)", b.t.RowWord(), line, diag.Plural(best, "known column name")))
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
				b.h.Concluded = append(b.h.Concluded, fmt.Sprintf("units at %s %d", b.t.RowWord(), r.Number))
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
			Message: fmt.Sprintf("%s has no row at %s %d, where the mapping puts the heading", b.file, b.t.RowWord(), line),
			Fix:     "correct header_line"})
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
