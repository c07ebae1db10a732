package outline

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/intake"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/series"
	"spanseal/internal/written"
)

// link is one that the exports name, and what they say of it.
type link struct {
	id, cable, strand string
	stem              string // of the name, before its last number
	number            int
	digits            int // of that number; 0: it has none
	waves             []int
	from, to, fibre   string
	least, greatest   *quantity.Decimal // lengths measured, metres
}

// row is one of links.csv: a link, or several that count up.
type row struct {
	links []*link
	cells []string
}

// seen is what was concluded on the way, and what could not be.
type seen struct {
	meant          bool     // a name looks like a series
	named          bool     // after cable and strand
	counted        bool     // cable and strand are from names
	places, fibres []string // the columns that they are from
	placesDiffer   int      // links whose places differ between rows
	fibresDiffer   int
	lengthsDiffer  int // links whose lengths are too far apart
	lengths        bool
	cut            bool     // a table has more rows than are looked through
	missing        []string // numbers that a series leaves out
}

// heading of links.csv, as spanseal new writes it.
var heading = []string{"link", "cable", "strand", "from", "to", "fibre", "length_m", "mated_pairs", "splices", "end_a", "end_b"}

// Links is links.csv.
func (d *Draft) Links() []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	_ = w.Write(heading) // a buffer takes everything
	for _, r := range d.rows {
		_ = w.Write(r.cells)
	}
	w.Flush()
	return b.Bytes()
}

// schedule makes the rows.
func (d *Draft) schedule() {
	links, byID := d.named(), map[string]*link{}
	for _, l := range links {
		byID[l.id] = l
	}
	d.measured(byID)
	d.columns(byID)
	for _, group := range stems(links) {
		d.strands(group)
		for len(group) > 0 {
			n := d.together(group)
			d.rows = append(d.rows, d.row(group[:n]))
			group = group[n:]
		}
	}
}

// named are the links in the order of the exports.
func (d *Draft) named() (links []*link) {
	for _, l := range d.survey.Facts.Links {
		n := &link{id: l.ID, cable: l.Cable, strand: l.Strand, stem: l.ID}
		d.seen.named = d.seen.named || l.Strand != ""
		d.seen.meant = d.seen.meant || series.Meant(l.ID)
		if at := strings.LastIndexFunc(l.ID, func(r rune) bool { return r < '0' || '9' < r }) + 1; at < len(l.ID) && len(l.ID)-at < 7 {
			n.stem, n.digits = l.ID[:at], len(l.ID)-at
			n.number, _ = strconv.Atoi(l.ID[at:])
		}
		links = append(links, n)
	}
	return links
}

// measured notes at which wavelengths each link was measured, and how long it is.
func (d *Draft) measured(byID map[string]*link) {
	for i := range d.survey.Facts.Readings {
		r := &d.survey.Facts.Readings[i]
		l := byID[r.Link]
		if r.WavelengthNM > 0 && !slices.Contains(l.waves, r.WavelengthNM) {
			l.waves = append(l.waves, r.WavelengthNM)
			slices.Sort(l.waves)
		}
		if r.Quantity != record.Length {
			continue
		}
		if v := r.Value; l.least == nil || v.Less(*l.least) {
			l.least = &v
		}
		if v := r.Value; l.greatest == nil || l.greatest.Less(v) {
			l.greatest = &v
		}
	}
}

// columns looks through the columns that hold no reading for places and kinds of fibre.
func (d *Draft) columns(byID map[string]*link) {
	for i := range d.survey.AsRead {
		t := &d.survey.AsRead[i]
		for c := range t.Columns {
			column := &t.Columns[c]
			if len(column.Fields) > 0 || column.Values == 0 {
				continue
			}
			var to func(*link) *string
			noted, differ := &d.seen.places, &d.seen.placesDiffer
			switch {
			case field.PlaceOf(column.Name) == "A" && !holds(t, c, isWay):
				to = func(l *link) *string { return &l.from }
			case field.PlaceOf(column.Name) == "B" && !holds(t, c, isWay):
				to = func(l *link) *string { return &l.to }
			case holds(t, c, isFibre):
				to, noted, differ = func(l *link) *string { return &l.fibre }, &d.seen.fibres, &d.seen.fibresDiffer
			default:
				continue
			}
			if quoted := strconv.Quote(column.Name); !slices.Contains(*noted, quoted) {
				*noted = append(*noted, quoted)
			}
			d.seen.cut = d.seen.cut || t.Cut
			*differ += fill(t, c, byID, to)
		}
	}
}

