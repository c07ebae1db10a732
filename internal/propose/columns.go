package propose

import (
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/intake"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/strict"
	"spanseal/internal/table"
	"spanseal/internal/written"
)

// How sentences begin that ask what no row says, and may hold for a whole file.
const (
	NeedsTime       = "when it was measured"
	NeedsInstrument = "the instrument"
	NeedsPerson     = "who measured"
)

// binding is what a draft binds: the lines under "columns" and those under "each", and
// by which column, key or pattern each field is said.
type binding struct {
	shared []string
	each   []string
	said   map[field.Field]string
}

// assign says which column is which field.
func (p *proposer) assign() {
	b := &binding{said: map[field.Field]string{}}
	for i := range p.columns { // strands have numbers, links have names
		if c := &p.columns[i]; c.Field == field.Strand && !c.counts() {
			c.Field = field.Link
		}
	}
	p.notOfReadings()
	p.cableAndStrand()
	p.eventPlaces()
	p.findTimes()
	for f, k := range p.keyed {
		b.said[f] = k.value
	}
	b.each = p.severalLinks(b.said)
	if link := p.noLinkColumn(b.said); link != "" {
		b.shared = append(b.shared, link)
	}
	p.assignFacts(b)
	if len(b.each) == 0 {
		b.each = p.pairs(b.said)
	}
	if len(b.each) == 0 {
		for _, s := range p.wide(b.said) {
			b.each = append(b.each, "{"+s+"}")
		}
	}
	p.assignValues(b)
	p.writeColumns(b)
	p.needFacts(b)
	for _, c := range p.columns {
		if !c.taken && c.name != "" {
			p.saw("column %q is not read", c.name)
		}
	}
	p.doubts()
}

// assignFacts binds what is no measured value: the link, the day, the instrument.
func (p *proposer) assignFacts(b *binding) {
	for f := field.Link; f < field.Loss; f++ {
		for i := range p.columns {
			c := &p.columns[i]
			if c.Field != f || c.Wavelength > 0 || c.taken || c.name == "" {
				continue
			}
			if other, twice := b.said[f]; twice {
				p.need("which column is the %s: the draft takes %q, not %q", f, other, c.name)
				continue
			}
			b.said[f], c.taken = c.name, true
			if fu := field.FromHeading(c.name); fu.Field != f || f == field.Wavelength && c.unitAs(f) == quantity.Micrometre && fu.Unit != quantity.Micrometre { // else its own name binds it
				b.shared = append(b.shared, fmt.Sprintf("%s: %s", field.InUnit{Field: f, Unit: c.unitAs(f)}.Name(), c.ref))
			}
		}
	}
}

// assignValues binds measured values of which a row has one each.
func (p *proposer) assignValues(b *binding) {
	for _, i := range p.plainFirst() {
		c := &p.columns[i]
		if !c.Field.Measured() || c.taken || len(b.each) > 0 && c.Field != field.Length {
			continue
		}
		fu, ok := p.valueField(c)
		if !ok {
			continue
		}
		if first := b.said[fu.Field]; first != "" {
			p.need("which column is the %s: the draft takes column %s, not %d", fu.Field.Noun(), first, i+1)
			continue
		}
		b.said[fu.Field], c.taken = strconv.Itoa(i+1), true
		if field.FromHeading(c.name) != fu || c.ref != strict.Quote(c.name) {
			b.shared = append(b.shared, fmt.Sprintf("%s: %s", fu.Name(), c.ref))
		}
	}
}

// writeColumns writes the lines of the draft that bind columns.
func (p *proposer) writeColumns(b *binding) {
	if len(b.shared) > 0 {
		p.entry.WriteString("    columns:\n")
		for _, s := range b.shared {
			p.entry.WriteString("      " + s + "\n")
		}
	}
	if len(b.each) > 0 {
		p.entry.WriteString("    each:\n")
		for _, s := range b.each {
			p.entry.WriteString("      - " + s + "\n")
		}
	}
}

