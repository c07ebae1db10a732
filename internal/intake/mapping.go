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
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
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

	columns   map[field]columnRef
	constants map[field]constant
	each      []eachGroup
	split     string // between the values in a cell

	timeFormat  *timeFormat // nil: ISO 8601
	location    *time.Location
	notMeasured []string
	overRange   []string
	doubledHour *time.Location        // the offset of the hour that comes twice; nil: asked
	mixedDates  bool                  // stored dates are right though others are texts
	given       []givenItem           // what may never match anything
	places      map[string]diag.Place // of its keys
	ignoreRows  []*pattern
	fillDown    []field
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
	unit    fieldUnit
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
	columns   map[field]columnRef
	constants map[field]constant
}

func newMapping() *mapping {
	return &mapping{headerRows: 1, columns: map[field]columnRef{}, constants: map[field]constant{}, lossIs: "positive", reflIs: "negative"}
}

// readMapping reads one entry of readings.
func (r *reader) readMapping(d *document, n *yaml.Node) {
	m := newMapping()
	m.place = d.at(n)
	before := r.list.Errors()
	ks := m.keys(d)
	ks["files"] = must(func(n *yaml.Node) {
		m.place = d.at(n)
		d.text("files", &m.files)(n)
		m.files = path.Clean(m.files)
		if _, err := path.Match(m.files, ""); err != nil || !strings.HasPrefix(m.files, "readings/") {
			d.fault(n, "bad-pattern", fmt.Sprintf("%q names no files of readings/", m.files), `want a name or a pattern such as "readings/day1*.csv"`, "")
			m.files = ""
		}
	})
	ks["evidence_only"] = opt(d.yes("evidence_only", &m.evidenceOnly))
	ks["mapping"] = opt(func(n *yaml.Node) {}) // read first, see below
	if shared := valueOf(n, "mapping"); shared != nil {
		r.readShared(d, shared, m)
	}
	d.object(n, "an entry of readings", ks)
	m.check(d, n)
	m.faulty = r.list.Errors() > before
	r.mappings = append(r.mappings, m)
}

