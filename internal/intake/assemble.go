package intake

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"time"
	"unicode"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/mapping"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/table"
	"spanseal/internal/written"
)

// found is what intake knows of a reading beside the reading itself. There may
// be millions, so it is small.
type found struct {
	link    int32 // index in the schedule
	account int32 // index of the file's account
	row     int32 // counts the rows of the file
	ordered bool  // rows of the file are in the order of measuring
	event   bool  // the row named an event, though the reading is of the whole link
}

// assembler turns the rows of one table into readings by one mapping.
type assembler struct {
	r       *reader
	m       *mapping.Mapping
	t       table.Table
	h       *mapping.Heading
	file    *source.File
	origin  record.Origin
	account *record.Account
	index   int  // of the account
	mark    rune // decimal
	whyMark string
	zone    *time.Location
	groups  []mapping.ReadingSlots // those of h, with what patterns found
	texts   table.Texts            // shared by readings
	filled  map[int]string         // the last text of each column to fill down

	added       int    // readings of this table
	ignored     int    // rows left out by ignore_rows
	silent      int    // cells with texts mapped as no reading
	repeated    int    // cells that told of a link once more, in rows of its events
	passed      passed // rows over
	show        *watch // nil unless somebody wants to see the rows
	seen        []seen // by column
	times       timesSeen
	says        sayings // of the columns that are not read
	astray      bool    // a heading of other columns stands above
	unitColumns []int   // of those
	// What cells of the current group said besides numbers.
	unanswered []unanswered
	bounded    bool                    // some cell gave a bound, or told of a range
	shown      [field.Count]string     // what those cells showed
	over       bool                    // a received power is below what can be measured
	references map[int]*referenceAbove // by wavelength, from above the table
	pending    []attempt
	mayCut     bool    // a decimal comma would have cut a number in two
	faults     int     // of the file
	wrong      []wrong // of the current row
	event      string  // of the current row
	ofEvent    bool    // it gives something that is of its event

	// What the last rows said, since neighbours mostly say the same.
	lastLink struct {
		text, id, alias string
		index           int32
	}
	lastTime    [field.Count]timeMemo
	methodAsked [field.Count]bool
	captured    int // how often a pattern found how readings were made
}

// wrong is a fault of the current row. Readings of one row share cells, and a
// cell is complained of once.
type wrong struct {
	column int
	code   string
}

type timeMemo struct {
	text, day string
	time      time.Time
}

