// Package asset writes the results of a judged job for systems that keep what an owner
// has: registers of assets, maps, and models of buildings.
//
// # The table
//
// CSV as results.csv is (UTF-8, comma, decimal point, LF line ends, texts that a
// spreadsheet would run as a formula begin with an apostrophe): one line a link, the
// first column its id in the owner's register, under which the line is to be filed. A
// link without an id is left out and said; two links with one id are refused.
//
// # GeoJSON
//
// RFC 7946: one FeatureCollection, a Feature with a Point for each link with coordinates,
// longitude before latitude, in degrees of WGS 84 as the schedule has them. The id of a
// feature is the job's number, "/" and the link; its properties are the columns of the
// table that the link fills.
//
// # COBie
//
// The sheets Document and Attribute of a workbook, about rows of the sheet Component that
// are called by the ids of the owner's register.
//
// Numbers of readings are the digits that were judged, in JSON numbers too. What an
// instrument showed instead of a number, such as <0.05, is a text.
package asset

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"iter"
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// Export is a judged job that is to be handed over.
type Export struct {
	*form.Writer
	// Issued is the folder of the job's revisions, and Latest the number of the last, or 0.
	Issued string
	Latest int
	// By is the e-mail address of whoever hands over, or "": COBie asks for it.
	By string
}

// Formats are what an export can be, by the names that [Export.Make] takes.
var Formats = []string{"assets", "geojson", "cobie"}

// Make writes one of Formats, or nothing if there are errors among the problems; the
// other problems say what is left out.
func (e *Export) Make(format string) (data []byte, problems *diag.List, err error) {
	var write func() ([]byte, error)
	switch format {
	case "assets":
		problems, write = e.keyed(), e.table
	case "geojson":
		problems, write = e.placed(), e.geoJSON
	default:
		problems = e.keyed()
		r, more := e.current()
		problems.Join(more)
		write = func() ([]byte, error) { return e.cobie(r) }
	}
	if problems.Errors() == 0 {
		data, err = write()
	}
	return data, problems, err
}

// member is one value of a link, a text, decimal, count or day, and what it is called.
type member struct {
	key   string
	value any
}

// text is the value as a cell of a table; numbers are told from texts.
func (m member) text() (text string, number bool) {
	switch v := m.value.(type) {
	case string:
		return v, false
	case quantity.Decimal:
		return v.String(), true
	case int:
		return strconv.Itoa(v), true
	case record.Date:
		return v.String(), false
	}
	panic("a member of another type") // they are all made here
}

// assetOf is the id of the link in the owner's register, or "".
func assetOf(l *record.Link) string {
	if l.Names == nil {
		return ""
	}
	return l.Asset
}

// placed reports whether the link has coordinates.
func placed(l *record.Link) bool { return l.Names != nil && l.Latitude != nil && l.Longitude != nil }

// members are the values of a link, in order; what is not given is left out.
func (e *Export) members(r *judge.LinkResult) (all []member) {
	l := r.Link
	add := func(key string, value any) {
		if text, _ := (member{key, value}).text(); text != "" {
			all = append(all, member{key, value})
		}
	}
	add("asset", assetOf(l))
	add("job", e.Facts.Job.Number)
	add("link", l.ID)
	add("verdict", r.Verdict.String())
	if r.Verdict.Certifiable() {
		add("certificate", e.CertificateNumber(l.ID))
	}
	add("paper", e.PathOf(r))
	first, last := e.MeasuredOn(r.Readings)
	add("measured_first", first)
	add("measured_last", last)
	add("cable", l.Cable)
	add("tube", l.Tube)
	add("strand", l.Strand)
	add("fibre", l.Fibre)
	add("from", l.From)
	add("to", l.To)
	add("length_m", l.Length)
	add("mated_pairs", l.MatedPairs)
	add("splices", l.Splices)
	losses := slices.DeleteFunc(slices.Clone(r.Readings), func(x record.Reading) bool { return x.Quantity != record.InsertionLoss || x.Event != "" })
	slices.SortStableFunc(losses, func(a, b record.Reading) int { return compareLosses(lossKey(&a), lossKey(&b)) })
	for i := range losses {
		var value any = losses[i].Value
		if losses[i].Shown != "" { // the number only stands for it
			value = losses[i].Shown
		}
		add(lossKey(&losses[i]), value)
	}
	if f := r.WorstFinding(); f != nil && f.Margin != nil {
		add("smallest_margin_db", *f.Margin)
		if f.WavelengthNM > 0 {
			add("smallest_margin_nm", f.WavelengthNM)
		}
		add("smallest_margin_direction", string(f.Direction))
	}
	add("open_points", len(r.Open()))
	given, further := l.Given()
	for _, n := range given {
		switch n.Key {
		case "asset": // leads
		case "latitude":
			add(n.Key, *l.Latitude)
		case "longitude":
			add(n.Key, *l.Longitude)
		default:
			add(n.Key, n.Text)
		}
	}
	for _, n := range further { // a heading of the schedule's own may be one of ours
		for slices.ContainsFunc(all, func(m member) bool { return m.key == n.Key }) || slices.Contains(fixed, n.Key) || isLoss(n.Key) {
			n.Key += own
		}
		add(n.Key, n.Text)
	}
	return all
}

