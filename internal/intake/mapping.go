package intake

import (
	"fmt"
	"maps"
	"path"
	"slices"
	"strconv"
	"strings"
	"time"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/strict"
	"spanseal/internal/table"
	"spanseal/internal/written"
)

// mapping says how to read the files of one kind of export: one entry of
// readings in job.yaml, or a file that several jobs share.
type mapping struct {
	files   string // a pattern of names; * and ? do not cross a slash
	place   diag.Place
	matched int

	evidenceOnly bool // keep the file, read nothing from it
	faulty       bool // the entry has problems, so its files cannot be read rightly

	encoding   string
	delimiter  rune // 0: told from the bytes
	decimal    rune // 0: told from the bytes
	thousands  rune // 0: none
	headerLine int  // 0: told from the bytes
	headerRows int
	sheet      *pattern // of sheets' names; nil: the only one that holds anything
	transposed bool     // names stand in the first column, and each reading in a column
	fixedWidth []int    // the characters at which columns begin, from one
	report     []string // the keys that begin a record of a report
	list       string   // the path of a JSON file's list; "" the only one

	columns   map[field.Field]columnRef
	constants map[field.Field]constant
	each      []eachGroup
	split     string // between the values in a cell

	timeFormat  *written.TimeFormat // nil: ISO 8601
	location    *time.Location
	notMeasured []string
	overRange   []string
	doubledHour *time.Location        // the offset of the hour that comes twice; nil: asked
	mixedDates  bool                  // stored dates are right though others are texts
	given       []givenItem           // what may never match anything
	places      map[string]diag.Place // of its keys
	ignoreRows  []*pattern
	fillDown    []field.Field
	directions  map[string]string
	lossIs      string // "positive", "negative"
	reflIs      string // "negative", "positive"
	inRowOrder  bool

	block    *pattern
	preamble []*pattern
	fileName *pattern
}

// columnRef names a column by its heading, or by its number from one where the
// mapping gives a bare number.
type columnRef struct {
	heading string
	number  int
	unit    field.InUnit
	place   diag.Place

	template []columnRef // that heading names in braces; nil where it has none
	literal  string      // of a template: a text between columns
}

// String is the column as the mapping names it.
func (c columnRef) String() string {
	if c.number > 0 {
		return strconv.Itoa(c.number)
	}
	return strconv.Quote(c.heading)
}

// constant is a value that the mapping gives for all rows.
type constant struct {
	text  string
	unit  quantity.Unit
	place diag.Place
}

// eachGroup is one reading out of several in a row.
type eachGroup struct {
	part      int // of the cells that its columns name, from one; 0: all of them
	columns   map[field.Field]columnRef
	constants map[field.Field]constant
}

func newMapping() *mapping {
	return &mapping{headerRows: 1, columns: map[field.Field]columnRef{}, constants: map[field.Field]constant{}, lossIs: "positive", reflIs: "negative"}
}

// readMapping reads one entry of readings.
func (r *reader) readMapping(d *strict.Document, n *yaml.Node) {
	m := newMapping()
	m.place = d.At(n)
	before := r.list.Errors()
	ks := m.keys(d)
	ks["files"] = strict.Must(func(n *yaml.Node) {
		m.place = d.At(n)
		d.Text("files", &m.files)(n)
		m.files = path.Clean(m.files)
		if _, err := path.Match(m.files, ""); err != nil || !strings.HasPrefix(m.files, "readings/") {
			d.Fault(n, "bad-pattern", fmt.Sprintf("%q names no files of readings/", m.files), `want a name or a pattern such as "readings/day1*.csv"`, "")
			m.files = ""
		}
	})
	ks["evidence_only"] = strict.Opt(d.Yes("evidence_only", &m.evidenceOnly))
	ks["mapping"] = strict.Opt(func(n *yaml.Node) {}) // read first, see below
	if shared := valueOf(n, "mapping"); shared != nil {
		r.readShared(d, shared, m)
	}
	d.Object(n, "an entry of readings", ks)
	m.check(d, n)
	m.faulty = r.list.Errors() > before
	r.mappings = append(r.mappings, m)
}

