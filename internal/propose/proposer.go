package propose

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/intake"
	"spanseal/internal/mapping"
	"spanseal/internal/quantity"
	"spanseal/internal/source"
	"spanseal/internal/table"
	"spanseal/internal/written"
)

// proposer is the state of one Propose.
type proposer struct {
	m                  *mapping.Mapping
	list               *diag.List
	name               string
	file               *source.File
	t                  table.Table
	filled             []string    // keys of a report that hold for several records
	parts              []*proposed // that make up the name of a link
	split              string      // between the values in a cell
	several            bool        // links in a row
	references         bool        // reference powers stand above the table, by wavelength
	entry              strings.Builder
	recognised, needed []string
	asRead             []intake.AsRead
	columns            []proposed
	keyed              map[field.Field]keyed // beside the table
	beside             map[int]bool          // rows of the table that hold no reading
	isSheet            bool
	sheets             int // that hold anything
	mark               rune
}

// proposed is a column of the sample.
type proposed struct {
	field.Sense
	name   string
	ref    string   // how a mapping names it
	values []string // that are not empty, of the first rows
	empty  int      // cells in rows that hold something
	taken  bool
	shown  map[table.Shown]int // what a workbook shows its values as
}

func (p *proposer) saw(format string, args ...any) {
	p.recognised = append(p.recognised, fmt.Sprintf(format, args...))
}

func (p *proposer) need(format string, args ...any) {
	p.needed = append(p.needed, fmt.Sprintf(format, args...))
}

// setConstant writes a key of the entry.
func (p *proposer) setConstant(key, value string) {
	lead := "    "
	if p.entry.Len() == 0 {
		lead = "  - "
	}
	fmt.Fprintf(&p.entry, "%s%s: %s\n", lead, key, value)
}

// all reports that a workbook shows every value of a column as one thing.
func (p *proposed) all(as table.Shown) bool { return len(p.values) > 0 && p.shown[as] == len(p.values) }

// counts reports whether a column holds whole numbers alone.
func (p *proposed) counts() bool {
	return p.share(func(s string) bool { _, ok := quantity.Whole(s); return ok }) == 100
}

// share returns how many of a column's values satisfy a test, out of 100.
func (p *proposed) share(test func(string) bool) int {
	n := 0
	for _, v := range p.values {
		if test(v) {
			n++
		}
	}
	if len(p.values) == 0 {
		return 0
	}
	return 100 * n / len(p.values)
}

// cellMark is the delimiter of the sample, between quotes of which a mark may
// stand all the same; it is never taken for one between values.
func (p *proposer) cellMark() string {
	if d := p.t.CellDelimiter(); d != 0 {
		return string(rune(d))
	}
	return ""
}

// column returns the column that the draft takes for a field, or nil.
func (p *proposer) column(f field.Field) *proposed {
	for i := range p.columns {
		if c := &p.columns[i]; c.taken && c.Field == f {
			return c
		}
	}
	return nil
}

// heads reports that a text is the heading of a column.
func (p *proposer) heads(text string) bool {
	return slices.ContainsFunc(p.columns, func(c proposed) bool { return c.name == text })
}

// bare is how a column is named inside braces.
func (p *proposed) bare() string {
	if s, err := strconv.Unquote(p.ref); err == nil {
		return s
	}
	return p.ref
}

// unitAs is the unit of a field about a reading: of wavelengths in micrometres
// too, which show by their size.
func (p *proposed) unitAs(f field.Field) quantity.Unit {
	if f != field.Wavelength {
		return f.Unit()
	}
	small := p.share(func(s string) bool {
		v, err := quantity.Parse(strings.Replace(s, ",", ".", 1))
		v = v.Mul(quantity.Int(1000))
		return err == nil && v.Less(quantity.Int(field.MaxWavelength+1)) && !v.Less(quantity.Int(field.MinWavelength))
	})
	if p.Unit == quantity.Micrometre || small == 100 {
		return quantity.Micrometre
	}
	return f.Unit()
}

// parts is how many numbers most cells of a column hold, or 0. Most must hold
// the same number of them, and no cell may hold a text.
func (p *proposed) parts(mark string) int {
	counts := map[int]int{}
	for _, v := range p.values {
		list := strings.Split(v, mark)
		if slices.ContainsFunc(list, func(s string) bool {
			return !written.Numeric(strings.TrimSpace(withoutUnitBehind(strings.TrimSpace(s), field.Units[p.Field])))
		}) {
			if !strings.ContainsFunc(v, unicode.IsDigit) {
				continue // no reading
			}
			return 0
		}
		counts[len(list)]++
	}
	most := 0
	for n := range counts {
		if most == 0 || counts[n] > counts[most] {
			most = n
		}
	}
	return most
}