// fixed are the members that any job may have, in order; those of losses follow behind
// "splices", the names that receivers use and the schedule's own columns at the end.
var fixed = slices.Concat([]string{"asset", "job", "link", "verdict", "certificate", "paper", "measured_first", "measured_last", "cable", "tube", "strand",
	"fibre", "from", "to", "length_m", "mated_pairs", "splices", "smallest_margin_db", "smallest_margin_nm", "smallest_margin_direction", "open_points"},
	record.NameKeys)

const lossPrefix = "loss_db_"

// own marks headings of the schedule's own that would be taken for ours.
const own = " (schedule)"

func isLoss(key string) bool {
	return strings.HasPrefix(key, lossPrefix) && !strings.HasSuffix(key, own)
}

// lossKey names the loss at one wavelength in one direction: loss_db_1310_A-B.
func lossKey(r *record.Reading) string {
	key := fmt.Sprintf("%s%d", lossPrefix, r.WavelengthNM)
	if r.Direction != "" {
		key += "_" + string(r.Direction)
	}
	return key
}

// links are those that the export is of.
func (e *Export) links(of func(*record.Link) bool) iter.Seq[*judge.LinkResult] {
	return func(yield func(*judge.LinkResult) bool) {
		for _, l := range e.Judgement.Results() {
			if of(l.Link) && !yield(l) {
				return
			}
		}
	}
}

func registered(l *record.Link) bool { return assetOf(l) != "" }

// table is the table, keyed by the owner's ids. Columns that no link fills are left out,
// but for asset, link and verdict, which every link has.
func (e *Export) table() ([]byte, error) {
	filled := map[string]bool{}
	var losses, further []string
	for r := range e.links(registered) {
		for _, m := range e.members(r) {
			switch {
			case filled[m.key]:
			case isLoss(m.key):
				losses = append(losses, m.key)
			case !slices.Contains(fixed, m.key):
				further = append(further, m.key)
			}
			filled[m.key] = true
		}
	}
	slices.SortFunc(losses, compareLosses)
	columns := slices.DeleteFunc(slices.Clone(fixed[1:]), func(key string) bool { return !filled[key] || key == "asset" })
	at := slices.Index(columns, "splices") + 1
	columns = slices.Concat([]string{"asset"}, slices.Insert(columns, at, losses...), further)
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	cells := make([]string, len(columns))
	for i, key := range columns {
		cells[i] = form.Plain(key)
	}
	if err := w.Write(cells); err != nil {
		return nil, err
	}
	for r := range e.links(registered) {
		clear(cells)
		for _, m := range e.members(r) {
			text, number := m.text()
			if !number {
				text = form.Plain(text)
			}
			cells[slices.Index(columns, m.key)] = text
		}
		if err := w.Write(cells); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}

// compareLosses orders 850 before 1300.
func compareLosses(a, b string) int {
	if n := len(number(a)) - len(number(b)); n != 0 {
		return n
	}
	return strings.Compare(a, b)
}

// number is the wavelength in the key of a loss.
func number(key string) string {
	text, _, _ := strings.Cut(strings.TrimPrefix(key, lossPrefix), "_")
	return text
}

// named prints the first few links, and how many more there are.
func named(links []string) string {
	const shown = 5
	text := strings.Join(links[:min(len(links), shown)], ", ")
	if more := len(links) - shown; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

// left tells which links are left out for what they lack; with no other the export has
// nothing in it, and is refused.
func (e *Export) left(problems *diag.List, of func(*record.Link) bool, code, lack, fix string) {
	var out []string
	var first record.Origin
	for i := range e.Facts.Links {
		if l := &e.Facts.Links[i]; !of(l) {
			if out == nil {
				first = l.Origin
			}
			out = append(out, l.ID)
		}
	}
	have := "have"
	if len(out) == 1 {
		have = "has"
	}
	p := diag.Problem{Severity: diag.Note, Code: code, Place: placeOf(first), Fix: fix,
		Message: fmt.Sprintf("left out: %s; %d of %s %s no %s", named(out), len(out), diag.Plural(len(e.Facts.Links), "link"), have, lack)}
	switch len(out) {
	case 0:
		return
	case len(e.Facts.Links):
		p.Severity, p.Message = diag.Error, "the schedule has no "+lack+", so there is nothing to export"
	}
	problems.Add(p)
}

func placeOf(o record.Origin) diag.Place { return diag.Place{File: o.File, Line: o.Row, Cell: o.Cell} }

// keyed tells which links lack an id of the owner's register, and refuses two with one.
func (e *Export) keyed() *diag.List {
	problems := &diag.List{}
	fix := "give each link its id in the owner's register in the column asset"
	e.left(problems, registered, "no-asset", "asset id", fix)
	held := map[string]string{}
	for i := range e.Facts.Links {
		l := &e.Facts.Links[i]
		id := assetOf(l)
		if id == "" {
			continue
		}
		if other, twice := held[id]; twice {
			problems.Add(diag.Problem{Code: "asset-twice", Place: placeOf(l.Origin), Message: fmt.Sprintf("the asset id %q of link %s is also used by link %s", id, l.ID, other),
				Fix: "give each link an id of its own; if several links are one asset, export csv, which has the id in a column"})
			continue
		}
		held[id] = l.ID
	}
	return problems
}

// placed tells which links have no coordinates.
func (e *Export) placed() *diag.List {
	problems := &diag.List{}
	e.left(problems, placed, "no-coordinates", "coordinates", "give latitude and longitude in the schedule, in degrees of WGS 84")
	return problems
}
