package propose

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/mapping"
	"spanseal/internal/quantity"
	"spanseal/internal/source"
	"spanseal/internal/table"
)

// A sample has a shape: delimited, cut by characters, lines with keys, JSON; and
// its names may stand in a row or in a column. The draft tries each shape and
// takes the one under which most names are recognised.

// openText makes a table of a text sample in the shape that fits it best.
func (p *proposer) openText(f *source.File) table.Table {
	p.file = f
	if table.IsJSON(f.Name) {
		return p.openList(f)
	}
	d, how, problem := table.OpenDelimited(f, p.m.Shape())
	best, score := table.Table(nil), 0
	if problem == nil {
		if best, score = d, headingScore(d); columnScore(d) > score && score < 3 {
			v, bad := table.Turn(d, f.Name)
			if bad == nil && headingScore(v) > score {
				p.saidDelimiter(d, how)
				p.saw("names in the first column: each column is read as a row")
				p.setConstant("transposed", "true")
				p.m.Transposed = true
				return v
			}
		}
	}
	if keys, t := p.guessReport(f); t != nil && len(keys) > 0 {
		if n := senses(&table.Row{Cells: cellsOf(t.Names)}); n > score {
			return p.takeReport(t, keys[0])
		}
	}
	if t := guessFixed(f); t != nil {
		if n := headingScore(t); n > score && n > 1 {
			var at []string
			for _, s := range t.Starts {
				at = append(at, strconv.Itoa(s))
			}
			p.m.FixedWidth = t.Starts
			p.setConstant("fixed_width", "["+strings.Join(at, ", ")+"]")
			p.saw("columns that begin at the characters %s of each line", strings.Join(at, ", "))
			return t
		}
	}
	if problem != nil {
		p.list.Add(*problem)
		return nil
	}
	p.saidDelimiter(d, how)
	return best
}

func (p *proposer) saidDelimiter(t *table.Delimited, how string) {
	if how != "" {
		p.saw("%s", how)
	}
	name := string(t.Delimiter)
	if name == "\t" {
		name = "tab"
	}
	p.setConstant("delimiter", strconv.Quote(name))
}

// openList takes the list of a JSON file whose keys say most.
func (p *proposer) openList(f *source.File) table.Table {
	t, how, problem := table.OpenJSON(f, p.m.List)
	if problem != nil && problem.Code == "which-list" {
		score := 0
		for _, list := range lists(problem) {
			other, said, bad := table.OpenJSON(f, list)
			if bad != nil {
				continue
			}
			if n := senses(&table.Row{Cells: cellsOf(other.Names)}); n > score {
				t, how, problem, score, p.m.List = other, said, nil, n, list
			}
		}
	}
	if problem != nil {
		p.list.Add(*problem)
		return nil
	}
	p.saw("%s", how)
	if p.m.List == "" {
		p.m.List = t.List
	}
	p.setConstant("list", strconv.Quote(p.m.List))
	return t
}

// guessReport finds the keys of a report and with which of them a record begins.
func (p *proposer) guessReport(f *source.File) ([]string, *table.Report) {
	lines, keyed, known := 0, 0, 0
	var keys []string
	count := map[string]int{}
	var order []string
	for _, span := range table.LinesOf(f.Text) {
		if span[1]-span[0] > table.MaxRow {
			return nil, nil
		}
		line := f.Text[span[0]:span[1]]
		if table.Blank(line) || table.Ruled(line) {
			continue
		}
		if lines++; lines > 5000 { // enough to tell
			break
		}
		entries := table.EntriesOf(f.Text, span[0], span[1])
		if len(entries) > 0 {
			keyed++
		}
		for _, e := range entries {
			name := field.HeadingName(e.Key)
			if count[name]++; count[name] == 1 {
				order = append(order, e.Key)
			}
			if field.SenseOf(e.Key).Says() {
				known++
			}
		}
	}
	if lines == 0 || 2*keyed < lines || 2*known < keyed || len(order) > 200 {
		return nil, nil
	}
	for _, key := range order {
		if count[field.HeadingName(key)] > 1 {
			keys = []string{key}
			break
		}
	}
	if keys == nil { // one record
		i := slices.IndexFunc(order, func(key string) bool { return field.SenseOf(key).Field == field.Link })
		if i < 0 {
			return nil, nil
		}
		keys = order[i : i+1]
	}
	t, _, problem := table.OpenReport(f, keys, nil)
	if problem != nil {
		return nil, nil
	}
	for r := range t.Rows() {
		if len(r.Odd) > 0 { // several readings below one name: each begins at the first key that is there twice
			begins := t.Names[r.Odd[0].Column]
			keys = []string{begins}
			for _, key := range order[slices.IndexFunc(order, t.Begins):slices.Index(order, begins)] {
				if s := field.SenseOf(key); s.Field != field.None && !s.Field.Measured() {
					p.filled = append(p.filled, key)
				}
			}
			t.BeginAt(p.filled, begins)
			break
		}
	}
	return keys, t
}