// readShared reads a mapping file; what the entry itself says comes after it
// and so wins.
func (r *reader) readShared(d *document, n *yaml.Node, m *mapping) {
	name, ok := d.scalar(n, "mapping")
	if !ok {
		return
	}
	if !r.folder.exists(name) {
		d.fault(n, "missing-file", fmt.Sprintf("there is no file %q in the job folder", name), "want the name of a mapping file", "")
		return
	}
	data := r.folder.read(name, maxYAML)
	if data == nil {
		return
	}
	f := source.New(name, data)
	if !slices.ContainsFunc(r.folder.originals, func(o record.Original) bool { return o.Name == name }) {
		r.folder.keep(f)
	}
	shared := &document{file: f, list: r.list}
	if top := shared.root(); top != nil {
		shared.object(top, name, m.keys(shared))
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
func (m *mapping) keys(d *document) keys {
	ks := keys{
		"encoding":       opt(d.encoding(&m.encoding)),
		"delimiter":      opt(d.mark("delimiter", &m.delimiter, map[string]rune{",": ',', ";": ';', "\t": '\t', `\t`: '\t', "tab": '\t', "|": '|'}, `want ",", ";", "|" or tab`)),
		"decimal":        opt(d.mark("decimal", &m.decimal, map[string]rune{",": ',', ".": '.'}, `want "." or ","`)),
		"thousands":      opt(d.mark("thousands", &m.thousands, map[string]rune{",": ',', ".": '.', "'": '\'', " ": ' ', "space": ' '}, `want ",", ".", "'" or space`)),
		"header_line":    opt(d.count("header_line", 1, 100_000, &m.headerLine)),
		"header_rows":    opt(d.count("header_rows", 1, 3, &m.headerRows)),
		"sheet":          opt(d.pattern("sheet", &m.sheet)),
		"transposed":     opt(d.yes("transposed", &m.transposed)),
		"fixed_width":    opt(m.readFixedWidth(d)),
		"report":         opt(m.readReport(d)),
		"list":           opt(d.text("list", &m.list)),
		"columns":        opt(m.readColumns(d)),
		"each":           opt(m.readEach(d)),
		"split":          opt(oneOf(d, "split", &m.split, "/", "|", ";", "&", "+")),
		"time_format":    opt(d.timeFormat(&m.timeFormat)),
		"time_zone":      opt(m.readZone(d)),
		"not_measured":   opt(d.listed(m, "not_measured", &m.notMeasured)),
		"over_range":     opt(d.listed(m, "over_range", &m.overRange)),
		"doubled_hour":   opt(m.readDoubledHour(d)),
		"mixed_dates":    opt(d.yes("mixed_dates", &m.mixedDates)),
		"fill_down":      opt(m.readFillDown(d)),
		"ignore_rows":    opt(d.patternsOf(m, "ignore_rows", &m.ignoreRows)),
		"directions":     opt(m.readDirections(d)),
		"loss_is":        opt(oneOf(d, "loss_is", &m.lossIs, "positive", "negative")),
		"reflectance_is": opt(oneOf(d, "reflectance_is", &m.reflIs, "negative", "positive")),
		"in_row_order":   opt(d.yes("in_row_order", &m.inRowOrder)),
		"block":          opt(d.pattern("block", &m.block)),
		"preamble":       opt(d.patternsOf(m, "preamble", &m.preamble)),
		"file_name":      opt(d.pattern("file_name", &m.fileName)),
	}
	maps.Copy(ks, constantKeys(d, m.constants, false))
	return m.placed(d, ks)
}

// constantKeys are the fields to which the mapping itself gives a value.
func constantKeys(d *document, to map[field]constant, inEach bool) keys {
	ks := keys{}
	for name, fu := range fieldNames {
		f := fu.field
		if f.isValue() && (inEach || fu.unit == "" || f != fReference && f != fLength) || f == fWavelength && fu.unit == "" {
			continue // a measured value is never the same in all rows
		}
		ks[name] = opt(func(n *yaml.Node) {
			var s string
			if d.text(name, &s)(n); s != "" && d.fits(n, fu, s) {
				to[f] = constant{s, fu.unit, d.at(n)}
			}
		})
	}
	return ks
}

// fits checks a constant where it stands, rather than in every row.
func (d *document) fits(n *yaml.Node, fu fieldUnit, s string) bool {
	faults := d.list.Len()
	switch f := fu.field; f {
	case fDirection, fEnd:
		if _, ok := directionNamed(f, s, nil); !ok {
			d.fault(n, "unknown-direction", fmt.Sprintf("%q is not a direction", s), wantDirection(f), "")
		}
	case fWavelength:
		if fu.unit == quantity.Micrometre {
			v, err := quantity.Parse(s)
			if v = v.Mul(quantity.Int(1000)); err != nil || v.Less(quantity.Int(minWavelength)) || quantity.Int(maxWavelength).Less(v) || !v.Round(0).Equal(v) {
				d.fault(n, "not-a-wavelength", fmt.Sprintf("%q is not a wavelength in µm", s), "want such as 1.31", "")
			}
			break
		}
		var nm int
		d.count("wavelength_nm", minWavelength, maxWavelength, &nm)(n)
	case fReference:
		d.number("reference_dbm", minPower, maxPower, func(quantity.Decimal) {})(n)
	case fLength:
		d.number("length", 0, maxLength, func(quantity.Decimal) {})(n)
	case fDate, fReferenceDate:
		var day record.Date
		d.date(f.String(), &day)(n)
	case fTime, fReferenceTime:
		// An hour alone may stand beside a date.
		if _, err := parseISO(s); err != nil {
			if _, err := parseISO("2000-01-01 " + s); err != nil {
				d.fault(n, "not-a-time", fmt.Sprintf("%q is not a time", s), "want year-month-day and hour:minute, such as 2026-11-18 09:32", "")
			}
		}
	}
	return d.list.Len() == faults
}

func (m *mapping) readColumns(d *document) func(*yaml.Node) {
	ks := keys{}
	for name, fu := range fieldNames {
		ks[name] = opt(m.readColumn(d, fu, m.columns))
	}
	return d.within("columns", ks)
}

// readColumn reads the heading or the number of a field's column.
func (m *mapping) readColumn(d *document, fu fieldUnit, to map[field]columnRef) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := d.scalar(n, fu.name())
		if !ok {
			return
		}
		ref := columnRef{heading: s, unit: fu, place: d.at(n)}
		if n.Tag == "!!int" {
			v, err := strconv.Atoi(s)
			if err != nil || v < 1 || v > maxColumns {
				d.fault(n, "out-of-range", fmt.Sprintf("there is no column %s", s), "want a number from 1, or the heading in quotes", "")
				return
			}
			ref.number = v
		} else if !fu.field.isValue() && isTemplate(s) && !ref.readTemplate(d, n) {
			return
		}
		if was, twice := to[fu.field]; twice && was.place.File == ref.place.File {
			d.fault(n, "duplicate-key", fmt.Sprintf("%s and %s are the same field", was.unit.name(), fu.name()), "", "keep the one whose unit the file uses")
		}
		to[fu.field] = ref
	}
}

// readEach reads the readings of one row in wide form: measured fields name
// their columns, all others are constants, or name columns in braces.
func (m *mapping) readEach(d *document) func(*yaml.Node) {
	return func(n *yaml.Node) {
		m.each = nil
		d.items("each", func(n *yaml.Node) {
			g := eachGroup{columns: map[field]columnRef{}, constants: map[field]constant{}}
			ks := constantKeys(d, g.constants, true)
			for name, fu := range fieldNames {
				column, constant := m.readColumn(d, fu, g.columns), ks[name].read
				switch {
				case fu.field.isValue() || fu.field == fTime || fu.field == fDate:
					ks[name] = opt(column)
				case constant != nil:
					ks[name] = opt(func(n *yaml.Node) {
						if n.Kind == yaml.ScalarNode && isTemplate(n.Value) {
							column(n)
						} else {
							constant(n)
						}
					})
				}
			}
			ks["part"] = opt(d.count("part", 1, maxParts, &g.part))
			d.object(n, "an item of each", ks)
			m.each = append(m.each, g)
		})(n)
	}
}

