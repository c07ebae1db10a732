package mapping

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/near"
	"spanseal/internal/quantity"
	"spanseal/internal/table"
)

// columns binds every group.
func (b *binder) columns() {
	for ref := range b.m.Refs() {
		if hits := b.lookUp(ref); len(hits) == 1 {
			b.used[hits[0]] = true
		}
	}
	base := b.group(b.m.Columns, b.m.Constants, noGroup())
	b.named(&base)
	if len(b.m.Each) == 0 {
		b.h.Groups = append(b.h.Groups, base)
	}
	for _, e := range b.m.Each {
		g := b.group(e.Columns, e.Constants, base)
		if e.Part > 0 {
			b.takePart(&g, &e)
		}
		b.h.Groups = append(b.h.Groups, g)
	}
	if b.list.Errors() > b.before {
		return // what is missing may be what could not be read
	}
	for i := range b.h.Groups {
		b.complete(&b.h.Groups[i])
		if b.list.Errors() > b.before {
			return // the others lack the same
		}
	}
}

// Group resolves the columns and constants of a mapping over those of g.
func (b *binder) group(columns map[field.Field]ColumnRef, constants map[field.Field]Constant, g ReadingSlots) ReadingSlots {
	for f, c := range constants {
		g[f] = Slot{Unit: c.Unit, Column: -1, Fixed: c.Text, Mark: '.'}
	}
	for _, f := range slices.Sorted(maps.Keys(columns)) {
		ref := columns[f]
		var m *Composition
		i := -1
		if ref.template != nil {
			i, m = b.make(ref)
		} else {
			i = b.resolve(ref)
		}
		if i >= 0 {
			if len(field.Units[f]) > 0 && m == nil {
				b.askBracket(ref.Unit, i, ref.Number > 0, func() diag.Place { return ref.Place })
			}
			fixed := ""
			if f.OfMethod() { // what the file says stands for empty cells
				fixed = g[f].Fixed
			}
			g[f] = Slot{Unit: b.unit(ref.Unit, i, func() diag.Place { return ref.Place }), Column: i, Fixed: fixed, Composed: m}
		}
	}
	return g
}

// lookUp returns the columns that the mapping may mean.
func (b *binder) lookUp(ref ColumnRef) (hits []int) {
	if ref.Number > 0 {
		if b.h.Line > 0 && ref.Number > len(b.h.Names) {
			return nil
		}
		return []int{ref.Number - 1}
	}
	for i, name := range b.h.Names {
		if field.SameHeading(name, ref.heading) || field.SameHeading(field.WithoutUnit(name), ref.heading) {
			hits = append(hits, i)
		}
	}
	return hits
}

// resolve finds a column of the mapping, or returns −1 after adding a problem.
func (b *binder) resolve(ref ColumnRef) int {
	hits := b.lookUp(ref)
	switch len(hits) {
	case 1:
		return hits[0]
	case 0:
		want := ""
		if near := near.New(b.h.Names).To(ref.heading); near != "" && ref.Number == 0 {
			want = fmt.Sprintf("did you mean %q?", near)
		}
		b.list.Add(diag.Problem{Code: "no-such-column", Place: ref.Place,
			Message: fmt.Sprintf("%s has no column %s", b.file, ref), Want: want,
			Because: []string{b.reads()}})
	default:
		b.list.Add(diag.Problem{Code: "duplicate-heading", Place: ref.Place,
			Message: fmt.Sprintf("columns %d and %d of %s are both headed %q", hits[0]+1, hits[1]+1, b.file, ref.heading),
			Fix:     fmt.Sprintf("name the column by its number: %s: %d", ref.Unit.Name(), hits[0]+1)})
	}
	return -1
}

// reads says which names the columns have.
func (b *binder) reads() string {
	names := strings.Join(b.h.Names, " | ")
	if _, named := b.t.(table.SelfNamed); named {
		return "its keys are " + names
	}
	return fmt.Sprintf("the heading at %s %d reads: %s", b.t.RowWord(), b.h.Line, names)
}

// Unit settles the unit of a column from the mapping's name of the field and
// from the heading, which must not contradict each other.
func (b *binder) unit(fu field.InUnit, column int, place func() diag.Place) quantity.Unit {
	allowed := field.Units[fu.Field]
	if len(allowed) == 0 {
		return ""
	}
	said, has := quantity.Unit(""), false
	if column < len(b.h.Names) {
		said, has = field.HeadingUnit(b.h.Names[column])
	}
	switch {
	case has && !slices.Contains(allowed, said):
		p := diag.Problem{Code: "unit-conflict", Place: place(), Also: b.beside(place, column),
			Message: fmt.Sprintf("column %d of %s is headed %q, and %s is not a unit of %s", column+1, b.file, b.h.Names[column], said, fu.Field)}
		if said == quantity.DBm {
			p.Fix = mapPower
		}
		b.list.Add(p)
	case fu.Unit != "" && has && said != fu.Unit:
		b.list.Add(diag.Problem{Code: "unit-conflict", Place: place(), Also: b.beside(place, column),
			Message: fmt.Sprintf("column %d of %s is headed %q, but is mapped as %s", column+1, b.file, b.h.Names[column], fu.Name()),
			Fix:     "map it as " + field.InUnit{Field: fu.Field, Unit: said}.Name()})
	case fu.Unit != "":
		return fu.Unit
	case has:
		return said
	case fu.Field == field.Wavelength:
		return quantity.Nanometre // no other unit gives 600 to 1700
	default:
		b.list.Add(diag.Problem{Code: "no-unit", Place: place(),
			Message: fmt.Sprintf("the unit of %s is not stated", fu.Field),
			Want:    "want " + diag.Or(fu.Field.Names()),
			Fix:     "put the unit into the field name, or in brackets into the heading"})
	}
	return fu.Unit
}