// assemble reads a table's rows into r.facts.Readings.
func (r *reader) assemble(t table.Table, m *mapping.Mapping, f *source.File, account *record.Account) {
	h := mapping.Bind(t, m, f.Name, account.Concluded, r.list)
	if h == nil {
		r.refuseAll(t, m, account)
		return
	}
	a := &assembler{
		r: r, m: m, t: t, h: h, file: f, origin: origin(f), account: account, index: len(r.facts.Accounts),
		groups: slices.Clone(h.Groups), texts: table.Texts{}, filled: map[int]string{}, zone: m.Location,
	}
	if a.zone == nil && r.facts.Job.TimeZone != "" {
		a.zone = r.facts.Job.Location
	}
	account.Concluded = append(account.Concluded, h.Concluded...)
	fits := m.FileName == nil || a.capture(m.FileName, baseName(f.Name))
	if !fits {
		r.list.Add(diag.Problem{Code: "pattern-does-not-fit", Place: diag.Place{File: f.Name},
			Message: fmt.Sprintf("the file name does not match the pattern %q of the mapping", m.FileName.Text),
			Fix:     "correct file_name in the mapping, or the file's name"})
	}
	if s := table.SheetIn(t); s != nil {
		a.capture(m.Sheet, s.Name)
	}
	if !a.decideMark() || !fits {
		r.refuseAll(t, m, account)
		return
	}
	a.show = r.watch(a)
	a.mayCut = t.CellDelimiter() == ',' && m.Decimal == 0
	a.listen()
	width, unread := 0, 0
rows:
	for row := range t.Rows() {
		width = max(width, len(row.Cells))
		switch {
		case row.Number <= h.Line, row.Beside:
			a.above(row)
		case row.Number == h.Skip:
		case r.surveyed(account.Rows):
			r.more = true
			break rows
		default:
			account.Rows++
			start := len(r.facts.Readings)
			fate := record.Refused
			if a.faults < table.Hopeless {
				fate = a.row(row)
				a.show.row(row, fate, start)
			} else {
				unread++
			}
			switch fate {
			case record.Blank:
				account.Blank++
			case record.Refused:
				account.Refused++
			}
		}
	}
	a.show.done()
	if unread > 0 {
		r.list.Add(table.NotRead(f.Name, a.faults, fmt.Sprintf("its last %s are refused unread", diag.Plural(unread, "row"))))
	}
	if s, ok := t.(*table.Worksheet); ok {
		s.Read = h.ColumnsRead()
	}
	if p := t.Fault(); p != nil {
		r.list.Add(*p)
	}
	for ref := range m.Refs() {
		if ref.Number > width && h.Line == 0 { // else the rows would look as if nothing had been measured
			r.list.Add(diag.Problem{Code: "no-such-column", Place: ref.Place, Message: fmt.Sprintf("no row of %s has a column %d", f.Name, ref.Number)})
		}
	}
	if a.ignored > 0 {
		account.Concluded = append(account.Concluded, diag.Plural(a.ignored, "row")+" left out, as ignore_rows of the mapping says")
	}
	if a.silent > 0 {
		account.Concluded = append(account.Concluded, diag.Plural(a.silent, "cell")+" without a reading, as not_measured of the mapping says")
	}
	a.askPassed()
	a.askSeen()
	a.askTimes()
	a.askSayings()
	if a.repeated > 0 {
		account.Concluded = append(account.Concluded, diag.Plural(a.repeated, "cell")+" that repeat a loss or a length of the link beside its events, counted once")
	}
}

// roomFrom is after how many readings of a table room is made for the next ones,
// for at most as many times as many as there are already of all tables as moreRoom
// says: a few good rows say little of the rest. After manyRooms of one table, room
// is made anew.
const roomFrom, moreRoom, manyRooms = 1000, 32, 32_000

// makeRoom makes room for the readings of a file at once, and for as many in
// the files that follow as their sizes lead to expect: growing step by step
// would need more than twice as much.
//
// A file must have given some readings before: one of nothing but faults needs
// no room.
func (a *assembler) makeRoom() {
	values := 0 // of a row
	for i := range a.groups {
		for f := field.Loss; f < field.Count; f++ {
			if a.groups[i][f].Column >= 0 && f != field.Reference {
				values++
			}
		}
	}
	rs, size := a.r.facts.Readings, int64(len(a.file.Text))
	most := min(moreRoom*int64(len(rs)), 1<<20) // a file of empty lines has none of them
	rows := int64(bytes.Count(a.file.Text, []byte{'\n'}))
	if t, ok := a.t.(*table.Worksheet); ok { // the search for the heading has read some of it
		rows = t.About()
		rows += rows / 16
	}
	n := min(rows*int64(values)*roomFrom/int64(max(roomFrom, a.account.Rows*values)), size/16, most)
	if n > int64(cap(rs)-len(rs)) {
		n = max(n, min(n*(size+a.r.ahead)/size, most))
		a.r.facts.Readings = slices.Grow(rs, int(n))
		a.r.found = slices.Grow(a.r.found, int(n))
	}
}

// refuseAll accounts for the rows of a table whose heading could not be bound.
func (r *reader) refuseAll(t table.Table, m *mapping.Mapping, account *record.Account) {
	for row := range t.Rows() {
		if row.Number <= m.HeaderLine {
			continue
		}
		account.Rows++
		if row.Blank() {
			account.Blank++
		} else {
			account.Refused++
		}
	}
}

func baseName(name string) string {
	return name[strings.LastIndexByte(name, '/')+1:]
}

// fault adds a problem at a cell and marks the row as bad.
func (a *assembler) fault(row *table.Row, column int, p diag.Problem) {
	if slices.Contains(a.wrong, wrong{column, p.Code}) {
		return
	}
	a.wrong = append(a.wrong, wrong{column, p.Code})
	a.faults++
	if p.Place.File = a.file.Name; !a.full(p.Code) {
		p.Place = a.t.Place(row, column)
	}
	a.r.list.Add(p)
}

