package intake

import (
	"errors"
	"fmt"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// Proposal is the draft of an entry of readings in job.yaml, made from a sample
// export. It is for a person to read and correct: what the sample does not show
// stands under Needed, and is not filled in.
type Proposal struct {
	// Entry is YAML: one item of the list readings, two spaces deep.
	Entry string
	// Recognised and Needed are sentences, one a line.
	Recognised, Needed []string
	name               string
}

// YAML is the draft as it may be put at the end of job.yaml, with what is
// needed as remarks above the entry.
func (p *Proposal) YAML() string {
	var b strings.Builder
	b.WriteString("readings:\n")
	if len(p.Needed) > 0 {
		fmt.Fprintf(&b, "  # Drafted from %s. To be told, or to be looked at:\n", diag.Safe(p.name))
		for _, n := range p.Needed {
			fmt.Fprintf(&b, "  # - %s\n", diag.Safe(n))
		}
	}
	return b.String() + p.Entry
}

// Propose drafts the entry for a sample export: delimited text or a workbook.
// The list holds why none could be made.
func Propose(name string, raw []byte) (*Proposal, *diag.List) {
	list := &diag.List{}
	p := &proposer{m: newMapping(), list: list, name: path.Base(name)}
	p.setConstant("files", strconv.Quote("readings/"+p.name))
	t, done := p.open(source.New(p.name, raw))
	if t == nil {
		return nil, list
	}
	defer done()
	if !p.heading(t) {
		return nil, list
	}
	p.values(t)
	p.assign()
	p.marks()
	p.try(t)
	return &Proposal{Entry: p.entry.String(), Recognised: p.recognised, Needed: p.needed, name: p.name}, list
}

// proposer is the state of one Propose.
type proposer struct {
	m                  *mapping
	list               *diag.List
	name               string
	file               *source.File
	entry              strings.Builder
	recognised, needed []string
	columns            []proposed
	isSheet            bool
	mark               rune
}

// proposed is a column of the sample.
type proposed struct {
	sense
	name   string
	values []string // that are not empty, of the first rows
	taken  bool
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

// open makes a table of the sample.
func (p *proposer) open(raw *source.File) (table, func()) {
	switch kindOfFile(raw.Name) {
	case "workbook":
		return p.openSheet(raw)
	case "yaml":
		p.list.Add(diag.Problem{Code: "no-mapping", Place: diag.Place{File: raw.Name}, Message: "a YAML file of readings needs no mapping",
			Mend: "give it a list readings whose items have the keys link, wavelength_nm, direction, loss_db, time"})
		return nil, nil
	}
	f, how, problem := decode(raw, "")
	if problem != nil && problem.Code == "not-utf-8" {
		p.need("the encoding: windows-1252 was assumed for this draft; look whether accented letters are right")
		p.setConstant("encoding", "windows-1252")
		f, how, problem = decode(raw, "windows-1252")
	}
	if problem == nil {
		p.saw("%s", how)
		var t *delimited
		if t, how, problem = openDelimited(f, p.m); problem == nil {
			p.file = f
			if how != "" {
				p.saw("%s", how)
			}
			name := string(t.delimiter)
			if name == "\t" {
				name = "tab"
			}
			p.setConstant("delimiter", strconv.Quote(name))
			return t, func() {}
		}
	}
	p.list.Add(*problem)
	return nil, nil
}

func (p *proposer) openSheet(raw *source.File) (table, func()) {
	p.isSheet, p.file = true, raw
	book, err := openBook(raw)
	if err != nil {
		p.list.Add(brokenBook(raw.Name, err))
		return nil, nil
	}
	t := &sheet{file: raw, book: book, since1904: since1904(book)}
	filled := filledSheets(raw, book)
	if len(filled) == 0 {
		p.list.Add(diag.Problem{Code: "empty-file", Place: diag.Place{File: raw.Name}, Message: "no sheet of the workbook holds anything"})
		return nil, nil
	}
	t.name = filled[0]
	if len(filled) > 1 {
		p.need("the sheet: the draft takes the first of %s", strings.Join(filled, ", "))
	}
	p.setConstant("sheet", quoted(t.name))
	return t, func() { book.Close() }
}

// heading finds the row whose words say most, and whether the row above it is
// part of it.
func (p *proposer) heading(t table) bool {
	best, n := 0, 0
	var above, last, found []string
	line := 0
	for r := range t.rows() {
		if n++; n > headingSearch {
			break
		}
		var texts []string
		score := 0
		for _, c := range r.cells {
			texts = append(texts, c.text)
			if s := senseOf(c.text); c.text != "" && (s.field != noField || s.wavelength > 0 || s.direction != "") && !numeric(c.text) {
				score++
			}
		}
		if score > best {
			best, line, above, found = score, r.number, last, texts
		}
		last = texts
	}
	if fault := t.fault(); fault != nil {
		p.list.Add(*fault)
		return false
	}
	if best < 2 {
		p.list.Add(diag.Problem{Code: "no-heading", Place: diag.Place{File: p.name}, Message: "no row of the first 200 has words that name a link and a reading",
			Mend: "write the entry by hand: say header_line, and the columns by their headings or numbers"})
		return false
	}
	names := headings([][]string{found})
	rows := 1
	if repeats(names) && above != nil {
		if joined := headings([][]string{above, found}); !repeats(joined) {
			names, rows, line = joined, 2, line-1
		}
	}
	p.m.headerLine, p.m.headerRows = line, rows
	p.setConstant("header_line", strconv.Itoa(line))
	if rows > 1 {
		p.setConstant("header_rows", strconv.Itoa(rows))
	}
	p.saw("heading at %s %d: %s", t.line(), line, strings.Join(names, " | "))
	for _, name := range names {
		p.columns = append(p.columns, proposed{sense: senseOf(name), name: name})
	}
	return true
}

func numeric(s string) bool {
	_, point := quantity.Parse(s)
	_, comma := quantity.ParseMark(s, ',')
	return point == nil || comma == nil
}

func repeats(names []string) bool {
	seen := map[string]bool{}
	for _, n := range names {
		if n != "" && seen[n] {
			return true
		}
		seen[n] = true
	}
	return false
}

// values keeps what stands in the first rows below the heading.
func (p *proposer) values(t table) {
	const most = 500
	first := p.m.headerLine + p.m.headerRows
	for r := range t.rows() {
		if r.number < first || r.number > first+most {
			continue
		}
		if r.number == first {
			b := &binder{h: &heading{names: make([]string, len(r.cells))}}
			if b.isUnits(r) {
				p.saw("units at %s %d", t.line(), r.number)
				for i, c := range r.cells {
					if u, ok := unitNamed(c.text); ok && i < len(p.columns) && p.columns[i].unit == "" {
						p.columns[i].unit = u
					}
				}
				continue
			}
		}
		for i := range p.columns {
			if text := r.at(i); text != "" {
				p.columns[i].values = append(p.columns[i].values, strings.Clone(text))
			}
		}
	}
}

// share returns how many of a column's values satisfy a test, out of 100.
func (c *proposed) share(test func(string) bool) int {
	n := 0
	for _, v := range c.values {
		if test(v) {
			n++
		}
	}
	if len(c.values) == 0 {
		return 0
	}
	return 100 * n / len(c.values)
}

// assign says which column is which field.
func (p *proposer) assign() {
	var shared []string
	said := map[field]string{}
	for f := fLink; f < fLoss; f++ {
		for i := range p.columns {
			c := &p.columns[i]
			if c.field != f || c.wavelength > 0 || c.taken || c.name == "" {
				continue
			}
			if other, twice := said[f]; twice {
				p.need("which column is the %s: the draft takes %q, not %q", f, other, c.name)
				continue
			}
			said[f], c.taken = c.name, true
			if headingField(c.name).field != f { // else its own name binds it
				shared = append(shared, fmt.Sprintf("%s: %s", fieldUnit{f, unitOf(f)}.name(), quoted(c.name)))
			}
		}
	}
	each := p.wide()
	if len(each) == 0 {
		for i := range p.columns {
			c := &p.columns[i]
			if !c.field.isValue() || c.taken {
				continue
			}
			c.taken = true
			if fu, ok := p.valueField(c); ok && headingField(c.name) != fu {
				shared = append(shared, fmt.Sprintf("%s: %s", fu.name(), quoted(c.name)))
			}
		}
	}
	if len(shared) > 0 {
		p.entry.WriteString("    columns:\n")
		for _, s := range shared {
			p.entry.WriteString("      " + s + "\n")
		}
	}
	if len(each) > 0 {
		p.entry.WriteString("    each:\n")
		for _, s := range each {
			p.entry.WriteString("      - {" + s + "}\n")
		}
	}
	if said[fLink] == "" {
		p.need("which column names the link: add it under columns, or give file_name or preamble a pattern with {link}")
	}
	if len(each) == 0 {
		if said[fWavelength] == "" {
			p.need("the wavelength: add wavelength_nm: 1310 if it holds for the whole file")
		}
		if said[fDirection] == "" && said[fEnd] == "" {
			p.need("the direction: add direction: A-B or B-A if it holds for the whole file")
		}
	}
	for _, c := range p.columns {
		if !c.taken && c.name != "" {
			p.saw("column %q is not read", c.name)
		}
	}
}

func unitOf(f field) quantity.Unit {
	if us := units[f]; len(us) > 0 {
		return us[0]
	}
	return ""
}

// valueField settles field and unit of a measured column; not ok where it
// cannot be said.
func (p *proposer) valueField(c *proposed) (fieldUnit, bool) {
	fu := fieldUnit{c.field, c.unit}
	switch {
	case fu.field == noField && fu.unit == quantity.DBm:
		fu.field = fReceived
	case fu.field == fReference && fu.unit == "":
		fu.unit = quantity.DBm // a reference is a power, or it is none of ours
	case fu.field == fLoss && fu.unit == quantity.DBPerKm:
		fu.field = fLossPerKm
	}
	allowed := units[fu.field]
	switch {
	case slices.Contains(allowed, fu.unit):
		return fu, true
	case fu.unit == "" && len(allowed) == 1:
		return fieldUnit{fu.field, allowed[0]}, true
	}
	p.need("the unit of %q: %s", c.name, orList(namesOf(fu.field)))
	return fu, false
}

// wide groups columns that name a wavelength into readings.
func (p *proposer) wide() (each []string) {
	type group struct {
		wavelength int
		direction  string
	}
	var order []group
	parts := map[group][]string{}
	references := map[int]string{} // by wavelength
	unsaid := map[field][]string{} // headings that do not say what they hold
	for i := range p.columns {
		c := &p.columns[i]
		if c.wavelength > 0 && c.field == fReference {
			references[c.wavelength], c.taken = c.name, true
		}
	}
	for i := range p.columns {
		c := &p.columns[i]
		if c.wavelength == 0 || c.taken || c.name == "" {
			continue
		}
		if !c.field.isValue() {
			c.field = fLoss // decided by what stands in it
			if references[c.wavelength] != "" || c.unit == quantity.DBm {
				c.field = fReceived
			}
			unsaid[c.field] = append(unsaid[c.field], strconv.Quote(c.name))
		}
		fu, ok := p.valueField(c)
		if !ok {
			continue
		}
		c.taken = true
		g := group{c.wavelength, c.direction}
		if parts[g] == nil {
			order = append(order, g)
		}
		if fu.field == fReceived {
			if ref := references[c.wavelength]; ref != "" {
				parts[g] = append(parts[g], "reference_dbm: "+quoted(ref))
			} else {
				p.need("the reference power of %q: map reference_dbm", c.name)
			}
		}
		parts[g] = append(parts[g], fu.name()+": "+quoted(c.name))
	}
	for _, f := range []field{fLoss, fReceived} {
		if names := unsaid[f]; len(names) > 0 {
			p.need("whether %s hold the %s, as the draft says", strings.Join(names, ", "), nounOf(f))
		}
	}
	for _, g := range order {
		text := fmt.Sprintf("wavelength_nm: %d", g.wavelength)
		if g.direction != "" {
			text += ", direction: " + g.direction
		} else {
			p.need("the direction of %q: add direction: A-B or B-A to its item of each", strings.Join(parts[g], ", "))
		}
		each = append(each, text+", "+strings.Join(parts[g], ", "))
	}
	return each
}

// marks settles the decimal mark, signs, texts that are no numbers, and the
// form of times.
func (p *proposer) marks() {
	comma, point := 0, 0
	var odd []string
	p.mark = '.'
	for i := range p.columns {
		if c := &p.columns[i]; c.taken && c.field.isValue() {
			for _, v := range c.values {
				switch mark, _ := markIn(v); {
				case mark == ',':
					comma++
				case mark == '.':
					point++
				case !numeric(v) && !slices.Contains(odd, v) && len(v) < 20:
					odd = append(odd, v)
				}
			}
		}
	}
	if comma > point {
		p.mark = ','
	}
	if comma+point > 0 && !p.isSheet {
		p.setConstant("decimal", strconv.Quote(string(p.mark)))
		p.saw("decimal %s in %d of %d fractions", map[rune]string{',': "comma", '.': "point"}[p.mark], max(comma, point), comma+point)
	}
	if len(odd) > 0 && len(odd) <= 8 {
		for i, s := range odd {
			odd[i] = strconv.Quote(s)
		}
		p.setConstant("not_measured", "["+strings.Join(odd, ", ")+"]")
		p.need("whether %s means that there is no reading, as the draft says under not_measured", strings.Join(odd, ", "))
	}
	p.signs()
	p.timeForm()
}

// signs looks whether losses and reflectances have the sign that they should.
func (p *proposer) signs() {
	negative := func(s string) bool { return strings.HasPrefix(s, "-") || strings.HasPrefix(s, "\u2212") }
	loss, reflectance := false, false
	for i := range p.columns {
		c := &p.columns[i]
		switch minus := c.share(negative); {
		case !c.taken || len(c.values) == 0:
		case c.field == fLoss && minus > 50 && !loss:
			loss = true
			p.setConstant("loss_is", "negative")
			p.saw("losses are negative in %q", c.name)
		case c.field == fReflectance && minus < 50 && !reflectance:
			reflectance = true
			p.setConstant("reflectance_is", "positive")
			p.saw("reflectances have no sign in %q", c.name)
		}
	}
}

var dated = regexp.MustCompile(`^(\d{1,2})([./-])(\d{1,2})[./-](\d{4}|\d{2})(?:\s+(\d{1,2})(:\d{2})(:\d{2})?(\s*[AaPp][Mm])?)?$`)

// timeForm proposes a form of times where days or months beyond 12 show it.
func (p *proposer) timeForm() {
	for i := range p.columns {
		c := &p.columns[i]
		if !c.taken || c.field != fTime && c.field != fDate || len(c.values) == 0 {
			continue
		}
		m := dated.FindStringSubmatch(c.values[0])
		if m == nil {
			if _, err := parseISO(c.values[0]); c.field == fTime && errors.Is(err, errNotTime) && !p.isSheet {
				p.need("time_format of %q, such as DD.MM.YYYY HH:mm", c.name)
			}
			continue
		}
		dayFirst := c.share(func(s string) bool { m := dated.FindStringSubmatch(s); return m != nil && over12(m[1]) })
		monthFirst := c.share(func(s string) bool { m := dated.FindStringSubmatch(s); return m != nil && over12(m[3]) })
		day, month := "D", "M"
		if len(m[1]) == 2 && len(m[3]) == 2 {
			day, month = "DD", "MM"
		}
		form := ""
		switch {
		case dayFirst > 0 && monthFirst == 0:
			form = day + m[2] + month
		case monthFirst > 0 && dayFirst == 0:
			form = month + m[2] + day
		default:
			p.need("the order of day and month in %q: time_format: DD%sMM%sYYYY HH:mm or MM%sDD%sYYYY HH:mm", c.values[0], m[2], m[2], m[2], m[2])
			return
		}
		form += m[2] + strings.Repeat("Y", len(m[4]))
		if m[5] != "" {
			hour := "H"
			if len(m[5]) == 2 {
				hour = "HH"
			}
			if m[8] != "" {
				hour = strings.ToLower(hour)
			}
			form += " " + hour + ":mm"
			if m[7] != "" {
				form += ":ss"
			}
			if m[8] != "" {
				form += strings.Repeat(" ", len(m[8])-2) + "AM"
			}
		}
		p.setConstant("time_format", form)
		p.saw("times such as %q, where a number beyond 12 shows the day", c.values[0])
		return
	}
}

func over12(s string) bool { v, ok := digits(s); return ok && v > 12 }

// try reads the sample by the draft, any name being a link, and says what it
// gives.
func (p *proposer) try(t table) {
	r := newReader()
	r.anyLink = true
	r.facts.Job.TimeZone = "UTC"
	d := &document{file: source.New(p.name, []byte(p.entry.String())), list: r.list}
	m := newMapping()
	if top := d.root(); top != nil {
		ks := m.keys(d)
		ks["files"] = opt(func(*yaml.Node) {})
		d.object(top.Content[0], "the draft", ks)
	}
	account := record.Account{File: p.name}
	if r.list.Errors() == 0 {
		r.assemble(t, m, p.file, &account)
	}
	links := map[string]bool{}
	for _, reading := range r.facts.Readings {
		links[reading.Link] = true
	}
	switch {
	case len(r.facts.Readings) > 0:
		p.saw("by this draft the sample gives %s of %s", plural(len(r.facts.Readings), "reading"), plural(len(links), "link"))
		if account.Refused > 0 {
			p.need("%s are refused; spanseal check says why once the entry stands in job.yaml", plural(account.Refused, "row"))
		}
	case len(p.needed) == 0:
		for _, problem := range first(r.list.Sorted(), 1) {
			p.need("the draft reads nothing yet: %s", problem.Message)
		}
	}
}

var plainYAML = regexp.MustCompile(`^\pL[\pL\pN _./-]*$`)

// quoted writes a text so that YAML reads it as text.
func quoted(s string) string {
	var n yaml.Node
	if plainYAML.MatchString(s) && yaml.Unmarshal([]byte(s), &n) == nil && len(n.Content) == 1 && n.Content[0].Tag == "!!str" && n.Content[0].Value == s {
		return s
	}
	return strconv.Quote(s)
}