// takeReport writes the keys of a report into the draft.
func (p *proposer) takeReport(t *table.Report, begins string) table.Table {
	p.m.Report = []string{begins}
	p.setConstant("report", strconv.Quote(begins))
	p.saw("lines with keys; a record begins at %q", begins)
	return t
}

// guessFixed finds the characters at which columns begin: where all rows of a
// table have a gap. A line that rules the table shows them best.
func guessFixed(f *source.File) *table.FixedWidth {
	var lines []string
	for _, span := range table.LinesOf(f.Text) {
		if span[1]-span[0] > 2000 {
			return nil
		}
		line := string(f.Text[span[0]:span[1]])
		if strings.Contains(line, "\t") {
			return nil
		}
		if lines = append(lines, line); len(lines) == table.HeadingSearch {
			break
		}
	}
	var best *table.FixedWidth
	score := 0
	for h, line := range lines {
		if len(gaps.Split(strings.TrimSpace(line), -1)) < 2 {
			continue
		}
		for _, gap := range []int{2, 1} {
			starts := columnStarts(lines[h:], gap)
			if len(starts) < 2 {
				continue
			}
			t := table.NewFixedWidth(f, starts)
			r := table.Row{}
			for n, span := range table.LinesOf(f.Text) {
				if n == h+1 {
					t.CutLine(&r, span[0], span[1])
					break
				}
			}
			if n := senses(&r); n > score && len(r.Odd) == 0 {
				best, score = t, n
			}
		}
	}
	return best
}

var gaps = regexp.MustCompile(`\s{2,}`)

// columnStarts are the characters at which columns begin in a heading and the
// lines below it, up to a blank one.
func columnStarts(lines []string, gap int) (starts []int) {
	var covered []bool
	heading := []rune(lines[0])
	body := 0
	for i, line := range lines {
		text := []rune(line)
		if strings.TrimSpace(line) == "" {
			if body > 0 {
				break
			}
			continue
		}
		if table.Ruled([]byte(line)) && i <= 2 && strings.Contains(strings.TrimSpace(line), " ") {
			return ruledStarts(text)
		}
		if table.Ruled([]byte(line)) {
			continue
		}
		if i > 0 {
			if totals.MatchString(strings.TrimSpace(line)) {
				continue
			}
			body++
		}
		for len(covered) < len(text) {
			covered = append(covered, false)
		}
		for k, c := range text {
			covered[k] = covered[k] || !unicode.IsSpace(c)
		}
	}
	if body == 0 {
		return nil
	}
	empty := gap
	for k, c := range covered {
		switch {
		case !c:
			empty++
		case empty >= gap:
			starts = append(starts, k+1)
			empty = 0
		default:
			empty = 0
		}
	}
	// A column without a heading belongs to the one at its left, such as the
	// hours behind days.
	return slices.DeleteFunc(starts, func(s int) bool {
		i := slices.Index(starts, s)
		end := len(heading)
		if i+1 < len(starts) {
			end = min(end, starts[i+1]-1)
		}
		return i > 0 && (s-1 >= end || strings.TrimSpace(string(heading[s-1:end])) == "")
	})
}

// ruledStarts are where the strokes of a ruling line begin.
func ruledStarts(line []rune) (starts []int) {
	for i, c := range line {
		if !unicode.IsSpace(c) && (i == 0 || unicode.IsSpace(line[i-1])) {
			starts = append(starts, i+1)
		}
	}
	return starts
}

// referenceAbove finds a reference power and its wavelength in a row.
var powerAbove = regexp.MustCompile(`(\b\d{3,4})(\s*nm)?(\s*[:=]?\s*)([-+\x{2212}]?\d+[.,]\d+)`)