// readShared reads a mapping file; what the entry itself says comes after it
// and so wins.
func (r *reader) readShared(d *strict.Document, n *yaml.Node, m *mapping) {
	name, ok := d.Scalar(n, "mapping")
	if !ok {
		return
	}
	if !r.folder.exists(name) {
		d.Fault(n, "missing-file", fmt.Sprintf("there is no file %q in the job folder", name), "want the name of a mapping file", "")
		return
	}
	data := r.folder.read(name, table.MaxYAML)
	if data == nil {
		return
	}
	f := source.New(name, data)
	if !slices.ContainsFunc(r.folder.originals, func(o record.Original) bool { return o.Name == name }) {
		r.folder.keep(f)
	}
	shared := &strict.Document{File: f, List: r.list}
	if top := shared.Root(); top != nil {
		shared.Object(top, name, m.keys(shared))
	}
}

// valueOf returns the value of a key, or nil.
func valueOf(n *yaml.Node, key string) *yaml.Node {
	if n.Kind == yaml.MappingNode {
		for i := 0; i+1 < len(n.Content); i += 2 {
			if n.Content[i].Value == key {
				return n.Content[i+1]
			}
		}
	}
	return nil
}

// keys are those of a mapping, wherever it stands.
func (m *mapping) keys(d *strict.Document) strict.Keys {
	ks := strict.Keys{
		"encoding":       strict.Opt(readEncoding(d, &m.encoding)),
		"delimiter":      strict.Opt(readMark(d, "delimiter", &m.delimiter, map[string]rune{",": ',', ";": ';', "\t": '\t', `\t`: '\t', "tab": '\t', "|": '|'}, `want ",", ";", "|" or tab`)),
		"decimal":        strict.Opt(readMark(d, "decimal", &m.decimal, map[string]rune{",": ',', ".": '.'}, `want "." or ","`)),
		"thousands":      strict.Opt(readMark(d, "thousands", &m.thousands, map[string]rune{",": ',', ".": '.', "'": '\'', " ": ' ', "space": ' '}, `want ",", ".", "'" or space`)),
		"header_line":    strict.Opt(d.Count("header_line", 1, 100_000, &m.headerLine)),
		"header_rows":    strict.Opt(d.Count("header_rows", 1, 3, &m.headerRows)),
		"sheet":          strict.Opt(readPattern(d, "sheet", &m.sheet)),
		"transposed":     strict.Opt(d.Yes("transposed", &m.transposed)),
		"fixed_width":    strict.Opt(m.readFixedWidth(d)),
		"report":         strict.Opt(m.readReport(d)),
		"list":           strict.Opt(d.Text("list", &m.list)),
		"columns":        strict.Opt(m.readColumns(d)),
		"each":           strict.Opt(m.readEach(d)),
		"split":          strict.Opt(strict.OneOf(d, "split", &m.split, "/", "|", ";", "&", "+")),
		"time_format":    strict.Opt(readTimeFormat(d, &m.timeFormat)),
		"time_zone":      strict.Opt(m.readZone(d)),
		"not_measured":   strict.Opt(m.readTexts(d, "not_measured", &m.notMeasured)),
		"over_range":     strict.Opt(m.readTexts(d, "over_range", &m.overRange)),
		"doubled_hour":   strict.Opt(m.readDoubledHour(d)),
		"mixed_dates":    strict.Opt(d.Yes("mixed_dates", &m.mixedDates)),
		"fill_down":      strict.Opt(m.readFillDown(d)),
		"ignore_rows":    strict.Opt(m.readPatterns(d, "ignore_rows", &m.ignoreRows)),
		"directions":     strict.Opt(m.readDirections(d)),
		"loss_is":        strict.Opt(strict.OneOf(d, "loss_is", &m.lossIs, "positive", "negative")),
		"reflectance_is": strict.Opt(strict.OneOf(d, "reflectance_is", &m.reflIs, "negative", "positive")),
		"in_row_order":   strict.Opt(d.Yes("in_row_order", &m.inRowOrder)),
		"block":          strict.Opt(readPattern(d, "block", &m.block)),
		"preamble":       strict.Opt(m.readPatterns(d, "preamble", &m.preamble)),
		"file_name":      strict.Opt(readPattern(d, "file_name", &m.fileName)),
	}
	maps.Copy(ks, constantKeys(d, m.constants, false))
	return m.placed(d, ks)
}