// needLight asks for the wavelength and the direction if nothing says them.
func (p *proposer) needLight(b *binding, lacks func(name string) bool) {
	if b.said[field.Wavelength] == "" && lacks("wavelength_nm") {
		p.need("the wavelength: add wavelength_nm: 1310 if it is the same in the whole file")
	}
	if b.said[field.Direction] == "" && b.said[field.End] == "" && lacks("direction") {
		p.need("the direction: add direction: A-B or B-A if it is the same in the whole file%s", p.directionInName())
	}
}

// needFacts asks for what a reading must have and nothing in the sample says.
func (p *proposer) needFacts(b *binding) {
	if p.several {
		p.needLight(b, func(name string) bool {
			return slices.ContainsFunc(b.each, func(s string) bool { return !strings.Contains(s, name+": ") })
		})
	}
	if b.said[field.Link] == "" && b.said[field.Strand] == "" {
		if p.sheets > 1 {
			p.need(`which column names the link: add it under columns, or set sheet: "{link}" if each sheet is named after its link`)
		} else {
			p.need("which column names the link: add it under columns, or give file_name or preamble a pattern with {link}")
		}
	}
	for i := range p.columns {
		c := &p.columns[i]
		if c.taken && c.Field == field.Link && c.counts() {
			p.need("whether links.csv names links by the bare numbers of %s: if they count the strands of a cable, map them as strand, and add cable: with its name", c.ref)
		}
	}
	onlyLength := !slices.ContainsFunc(p.columns, func(c proposed) bool { return c.taken && c.Field.Measured() && c.Field != field.Length })
	if len(b.each) == 0 && !onlyLength {
		p.needLight(b, func(string) bool { return true })
	}
	for _, w := range []struct {
		fields []field.Field
		what   string
	}{
		{[]field.Field{field.Date, field.Time}, NeedsTime + ": add date: 2026-11-18 if it is the same in the whole file, or give preamble or file_name a pattern with {date}"},
		{[]field.Field{field.Instrument}, NeedsInstrument + ": add instrument: with its id in job.yaml, if one was used for the whole file"},
		{[]field.Field{field.Person}, NeedsPerson + ": add person: with the id in job.yaml, if one person measured the whole file"},
	} {
		if !slices.ContainsFunc(w.fields, func(f field.Field) bool { return b.said[f] != "" }) {
			p.need("%s", w.what)
		}
	}
}

// notOfReadings leaves out columns whose headings have a word for a field, and whose cells
// say what the schedule says of a link: where its ends are, and its kind of fibre.
func (p *proposer) notOfReadings() {
	for i := range p.columns {
		c := &p.columns[i]
		isWay := func(s string) bool { _, ok := written.Direction(field.End, s, nil); return ok }
		isFibre := func(s string) bool { _, mode, why := written.Fibre(s); return mode != "" && why == "" }
		switch {
		case len(c.values) == 0:
		case c.Field == field.End && field.PlaceOf(c.name) != "" && c.share(isWay) == 0,
			c.Field == field.Link && c.share(isFibre) == 100:
			c.Field = field.None
		}
	}
}

// plainFirst is the order in which columns are looked at: of two that could be
// one field, the one whose heading says least beside it is meant.
func (p *proposer) plainFirst() []int {
	order := make([]int, len(p.columns))
	for i := range order {
		order[i] = i
	}
	beside := func(i int) int {
		c := &p.columns[i]
		if field.FromHeading(c.name).Field != field.None {
			return 0
		}
		plain := field.Joined.Replace(field.WithoutUnit(c.name))
		exp := field.Words[c.Field]
		if exp == nil {
			return len(plain)
		}
		return len(strings.Fields(exp.ReplaceAllString(plain, " "))) + 1
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(beside(i), beside(j)) })
	return order
}

