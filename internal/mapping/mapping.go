// Package mapping says how the files of one kind of export are read, and binds the
// columns of a table by it.
//
// A [Mapping] is one entry of readings in job.yaml, or a file that several jobs share.
// [Bind] finds a table's heading and gives each reading of a row its slots: a column, a
// constant, a text put together of several cells, or nothing. A column is bound by the
// mapping or by its exact name, never by a likeness; a heading whose unit, or whose
// words, contradict what it is mapped as is a problem or a question.
package mapping

import (
	"iter"
	"maps"
	"slices"
	"strconv"
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/quantity"
	"spanseal/internal/table"
	"spanseal/internal/written"
)

// Mapping says how to read the files of one kind of export: one entry of
// readings in job.yaml, or a file that several jobs share.
type Mapping struct {
	Files   string // a pattern of names; * and ? do not cross a slash
	Place   diag.Place
	Matched int

	EvidenceOnly bool // keep the file, read nothing from it
	Untold       bool // wavelength and direction are still to be told: a draft, read for its links
	Faulty       bool // the entry has problems, so its files cannot be read rightly

	Encoding   string
	delimiter  rune // 0: told from the bytes
	Decimal    rune // 0: told from the bytes
	Thousands  rune // 0: none
	HeaderLine int  // 0: told from the bytes
	HeaderRows int
	Sheet      *Pattern // of sheets' names; nil: the only one that holds anything
	Transposed bool     // names stand in the first column, and each reading in a column
	FixedWidth []int    // the characters at which columns begin, from one
	Report     []string // the keys that begin a record of a report
	List       string   // the path of a JSON file's list; "" the only one

	Columns   map[field.Field]ColumnRef
	Constants map[field.Field]Constant
	Each      []Each
	Split     string // between the values in a cell

	TimeFormat    *written.TimeFormat // nil: ISO 8601
	Location      *time.Location
	NotMeasured   []string
	OverRange     []string
	DoubledHour   *time.Location        // the offset of the hour that comes twice; nil: asked
	MixedDates    bool                  // stored dates are right though others are texts
	Given         []Given               // what may never match anything
	Places        map[string]diag.Place // of its keys
	IgnoreRows    []*Pattern
	FillDown      []field.Field
	Directions    map[string]string
	LossIs        string // "positive", "negative"
	ReflectanceIs string // "negative", "positive"
	InRowOrder    bool

	Block    *Pattern
	Preamble []*Pattern
	FileName *Pattern
}

// ColumnRef names a column by its heading, or by its number from one where the
// mapping gives a bare number.
type ColumnRef struct {
	heading string
	Number  int
	Unit    field.InUnit
	Place   diag.Place

	template []ColumnRef // that heading names in braces; nil where it has none
	literal  string      // of a template: a text between columns
}

// String is the column as the mapping names it.
func (c ColumnRef) String() string {
	if c.Number > 0 {
		return strconv.Itoa(c.Number)
	}
	return strconv.Quote(c.heading)
}

// Constant is a value that the mapping gives for all rows.
type Constant struct {
	Text  string
	Unit  quantity.Unit
	Place diag.Place
}

// Each is one reading out of several in a row.
type Each struct {
	Part      int // of the cells that its columns name, from one; 0: all of them
	Columns   map[field.Field]ColumnRef
	Constants map[field.Field]Constant
}

// New is the mapping of an entry that says nothing.
func New() *Mapping {
	return &Mapping{HeaderRows: 1, Columns: map[field.Field]ColumnRef{}, Constants: map[field.Field]Constant{}, LossIs: "positive", ReflectanceIs: "negative"}
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

// finds reports whether a pattern of the mapping gives the field.
func (m *Mapping) finds(f field.Field) bool {
	for _, p := range append(slices.Clone(m.Preamble), m.Block, m.FileName, m.Sheet) {
		if p != nil && (f == field.Reference || !p.PerWavelength()) && slices.ContainsFunc(p.Fields, func(fu field.InUnit) bool { return fu.Field == f }) {
			return true
		}
	}
	return false
}

// Parts is how many values a cell may hold.
func (m *Mapping) Parts() (n int) {
	for _, e := range m.Each {
		n = max(n, e.Part)
	}
	return n
}

// pieces yields the columns that a reference names: itself, or those of its
// template.
func (ref ColumnRef) columns() []ColumnRef {
	if ref.template == nil {
		return []ColumnRef{ref}
	}
	return slices.DeleteFunc(slices.Clone(ref.template), func(p ColumnRef) bool { return p.literal != "" })
}

// Says is the place of a key of the mapping as a second place of a problem.
func (m *Mapping) Says(key, what string) []diag.Beside {
	if place, ok := m.Places[key]; ok && place.File != "" {
		return []diag.Beside{{Place: place, What: what}}
	}
	return nil
}

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