// constantKeys are the fields to which the mapping itself gives a value.
func constantKeys(d *strict.Document, to map[field.Field]constant, inEach bool) strict.Keys {
	ks := strict.Keys{}
	for name, fu := range field.ByName {
		f := fu.Field
		if f.Measured() && (inEach || fu.Unit == "" || f != field.Reference && f != field.Length) || f == field.Wavelength && fu.Unit == "" {
			continue // a measured value is never the same in all rows
		}
		ks[name] = strict.Opt(func(n *yaml.Node) {
			var s string
			if d.Text(name, &s)(n); s != "" && fits(d, n, fu, s) {
				to[f] = constant{s, fu.Unit, d.At(n)}
			}
		})
	}
	return ks
}

// fits checks a constant where it stands, rather than in every row.
func fits(d *strict.Document, n *yaml.Node, fu field.InUnit, s string) bool {
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
				d.Fault(n, "not-a-wavelength", fmt.Sprintf("%q is not a wavelength in µm", s), "want such as 1.31", "")
			}
			break
		}
		var nm int
		d.Count("wavelength_nm", field.MinWavelength, field.MaxWavelength, &nm)(n)
	case field.Reference:
		d.Number("reference_dbm", field.MinPower, field.MaxPower, func(quantity.Decimal) {})(n)
	case field.Length:
		d.Number("length", 0, field.MaxLength, func(quantity.Decimal) {})(n)
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

func (m *mapping) readColumns(d *strict.Document) func(*yaml.Node) {
	ks := strict.Keys{}
	for name, fu := range field.ByName {
		ks[name] = strict.Opt(m.readColumn(d, fu, m.columns))
	}
	return d.Within("columns", ks)
}

// readColumn reads the heading or the number of a field's column.
func (m *mapping) readColumn(d *strict.Document, fu field.InUnit, to map[field.Field]columnRef) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := d.Scalar(n, fu.Name())
		if !ok {
			return
		}
		ref := columnRef{heading: s, unit: fu, place: d.At(n)}
		if n.Tag == "!!int" {
			v, err := strconv.Atoi(s)
			if err != nil || v < 1 || v > table.MaxColumns {
				d.Fault(n, "out-of-range", fmt.Sprintf("there is no column %s", s), "want a number from 1, or the heading in quotes", "")
				return
			}
			ref.number = v
		} else if !fu.Field.Measured() && isTemplate(s) && !ref.readTemplate(d, n) {
			return
		}
		if was, twice := to[fu.Field]; twice && was.place.File == ref.place.File {
			d.Fault(n, "duplicate-key", fmt.Sprintf("%s and %s are the same field", was.unit.Name(), fu.Name()), "", "keep the one whose unit the file uses")
		}
		to[fu.Field] = ref
	}
}

// readEach reads the readings of one row in wide form: measured fields name
// their columns, all others are constants, or name columns in braces.
func (m *mapping) readEach(d *strict.Document) func(*yaml.Node) {
	return func(n *yaml.Node) {
		m.each = nil
		d.Items("each", func(n *yaml.Node) {
			g := eachGroup{columns: map[field.Field]columnRef{}, constants: map[field.Field]constant{}}
			ks := constantKeys(d, g.constants, true)
			for name, fu := range field.ByName {
				column, constant := m.readColumn(d, fu, g.columns), ks[name].Read
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
			ks["part"] = strict.Opt(d.Count("part", 1, maxParts, &g.part))
			d.Object(n, "an item of each", ks)
			m.each = append(m.each, g)
		})(n)
	}
}

func (m *mapping) readZone(d *strict.Document) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if s, ok := d.Scalar(n, "time_zone"); ok {
			m.location = zoneNamed(d, n, s)
		}
	}
}