// doubts asks about columns that may not be what they look like, or be more.
func (p *proposer) doubts() {
	losses := func(c *proposed) bool {
		if len(c.values) == 0 || c.share(written.Numeric) < 80 {
			return false
		}
		fractions, most := 0, quantity.Int(40)
		for _, s := range c.values {
			v, err := quantity.ParseStored(strings.Replace(s, ",", ".", 1))
			if err != nil {
				continue
			}
			if v.Sign() < 0 || most.Less(v) {
				return false
			}
			if v.Places() > 0 {
				fractions++
			}
		}
		return 2*fractions > len(c.values)
	}
	var also []string
	taken := false
	for i := range p.columns {
		c := &p.columns[i]
		isLoss := c.taken && (c.Field == field.Loss || c.Field == field.Received || c.Field == field.LossPerKm)
		taken = taken || isLoss
		switch {
		case isLoss && len(c.values) >= intake.ConstantFrom && !slices.ContainsFunc(c.values, func(s string) bool { return s != c.values[0] }):
			p.need("why all values of %q are %s: the same number in every row is a limit or an allowance, not a measurement", c.name, c.values[0])
		case !c.taken && c.name != "" && c.Field != field.Length && c.Unit != quantity.Metre && c.Unit != quantity.Kilometre && !field.WorkedOut.MatchString(field.Joined.Replace(c.name)) && losses(c):
			also = append(also, strconv.Quote(c.name))
		}
	}
	if !slices.ContainsFunc(p.columns, func(c proposed) bool { return c.taken && c.Field.Measured() }) {
		looks := ""
		if len(also) > 0 {
			looks = "; the numbers under " + strings.Join(also, ", ") + " look like losses"
		}
		p.need("which column holds what was measured: add it under columns, such as loss_db%s", looks)
	}
	if len(also) > 0 && taken {
		p.need("whether what was measured is under %s, which this draft does not read: the numbers there look like losses too", strings.Join(also, ", "))
	}
}

// noLinkColumn makes the name of a link of several columns, if none names it.
func (p *proposer) noLinkColumn(said map[field.Field]string) string {
	if said[field.Link] != "" || said[field.Strand] != "" || slices.ContainsFunc(p.columns, func(c proposed) bool { return c.Field == field.Link || c.Field == field.Strand }) {
		return ""
	}
	return p.linkOfPlaces(said)
}

// directionInName says how the file's name gives the direction, or "".
func (p *proposer) directionInName() string {
	for _, exp := range []*regexp.Regexp{field.AToB, field.BToA} {
		if at := exp.FindStringIndex(p.name); at != nil {
			ofName := func(r rune) bool { return !unicode.IsLetter(r) }
			text := strings.TrimFunc(p.name[at[0]:at[1]], ofName)
			return fmt.Sprintf(", or file_name: %q and files of several names", strings.Replace(p.name, text, "{direction}", 1))
		}
	}
	return ""
}

// cableAndStrand parts the two columns that name a link together, where one of
// them counts.
func (p *proposer) cableAndStrand() {
	var cable, strand *proposed
	for i := range p.columns {
		switch c := &p.columns[i]; {
		case c.Field == field.Cable:
			cable = c
		case c.Field != field.Link:
		case c.share(func(s string) bool { _, ok := quantity.Whole(s); return ok }) == 100:
			strand = c
		case ofCable.MatchString(c.name):
			cable = c
		}
	}
	if _, sheet := p.keyed[field.Cable]; sheet && strand != nil {
		strand.Field = field.Strand
	}
	if cable != nil && strand != nil {
		cable.Field, strand.Field = field.Cable, field.Strand
	}
}

var (
	ofCable = regexp.MustCompile(`(?i)cable|kabel|câble`)
	ofPlace = regexp.MustCompile(`(?i)distance|position|location|entfernung|distancia`)
)

// eventPlaces leaves out the distances of events, which are not lengths.
func (p *proposer) eventPlaces() {
	if !slices.ContainsFunc(p.columns, func(c proposed) bool { return c.Field == field.Event }) {
		return
	}
	for i := range p.columns {
		if c := &p.columns[i]; c.Field == field.Length && ofPlace.MatchString(c.name) {
			c.Field = field.None
			p.saw("%q for the places of events, not for lengths", c.name)
		}
	}
}