// full reports that another fault of the file is only counted: nobody reads the
// thousand and first of a kind.
func (a *assembler) full(code string) bool { return a.r.list.Full(diag.Error, code, a.file.Name) }

// onlyCounted marks the row as bad without a word, if enough was said of the
// file.
func (a *assembler) onlyCounted(row *table.Row, column int, code string) bool {
	if !a.full(code) {
		return false
	}
	a.fault(row, column, diag.Problem{Code: code})
	return true
}

// bad reports that the current row has a fault and gives no readings.
func (a *assembler) bad() bool { return len(a.wrong) > 0 }

// above reads what stands above the heading.
func (a *assembler) above(row *table.Row) {
	text := row.Joined()
	before := a.captured
	for _, p := range a.m.Preamble {
		if p.PerWavelength() {
			if a.captureReferences(p, row) {
				a.m.Use("preamble", p.Text)
			}
		} else if a.capture(p, text) {
			a.m.Use("preamble", p.Text)
		}
	}
	a.capture(a.m.Block, text)
	if a.captured == before {
		a.saysAbove(row)
	}
}

// capture puts what a pattern finds into the groups.
func (a *assembler) capture(p *mapping.Pattern, text string) bool {
	if p == nil {
		return false
	}
	texts, ok := p.Match(text)
	if !ok {
		return false
	}
	if i := slices.IndexFunc(p.Fields, func(fu field.InUnit) bool { return fu.Field == field.Link }); i >= 0 {
		if texts, ok = a.whichLink(p, text, texts, i); !ok {
			return false
		}
	}
	for i, fu := range p.Fields {
		if fu.Field.OfMethod() {
			a.capturedMethod(fu.Field, texts[i])
			continue
		}
		for g := range a.groups {
			if s := &a.groups[g][fu.Field]; s.Column < 0 {
				*s = mapping.Slot{Unit: fu.Unit, Column: -1, Fixed: strings.Clone(texts[i])}
			}
		}
	}
	return true
}

// whichLink chooses between the ways in which a text fits a pattern: the one
// that names a link of the schedule. Where both do, it asks.
func (a *assembler) whichLink(p *mapping.Pattern, text string, little []string, i int) ([]string, bool) {
	much, _ := p.MatchMuch(text)
	if much[i] == little[i] || a.r.anyLink {
		return little, true
	}
	_, _, _, a1 := a.r.findLink(little[i])
	_, _, _, a2 := a.r.findLink(much[i])
	switch {
	case a1 && a2:
		a.r.list.Add(diag.Problem{Code: "which-link", Place: diag.Place{File: a.file.Name},
			Message: fmt.Sprintf("%q matches the pattern %q in two ways: link %q or link %q", text, p.Text, little[i], much[i]),
			Fix:     "make the pattern more specific"})
		return nil, false
	case a2:
		return much, true
	}
	return little, true
}

// row reads one row; it returns Used for a row that gave readings, whose final
// fate the retests decide.
func (a *assembler) row(row *table.Row) record.Fate {
	a.wrong = a.wrong[:0]
	switch {
	case row.Blank() && len(row.Unsaved) == 0:
		return record.Blank
	case a.m.Block != nil && a.capture(a.m.Block, row.Joined()):
		clear(a.filled)
		return record.Blank
	case row.Carries:
		a.carry(row)
		return record.Blank
	case a.isHeading(row):
		a.astray = false
		return record.Blank
	case a.ignores(row):
		a.ignored++
		return record.Blank
	case a.astray:
		return record.Refused
	case a.otherHeading(row):
		a.astray = true
		return record.Refused
	case a.odd(row), a.unsaved(row), a.parted(row):
		return record.Refused
	}
	start, silent := len(a.r.facts.Readings), a.silent
	a.fillDown(row)
	a.otherUnit(row)
	if a.overlong(row); !a.bad() { // else every cell stands in another column
		for i := range a.groups {
			a.reading(row, &a.groups[i])
		}
	}
	if len(a.pending) > 0 {
		if a.bad() {
			a.pending = a.pending[:0]
		}
		a.keepAttempts(len(a.r.facts.Readings) > start)
	}
	switch {
	case a.bad():
		for _, f := range a.r.found[start:] {
			a.r.perLink[f.link]--
		}
		a.r.facts.Readings = a.r.facts.Readings[:start]
		a.r.found = a.r.found[:start]
		return record.Refused
	case len(a.r.facts.Readings) == start:
		if a.silent == silent {
			a.passOver(row)
		}
		return record.Blank
	}
	if len(a.says.columns) > 0 {
		a.heard(row, a.r.facts.Readings[start:])
	}
	return record.Used
}

