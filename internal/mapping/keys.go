package mapping

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	_ "time/tzdata" // zones must be known on machines without a zone database

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/method"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/strict"
	"spanseal/internal/table"
	"spanseal/internal/written"
)

// Keys are those of a mapping, wherever it stands.
func (m *Mapping) Keys(d *strict.YAML) strict.Keys {
	ks := strict.Keys{
		"encoding":       strict.Opt(ReadEncoding(d, &m.Encoding)),
		"delimiter":      strict.Opt(readMark(d, "delimiter", &m.delimiter, map[string]rune{",": ',', ";": ';', "\t": '\t', `\t`: '\t', "tab": '\t', "|": '|'}, `want ",", ";", "|" or tab`)),
		"decimal":        strict.Opt(readMark(d, "decimal", &m.Decimal, map[string]rune{",": ',', ".": '.'}, `want "." or ","`)),
		"thousands":      strict.Opt(readMark(d, "thousands", &m.Thousands, map[string]rune{",": ',', ".": '.', "'": '\'', " ": ' ', "space": ' '}, `want ",", ".", "'" or space`)),
		"header_line":    strict.Opt(d.Count("header_line", 1, 100_000, &m.HeaderLine)),
		"header_rows":    strict.Opt(d.Count("header_rows", 1, 3, &m.HeaderRows)),
		"sheet":          strict.Opt(readPattern(d, "sheet", &m.Sheet)),
		"transposed":     strict.Opt(d.Yes("transposed", &m.Transposed)),
		"fixed_width":    strict.Opt(m.readFixedWidth(d)),
		"report":         strict.Opt(m.readReport(d)),
		"list":           strict.Opt(d.Text("list", &m.List)),
		"columns":        strict.Opt(m.readColumns(d)),
		"each":           strict.Opt(m.readEach(d)),
		"split":          strict.Opt(strict.OneOf(d, "split", &m.Split, "/", "|", ";", "&", "+")),
		"time_format":    strict.Opt(readTimeFormat(d, &m.TimeFormat)),
		"time_zone":      strict.Opt(m.readZone(d)),
		"not_measured":   strict.Opt(m.readTexts(d, "not_measured", &m.NotMeasured)),
		"over_range":     strict.Opt(m.readTexts(d, "over_range", &m.OverRange)),
		"doubled_hour":   strict.Opt(m.readDoubledHour(d)),
		"mixed_dates":    strict.Opt(d.Yes("mixed_dates", &m.MixedDates)),
		"fill_down":      strict.Opt(m.readFillDown(d)),
		"ignore_rows":    strict.Opt(m.readPatterns(d, "ignore_rows", &m.IgnoreRows)),
		"directions":     strict.Opt(m.readDirections(d)),
		"loss_is":        strict.Opt(strict.OneOf(d, "loss_is", &m.LossIs, "positive", "negative")),
		"reflectance_is": strict.Opt(strict.OneOf(d, "reflectance_is", &m.ReflectanceIs, "negative", "positive")),
		"in_row_order":   strict.Opt(d.Yes("in_row_order", &m.InRowOrder)),
		"block":          strict.Opt(readPattern(d, "block", &m.Block)),
		"preamble":       strict.Opt(m.readPatterns(d, "preamble", &m.Preamble)),
		"file_name":      strict.Opt(readPattern(d, "file_name", &m.FileName)),
	}
	maps.Copy(ks, ConstantKeys(d, m.Constants, false))
	return m.placed(d, ks)
}

// ConstantKeys are the fields to which the mapping itself gives a value.
func ConstantKeys(d *strict.YAML, to map[field.Field]Constant, inEach bool) strict.Keys {
	ks := strict.Keys{}
	for name, fu := range field.ByName {
		f := fu.Field
		if f.Measured() && (inEach || fu.Unit == "" || f != field.Reference && f != field.Length) || f == field.Wavelength && fu.Unit == "" {
			continue // a measured value is never the same in all rows
		}
		ks[name] = strict.Opt(func(n *yaml.Node) {
			var s string
			if d.Text(name, &s)(n); s != "" && fits(d, n, fu, s) {
				to[f] = Constant{s, fu.Unit, d.At(n)}
			}
		})
	}
	return ks
}

