// Package propose drafts an entry of readings from a sample export, for a person to
// read and correct. What the sample does not show stands under Needed, and is not
// filled in; what was taken for what is said, with the first rows as the draft reads
// them. No reading is ever bound by a draft that nobody put into job.yaml.
package propose

import (
	"fmt"
	"path"
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/intake"
	"spanseal/internal/mapping"
	"spanseal/internal/quantity"
	"spanseal/internal/source"
	"spanseal/internal/strict"
	"spanseal/internal/table"
	"spanseal/internal/written"
)

// Proposal is the draft of an entry of readings in job.yaml, made from a sample
// export. It is for a person to read and correct: what the sample does not show
// stands under Needed, and is not filled in.
type Proposal struct {
	// Entry is YAML: one item of the list readings, two spaces deep.
	Entry string
	// Recognised and Needed are sentences, one a line.
	Recognised, Needed []string
	// AsRead is what the draft makes of the sample's first rows, by table.
	AsRead []intake.AsRead
	name   string
}

// YAML is the draft as it may be put at the end of job.yaml, with what is
// needed as remarks above the entry.
func (p *Proposal) YAML() string { return Join([]*Proposal{p}) }

// Join is several drafts as one list. Files of one kind of export, which have the same
// entry, share it if no file of another kind has a name that ends alike.
func Join(all []*Proposal) string {
	var b strings.Builder
	b.WriteString("readings:\n")
	for i, p := range all {
		alike := p.alike(all)
		if alike[0] != p {
			continue // it stands already
		}
		if needed := Needed(alike); len(needed) > 0 {
			fmt.Fprintf(&b, "  # Drafted from %s. Still to say, or to check:\n", diag.Safe(names(alike)))
			for _, n := range needed {
				fmt.Fprintf(&b, "  # - %s\n", diag.Safe(n))
			}
		}
		entry := all[i].Entry
		if len(alike) > 1 {
			entry = fmt.Sprintf("  - files: %s\n%s", strconv.Quote("readings/*"+path.Ext(p.name)), p.body())
		}
		b.WriteString(entry)
	}
	return b.String()
}

// Needed is what several drafts need, each sentence once.
func Needed(all []*Proposal) (needed []string) {
	for _, p := range all {
		for _, n := range p.Needed {
			if !slices.Contains(needed, n) {
				needed = append(needed, n)
			}
		}
	}
	return needed
}

func names(all []*Proposal) string {
	var list []string
	for _, p := range all {
		list = append(list, p.name)
	}
	return strings.Join(list, ", ")
}

// body is the entry without the file that it is of.
func (p *Proposal) body() string {
	_, body, _ := strings.Cut(p.Entry, "\n")
	return body
}

// alike are the drafts that share an entry with this one, itself among them.
func (p *Proposal) alike(all []*Proposal) (alike []*Proposal) {
	for _, q := range all {
		switch {
		case path.Ext(q.name) != path.Ext(p.name):
		case plain.Replace(path.Ext(p.name)) != path.Ext(p.name):
			return []*Proposal{p}
		case q.body() != p.body():
			return []*Proposal{p}
		default:
			alike = append(alike, q)
		}
	}
	return alike
}

// Propose drafts the entry for a sample export: delimited text or a workbook.
// The list holds why none could be made.
func Propose(name string, raw []byte) (*Proposal, *diag.List) {
	list := &diag.List{}
	p := &proposer{m: mapping.New(), list: list, name: path.Base(name)}
	p.setConstant("files", strconv.Quote("readings/"+plain.Replace(p.name)))
	t := p.open(source.New(p.name, raw))
	if t == nil {
		return nil, list
	}
	if t = table.FirstRows(t); !p.heading(t) {
		return nil, list
	}
	p.t = t
	p.around(t)
	p.values(t)
	p.assign()
	p.marks()
	p.try(t)
	return &Proposal{Entry: p.entry.String(), Recognised: p.recognised, Needed: p.needed, AsRead: p.asRead, name: p.name}, list
}

// plain writes a name as a pattern of itself.
var plain = strings.NewReplacer("*", "?", "[", "?", "\\", "?")

