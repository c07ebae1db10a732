package propose

import (
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
		if n := countNamed(&table.Row{Cells: cellsOf(t.Names)}); n > score {
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
			if n := countNamed(&table.Row{Cells: cellsOf(other.Names)}); n > score {
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
func (p *proposer) guessReport(f *source.File) ([]string, *table.KeyedLines) {
	lines, keyed, known := 0, 0, 0
	var keys []string
	count := map[string]int{}
	var order []string
	for _, span := range table.LinesOf(f.Text) {
		if span[1]-span[0] > table.MaxRow {
			return nil, nil
		}
		line := f.Text[span[0]:span[1]]
		if table.Blank(line) || table.IsRule(line) {
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
func (p *proposer) takeReport(t *table.KeyedLines, begins string) table.Table {
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
			if n := countNamed(&r); n > score && len(r.Odd) == 0 {
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
		if table.IsRule([]byte(line)) && i <= 2 && strings.Contains(strings.TrimSpace(line), " ") {
			return ruledStarts(text)
		}
		if table.IsRule([]byte(line)) {
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

// lists are the paths that a problem about several lists names.
func lists(p *diag.Problem) []string {
	_, names, _ := strings.Cut(p.Message, ": ")
	return strings.Split(names, ", ")
}