// fits checks a constant where it stands, rather than in every row.
func fits(d *strict.YAML, n *yaml.Node, fu field.InUnit, s string) bool {
	faults := d.List.Len()
	switch f := fu.Field; f {
	case field.Direction, field.End:
		if _, ok := written.Direction(f, s, nil); !ok {
			d.Fault(n, "unknown-direction", fmt.Sprintf("%q is not a direction", s), written.WantDirection(f), "")
		}
	case field.Wavelength:
		if fu.Unit == quantity.Micrometre {
			v, err := quantity.Parse(s)
			if v = v.Mul(quantity.Int(1000)); err != nil || v.Less(quantity.Int(field.MinWavelength)) || quantity.Int(field.MaxWavelength).Less(v) || !v.Round(0).Equal(v) {
				d.Fault(n, "not-a-wavelength", fmt.Sprintf("%q is not a wavelength in µm", s), "want a value such as 1.31", "")
			}
			break
		}
		var nm int
		d.Count("wavelength_nm", field.MinWavelength, field.MaxWavelength, &nm)(n)
	case field.Reference:
		d.Number("reference_dbm", field.MinPower, field.MaxPower, func(quantity.Decimal) {})(n)
	case field.Length:
		d.Number("length", 0, field.MaxLength, func(quantity.Decimal) {})(n)
	case field.ReferenceMethod, field.TestCords, field.Launch, field.Stage, field.Software, field.GroupIndex:
		if want := new(method.Said).Take(f, s); want != "" {
			d.Fault(n, "unknown-value", fmt.Sprintf("%q is not understood as %s", s, f.Noun()), want, "")
		}
	case field.Date, field.ReferenceDate:
		var day record.Date
		d.Date(f.String(), &day)(n)
	case field.Time, field.ReferenceTime:
		// An hour alone may stand beside a date.
		if _, err := written.ParseISO(s); err != nil {
			if _, err := written.ParseISO("2000-01-01 " + s); err != nil {
				d.Fault(n, "not-a-time", fmt.Sprintf("%q is not a time", s), "want year-month-day and hour:minute, such as 2026-11-18 09:32", "")
			}
		}
	}
	return d.List.Len() == faults
}

func (m *Mapping) readColumns(d *strict.YAML) func(*yaml.Node) {
	ks := strict.Keys{}
	for name, fu := range field.ByName {
		ks[name] = strict.Opt(m.readColumn(d, fu, m.Columns))
	}
	return d.Within("columns", ks)
}

// readColumn reads the heading or the number of a field's column.
func (m *Mapping) readColumn(d *strict.YAML, fu field.InUnit, to map[field.Field]ColumnRef) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := d.Scalar(n, fu.Name())
		if !ok {
			return
		}
		ref := ColumnRef{heading: s, Unit: fu, Place: d.At(n)}
		if n.Tag == "!!int" {
			v, err := strconv.Atoi(s)
			if err != nil || v < 1 || v > table.MaxColumns {
				d.Fault(n, "out-of-range", fmt.Sprintf("there is no column %s", s), "want a number from 1, or the heading in quotes", "")
				return
			}
			ref.Number = v
		} else if !fu.Field.Measured() && isTemplate(s) && !ref.readTemplate(d, n) {
			return
		}
		if was, twice := to[fu.Field]; twice && was.Place.File == ref.Place.File {
			d.Fault(n, "duplicate-key", fmt.Sprintf("%s and %s are the same field", was.Unit.Name(), fu.Name()), "", "keep the one whose unit the file uses")
		}
		to[fu.Field] = ref
	}
}

// readEach reads the readings of one row in wide form: measured fields name
// their columns, all others are constants, or name columns in braces.
func (m *Mapping) readEach(d *strict.YAML) func(*yaml.Node) {
	return func(n *yaml.Node) {
		m.Each = nil
		d.Items("each", func(n *yaml.Node) {
			g := Each{Columns: map[field.Field]ColumnRef{}, Constants: map[field.Field]Constant{}}
			ks := ConstantKeys(d, g.Constants, true)
			for name, fu := range field.ByName {
				column, constant := m.readColumn(d, fu, g.Columns), ks[name].Read
				switch {
				case fu.Field.Measured() || fu.Field == field.Time || fu.Field == field.Date:
					ks[name] = strict.Opt(column)
				case constant != nil:
					ks[name] = strict.Opt(func(n *yaml.Node) {
						if n.Kind == yaml.ScalarNode && isTemplate(n.Value) {
							column(n)
						} else {
							constant(n)
						}
					})
				}
			}
			ks["part"] = strict.Opt(d.Count("part", 1, MaxParts, &g.Part))
			d.Object(n, "an item of each", ks)
			m.Each = append(m.Each, g)
		})(n)
	}
}

func (m *Mapping) readZone(d *strict.YAML) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if s, ok := d.Scalar(n, "time_zone"); ok {
			m.Location = ZoneNamed(d, n, s)
		}
	}
}