func (m *mapping) readDirections(d *strict.Document) func(*yaml.Node) {
	read := func(direction string) strict.Key {
		return strict.Opt(func(n *yaml.Node) {
			if n.Kind == yaml.ScalarNode {
				n = &yaml.Node{Kind: yaml.SequenceNode, Content: []*yaml.Node{n}, Line: n.Line, Column: n.Column}
			}
			var texts []string
			d.Texts("directions", &texts)(n)
			for _, s := range texts {
				if m.directions == nil {
					m.directions = map[string]string{}
				}
				m.directions[s] = direction
				m.give("directions", s, d.At(n))
			}
		})
	}
	return d.Within("directions", strict.Keys{"A-B": read("A-B"), "B-A": read("B-A")})
}

func (m *mapping) readFillDown(d *strict.Document) func(*yaml.Node) {
	return func(n *yaml.Node) {
		m.fillDown = nil
		d.Items("fill_down", func(n *yaml.Node) {
			s, ok := d.Scalar(n, "an item of fill_down")
			if fu := field.ByName[s]; ok && (fu.Field == field.None || fu.Field.Measured()) {
				// A measured value is never that of the row above.
				d.Fault(n, "unknown-value", fmt.Sprintf("%q is not a field to fill down", s), "want such as link, date or instrument", "")
			} else if ok {
				m.fillDown = append(m.fillDown, fu.Field)
			}
		})(n)
	}
}

// readFixedWidth reads the characters at which columns begin.
func (m *mapping) readFixedWidth(d *strict.Document) func(*yaml.Node) {
	return func(n *yaml.Node) {
		m.fixedWidth = nil
		d.Items("fixed_width", func(n *yaml.Node) {
			at := 0
			d.Count("fixed_width", 1, table.MaxRow, &at)(n)
			if last := len(m.fixedWidth) - 1; at > 0 && last >= 0 && at <= m.fixedWidth[last] {
				d.Fault(n, "out-of-order", fmt.Sprintf("a column at character %d does not begin behind the one before it", at), "want the characters at which columns begin, from left to right", "")
				return
			}
			m.fixedWidth = append(m.fixedWidth, at)
		})(n)
		if len(m.fixedWidth) > table.MaxColumns {
			d.Fault(n, "too-many-columns", fmt.Sprintf("there are more than %d columns", table.MaxColumns), "", "")
		}
	}
}

// readReport reads the keys that begin a record: one, or a list.
func (m *mapping) readReport(d *strict.Document) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if n.Kind == yaml.ScalarNode {
			n = &yaml.Node{Kind: yaml.SequenceNode, Content: []*yaml.Node{n}, Line: n.Line, Column: n.Column}
		}
		m.report = nil
		d.Texts("report", &m.report)(n)
	}
}

// maxParts is how many values a cell may hold.
const maxParts = 8

// check looks at what keys say together.
func (m *mapping) check(d *strict.Document, n *yaml.Node) {
	if parts := m.parts(); m.split == "" && parts > 0 {
		d.Fault(n, "missing-key", "part is given, but not what stands between the values in a cell", `want such as split: "/"`, "")
	} else if m.split != "" && parts < 2 {
		d.Fault(n, "missing-key", "split is given, but no items of each with part: 1 and part: 2", "", "say under each which of the values in a cell is which reading")
	}
	if len(m.fixedWidth) > 0 && (m.delimiter != 0 || len(m.report) > 0) || len(m.report) > 0 && (m.delimiter != 0 || m.transposed) {
		d.Fault(n, "two-shapes", "only one of delimiter, fixed_width and report can be true of a file", "", "keep the one that fits; a report cannot be transposed")
	}
	if m.decimal != 0 && m.decimal == m.thousands {
		d.Fault(n, "same-mark", "decimal and thousands are the same mark", "", "the file can use a mark for one of them only")
	}
}

// readMark reads a single character by its names.
func readMark(d *strict.Document, what string, to *rune, known map[string]rune, want string) func(*yaml.Node) {
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

func readPattern(d *strict.Document, what string, to **pattern) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := d.Scalar(n, what)
		if !ok {
			return
		}
		p, err := newPattern(s)
		if err != nil {
			d.Fault(n, "bad-pattern", err.Error(), "want text with names in braces, such as Link: {link}", "")
			return
		}
		*to = p
	}
}

// readEncoding reads the name of an encoding.
func readEncoding(d *strict.Document, to *string) func(*yaml.Node) {
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

func readTimeFormat(d *strict.Document, to **written.TimeFormat) func(*yaml.Node) {
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