// passed is what rows without a reading hold in columns that are not read.
type passed struct {
	rows    int
	columns []int
	place   diag.Place // of the first
}

// passOver remembers a row without a reading that has a number in a column that
// is not read: its heading may be a name that was not recognised.
func (a *assembler) passOver(row *table.Row) {
	any := false
	for _, i := range a.h.Unread {
		if text := row.At(i); text == "" || !written.Numeric(text) {
			continue
		}
		if any = true; a.passed.rows == 0 && a.passed.columns == nil {
			a.passed.place = a.t.Place(row, i)
		}
		if !slices.Contains(a.passed.columns, i) {
			a.passed.columns = append(a.passed.columns, i)
		}
	}
	if any {
		a.passed.rows++
	}
}

// askPassed asks about the rows that were passed over.
func (a *assembler) askPassed() {
	if a.passed.rows == 0 {
		return
	}
	slices.Sort(a.passed.columns)
	var names []string
	for _, i := range diag.First(a.passed.columns, 5) {
		names = append(names, fmt.Sprintf("%d %q", i+1, a.h.Names[i]))
	}
	verb := "have"
	if a.passed.rows == 1 {
		verb = "has"
	}
	a.r.list.Add(diag.Problem{Severity: diag.Question, Code: "number-not-read", Place: a.passed.place,
		Message: fmt.Sprintf("%s %s no reading, but a number in a column that is not read: %s", diag.Plural(a.passed.rows, "row"), verb, strings.Join(names, ", ")),
		Fix:     "map the column under columns in the file's readings entry, or leave the rows out under ignore_rows"})
}

// unsaved complains of cells that are read and hold a formula without its value.
func (a *assembler) unsaved(row *table.Row) bool {
	for _, column := range row.Unsaved {
		for i := range a.groups {
			for f := field.Link; f < field.Count; f++ {
				if s := &a.groups[i][f]; s.Takes(column) {
					p := table.NotCalculated
					a.explain(&p, row, f, s, false)
					a.fault(row, column, p)
				}
			}
		}
	}
	return a.bad()
}

// odd complains of cells that the table says cannot be trusted.
func (a *assembler) odd(row *table.Row) bool {
	for _, o := range row.Odd {
		a.fault(row, o.Column, o.Problem)
	}
	return a.bad()
}

// overlong complains of a row with texts beyond the heading's last column: a
// decimal comma or a delimiter inside a text has cut a cell in two, and every
// cell after it stands in the wrong column.
func (a *assembler) overlong(row *table.Row) {
	if i := table.Overlong(row, len(a.h.Names)); i >= 0 && a.h.Line > 0 {
		a.fault(row, i, table.TooManyCells(len(row.Cells), len(a.h.Names)))
	}
}

// isHeading reports that the heading, or the row of units, is repeated.
func (a *assembler) isHeading(row *table.Row) bool {
	if a.h.Line == 0 || a.m.HeaderRows > 1 {
		return false
	}
	for i, name := range a.h.Names {
		text := row.At(i)
		if i == 0 {
			text = strings.TrimPrefix(text, "\ufeff") // exports put together keep their byte-order marks
		}
		if text != name && text != a.h.Bare[i] {
			return false
		}
	}
	return len(a.h.Names) > 0
}