func (m *Mapping) readDirections(d *strict.YAML) func(*yaml.Node) {
	read := func(direction string) strict.Key {
		return strict.Opt(func(n *yaml.Node) {
			if n.Kind == yaml.ScalarNode {
				n = &yaml.Node{Kind: yaml.SequenceNode, Content: []*yaml.Node{n}, Line: n.Line, Column: n.Column}
			}
			var texts []string
			d.Texts("directions", &texts)(n)
			for _, s := range texts {
				if m.Directions == nil {
					m.Directions = map[string]string{}
				}
				m.Directions[s] = direction
				m.give("directions", s, d.At(n))
			}
		})
	}
	return d.Within("directions", strict.Keys{"A-B": read("A-B"), "B-A": read("B-A")})
}

func (m *Mapping) readFillDown(d *strict.YAML) func(*yaml.Node) {
	return func(n *yaml.Node) {
		m.FillDown = nil
		d.Items("fill_down", func(n *yaml.Node) {
			s, ok := d.Scalar(n, "an item of fill_down")
			if fu := field.ByName[s]; ok && (fu.Field == field.None || fu.Field.Measured()) {
				// A measured value is never that of the row above.
				d.Fault(n, "unknown-value", fmt.Sprintf("%q is not a field to fill down", s), "want a value such as link, date or instrument", "")
			} else if ok {
				m.FillDown = append(m.FillDown, fu.Field)
			}
		})(n)
	}
}

// readFixedWidth reads the characters at which columns begin.
func (m *Mapping) readFixedWidth(d *strict.YAML) func(*yaml.Node) {
	return func(n *yaml.Node) {
		m.FixedWidth = nil
		d.Items("fixed_width", func(n *yaml.Node) {
			at := 0
			d.Count("fixed_width", 1, table.MaxRow, &at)(n)
			if last := len(m.FixedWidth) - 1; at > 0 && last >= 0 && at <= m.FixedWidth[last] {
				d.Fault(n, "out-of-order", fmt.Sprintf("the column at character %d does not begin after the one before it", at), "want the characters at which columns begin, from left to right", "")
				return
			}
			m.FixedWidth = append(m.FixedWidth, at)
		})(n)
		if len(m.FixedWidth) > table.MaxColumns {
			d.Fault(n, "too-many-columns", fmt.Sprintf("there are more than %d columns", table.MaxColumns), "", "")
		}
	}
}

// readReport reads the keys that begin a record: one, or a list.
func (m *Mapping) readReport(d *strict.YAML) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if n.Kind == yaml.ScalarNode {
			n = &yaml.Node{Kind: yaml.SequenceNode, Content: []*yaml.Node{n}, Line: n.Line, Column: n.Column}
		}
		m.Report = nil
		d.Texts("report", &m.Report)(n)
	}
}

// MaxParts is how many values a cell may hold.
const MaxParts = 8

// Check looks at what keys say together.
func (m *Mapping) Check(d *strict.YAML, n *yaml.Node) {
	if parts := m.Parts(); m.Split == "" && parts > 0 {
		d.Fault(n, "missing-key", "part is given, but not what stands between the values in a cell", `want a value such as split: "/"`, "")
	} else if m.Split != "" && parts < 2 {
		d.Fault(n, "missing-key", "split is given, but no items of each with part: 1 and part: 2", "", "say under each which of the values in a cell is which reading")
	}
	if len(m.FixedWidth) > 0 && (m.delimiter != 0 || len(m.Report) > 0) || len(m.Report) > 0 && (m.delimiter != 0 || m.Transposed) {
		d.Fault(n, "two-shapes", "only one of delimiter, fixed_width and report can be true of a file", "", "keep the one that fits; a report cannot be transposed")
	}
	if m.Decimal != 0 && m.Decimal == m.Thousands {
		d.Fault(n, "same-mark", "decimal and thousands are the same mark", "", "the file can use a mark for one of them only")
	}
}

// readMark reads a single character by its names.
func readMark(d *strict.YAML, what string, to *rune, known map[string]rune, want string) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if n.Kind == yaml.ScalarNode {
			if r, ok := known[n.Value]; ok {
				*to = r
				return
			}
		}
		d.Fault(n, "unknown-value", fmt.Sprintf("%q is not a mark for %s", n.Value, what), want, "")
	}
}