// referencePattern makes a pattern of a row that gives reference powers by
// wavelength, or "".
func referencePattern(r *table.Row) string {
	text := r.Joined()
	if strings.ContainsAny(text, "{}*") || len(text) > 200 {
		return ""
	}
	hits := powerAbove.FindAllStringSubmatchIndex(text, -1)
	if len(hits) == 0 || field.SenseOf(strings.TrimRight(text[:hits[0][0]], " :=")).Field != field.Reference {
		return ""
	}
	var b strings.Builder
	last := 0
	for _, h := range hits {
		if nm, _ := quantity.Whole(text[h[2]:h[3]]); nm < field.MinWavelength || nm > field.MaxWavelength {
			return ""
		}
		b.WriteString(text[last:h[2]] + "{wavelength_nm}" + text[h[3]:h[8]] + "{reference_dbm}")
		last = h[9]
	}
	rest := text[last:]
	if strings.EqualFold(strings.TrimSpace(rest), string(quantity.DBm)) {
		rest = ""
	}
	b.WriteString(rest)
	pattern, err := mapping.NewPattern(b.String())
	if err != nil || !pattern.PerWavelength() {
		return ""
	}
	if _, ok := pattern.Match(text); !ok {
		return ""
	}
	return b.String()
}

// pairs recognises columns whose cells hold several values, such as 0.35/0.22,
// and says how the draft reads them.
func (p *proposer) pairs(said map[field.Field]string) (each []string) {
	for _, mark := range []string{"/", "|", ";", "&", "+"} {
		if mark == p.cellMark() {
			continue
		}
		n := 0
		var columns []*proposed
		for i := range p.columns {
			c := &p.columns[i]
			parts := c.parts(mark)
			if parts < 2 || c.name == "" || c.taken && c.Field != field.Wavelength {
				continue
			}
			if n == 0 {
				n = parts
			}
			if parts == n {
				columns = append(columns, c)
			}
		}
		if n == 0 || n > mapping.MaxParts {
			continue
		}
		if each = p.pairsOf(mark, n, columns, said); each != nil {
			p.split = mark
			p.setConstant("split", strconv.Quote(mark))
			p.saw("%d values in a cell, parted by %q", n, mark)
			return each
		}
	}
	return nil
}

func (p *proposer) pairsOf(mark string, n int, columns []*proposed, said map[field.Field]string) (each []string) {
	var wave *proposed
	for _, c := range columns {
		if c.Field == field.Wavelength {
			wave = c
		}
	}
	items := make([][]string, n)
	for _, c := range columns {
		if c == wave {
			continue
		}
		if c.Field == field.None && len(c.Wavelengths) == 0 && wave == nil {
			continue
		}
		if !c.Field.Measured() {
			if c.Field != field.None {
				continue
			}
			c.Field = field.Loss
			p.need("whether %q holds the loss, as the draft says", c.name)
		}
		fu, ok := p.valueField(c)
		if !ok {
			continue
		}
		c.taken = true
		for k := range n {
			item := []string{fmt.Sprintf("part: %d", k+1)}
			switch {
			case len(c.Wavelengths) == n:
				item = append(item, fmt.Sprintf("wavelength_nm: %d", c.Wavelengths[k]))
			case wave != nil:
				item = append(item, "wavelength_nm: "+strconv.Quote("{"+wave.bare()+"}"))
				wave.taken = true
				said[field.Wavelength] = wave.name
			case c.Wavelength > 0:
				item = append(item, fmt.Sprintf("wavelength_nm: %d", c.Wavelength))
			}
			if c.Direction != "" && said[field.Direction] == "" {
				item = append(item, "direction: "+c.Direction)
			} else if c.BothWays && n == 2 && said[field.Direction] == "" {
				item = append(item, "direction: "+[]string{"A-B", "B-A"}[k])
			} else if k == 0 && said[field.Direction] == "" && said[field.End] == "" {
				p.need("the direction of the values in %q: add direction: A-B or B-A to each item that is of one", c.name)
			}
			item = append(item, fu.Name()+": "+c.ref)
			items[k] = append(items[k], "{"+strings.Join(item, ", ")+"}")
		}
		if len(c.Wavelengths) != n && wave == nil && c.Wavelength == 0 && said[field.Wavelength] == "" {
			p.need("the wavelength of each value in %q: add wavelength_nm: 1310 to its item of each", c.name)
		}
	}
	for _, list := range items {
		each = append(each, list...)
	}
	return each
}