// otherHeading complains of a row that repeats a part of the heading and holds no
// number: a second table begins there, whose columns are others.
func (a *assembler) otherHeading(row *table.Row) bool {
	if a.h.Line == 0 || a.m.HeaderRows > 1 {
		return false
	}
	same := 0
	for i := range row.Cells {
		if i < len(a.h.Names) && row.Cells[i].Text != "" && row.Cells[i].Text == a.h.Names[i] {
			same++
		}
	}
	if same < 2 { // nearly all rows: what the other cells mean takes as long as all else
		return false
	}
	other := -1
	for i := range row.Cells {
		switch text := row.Cells[i].Text; {
		case text == "" || i < len(a.h.Names) && text == a.h.Names[i]:
		case strings.ContainsFunc(text, unicode.IsDigit) && !field.SenseOf(text).Says():
			return false
		case other < 0:
			other = i
		}
	}
	if other < 0 {
		return false
	}
	a.fault(row, other, diag.Problem{Code: "second-heading", Message: "another heading begins here, so the first one does not apply to the rows below it",
		Fix: "export each table into a file of its own; leave this row out under ignore_rows if it is no heading"})
	return true
}

func (a *assembler) ignores(row *table.Row) bool {
	if len(a.m.IgnoreRows) == 0 {
		return false
	}
	text := row.Joined()
	i := slices.IndexFunc(a.m.IgnoreRows, func(p *mapping.Pattern) bool { _, ok := p.Match(text); return ok })
	if i >= 0 {
		a.m.Use("ignore_rows", a.m.IgnoreRows[i].Text)
	}
	return i >= 0
}

// text returns what a slot holds in a row.
func (a *assembler) text(row *table.Row, s *mapping.Slot) string {
	switch {
	case s.Composed != nil:
		return s.Composed.MakeText(func(column int) string { return a.cell(row, column) })
	case s.Column >= 0:
		return a.cell(row, s.Column)
	}
	return s.Fixed
}

// cell returns what stands in a column, or stands for its empty cell.
func (a *assembler) cell(row *table.Row, column int) string {
	if text := row.At(column); text != "" || len(a.filled) == 0 {
		return text
	}
	return a.filled[column]
}

// fillDown remembers the texts that stand for the empty cells below them, as a
// merged cell does.
func (a *assembler) fillDown(row *table.Row) {
	for _, f := range a.m.FillDown {
		for i := range a.groups {
			for _, column := range a.groups[i][f].ColumnsOf() {
				if row.At(column) != "" {
					a.filled[column] = strings.Clone(row.At(column))
				}
			}
		}
	}
}

// carry is fillDown for a record that holds only what is filled down: a new
// link ends what was said below the one before, such as its direction.
func (a *assembler) carry(row *table.Row) {
	for i, f := range a.m.FillDown {
		for g := range a.groups {
			if row.At(a.groups[g][f].Column) == "" {
				continue
			}
			for _, lower := range a.m.FillDown[i:] {
				for _, column := range a.groups[g][lower].ColumnsOf() {
					delete(a.filled, column)
				}
			}
		}
	}
	a.fillDown(row)
}

func (a *assembler) keep(s string) string { return a.texts.Keep(s) }

// maxOfLink is how many readings a link may have: twenty for each splice of
// five hundred.
const maxOfLink = 10_000

// mayHaveMore counts a reading of a link, unless it has as many as it may.
func (r *reader) mayHaveMore(link int32) bool {
	if n := len(r.facts.Links); n > len(r.perLink) {
		r.perLink = append(r.perLink, make([]int32, n-len(r.perLink))...)
	}
	if r.perLink[link] == maxOfLink {
		return false
	}
	r.perLink[link]++
	return true
}