func readPattern(d *strict.YAML, what string, to **Pattern) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := d.Scalar(n, what)
		if !ok {
			return
		}
		p, err := NewPattern(s)
		if err != nil {
			d.Fault(n, "bad-pattern", err.Error(), "want text with names in braces, such as Link: {link}", "")
			return
		}
		*to = p
	}
}

// ReadEncoding reads the name of an encoding.
func ReadEncoding(d *strict.YAML, to *string) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := d.Scalar(n, "encoding")
		if !ok {
			return
		}
		if _, known := table.EncodingNamed(s); !known {
			d.Fault(n, "unknown-encoding", fmt.Sprintf("%q is not an encoding", s), "want a name such as utf-8, utf-16le, windows-1252, iso-8859-15 or cp850", "")
			return
		}
		*to = s
	}
}

func readTimeFormat(d *strict.YAML, to **written.TimeFormat) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := d.Scalar(n, "time_format")
		if !ok {
			return
		}
		f, err := written.NewTimeFormat(s)
		if err != nil {
			d.Fault(n, "bad-time-format", err.Error(), "want letters such as DD.MM.YYYY HH:mm or M/D/YYYY h:mm AM", "")
			return
		}
		*to = f
	}
}

// ZoneNamed reads a zone's name of the time zone database, or a fixed offset.
func ZoneNamed(d *strict.YAML, n *yaml.Node, s string) *time.Location {
	if off, rest, ok := written.Offset(s); ok && rest == "" {
		return time.FixedZone(s, off)
	}
	// "Local" and "" would make the result depend on the machine.
	loc, err := time.LoadLocation(s)
	if err != nil || s == "" || strings.EqualFold(s, "local") {
		d.Fault(n, "unknown-time-zone", fmt.Sprintf("%q is not a time zone", s), "want a name such as Europe/Dublin or America/Chicago, or an offset such as +01:00", "")
		return nil
	}
	return loc
}

// isTemplate reports a text that names columns in braces.
func isTemplate(s string) bool { return templateColumn.MatchString(s) }

var templateColumn = regexp.MustCompile(`\{([^{}]+)\}`)

// readTemplate reads a template into the columns that it names, with a
// reference for each; a number names a column by its number.
func (ref *ColumnRef) readTemplate(d *strict.YAML, n *yaml.Node) bool {
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

// readTexts reads texts that cells may hold.
func (m *Mapping) readTexts(d *strict.YAML, what string, to *[]string) func(*yaml.Node) {
	return func(n *yaml.Node) {
		*to = nil
		m.Given = slices.DeleteFunc(m.Given, func(g Given) bool { return g.Kind == what })
		d.Items(what, func(n *yaml.Node) {
			if s, ok := d.Scalar(n, "an item of "+what); ok {
				*to = append(*to, s)
				m.give(what, s, d.At(n))
				if what == "not_measured" && written.IsBound(s) {
					d.List.Add(diag.Problem{Severity: diag.Question, Code: "bound-not-measured", Place: d.At(n),
						Message: fmt.Sprintf("%q says that something was measured. Is it really not a reading?", s),
						Fix:     "list it under over_range if it means beyond the range of the instrument"})
				}
			}
		})(n)
	}
}

// readPatterns reads patterns that rows may fit.
func (m *Mapping) readPatterns(d *strict.YAML, what string, to *[]*Pattern) func(*yaml.Node) {
	return func(n *yaml.Node) {
		*to = nil
		m.Given = slices.DeleteFunc(m.Given, func(g Given) bool { return g.Kind == what })
		d.Items(what, func(n *yaml.Node) {
			var p *Pattern
			if readPattern(d, what, &p)(n); p != nil {
				*to = append(*to, p)
				m.give(what, p.Text, d.At(n))
			}
		})(n)
	}
}

func (m *Mapping) readDoubledHour(d *strict.YAML) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if s, ok := d.Scalar(n, "doubled_hour"); ok {
			if _, rest, is := written.Offset(s); !is || rest != "" {
				d.Fault(n, "unknown-time-zone", fmt.Sprintf("%q is not an offset", s), "want a value such as +01:00", "")
				return
			}
			m.DoubledHour = ZoneNamed(d, n, s)
		}
	}
}

// placed makes the keys of a mapping note where they stand: a fault in a file is
// as often one of the line that says how to read it.
func (m *Mapping) placed(d *strict.YAML, ks strict.Keys) strict.Keys {
	if m.Places == nil {
		m.Places = map[string]diag.Place{}
	}
	for name, k := range ks {
		read := k.Read
		k.Read = func(n *yaml.Node) {
			m.Places[name] = d.At(n)
			read(n)
		}
		ks[name] = k
	}
	return ks
}