// valueField settles field and unit of a measured column; not ok where it
// cannot be said.
func (p *proposer) valueField(c *proposed) (field.InUnit, bool) {
	fu := field.InUnit{Field: c.Field, Unit: c.Unit}
	if text := field.UnitText(c.name); text != "" && !field.OtherThanUnits.MatchString(text) {
		if _, known := field.UnitNamed(text); !known {
			p.need("what %q in the heading %q is: it is not a unit in which a %s is read; if it is not a unit at all, map the column by its number", text, c.name, c.Field.Noun())
			return fu, false
		}
	}
	switch {
	case fu.Field == field.None && fu.Unit == quantity.DBm:
		fu.Field = field.Received
	case fu.Field == field.Reference && fu.Unit == "":
		fu.Unit = quantity.DBm // a reference is a power, or it is none of ours
	case fu.Field == field.Loss && fu.Unit == quantity.DBPerKm:
		fu.Field = field.LossPerKm
	}
	allowed := field.Units[fu.Field]
	switch {
	case slices.Contains(allowed, fu.Unit):
		return fu, true
	case fu.Unit == "" && len(allowed) == 1:
		return field.InUnit{Field: fu.Field, Unit: allowed[0]}, true
	}
	p.need("the unit of %q: %s", c.name, diag.Or(fu.Field.Names()))
	return fu, false
}

// wide groups columns that name a wavelength or a direction into readings. said
// are the fields that have a column for all of them.
func (p *proposer) wide(said map[field.Field]string) (each []string) {
	type group struct {
		wavelength int
		direction  string
	}
	var order []group
	parts := map[group][]string{}
	references := map[int]*proposed{}    // by wavelength
	unsaid := map[field.Field][]string{} // headings that do not say what they hold
	for i := range p.columns {
		if c := &p.columns[i]; c.Field == field.Reference && !c.taken {
			references[c.Wavelength] = c
		}
	}
	for i := range p.columns {
		c := &p.columns[i]
		if !c.ofReading() || c.Field == field.Reference {
			continue
		}
		ref := references[c.Wavelength]
		if ref == nil {
			ref = references[0]
		}
		if !c.Field.Measured() {
			c.Field = field.Loss // decided by what stands in it
			if ref != nil || c.Unit == quantity.DBm {
				c.Field = field.Received
			}
			unsaid[c.Field] = append(unsaid[c.Field], strconv.Quote(c.name))
		}
		fu, ok := p.valueField(c)
		if !ok {
			continue
		}
		g := group{c.Wavelength, c.Direction}
		if slices.ContainsFunc(parts[g], func(s string) bool { return strings.HasPrefix(s, fu.Name()+":") }) {
			p.need("what column %d, %q, holds beside the others of %s", i+1, c.name, strings.TrimSpace(nmText(g.wavelength)+" "+g.direction))
			continue
		}
		c.taken = true
		if parts[g] == nil {
			order = append(order, g)
		}
		if fu.Field == field.Received {
			if ref != nil {
				ref.taken = true
				parts[g] = append(parts[g], "reference_dbm: "+ref.ref)
			} else if !p.references {
				p.need("the reference power of %q: map reference_dbm", c.name)
			}
		}
		parts[g] = append(parts[g], fu.Name()+": "+c.ref)
	}
	for _, f := range []field.Field{field.Loss, field.Received} {
		if names := unsaid[f]; len(names) > 0 {
			p.need("whether %s hold the %s, as the draft says", strings.Join(names, ", "), f.Noun())
		}
	}
	for _, g := range order {
		item := slices.Clone(parts[g])
		if g.direction != "" {
			item = slices.Insert(item, 0, "direction: "+g.direction)
		} else if said[field.Direction] == "" && said[field.End] == "" {
			p.need("the direction of %q: add direction: A-B or B-A to its item of each", strings.Join(item, ", "))
		}
		if g.wavelength > 0 {
			item = slices.Insert(item, 0, fmt.Sprintf("wavelength_nm: %d", g.wavelength))
		} else if said[field.Wavelength] == "" {
			p.need("the wavelength of %q: add wavelength_nm: 1310 to its item of each", strings.Join(item, ", "))
		}
		each = append(each, strings.Join(item, ", "))
	}
	return each
}

// ofReading reports that the heading says of which of a row's readings the
// column is: by its wavelength, or by its direction where numbers stand in it.
func (p *proposed) ofReading() bool {
	switch {
	case p.taken || p.name == "":
		return false
	case p.Wavelength > 0:
		return true
	}
	return p.Direction != "" && (p.Field.Measured() || p.Field == field.None && p.share(written.Numeric) > 50)
}