// reading reads what one group says of a row: none, one or several readings.
// It reads every cell, so that all faults of a row are said at once.
func (a *assembler) reading(row *table.Row, g *mapping.ReadingSlots) {
	var values [field.Count]*quantity.Decimal
	any, before := false, len(a.wrong)
	a.unanswered, a.over = a.unanswered[:0], false
	if a.bounded {
		a.bounded, a.shown = false, [field.Count]string{}
	}
	for f := field.Loss; f < field.Count; f++ {
		s := &g[f]
		if f == field.Reference {
			s = a.reference(row, g)
		}
		if s.Given() {
			if v, ok := a.value(row, f, s); ok {
				values[f] = &v
				any = any || s.Column >= 0 && f != field.Reference
			}
		}
	}
	faulty := len(a.wrong) > before
	link, index, alias := a.link(row, g)
	if !a.bad() {
		for _, u := range a.unanswered {
			if u.text != "" || !any {
				a.tryAgain(row, g, u.field, u.text, index)
			}
		}
	}
	if !any && !faulty {
		return
	}
	p := record.Reading{
		Link: link, Alias: alias,
		Instrument:    a.name(row, &g[field.Instrument]),
		Source:        a.name(row, &g[field.Source]),
		Person:        a.name(row, &g[field.Person]),
		Note:          a.note(row, &g[field.Note]),
		Time:          a.time(row, g, field.Date, field.Time),
		ReferenceTime: a.time(row, g, field.ReferenceDate, field.ReferenceTime),
		Fate:          record.Used,
		Origin:        a.origin,
	}
	p.Origin.Row = row.Number
	if index >= 0 && !a.bad() {
		p.Method = a.method(row, g, index)
	}
	a.event = a.name(row, &g[field.Event])
	a.ofEvent = a.event != "" && slices.ContainsFunc(atEvent, func(f field.Field) bool { return values[f] != nil })
	only := onlyLength(g, &values, faulty)
	if !only || a.text(row, &g[field.Wavelength]) != "" {
		p.WavelengthNM = a.wavelength(row, &g[field.Wavelength])
	}
	if !only || a.text(row, &g[field.Direction]) != "" || a.text(row, &g[field.End]) != "" {
		p.Direction = a.direction(row, g)
	}
	if a.bad() {
		return
	}
	if values[field.Length] != nil {
		a.length(row, g, p, *values[field.Length], index)
	}
	if only {
		return
	}
	a.losses(row, g, &p, &values, index)
	p.Reference, p.Received = nil, nil
	if v := values[field.OpticalReturnLoss]; v != nil {
		a.add(row, g, field.OpticalReturnLoss, &p, *v, index)
	}
	p.Event = a.event
	for _, f := range atEvent {
		if values[f] != nil {
			a.add(row, g, f, &p, *values[f], index)
		}
	}
}

// atEvent are the fields that are of a splice or a connector of the link. All
// others are of the whole link, whatever event their row is about.
var atEvent = []field.Field{field.Reflectance, field.ReturnLoss, field.SpliceLoss}

// told reports whether one of the last rows gave the same of the link: a table
// of events tends to repeat the link's loss and length beside each.
func (a *assembler) told(p *record.Reading) bool {
	const rows = 200
	all := a.r.facts.Readings
	for i := len(all) - 1; i >= max(0, len(all)-rows); i-- {
		q := &all[i]
		if q.Link != p.Link || a.r.found[i].account != int32(a.index) {
			return false
		}
		if q.Quantity == p.Quantity && q.WavelengthNM == p.WavelengthNM && q.Direction == p.Direction && q.Event == p.Event {
			return q.Value.Equal(p.Value) && q.Time.Equal(p.Time)
		}
	}
	return false
}

// length adds a length, once a row however many groups share its column. It is
// of the wavelength, for which the glass has an index of refraction of its own,
// and of the direction, where those groups agree on them.
func (a *assembler) length(row *table.Row, g *mapping.ReadingSlots, p record.Reading, value quantity.Decimal, index int32) {
	first := true
	for i := range a.groups {
		switch other := &a.groups[i]; {
		case other == g:
			first = false
		case other[field.Length].Column != g[field.Length].Column:
		case first:
			return
		default:
			if other[field.Wavelength] != g[field.Wavelength] {
				p.WavelengthNM = 0
			}
			if other[field.Direction] != g[field.Direction] || other[field.End] != g[field.End] {
				p.Direction = record.NoWay
			}
		}
	}
	a.add(row, g, field.Length, &p, value, index)
}

// onlyLength reports that a row says nothing that needs a wavelength. Where a
// value could not be read, its column tells.
func onlyLength(g *mapping.ReadingSlots, values *[field.Count]*quantity.Decimal, faulty bool) bool {
	for f := field.Loss; f < field.Length; f++ {
		if f != field.Reference && (values[f] != nil || faulty && g[f].Column >= 0) {
			return false
		}
	}
	return true
}