// severalLinks groups the columns of a row that holds readings of several links:
// Fibre 1, Loss 1, Fibre 2, Loss 2.
func (p *proposer) severalLinks(said map[field.Field]string) (each []string) {
	type member struct {
		tag  string
		link *proposed
	}
	var links []member
	for i := range p.columns {
		if c := &p.columns[i]; c.Field == field.Link && !c.taken && c.name != "" {
			links = append(links, member{c.tag(), c})
		}
	}
	if len(links) < 2 || len(links) > mapping.MaxParts {
		return nil
	}
	for i, m := range links {
		if m.tag == "" || slices.ContainsFunc(links[:i], func(o member) bool { return o.tag == m.tag }) {
			return nil
		}
	}
	var lines []string
	for _, m := range links {
		found := false
		for i := range p.columns {
			c := &p.columns[i]
			if !c.Field.Measured() || c.taken || c.tag() != m.tag {
				continue
			}
			fu, ok := p.valueField(c)
			if !ok {
				continue
			}
			item := []string{"link: " + strconv.Quote("{"+m.link.bare()+"}")}
			if c.Wavelength > 0 {
				item = append(item, fmt.Sprintf("wavelength_nm: %d", c.Wavelength))
			}
			if c.Direction != "" {
				item = append(item, "direction: "+c.Direction)
			}
			lines = append(lines, strings.Join(append(item, fu.Name()+": "+c.ref), ", "))
			found = true
		}
		if !found {
			return nil
		}
	}
	for _, m := range links {
		m.link.taken = true
		for i := range p.columns {
			if c := &p.columns[i]; c.Field.Measured() && c.tag() == m.tag {
				c.taken = true
			}
		}
	}
	said[field.Link], p.several = "several", true
	p.saw("%d links in a row", len(links))
	for _, l := range lines {
		each = append(each, "{"+l+"}")
	}
	return each
}

var wordIn = regexp.MustCompile(`[\pL\pN]+`)

// tag is what a heading says beside its field, wavelength, unit and way: a
// number or a word that tells columns of the same kind apart.
func (c *proposed) tag() string {
	name := strings.ToLower(field.Joined.Replace(field.WithoutUnit(c.name)))
	name = field.AToB.ReplaceAllString(field.BToA.ReplaceAllString(name, " "), " ")
	var rest []string
	for _, w := range wordIn.FindAllString(name, -1) {
		if nm, ok := quantity.Whole(w); ok && nm >= field.MinWavelength && nm <= field.MaxWavelength {
			continue
		}
		if s := field.SenseOf(w); s.Field == c.Field || w == "nm" || w == "db" || w == "no" || w == "dbm" {
			continue
		}
		if exp := field.Words[c.Field]; exp != nil && exp.MatchString(w) {
			continue
		}
		rest = append(rest, w)
	}
	return strings.Join(rest, " ")
}

// places are what parts of a name stand under, from the largest to the smallest.
var places = regexp.MustCompile(`(?i)^(?:building|room|rack|cabinet|closure|frame|odf|panel|patch panel|shelf|tray|cassette|module|slot|row|port|position|pos|gebäude|raum|schrank|feld|einschub|kassette|bâtiment|salle|baie|tiroir|plateau|edificio|sala|armario|bandeja|puerto)(?: ?(?:no|nr|id|name|number|#)\.?)?$`)

// linkOfPlaces makes the name of a link of the columns that say where it ends,
// where no column names it.
func (p *proposer) linkOfPlaces(said map[field.Field]string) string {
	var parts []string
	var names []string
	for i := range p.columns {
		if c := &p.columns[i]; !c.taken && places.MatchString(c.name) && c.empty+len(c.values) > 0 {
			parts = append(parts, "{"+c.bare()+"}")
			names = append(names, strconv.Quote(c.name))
			c.taken = true
			p.parts = append(p.parts, c)
		}
	}
	if len(parts) < 2 {
		for _, c := range p.parts {
			c.taken = false
		}
		p.parts = nil
		return ""
	}
	said[field.Link] = strings.Join(parts, "/")
	p.need("whether links.csv makes its names of %s as the draft says: with / between them", strings.Join(names, ", "))
	return "link: " + strconv.Quote(said[field.Link])
}

// lists are the paths that a problem about several lists names.
func lists(p *diag.Problem) []string {
	_, names, _ := strings.Cut(p.Message, ": ")
	return strings.Split(names, ", ")
}
