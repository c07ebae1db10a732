package form

import (
	"bytes"
	"encoding/csv"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// resultColumns are the columns of results.csv, one line a finding, then one
// for each reading that was superseded or is of another stage.
var resultColumns = []string{"certificate", "link", "link_verdict", "kind", "code", "verdict", "quantity", "wavelength_nm", "direction", "end",
	"measured", "limit", "margin", "unit", "uncertainty", "set", "fate", "time", "instrument", "person", "file", "row", "sha256", "question",
	"answer", "answered_by", "answered_on", "shown"}

// ResultsCSV is results.csv.
func (w *Writer) ResultsCSV() ([]byte, error) {
	var b bytes.Buffer
	err := w.WriteCSV(&b)
	return b.Bytes(), err
}

// nameColumns are the columns that follow where the schedule has them: the keys of the
// names that some link has, then the headings of its own, marked where they would be
// taken for ours.
type nameColumns struct {
	keys, headings []string
	derived        []derivedColumn
}

func (w *Writer) nameColumns(ours []string) (c nameColumns) {
	var given [2]map[string]bool
	given[0], given[1] = map[string]bool{}, map[string]bool{}
	var further []string
	for i := range w.Facts.Links {
		names, own := w.Facts.Links[i].Given()
		for _, n := range names {
			given[0][n.Key] = true
		}
		for _, n := range own {
			if !given[1][n.Key] {
				given[1][n.Key] = true
				further = append(further, n.Key)
			}
		}
	}
	for _, key := range record.NameKeys {
		if given[0][key] {
			c.keys = append(c.keys, key)
		}
	}
	c.headings = slices.Clone(c.keys)
	for _, key := range further {
		heading := key
		for slices.Contains(ours, heading) || slices.Contains(c.headings, heading) {
			heading += " (schedule)"
		}
		c.keys, c.headings = append(c.keys, key), append(c.headings, heading)
	}
	c.derived = w.derived()
	for _, one := range c.derived {
		c.headings = append(c.headings, one.heading)
	}
	return c
}

// of are the cells of a link.
func (c *nameColumns) of(l *record.Link) []string {
	if len(c.headings) == 0 {
		return nil
	}
	cells := make([]string, len(c.keys), len(c.headings))
	given, further := l.Given()
	for i, key := range c.keys {
		in := given
		if !slices.Contains(record.NameKeys, key) {
			in = further
		}
		if at := slices.IndexFunc(in, func(n record.GivenName) bool { return n.Key == key }); at >= 0 {
			cells[i] = in[at].Text
		}
	}
	for _, one := range c.derived {
		cells = append(cells, one.cell(l))
	}
	return cells
}

// WriteCSV writes results.csv, every finding and superseded reading: UTF-8,
// comma, decimal point, LF line ends. Texts that a spreadsheet would run as a
// formula begin with an apostrophe. Names that receivers use, and columns of the
// schedule's own, follow behind the columns that every job has.
func (w *Writer) WriteCSV(to io.Writer) error {
	rows := csv.NewWriter(to)
	methods := w.methods()
	names := w.nameColumns(slices.Concat(resultColumns, methods))
	var more []string // behind the cells of each line of a link
	line := func(r *ResultReading, cells ...string) error {
		for _, text := range w.methodCells(methods, r) {
			cells = append(cells, Plain(text))
		}
		return rows.Write(append(cells, more...))
	}
	for _, heading := range names.headings {
		more = append(more, Plain(heading))
	}
	if err := rows.Write(slices.Concat(resultColumns, methods, more)); err != nil {
		return err
	}
	for l := range w.ResultLinks() {
		more = more[:0]
		for i, text := range names.of(&l.Schedule.Link) {
			if i >= len(names.keys) || names.keys[i] != "latitude" && names.keys[i] != "longitude" { // numbers, south and west negative
				text = Plain(text)
			}
			more = append(more, text)
		}
		for _, f := range l.Findings {
			// A two-way average rests on two readings; the first names the place.
			var r ResultReading
			if len(f.Readings) > 0 {
				r = f.Readings[0]
			}
			var a judge.Reply
			if f.Answer != nil {
				a = *f.Answer
			}
			if err := line(&r, Plain(l.Certificate), Plain(l.Link), l.Verdict.String(), string(f.Kind), Plain(f.Code), f.Verdict.String(),
				string(f.Quantity), number(f.WavelengthNM), string(f.Direction), Plain(f.End), digits(f.Measured), digits(f.Limit), digits(f.Margin),
				string(f.Unit), digits(f.Uncertainty), Plain(f.Set), string(r.Fate), moment(r.Time), Plain(r.Instrument), Plain(r.Person),
				Plain(r.File), number(r.Row), r.SHA256, Plain(f.Question.Text), Plain(a.Text), Plain(a.Who), a.Day.String(), Plain(shownIn(&f))); err != nil {
				return err
			}
		}
		for _, r := range slices.Concat(l.Superseded, l.Stages) {
			if err := line(&r, Plain(l.Certificate), Plain(l.Link), l.Verdict.String(), "reading", codeOf(&r), "", string(r.Quantity),
				number(r.WavelengthNM), string(r.Direction), "", r.Value.String(), "", "", "", "", "", string(r.Fate), moment(r.Time),
				Plain(r.Instrument), Plain(r.Person), Plain(r.File), number(r.Row), r.SHA256, "", "", "", "", Plain(r.Shown)); err != nil {
				return err
			}
		}
	}
	rows.Flush()
	return rows.Error()
}

// shownIn is what the instrument showed where the finding's number only stands for it.
func shownIn(f *ResultFinding) string {
	if len(f.Readings) == 1 && f.Kind == judge.KindLimit {
		return f.Readings[0].Shown
	}
	return ""
}

// codeOf is what became of a reading that does not count, as a code.
func codeOf(r *ResultReading) string { return strings.ReplaceAll(string(r.Fate), "_", "-") }

// Plain keeps a spreadsheet from running a text of a CSV file as a formula.
func Plain(text string) string {
	if text != "" && strings.ContainsRune("=+-@\t\r", rune(text[0])) {
		return "'" + text
	}
	return text
}

func number(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func digits(d *quantity.Decimal) string {
	if d == nil {
		return ""
	}
	return d.String()
}

// moment is an instant in ISO 8601, or a day where no hour was written.
func moment(t time.Time) string {
	switch {
	case t.IsZero():
		return ""
	case record.DayOnly(t):
		return t.Format(time.DateOnly)
	}
	return t.Format(time.RFC3339)
}