// losses adds the insertion loss, given as such, as a rate, or as two powers.
func (a *assembler) losses(row *table.Row, g *mapping.ReadingSlots, p *record.Reading, v *[field.Count]*quantity.Decimal, index int32) {
	if v[field.Received] != nil {
		if v[field.Reference] == nil {
			a.fault(row, g[field.Reference].Column, diag.Problem{Code: "missing-reference", Message: "a received power without its reference power gives no loss",
				Fix: "give the reference power in the file's readings entry, such as reference_dbm: -4.02; if this row alone has none, " + leaveOut})
			return
		}
		p.Reference, p.Received = v[field.Reference], v[field.Received]
		loss := p.Reference.Sub(*p.Received)
		if a.over && field.Bounds[field.MaxLoss].Less(loss) {
			loss = field.Bounds[field.MaxLoss]
		}
		if v[field.Loss] == nil {
			a.inRange(row, g[field.Received].Column, field.Loss, loss, loss.String())
			a.add(row, g, field.Received, p, loss, index)
			return
		}
		// Each of the three was rounded, to hundredths at the coarsest; a difference
		// that shows in tenths is more than that.
		if !loss.Sub(*v[field.Loss]).Round(1).IsZero() {
			a.r.list.Add(diag.Problem{Severity: diag.Question, Code: "loss-and-powers", Place: a.t.Place(row, g[field.Loss].Column),
				Message: fmt.Sprintf("the loss is %s dB, but the two powers differ by %s dB", v[field.Loss], loss)})
		}
	}
	switch {
	case v[field.Loss] != nil:
		a.add(row, g, field.Loss, p, *v[field.Loss], index)
	case v[field.LossPerKm] != nil:
		length := a.r.link(index).Length
		if v[field.Length] != nil {
			length = *v[field.Length]
		}
		if length.Sign() <= 0 {
			a.fault(row, g[field.LossPerKm].Column, diag.Problem{Code: "no-length", Message: "dB/km without a length gives no loss", Fix: "give the link's length in " + a.r.scheduled + ", or map a length column"})
			return
		}
		rate := *p // the note is of this reading only
		rate.Note = strings.TrimPrefix(p.Note+"; "+fmt.Sprintf("%s dB/km x %s m", v[field.LossPerKm], length), "; ")
		a.add(row, g, field.LossPerKm, &rate, v[field.LossPerKm].Mul(quantity.Kilometres(length)), index)
	}
}

// add adds one reading whose value came from field f.
func (a *assembler) add(row *table.Row, g *mapping.ReadingSlots, f field.Field, p *record.Reading, value quantity.Decimal, link int32) {
	if a.bad() {
		return
	}
	p.Value = value
	p.Quantity = field.QuantityOf[f]
	if f == field.Received || f == field.LossPerKm {
		p.Quantity = record.InsertionLoss
	}
	p.Shown = ""
	if a.bounded {
		p.Shown = a.keep(a.shownOf(f, value))
	}
	if a.ofEvent && p.Event == "" && a.told(p) {
		a.repeated++
		return
	}
	if !a.r.mayHaveMore(link) {
		a.fault(row, g[f].Column, diag.Problem{Code: "too-many-readings", Message: fmt.Sprintf("link %q has more than %d readings", p.Link, maxOfLink),
			Fix: "check which column names the link, and that no file is in readings/ twice"})
		return
	}
	p.Origin.Row, p.Origin.Column = a.t.RowOf(row, g[f].Column), a.t.Column(row, g[f].Column)
	p.Origin.Cell = a.t.CellName(row, g[f].Column)
	a.show.value(g[f].Column)
	switch a.added++; a.added {
	case roomFrom, manyRooms:
		a.makeRoom()
	}
	a.r.facts.Readings = append(a.r.facts.Readings, *p)
	a.r.found = append(a.r.found, found{link: link, account: int32(a.index), row: int32(a.account.Rows), ordered: a.m.InRowOrder, event: a.event != p.Event})
}