// fill puts what a column says of each link into it, and nothing where rows differ, of
// which it returns how many there are.
func fill(t *intake.AsRead, column int, byID map[string]*link, to func(*link) *string) int {
	differ := map[*link]bool{}
	for _, r := range t.Rows {
		if column >= len(r.Cells) || r.Cells[column] == "" {
			continue
		}
		for k := range r.Readings {
			switch l := byID[r.Readings[k].Link]; {
			case l == nil:
			case *to(l) == "":
				*to(l) = written.OneLine(r.Cells[column])
			case *to(l) != written.OneLine(r.Cells[column]):
				differ[l] = true
			}
		}
	}
	for l := range differ {
		*to(l) = ""
	}
	return len(differ)
}

// holds reports that all cells of a column, in rows that give a reading, are of a kind.
func holds(t *intake.AsRead, column int, kind func(string) bool) bool {
	n := 0
	for _, r := range t.Rows {
		if len(r.Readings) == 0 || column >= len(r.Cells) || r.Cells[column] == "" {
			continue
		}
		if n++; !kind(r.Cells[column]) {
			return false
		}
	}
	return n > 0
}

// isWay: the end that light was sent in at is no place.
func isWay(text string) bool { return strings.EqualFold(text, "a") || strings.EqualFold(text, "b") }

func isFibre(text string) bool {
	_, mode, why := written.Fibre(text)
	return mode != "" && why == ""
}

// stems puts links whose names differ in their last number side by side, in the order of
// the numbers. Numbers with leading zeros and others are not of one series, unless they
// have the same digits.
func stems(links []*link) (groups [][]*link) {
	padded := map[string]map[int]bool{} // digits of numbers with leading zeros, by stem
	for _, l := range links {
		if l.digits > 1 && l.id[len(l.stem)] == '0' {
			if padded[l.stem] == nil {
				padded[l.stem] = map[int]bool{}
			}
			padded[l.stem][l.digits] = true
		}
	}
	type kind struct {
		stem   string
		digits int // of padded numbers
	}
	at := map[kind]int{}
	for _, l := range links {
		k := kind{l.stem, 0}
		switch {
		case l.digits == 0:
			groups = append(groups, []*link{l})
			continue
		case padded[l.stem][l.digits]:
			k.digits = l.digits
		}
		i, known := at[k]
		if !known {
			i = len(groups)
			at[k], groups = i, append(groups, nil)
		}
		groups[i] = append(groups[i], l)
	}
	for _, g := range groups {
		slices.SortStableFunc(g, func(a, b *link) int { return a.number - b.number })
	}
	return groups
}

// ofTube is how many fibres a tube has, as common practice counts them.
const ofTube = 12

// strands tells cable and strand from the names of a series, where the export has no
// columns of them, and notes which numbers the series leaves out.
func (d *Draft) strands(group []*link) {
	first := group[0]
	cable := strings.TrimRight(first.stem, "-_/.:# ")
	if len(group) < 2 || cable == "" || cable == first.stem || strings.Contains(cable, " ") || first.number%ofTube != 1 || slices.ContainsFunc(group, func(l *link) bool { return l.cable+l.strand != "" }) {
		return
	}
	next, digits := first.number, first.digits
	if first.id[len(first.stem)] != '0' && slices.ContainsFunc(group, func(l *link) bool { return l.digits != digits }) {
		digits = 1
	}
	for _, l := range group {
		for ; next < l.number && len(d.seen.missing) < most; next++ {
			d.seen.missing = append(d.seen.missing, fmt.Sprintf("%s%0*d", l.stem, digits, next))
		}
		l.cable, l.strand, next = cable, strconv.Itoa(l.number), l.number+1
	}
	d.seen.counted = true
}

// together is how many links at the beginning of a group make one row. What fits some
// links fits fewer of them too, so it doubles their number until it fits no more.
func (d *Draft) together(group []*link) int {
	if d.seen.meant {
		return 1
	}
	fits := func(n int) bool { return n <= len(group) && n <= series.Most && alike(group[:n]) && counts(group[:n]) }
	n := 1
	for fits(2 * n) {
		n *= 2
	}
	return n + sort.Search(n, func(more int) bool { return !fits(n + more + 1) })
}