// open makes a table of the sample, or returns nil after adding a problem.
func (p *proposer) open(raw *source.File) table.Table {
	switch table.KindOf(raw.Name) {
	case "workbook":
		return p.openSheet(raw)
	case "yaml":
		p.list.Add(diag.Problem{Code: "no-mapping", Place: diag.Place{File: raw.Name}, Message: "a YAML file of readings needs no mapping",
			Fix: "give it a list readings whose items have the keys link, wavelength_nm, direction, loss_db, time"})
		return nil
	}
	f, how, problem := table.Decode(raw, "")
	if problem != nil && problem.Code == "not-utf-8" {
		p.need("the encoding: windows-1252 was assumed for this draft; check that accented letters are right")
		p.setConstant("encoding", "windows-1252")
		f, how, problem = table.Decode(raw, "windows-1252")
	}
	if problem == nil {
		p.saw("%s", how)
		return p.openText(f)
	}
	p.list.Add(*problem)
	return nil
}

func (p *proposer) openSheet(raw *source.File) table.Table {
	p.isSheet, p.file = true, raw
	book, err := table.OpenBook(raw)
	if err != nil {
		p.list.Add(table.BrokenBook(raw, err))
		return nil
	}
	filled := table.FilledSheets(raw, book)
	if len(filled) == 0 {
		p.list.Add(diag.Problem{Code: "empty-file", Place: diag.Place{File: raw.Name}, Message: "every sheet of the workbook is empty"})
		return nil
	}
	t := table.NewSheet(raw, book, filled[0])
	p.sheets = len(filled)
	sheet := strict.Quote(t.Name)
	switch {
	case len(filled) == 1:
	case !sameHeading(raw, book, filled):
		p.need("the sheet: the draft takes the first of %s", table.NamesOfSheets(filled))
	default:
		sheet = strconv.Quote("*")
		if named := p.sheetsName(t, filled); named != "" {
			sheet = strconv.Quote(named)
		} else {
			p.need("whether all sheets count, as the draft says: %s have the same heading", table.NamesOfSheets(filled))
		}
	}
	p.setConstant("sheet", sheet)
	if score := headingScore(t); columnScore(t) > score && score < 3 {
		if v, bad := table.Turn(t, raw.Name); bad == nil && headingScore(v) > score {
			p.saw("names in the first column: each column is read as a row")
			p.setConstant("transposed", "true")
			p.m.Transposed = true
			return v
		}
	}
	return t
}

// sameHeading reports that the best row of each sheet is the same.
func sameHeading(raw *source.File, book *table.Workbook, sheets []table.BookSheet) bool {
	first := headingTexts(table.NewSheet(raw, book, sheets[0]))
	for _, s := range sheets[1:] {
		if !slices.Equal(first, headingTexts(table.NewSheet(raw, book, s))) {
			return false
		}
	}
	return len(first) > 0
}

// sheetsName is how the sheets name what their rows do not: the link, or the cable of its
// strands; "" if the rows name the link.
func (p *proposer) sheetsName(t table.Table, sheets []table.BookSheet) string {
	names := headingTexts(t)
	column := func(f field.Field) int {
		return slices.IndexFunc(names, func(name string) bool { return field.SenseOf(name).Field == f })
	}
	link, strand, cable := column(field.Link), column(field.Strand), column(field.Cable)
	bears := func(f field.Field) string {
		p.keyed = map[field.Field]keyed{f: {field: f, value: sheets[0].Name}}
		p.need("whether each sheet is named after its %s, as the draft says", f)
		return "{" + f.String() + "}"
	}
	switch {
	case len(sheets) > maxNamingSheets, cable >= 0:
	case strand >= 0 || link >= 0 && countsBelow(t, names, link): // numbers begin again on each
		return bears(field.Cable)
	case link < 0:
		return bears(field.Link)
	}
	return ""
}

// countsBelow reports that a column holds whole numbers alone below its heading.
func countsBelow(t table.Table, names []string, column int) bool {
	n, below := 0, false
	for r := range t.Rows() {
		switch text := r.At(column); {
		case text == names[column]:
			below = true
		case !below || text == "":
		default:
			if _, whole := quantity.Whole(text); !whole {
				return false
			}
			n++
		}
		if n == table.HeadingSearch {
			break
		}
	}
	return n > 0
}

// maxNamingSheets is how many sheets may be links or cables.
const maxNamingSheets = 1000