func nmText(nm int) string {
	if nm == 0 {
		return ""
	}
	return fmt.Sprintf("%d nm", nm)
}

// marks settles the decimal mark, signs, texts that are no numbers, and the
// form of times.
func (p *proposer) marks() {
	comma, point := 0, 0
	var odd, doubtful []string
	p.mark = '.'
	for i := range p.columns {
		if c := &p.columns[i]; c.taken && c.Field.Measured() {
			values := c.values
			if p.split != "" {
				values = strings.Split(strings.Join(values, p.split), p.split)
			}
			for _, v := range values {
				v = withoutUnitBehind(strings.TrimSpace(v), field.Units[c.Field])
				switch mark, doubt := written.MarkIn(v); {
				case doubt && c.Field == field.Length:
					doubtful = append(doubtful, v)
				case mark == ',':
					comma++
				case mark == '.':
					point++
				case !written.Numeric(v) && v != c.name && !field.SenseOf(v).Says() && !p.heads(v) && !slices.Contains(odd, v) && len(v) < 20 && !strings.ContainsFunc(v, source.IsControl):
					odd = append(odd, v)
				}
			}
		}
	}
	if comma > point || p.isSheet && comma > 0 {
		p.mark = ','
	}
	if comma+point > 0 {
		for _, v := range doubtful {
			if mark, _ := written.MarkIn(v); mark != p.mark && !slices.Contains(odd, v) {
				odd = append(odd, v)
			}
		}
	}
	if comma+point > 0 && (!p.isSheet || comma > 0) { // sheets store a point, but for texts
		p.setConstant("decimal", strconv.Quote(string(p.mark)))
		p.saw("decimal %s in %d of %d fractions", map[rune]string{',': "comma", '.': "point"}[p.mark], max(comma, point), comma+point)
	}
	odd = p.thousands(odd)
	var over, digited []string
	odd = slices.DeleteFunc(odd, func(s string) bool { // a text with digits says something of what was measured
		switch {
		case written.OverRange.MatchString(s):
			over = append(over, strconv.Quote(s))
		case written.IsBound(s):
		case strings.ContainsFunc(s, unicode.IsDigit):
			digited = append(digited, strconv.Quote(s))
		default:
			return false
		}
		return true
	})
	if len(over) > 0 {
		p.setConstant("over_range", "["+strings.Join(over, ", ")+"]")
		p.need("whether %s means measured and beyond the instrument's range, as the draft says under over_range", strings.Join(over, ", "))
	}
	if len(digited) > 0 {
		p.need("what the texts %s mean: they contain digits, but are not numbers", strings.Join(diag.First(digited, 8), ", "))
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
	p.gaps()
}

// withoutUnitBehind takes one of the units from the end of a number.
func withoutUnitBehind(s string, of []quantity.Unit) string {
	for _, u := range of {
		if at := len(s) - len(u); at > 0 && strings.EqualFold(s[at:], string(u)) {
			return strings.TrimRight(s[:at], " \u00a0")
		}
	}
	return s
}

// thousands settles the mark that parts thousands, and returns the texts that
// are no numbers with it either.
func (p *proposer) thousands(odd []string) []string {
	for _, v := range odd {
		if mark := written.ThousandsIn(v, p.mark); mark != 0 {
			p.setConstant("thousands", strconv.Quote(string(mark)))
			if _, doubt := written.MarkIn(v); doubt {
				p.need("whether %q is more than a thousand, as the draft says under thousands", v)
			} else {
				p.saw("thousands separated by %q in %q", string(mark), v)
			}
			return slices.DeleteFunc(odd, func(s string) bool { return written.ThousandsIn(s, p.mark) == mark })
		}
	}
	return odd
}

// signs looks whether losses and reflectances have the sign that they should.
func (p *proposer) signs() {
	negative := func(s string) bool { return strings.HasPrefix(s, "-") || strings.HasPrefix(s, "\u2212") }
	loss, reflectance := false, false
	for i := range p.columns {
		c := &p.columns[i]
		switch minus := c.share(negative); {
		case !c.taken || len(c.values) == 0:
		case c.Field == field.Loss && minus > 50 && !loss:
			loss = true
			p.setConstant("loss_is", "negative")
			p.saw("losses are negative in %q", c.name)
		case c.Field == field.Reflectance && minus < 50 && !reflectance:
			reflectance = true
			p.setConstant("reflectance_is", "positive")
			p.saw("reflectances have no sign in %q", c.name)
		}
	}
}

// gaps looks at cells that stand empty under a name, as merged cells do, and at
// directions in words of the file's own.
func (p *proposer) gaps() {
	var fields, names []string
	for _, key := range p.filled {
		if i := slices.IndexFunc(p.columns, func(c proposed) bool { return c.taken && field.HeadingName(c.name) == field.HeadingName(key) }); i >= 0 {
			fields = append(fields, p.columns[i].Field.String())
		}
	}
	for _, c := range p.parts {
		if c.empty > 0 && !slices.Contains(fields, "link") {
			fields, names = append(fields, "link"), append(names, strconv.Quote(c.name))
		}
	}
	for _, f := range []field.Field{field.Link, field.Cable, field.Date} {
		if c := p.column(f); c != nil && c.empty > 0 && len(c.values) > 0 && !slices.Contains(fields, f.String()) {
			fields, names = append(fields, f.String()), append(names, strconv.Quote(c.name))
		}
	}
	if len(fields) > 0 {
		p.setConstant("fill_down", "["+strings.Join(fields, ", ")+"]")
	}
	if len(names) > 0 {
		p.need("whether an empty cell under %s repeats the one above, as the draft says under fill_down", strings.Join(names, ", "))
	}
	if c := p.column(field.Direction); c != nil {
		var unknown []string
		for _, v := range c.values {
			if _, ok := written.Direction(field.Direction, v, nil); !ok && !slices.Contains(unknown, v) {
				unknown = append(unknown, v)
			}
		}
		if len(unknown) > 0 && len(unknown) <= 8 {
			p.need("what the directions %s mean: add directions: {A-B: ..., B-A: ...}", strings.Join(unknown, ", "))
		}
	}
}

// storedTimes reports that the workbook shows the times of the draft as times.
func (p *proposer) storedTimes() bool {
	return slices.ContainsFunc(p.columns, func(c proposed) bool {
		return c.taken && (c.Field == field.Date || c.Field == field.Time) && (c.all(table.AsDay) || c.all(table.AsHour) || c.all(table.AsMoment))
	})
}

// showSample is how many rows of a sample are shown as read.
const showSample = 5

// try reads the sample by the draft, any name being a link, and says what it
// gives.
func (p *proposer) try(t table.Table) {
	r := intake.Try(p.name, []byte(p.entry.String()), p.file, t, showSample)
	p.asRead = r.AsRead
	for _, problem := range r.Problems.Sorted() {
		if problem.Code == "cut-number" || problem.Code == "mixed-dates" {
			p.need("%s", problem.Message)
		}
	}
	if at := slices.IndexFunc(r.Facts.Readings, func(x record.Reading) bool { return !x.Time.IsZero() }); at >= 0 && p.storedTimes() {
		p.saw("dates and hours that the workbook stores as such: the first is %s", r.Facts.Readings[at].Time.Format("2006-01-02 15:04:05"))
	}
	links := map[string]bool{}
	for _, reading := range r.Facts.Readings {
		links[reading.Link] = true
	}
	switch {
	case len(r.Facts.Readings) > 0:
		p.saw("by this draft the sample gives %s of %s", diag.Plural(len(r.Facts.Readings), "reading"), diag.Plural(len(links), "link"))
		if r.Account.Refused > 0 {
			p.need("why spanseal check refuses %s, once the entry is in job.yaml", diag.Plural(r.Account.Refused, "row"))
		}
	case len(p.needed) == 0:
		for _, problem := range diag.First(r.Problems.Sorted(), 1) {
			p.need("the draft reads nothing yet: %s", problem.Message)
		}
	}
}