func (m *mapping) readZone(d *document) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if s, ok := d.scalar(n, "time_zone"); ok {
			m.location = d.location(n, s)
		}
	}
}

func (m *mapping) readDirections(d *document) func(*yaml.Node) {
	read := func(direction string) key {
		return opt(func(n *yaml.Node) {
			if n.Kind == yaml.ScalarNode {
				n = &yaml.Node{Kind: yaml.SequenceNode, Content: []*yaml.Node{n}, Line: n.Line, Column: n.Column}
			}
			var texts []string
			d.texts("directions", &texts)(n)
			for _, s := range texts {
				if m.directions == nil {
					m.directions = map[string]string{}
				}
				m.directions[s] = direction
				m.give("directions", s, d.at(n))
			}
		})
	}
	return d.within("directions", keys{"A-B": read("A-B"), "B-A": read("B-A")})
}

func (m *mapping) readFillDown(d *document) func(*yaml.Node) {
	return func(n *yaml.Node) {
		m.fillDown = nil
		d.items("fill_down", func(n *yaml.Node) {
			s, ok := d.scalar(n, "an item of fill_down")
			if fu := fieldNames[s]; ok && (fu.field == noField || fu.field.isValue()) {
				// A measured value is never that of the row above.
				d.fault(n, "unknown-value", fmt.Sprintf("%q is not a field to fill down", s), "want such as link, date or instrument", "")
			} else if ok {
				m.fillDown = append(m.fillDown, fu.field)
			}
		})(n)
	}
}

// readFixedWidth reads the characters at which columns begin.
func (m *mapping) readFixedWidth(d *document) func(*yaml.Node) {
	return func(n *yaml.Node) {
		m.fixedWidth = nil
		d.items("fixed_width", func(n *yaml.Node) {
			at := 0
			d.count("fixed_width", 1, maxRow, &at)(n)
			if last := len(m.fixedWidth) - 1; at > 0 && last >= 0 && at <= m.fixedWidth[last] {
				d.fault(n, "out-of-order", fmt.Sprintf("a column at character %d does not begin behind the one before it", at), "want the characters at which columns begin, from left to right", "")
				return
			}
			m.fixedWidth = append(m.fixedWidth, at)
		})(n)
		if len(m.fixedWidth) > maxColumns {
			d.fault(n, "too-many-columns", fmt.Sprintf("there are more than %d columns", maxColumns), "", "")
		}
	}
}

// readReport reads the keys that begin a record: one, or a list.
func (m *mapping) readReport(d *document) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if n.Kind == yaml.ScalarNode {
			n = &yaml.Node{Kind: yaml.SequenceNode, Content: []*yaml.Node{n}, Line: n.Line, Column: n.Column}
		}
		m.report = nil
		d.texts("report", &m.report)(n)
	}
}

// maxParts is how many values a cell may hold.
const maxParts = 8

// check looks at what keys say together.
func (m *mapping) check(d *document, n *yaml.Node) {
	if parts := m.parts(); m.split == "" && parts > 0 {
		d.fault(n, "missing-key", "part is given, but not what stands between the values in a cell", `want such as split: "/"`, "")
	} else if m.split != "" && parts < 2 {
		d.fault(n, "missing-key", "split is given, but no items of each with part: 1 and part: 2", "", "say under each which of the values in a cell is which reading")
	}
	if len(m.fixedWidth) > 0 && (m.delimiter != 0 || len(m.report) > 0) || len(m.report) > 0 && (m.delimiter != 0 || m.transposed) {
		d.fault(n, "two-shapes", "only one of delimiter, fixed_width and report can be true of a file", "", "keep the one that fits; a report cannot be transposed")
	}
	if m.decimal != 0 && m.decimal == m.thousands {
		d.fault(n, "same-mark", "decimal and thousands are the same mark", "", "the file can use a mark for one of them only")
	}
}

// mark reads a single character by its names.
func (d *document) mark(what string, to *rune, known map[string]rune, want string) func(*yaml.Node) {
	return func(n *yaml.Node) {
		if n.Kind == yaml.ScalarNode {
			if r, ok := known[n.Value]; ok {
				*to = r
				return
			}
		}
		d.fault(n, "unknown-value", fmt.Sprintf("%q is not a mark for %s", n.Value, what), want, "")
	}
}

func (d *document) pattern(what string, to **pattern) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := d.scalar(n, what)
		if !ok {
			return
		}
		p, err := newPattern(s)
		if err != nil {
			d.fault(n, "bad-pattern", err.Error(), "want text with names in braces, such as Link: {link}", "")
			return
		}
		*to = p
	}
}