// heading finds the row whose words say most, and whether the row above it is
// part of it.
func (p *proposer) heading(t table.Table) bool {
	if named, ok := t.(table.SelfNamed); ok {
		p.headed(named.ColumnNames())
		if countNamed(&table.Row{Cells: cellsOf(named.ColumnNames())}) < 2 {
			p.noHeading()
			return false
		}
		return true
	}
	best, n := 0, 0
	var above, last, found, below []string
	line, row := 0, 0
	for r := range t.Rows() {
		if n++; n > table.HeadingSearch {
			break
		}
		var texts []string
		score := 0
		for _, c := range r.Cells {
			texts = append(texts, c.Text)
		}
		score = countNamed(r)
		switch row++; {
		case score > best:
			best, line, above, found, below = score, r.Number, last, texts, nil
			row = 0
		case row == 1:
			below = texts
		}
		last = texts
	}
	if fault := t.Fault(); fault != nil {
		p.list.Add(*fault)
		return false
	}
	if best < 2 {
		p.noHeading()
		return false
	}
	names := mapping.Headings([][]string{found})
	rows := 1
	if repeats(names) && above != nil {
		if joined := mapping.Headings([][]string{above, found}); !repeats(joined) {
			names, rows, line = joined, 2, line-1
		}
	}
	if rows == 1 && partsHeading(found, below) {
		names, rows = mapping.Headings([][]string{found, below}), 2
	}
	p.m.HeaderLine, p.m.HeaderRows = line, rows
	p.setConstant("header_line", strconv.Itoa(line))
	if rows > 1 {
		p.setConstant("header_rows", strconv.Itoa(rows))
	}
	p.saw("heading at %s %d: %s", t.RowWord(), line, strings.Join(names, " | "))
	p.headed(names)
	return true
}

func (p *proposer) noHeading() {
	p.list.Add(diag.Problem{Code: "no-heading", Place: diag.Place{File: p.name}, Message: "no row of the first 200 has words that name a link and a reading",
		Fix: "write the entry by hand: give header_line, and name the columns by heading or number"})
}

// headed makes the columns of the names over them.
func (p *proposer) headed(names []string) {
	times := map[string]int{}
	for _, name := range names {
		times[name]++
	}
	for i, name := range names {
		ref := strict.Quote(name)
		if times[name] > 1 || strings.ContainsFunc(name, source.IsControl) { // no name to go by
			ref = strconv.Itoa(i + 1)
		}
		p.columns = append(p.columns, proposed{Sense: field.SenseOf(name), name: name, ref: ref})
	}
}

// partsHeading reports that a row below a heading goes on with it: it tells
// directions or wavelengths apart where the heading has cells that are merged,
// or the same.
func partsHeading(heading, row []string) bool {
	n, merged := 0, repeats(heading)
	for i, text := range row {
		if written.Numeric(text) {
			return false
		}
		if s := field.SenseOf(text); s.Direction != "" || s.Wavelength > 0 {
			n++
		}
		merged = merged || text != "" && i < len(heading) && heading[i] == ""
	}
	return n > 1 && merged
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
func (p *proposer) values(t table.Table) {
	const most = 500
	first, n := p.m.HeaderLine+p.m.HeaderRows, 0
	_, named := t.(table.SelfNamed)
	for r := range t.Rows() {
		if r.Number < first && !named || r.Beside {
			continue
		}
		if n++; n > most {
			break
		}
		if r.Number == first && !named {
			if mapping.IsUnits(r, make([]string, len(r.Cells))) {
				p.saw("units at %s %d", t.RowWord(), r.Number)
				for i, c := range r.Cells {
					if u, ok := field.UnitNamed(c.Text); ok && i < len(p.columns) && p.columns[i].Unit == "" {
						p.columns[i].Unit = u
					}
				}
				continue
			}
		}
		if p.beside[r.Number] {
			continue
		}
		for i := range p.columns {
			switch text := r.At(i); {
			case text == p.columns[i].name: // the heading again
			case text != "":
				p.columns[i].values = append(p.columns[i].values, strings.Clone(text))
				if as := table.ShownAs(t, r.Cells[i]); as != table.AsNumber {
					if p.columns[i].shown == nil {
						p.columns[i].shown = map[table.Shown]int{}
					}
					p.columns[i].shown[as]++
				}
			case !r.Blank():
				p.columns[i].empty++
			}
		}
	}
}
