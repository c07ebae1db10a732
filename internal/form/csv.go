package form

import (
	"bytes"
	"encoding/csv"
	"io"
	"strconv"
	"strings"
	"time"

	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// resultColumns are the columns of results.csv, one line a finding, then one
// for each reading that was superseded.
var resultColumns = []string{"certificate", "link", "link_verdict", "kind", "code", "verdict", "quantity", "wavelength_nm", "direction", "end",
	"measured", "limit", "margin", "unit", "uncertainty", "set", "fate", "time", "instrument", "person", "file", "row", "sha256", "question",
	"answer", "answered_by", "answered_on", "shown"}

// ResultsCSV is results.csv.
func (s *Writer) ResultsCSV() ([]byte, error) {
	var b bytes.Buffer
	err := s.WriteCSV(&b)
	return b.Bytes(), err
}

// WriteCSV writes results.csv, every finding and superseded reading: UTF-8,
// comma, decimal point, LF line ends. Texts that a spreadsheet would run as a
// formula begin with an apostrophe.
func (s *Writer) WriteCSV(to io.Writer) error {
	w := csv.NewWriter(to)
	line := func(cells ...string) error { return w.Write(cells) }
	if err := line(resultColumns...); err != nil {
		return err
	}
	for l := range s.ResultLinks() {
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
			if err := line(plain(l.Certificate), plain(l.Link), l.Verdict.String(), string(f.Kind), plain(f.Code), f.Verdict.String(),
				string(f.Quantity), number(f.WavelengthNM), string(f.Direction), plain(f.End), digits(f.Measured), digits(f.Limit), digits(f.Margin),
				string(f.Unit), digits(f.Uncertainty), plain(f.Set), string(r.Fate), moment(r.Time), plain(r.Instrument), plain(r.Person),
				plain(r.File), number(r.Row), r.SHA256, plain(f.Question.Text), plain(a.Text), plain(a.Who), a.Day.String(), plain(shownIn(&f))); err != nil {
				return err
			}
		}
		for _, r := range l.Superseded {
			if err := line(plain(l.Certificate), plain(l.Link), l.Verdict.String(), "reading", "superseded", "", string(r.Quantity),
				number(r.WavelengthNM), string(r.Direction), "", r.Value.String(), "", "", "", "", "", string(r.Fate), moment(r.Time),
				plain(r.Instrument), plain(r.Person), plain(r.File), number(r.Row), r.SHA256, "", "", "", "", plain(r.Shown)); err != nil {
				return err
			}
		}
	}
	w.Flush()
	return w.Error()
}

// shownIn is what the instrument showed where the finding's number only stands for it.
func shownIn(f *ResultFinding) string {
	if len(f.Readings) == 1 && f.Kind == judge.KindLimit {
		return f.Readings[0].Shown
	}
	return ""
}

// plain keeps a spreadsheet from running a text as a formula.
func plain(text string) string {
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
