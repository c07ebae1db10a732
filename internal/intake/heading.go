package intake

import (
	"fmt"
	"iter"
	"maps"
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// headingSearch is how many rows at the start may hold the heading.
const headingSearch = 200

// slot is where one field of a reading comes from: a column, a constant, or
// nowhere.
type slot struct {
	unit   quantity.Unit
	column int    // from zero; −1 where there is none
	fixed  string // the constant, or what a pattern found
	mark   rune   // of numbers in fixed; 0: the file's
}

func (s *slot) given() bool { return s.column >= 0 || s.fixed != "" }

// group is the slots of one reading of a row; long form has one group, wide
// form several.
type group [fieldCount]slot

// heading is how the columns of a table are bound.
type heading struct {
	line      int      // of its last row; 0 where columns go by number
	skip      int      // the row of units, or 0
	names     []string // by column
	bare      []string // the same without units
	groups    []group
	concluded []string
}

// refs yields every column that the mapping names.
func (m *mapping) refs() iter.Seq[columnRef] {
	return func(yield func(columnRef) bool) {
		for _, columns := range m.columnSets() {
			for _, f := range slices.Sorted(maps.Keys(columns)) {
				if !yield(columns[f]) {
					return
				}
			}
		}
	}
}

func (m *mapping) columnSets() []map[field]columnRef {
	sets := []map[field]columnRef{m.columns}
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

func sameHeading(a, b string) bool {
	return headingName(strings.Join(strings.Fields(a), " ")) == headingName(strings.Join(strings.Fields(b), " "))
}

// binder finds a table's heading and binds its columns.
type binder struct {
	t    table
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
func bind(t table, m *mapping, file string, said []string, list *diag.List) *heading {
	b := &binder{t: t, m: m, list: list, file: file, said: said, h: &heading{}, used: map[int]bool{}, before: list.Errors()}
	if !b.find() {
		return nil
	}
	b.columns()
	if list.Errors() > b.before {
		return nil
	}
	return b.h
}

// find reads the rows of the heading.
func (b *binder) find() bool {
	m := b.m
	if l, ok := b.t.(*listed); ok {
		b.h.names = l.names
		return true
	}
	if m.numbered() && m.headerLine == 0 {
		return true
	}
	best, line, n := 0, m.headerLine, 0
	if line == 0 {
		for r := range b.t.rows() {
			if n++; n > headingSearch {
				break
			}
			found := 0
			for _, c := range r.cells {
				if m.knows(c.text) || headingField(c.text).field != noField {
					found++
				}
			}
			if found > best {
				best, line = found, r.number
			}
		}
		if p := b.t.fault(); p != nil {
			b.list.Add(*p)
			return false
		}
		if line == 0 || best < 2 && !m.numbered() {
			b.list.Add(diag.Problem{Code: "no-heading", Place: diag.Place{File: b.file},
				Message: "no row of this file names its columns",
				Because: append([]string{fmt.Sprintf("the first %d rows were searched for names such as link, wavelength_nm, loss_db, and for those of the mapping", headingSearch)}, b.said...),
				Mend:    "give header_line and columns in the file's entry of readings, or evidence_only: true if it holds no readings"})
			return false
		}
		b.h.concluded = append(b.h.concluded, fmt.Sprintf("heading at %s %d, where %s of fields stand", b.t.line(), line, plural(best, "name")))
	}
	last := line + m.headerRows - 1
	var texts [][]string // of the heading's rows
	for r := range b.t.rows() {
		switch {
		case r.number < line:
		case r.number <= last:
			row := make([]string, len(r.cells))
			for i := range row {
				row[i] = strings.Join(strings.Fields(r.cells[i].text), " ")
			}
			texts = append(texts, row)
			b.h.names = headings(texts)
		default:
			if b.isUnits(r) {
				b.h.skip = r.number
				b.h.concluded = append(b.h.concluded, fmt.Sprintf("units at %s %d", b.t.line(), r.number))
			}
		}
		if r.number > last {
			break
		}
	}
	if p := b.t.fault(); p != nil && len(texts) == 0 {
		b.list.Add(*p)
		return false
	}
	if len(texts) == 0 {
		b.list.Add(diag.Problem{Code: "no-heading", Place: m.place,
			Message: fmt.Sprintf("%s has no row at %s %d, where the mapping puts the heading", b.file, b.t.line(), line),
			Mend:    "correct header_line"})
		return false
	}
	b.h.line = last
	for _, name := range b.h.names {
		b.h.bare = append(b.h.bare, withoutUnit(name))
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
func (b *binder) isUnits(r *row) bool {
	n := 0
	for _, c := range r.cells {
		switch _, ok := headingUnit(c.text); {
		case ok:
			n++
		case c.text != "" && c.text != "-":
			return false
		}
	}
	if n == 0 {
		return false
	}
	for i := range r.cells {
		if u, ok := headingUnit(r.cells[i].text); ok && i < len(b.h.names) {
			if _, has := headingUnit(b.h.names[i]); !has {
				b.h.names[i] += " (" + string(u) + ")"
			}
		}
	}
	return true
}

// headingField reads a heading that says a field by itself: "loss_db",
// "Loss (dB)".
func headingField(name string) fieldUnit {
	if fu, ok := fieldNames[headingName(name)]; ok {
		return fu
	}
	if open := strings.LastIndexAny(name, "(["); open > 0 {
		fu, ok := fieldNames[headingName(name[:open])]
		if u, has := headingUnit(name); ok && has && (fu.unit == "" || fu.unit == u) && slices.Contains(units[fu.field], u) {
			return fieldUnit{fu.field, u}
		}
	}
	return fieldUnit{}
}

// columns binds every group.
func (b *binder) columns() {
	for ref := range b.m.refs() {
		if hits := b.lookUp(ref); len(hits) == 1 {
			b.used[hits[0]] = true
		}
	}
	base := b.group(b.m.columns, b.m.constants, group{}.none())
	b.named(&base)
	if len(b.m.each) == 0 {
		b.h.groups = append(b.h.groups, base)
	}
	for _, e := range b.m.each {
		b.h.groups = append(b.h.groups, b.group(e.columns, e.constants, base))
	}
	if b.list.Errors() > b.before {
		return // what is missing may be what could not be read
	}
	for i := range b.h.groups {
		b.complete(&b.h.groups[i])
	}
}

func (group) none() (g group) {
	for i := range g {
		g[i].column = -1
	}
	return g
}

// group resolves the columns and constants of a mapping over those of g.
func (b *binder) group(columns map[field]columnRef, constants map[field]constant, g group) group {
	for f, c := range constants {
		g[f] = slot{unit: c.unit, column: -1, fixed: c.text, mark: '.'}
	}
	for _, f := range slices.Sorted(maps.Keys(columns)) {
		ref := columns[f]
		if i := b.resolve(ref); i >= 0 {
			g[f] = slot{unit: b.unit(ref.unit, i, func() diag.Place { return ref.place }), column: i}
		}
	}
	return g
}

// lookUp returns the columns that the mapping may mean.
func (b *binder) lookUp(ref columnRef) (hits []int) {
	if ref.number > 0 {
		return []int{ref.number - 1}
	}
	for i, name := range b.h.names {
		if sameHeading(name, ref.heading) || sameHeading(withoutUnit(name), ref.heading) {
			hits = append(hits, i)
		}
	}
	return hits
}

// resolve finds a column of the mapping, or returns −1 after adding a problem.
func (b *binder) resolve(ref columnRef) int {
	hits := b.lookUp(ref)
	switch len(hits) {
	case 1:
		return hits[0]
	case 0:
		want := ""
		if near := newNames(b.h.names).near(ref.heading); near != "" {
			want = fmt.Sprintf("did you mean %q?", near)
		}
		b.list.Add(diag.Problem{Code: "no-such-column", Place: ref.place,
			Message: fmt.Sprintf("no column of %s is headed %q", b.file, ref.heading), Want: want,
			Because: []string{fmt.Sprintf("the heading at %s %d reads: %s", b.t.line(), b.h.line, strings.Join(b.h.names, " | "))}})
	default:
		b.list.Add(diag.Problem{Code: "duplicate-heading", Place: ref.place,
			Message: fmt.Sprintf("columns %d and %d of %s are both headed %q", hits[0]+1, hits[1]+1, b.file, ref.heading),
			Mend:    fmt.Sprintf("name the column by its number: %s: %d", ref.unit.name(), hits[0]+1)})
	}
	return -1
}

func withoutUnit(name string) string {
	if _, ok := headingUnit(name); ok {
		if open := strings.LastIndexAny(name, "(["); open > 0 {
			return strings.TrimSpace(name[:open])
		}
	}
	return name
}

// unit settles the unit of a column from the mapping's name of the field and
// from the heading, which must not contradict each other.
func (b *binder) unit(fu fieldUnit, column int, place func() diag.Place) quantity.Unit {
	allowed := units[fu.field]
	if len(allowed) == 0 {
		return ""
	}
	said, has := quantity.Unit(""), false
	if column < len(b.h.names) {
		said, has = headingUnit(b.h.names[column])
	}
	switch {
	case has && !slices.Contains(allowed, said):
		b.list.Add(diag.Problem{Code: "unit-conflict", Place: place(),
			Message: fmt.Sprintf("column %d of %s is headed %q, and %s is not a unit of %s", column+1, b.file, b.h.names[column], said, fu.field)})
	case fu.unit != "" && has && said != fu.unit:
		b.list.Add(diag.Problem{Code: "unit-conflict", Place: place(),
			Message: fmt.Sprintf("column %d of %s is headed %q, but is mapped as %s", column+1, b.file, b.h.names[column], fu.name()),
			Mend:    "map it as " + fieldUnit{fu.field, said}.name()})
	case fu.unit != "":
		return fu.unit
	case has:
		return said
	case fu.field == fWavelength:
		return quantity.Nanometre // no other unit gives 600 to 1700
	default:
		b.list.Add(diag.Problem{Code: "no-unit", Place: place(),
			Message: fmt.Sprintf("the unit of %s is not said", fu.field),
			Want:    "want " + orList(namesOf(fu.field)),
			Mend:    "put the unit into the name of the field, or into the heading in brackets"})
	}
	return fu.unit
}

func namesOf(f field) []string {
	var list []string
	for _, u := range units[f] {
		list = append(list, fieldUnit{f, u}.name())
	}
	return list
}

// named binds the columns whose own names say what they are, unless the
// mapping binds the field otherwise.
func (b *binder) named(g *group) {
	mapped := len(b.m.columns)+len(b.m.each) > 0
	bound := map[field]int{}
	for i, name := range b.h.names {
		fu := headingField(name)
		switch {
		case name == "" || b.used[i]:
		case fu.field == noField:
			near := ""
			if !mapped {
				near = fieldNear(withoutUnit(name))
			}
			if near != "" && !g[fieldNames[near].field].given() && !b.heads(near) {
				b.list.Add(diag.Problem{Code: "unknown-column", Place: b.place(i),
					Message: fmt.Sprintf("%q is not the name of a field", name), Want: fmt.Sprintf("did you mean %q?", near),
					Mend: "correct the heading, or map the column under columns in the file's entry of readings"})
				continue
			}
			b.h.concluded = append(b.h.concluded, fmt.Sprintf("column %d %q is not read", i+1, name))
		case g[fu.field].given():
			if j, twice := bound[fu.field]; twice {
				b.list.Add(diag.Problem{Code: "duplicate-heading", Place: b.place(i),
					Message: fmt.Sprintf("columns %d and %d both hold %s", j+1, i+1, fu.field),
					Mend:    "say under columns in the file's entry of readings which one counts"})
			}
		default:
			g[fu.field] = slot{unit: b.unit(fu, i, func() diag.Place { return b.place(i) }), column: i}
			bound[fu.field] = i
		}
	}
}

// heads reports whether some column bears the exact name of a field.
func (b *binder) heads(name string) bool {
	return slices.ContainsFunc(b.h.names, func(s string) bool { return headingField(s).field == fieldNames[name].field })
}

var allFieldNames = newNames(named(fieldNames))

// fieldNear is the field name that a heading nearly is. Short words are near
// to too much.
func fieldNear(name string) string {
	if len(name) < 4 {
		return ""
	}
	return allFieldNames.near(headingName(name))
}

// place is the heading of a column; −1 is the heading as a whole.
func (b *binder) place(column int) diag.Place {
	for r := range b.t.rows() {
		if r.number == b.h.line {
			return b.t.place(r, column)
		}
	}
	return diag.Place{File: b.file}
}

// complete asks for what every reading needs.
func (b *binder) complete(g *group) {
	values := 0
	for f := fLoss; f < fieldCount; f++ {
		if g[f].column >= 0 {
			values++
		}
	}
	missing := func(what, mend string) {
		b.list.Add(diag.Problem{Code: "missing-column", Place: b.place(-1), Message: what, Mend: mend})
	}
	found := func(f field) bool { return g[f].given() || b.m.finds(f) }
	lossBy := g[fReference].given() && g[fReceived].given()
	switch {
	case !found(fLink):
		missing("no column says which link was measured", "add a column link, or map it under columns")
	case values == 0:
		missing("no column holds a reading", "add a column such as loss_db, or map one under columns or each")
	case g[fReceived].given() && !g[fReference].given():
		missing("received power without a reference power gives no loss", "map reference_dbm too")
	case g[fReference].column >= 0 && !lossBy && !g[fLoss].given():
		missing("reference power without a received power gives no loss", "map received_dbm too")
	}
	onlyLength := g[fLength].column >= 0 && values == 1
	if !found(fWavelength) && !onlyLength {
		missing("nothing says at which wavelength was measured", "add a column wavelength_nm, or name it in the file's entry of readings")
	}
	if f := g.needsDirection(); f != noField && !found(fDirection) && !found(fEnd) {
		missing("nothing says in which direction the "+quantityName(f)+" was measured", "add a column direction (A-B, B-A) or end (A, B), or name it in the file's entry of readings")
	}
}

// needsDirection returns a measured field of the group that means nothing
// without a direction.
func (g *group) needsDirection() field {
	for _, f := range []field{fLoss, fLossPerKm, fReceived, fReflectance, fReturnLoss, fOpticalReturnLoss} {
		if g[f].column >= 0 {
			return f
		}
	}
	return noField
}

func quantityName(f field) string {
	if q, ok := quantityOf[f]; ok {
		return strings.ReplaceAll(string(q), "_", " ")
	}
	return strings.ReplaceAll(string(record.InsertionLoss), "_", " ")
}

// finds reports whether a pattern of the mapping gives the field.
func (m *mapping) finds(f field) bool {
	for _, p := range append(slices.Clone(m.preamble), m.block, m.fileName, m.sheet) {
		if p != nil && slices.ContainsFunc(p.fields, func(fu fieldUnit) bool { return fu.field == f }) {
			return true
		}
	}
	return false
}

// because says how a column came to be read as a field.
func (h *heading) because(t table, g *group, f field) string {
	if _, isList := t.(*listed); isList {
		return "" // a key stands beside its value
	}
	s := g[f]
	name := fieldUnit{f, s.unit}.name()
	switch {
	case s.column < 0:
		return ""
	case h.line == 0:
		return "column " + strconv.Itoa(s.column+1) + " is " + name
	}
	return fmt.Sprintf("column %d is %s (header at %s %d)", s.column+1, name, t.line(), h.line)
}