// named binds the columns whose own names say what they are, unless the
// mapping binds the field otherwise.
func (b *binder) named(g *ReadingSlots) {
	mapped := len(b.m.Columns)+len(b.m.Each) > 0
	bound := map[field.Field]int{}
	for i, name := range b.h.Names {
		fu := field.FromHeading(name)
		switch {
		case name == "" || b.used[i]:
		case fu.Field == field.None:
			near := ""
			if !mapped {
				near = field.Near(field.WithoutUnit(name))
			}
			if u, ok := field.HeadingUnit(name); ok && u == quantity.DBm && near != "" {
				b.list.Add(diag.Problem{Code: "unit-conflict", Place: b.place(i), Message: fmt.Sprintf("%q is in dBm, which is a power", name),
					Want: "want received_dbm or reference_dbm", Fix: mapPower})
				continue
			}
			if near != "" && !g[field.ByName[near].Field].Given() && !b.heads(near) {
				b.list.Add(diag.Problem{Code: "unknown-column", Place: b.place(i),
					Message: fmt.Sprintf("%q is not a field name", name), Want: fmt.Sprintf("did you mean %q?", near),
					Fix: "map the column under columns in the file's readings entry"})
				continue
			}
			b.h.Unread = append(b.h.Unread, i)
			b.h.Concluded = append(b.h.Concluded, fmt.Sprintf("column %d %q is not read", i+1, name))
		case g[fu.Field].Given() && !(fu.Field.OfMethod() && g[fu.Field].Column < 0):
			if j, twice := bound[fu.Field]; twice {
				b.list.Add(diag.Problem{Code: "duplicate-heading", Place: b.place(i),
					Message: fmt.Sprintf("columns %d and %d both hold %s", j+1, i+1, fu.Field),
					Fix:     "name the one that counts under columns in the file's readings entry"})
				continue
			}
			b.h.Unread = append(b.h.Unread, i) // the mapping takes the field from elsewhere
			b.h.Concluded = append(b.h.Concluded, fmt.Sprintf("column %d %q is not read", i+1, name))
		default:
			// How a reading was made its own row says more narrowly than the file: the
			// constant stays for empty cells.
			g[fu.Field] = Slot{Unit: b.unit(fu, i, func() diag.Place { return b.place(i) }), Column: i, Fixed: g[fu.Field].Fixed}
			bound[fu.Field] = i
		}
	}
}

// heads reports whether some column bears the exact name of a field.
func (b *binder) heads(name string) bool {
	return slices.ContainsFunc(b.h.Names, func(s string) bool { return field.FromHeading(s).Field == field.ByName[name].Field })
}

// mapPower is the way out for a column in dBm that is taken for a loss.
const mapPower = "map it under columns as received_dbm, and the power without the link as reference_dbm: their difference is the loss"

// complete asks for what every reading needs.
func (b *binder) complete(g *ReadingSlots) {
	values := 0
	for f := field.Loss; f < field.Count; f++ {
		if g[f].Column >= 0 {
			values++
		}
	}
	missing := func(what, fix string) {
		b.list.Add(diag.Problem{Code: "missing-column", Place: b.place(-1), Message: what, Fix: fix})
	}
	found := func(f field.Field) bool { return g[f].Given() || b.m.finds(f) }
	lossBy := g[field.Reference].Given() && g[field.Received].Given()
	switch {
	case !found(field.Link) && !found(field.Strand):
		missing("no column says which link was measured", "add a column link, or map it under columns; or cable and strand, as the schedule has them")
	case values == 0:
		missing("no column holds a reading", "add a column such as loss_db, or map one under columns or each")
	case g[field.Received].Given() && !found(field.Reference):
		missing("received power without a reference power gives no loss", "map reference_dbm too")
	case g[field.Reference].Column >= 0 && !lossBy && !g[field.Loss].Given():
		missing("reference power without a received power gives no loss", "map received_dbm too")
	}
	if b.m.Untold {
		return
	}
	onlyLength := g[field.Length].Column >= 0 && values == 1
	if !found(field.Wavelength) && !onlyLength {
		missing("nothing says at which wavelength was measured", "add a column wavelength_nm, or name it in the file's readings entry")
	}
	if f := g.NeedsDirection(); f != field.None && !found(field.Direction) && !found(field.End) {
		missing("nothing says in which direction the "+f.QuantityName()+" was measured", "add a column direction (A-B, B-A) or end (A, B), or name it in the file's readings entry")
	}
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
func (b *binder) takePart(g *ReadingSlots, e *Each) {
	for f, ref := range e.Columns {
		s := &g[f]
		if s.Column < 0 || ref.template != nil && len(ref.template) > 1 {
			continue
		}
		s.Composed = &Composition{pieces: []piece{{"", s.Column}}, Part: e.Part, Parts: b.m.Parts(), Mark: b.m.Split}
	}
}