// alike reports that links are numbered one by one, and say the same but for what counts.
func alike(links []*link) bool {
	first := links[0]
	least, greatest, mode := first.least, first.greatest, modeOf(first.waves)
	for i, l := range links {
		own := modeOf(l.waves)
		if l.number != first.number+i || l.cable != first.cable || l.fibre != first.fibre || !fits(mode, own) || (l.least == nil) != (least == nil) {
			return false
		}
		if mode == "" {
			mode = own
		}
		if least == nil {
			continue
		}
		if l.least.Less(*least) {
			least = l.least
		}
		if greatest.Less(*l.greatest) {
			greatest = l.greatest
		}
		if i > 0 && far(*least, *greatest) {
			return false
		}
	}
	return true
}

// far reports that two lengths are not those of one cable: more than 2 % apart.
func far(least, greatest quantity.Decimal) bool {
	return least.Mul(quantity.Int(102)).Less(greatest.Mul(quantity.Int(100)))
}

// counts reports that the cells of some links can be written as one row.
func counts(links []*link) bool {
	if _, ok := counted(links, func(l *link) string { return l.id }, true); !ok {
		return false
	}
	for _, to := range []func(*link) string{func(l *link) string { return l.from }, func(l *link) string { return l.to }} {
		if _, ok := counted(links, to, false); !ok {
			return false
		}
	}
	_, ok := counted(links, func(l *link) string { return l.strand }, true)
	return ok || links[0].strand == "" && links[len(links)-1].strand == ""
}

// counted writes the texts of links as one cell: the text that they share, unless they
// must differ, or a series of them.
func counted(links []*link, of func(*link) string, apart bool) (cell string, ok bool) {
	first, last := of(links[0]), of(links[len(links)-1])
	if len(links) == 1 {
		return first, true
	}
	if first == last {
		return first, !apart && !series.Meant(first) && !slices.ContainsFunc(links, func(l *link) bool { return of(l) != first })
	}
	cell = first + ".." + last
	s, why, _ := series.Parse(cell, false)
	if why != "" || !series.Meant(cell) || s.Len() != len(links) {
		return "", false
	}
	for i, l := range links {
		if s.At(i) != of(l) {
			return "", false
		}
	}
	return cell, true
}

// row writes some links as one row.
func (d *Draft) row(links []*link) row {
	first := links[0]
	cells := make([]string, len(heading))
	cells[0], _ = counted(links, func(l *link) string { return l.id }, true)
	cells[1] = first.cable
	cells[2], _ = counted(links, func(l *link) string { return l.strand }, true)
	cells[3], _ = counted(links, func(l *link) string { return l.from }, false)
	cells[4], _ = counted(links, func(l *link) string { return l.to }, false)
	cells[5] = first.fibre
	var least, greatest *quantity.Decimal
	for _, l := range links {
		if l.least != nil && (least == nil || l.least.Less(*least)) {
			least = l.least
		}
		if l.greatest != nil && (greatest == nil || greatest.Less(*l.greatest)) {
			greatest = l.greatest
		}
	}
	switch {
	case least == nil:
	case far(*least, *greatest):
		d.seen.lengthsDiffer++
	default:
		cells[6] = least.Round(min(least.Places(), 2)).String()
		d.seen.lengths = true
	}
	return row{links, cells}
}

// linkPoints are what links.csv still needs, and what to look at in it.
func (d *Draft) linkPoints() (points []diag.Unsaid) {
	say := func(format string, args ...any) {
		points = append(points, diag.Unsaid{Text: fmt.Sprintf(format, args...)})
	}
	if len(d.rows) == 0 {
		say("a row for every link: as drafted, the files name none")
		return points
	}
	say("%s; see: spanseal help job-folder", strings.Join(d.empty(), ", "))
	if fibre := d.fibre(); fibre != "" {
		say("fibre: %s", fibre)
	}
	var look []string
	look = append(look, onlyIf(d.seen.meant, "a name with two points is one link, as schedule in job.yaml says")...)
	look = append(look, onlyIf(d.seen.named, "links are named by cable and strand")...)
	look = append(look, onlyIf(d.seen.counted, "cable and strand are from the names")...)
	look = append(look, onlyIf(d.seen.lengths, "length_m is the least that was measured")...)
	look = append(look, onlyIf(len(d.seen.places) > 0, "places are from "+strings.Join(d.seen.places, ", "))...)
	look = append(look, onlyIf(len(d.seen.fibres) > 0, "fibre is from "+strings.Join(d.seen.fibres, ", "))...)
	look = append(look, onlyIf(d.seen.cut, "places and kinds of fibre are from the first rows, because a table is long")...)
	look = append(look, onlyIf(d.survey.More, fmt.Sprintf("links beyond the first %d are left out", len(d.survey.Facts.Links)))...)
	look = append(look, onlyIf(d.seen.placesDiffer > 0, fmt.Sprintf("places differ between the rows of %s, and are left empty", diag.Plural(d.seen.placesDiffer, "link")))...)
	look = append(look, onlyIf(d.seen.fibresDiffer > 0, fmt.Sprintf("kinds of fibre differ between the rows of %s, and are left empty", diag.Plural(d.seen.fibresDiffer, "link")))...)
	look = append(look, onlyIf(d.seen.lengthsDiffer > 0, fmt.Sprintf("lengths measured in %s are more than 2 %% apart, and left empty", diag.Plural(d.seen.lengthsDiffer, "row")))...)
	look = append(look, onlyIf(len(d.seen.missing) > 0, "no file names "+diag.Few(d.seen.missing, 3))...)
	if len(look) > 0 {
		say("check whether this is right: %s", strings.Join(look, "; "))
	}
	return points
}

func onlyIf(so bool, text string) []string {
	if !so {
		return nil
	}
	return []string{text}
}

// empty are the columns that hold an empty cell, but for the fibre.
func (d *Draft) empty() (names []string) {
	for c := 3; c < len(heading); c++ {
		if heading[c] != "fibre" && slices.ContainsFunc(d.rows, func(r row) bool { return r.cells[c] == "" }) {
			names = append(names, heading[c])
		}
	}
	return names
}

// fibre says what the wavelengths tell of the rows without a kind of fibre.
func (d *Draft) fibre() string {
	var order []string
	lines := map[string][]int{}
	for i, r := range d.rows {
		if r.cells[5] != "" {
			continue
		}
		var waves []int
		for _, l := range r.links {
			waves = append(waves, l.waves...)
		}
		slices.Sort(waves)
		what := kindOf(slices.Compact(waves))
		if lines[what] == nil {
			order = append(order, what)
		}
		lines[what] = append(lines[what], i+2)
	}
	var parts []string
	for _, what := range order {
		at := ""
		if len(order) > 1 || len(lines[what]) < len(d.rows) {
			at = spans(lines[what]) + " "
		}
		parts = append(parts, at+what)
	}
	return strings.Join(parts, "; ")
}

// modeOf tells the mode of a fibre from the wavelengths at which it was measured: 850 and
// 1300 nm are of multimode, 1310 nm and above and the grid below it of single-mode (IEC
// 61280-4-1 and 61280-4-2, ITU-T G.694.2; recalled). It is "" without any, and "either" by
// both.
func modeOf(waves []int) (mode string) {
	for _, nm := range waves {
		one := "single-mode"
		if nm < 1260 || nm == 1300 {
			one = "multimode"
		}
		if mode != "" && mode != one {
			return "either"
		}
		mode = one
	}
	return mode
}

// fits reports that links of two modes may stand in one row: one of them may be unknown.
func fits(a, b string) bool { return a == b || a == "" || b == "" }

// kindOf says which kinds of fibre are measured at some wavelengths.
func kindOf(waves []int) string {
	var texts []string
	for _, nm := range waves {
		texts = append(texts, strconv.Itoa(nm))
	}
	at := fmt.Sprintf(" (%s nm): ", strings.Join(texts, ", "))
	switch mode := modeOf(waves); mode {
	case "either":
		return "of either mode" + at + "which is it?"
	case "multimode":
		return mode + at + "OM1 to OM5"
	case "single-mode":
		return mode + at + "OS2, OS1a, OS1 or G.652.D"
	}
	return "no wavelength is read: OS2, OM4 or another"
}

// spans writes numbers of lines, which rise.
func spans(lines []int) string {
	var parts []string
	for i := 0; i < len(lines); {
		k := i
		for k+1 < len(lines) && lines[k+1] == lines[k]+1 {
			k++
		}
		if part := strconv.Itoa(lines[i]); k > i {
			parts = append(parts, fmt.Sprintf("%s to %d", part, lines[k]))
		} else {
			parts = append(parts, part)
		}
		i = k + 1
	}
	word := "line "
	if len(lines) > 1 {
		word = "lines "
	}
	return word + diag.Few(parts, 4)
}
