package form

import (
	"bytes"
	"fmt"
	"io"
	"iter"
	"slices"
	"strings"
	"time"

	"github.com/xuri/excelize/v2"

	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/splices"
	"spanseal/internal/wording"
)

// Workbook is what WriteWorkbook writes.
func (w *Writer) Workbook() ([]byte, error) {
	var b bytes.Buffer
	err := w.WriteWorkbook(&b)
	return b.Bytes(), err
}

// WorkbookFits reports whether a sheet has room for all results.
func (w *Writer) WorkbookFits() bool {
	rows := 1
	for _, l := range w.Judgement.Results() {
		rows += len(l.Findings) + len(l.Superseded)
	}
	return rows <= excelize.TotalRows
}

// WriteWorkbook writes the judgement as a workbook (ECMA-376, .xlsx) of three sheets:
// results, one line a finding, as in results.csv; links, one line a link; and
// the job; and of a fourth, splices, where any in a span is on record. Numbers are number cells that show the digits that were judged, days
// and times are date cells in the job's zone, and texts are texts, whatever they
// begin with. The same judgement gives the same bytes.
func (w *Writer) WriteWorkbook(to io.Writer) error {
	sheets := []Worksheet{
		{"results", []float64{20, 12, 12}, w.resultRows()},
		{"links", []float64{14, 12, 20, 8, 12, 10, 26, 26}, slices.Values(w.linkRows())},
		{"job", []float64{24, 48}, slices.Values(w.jobRows())},
	}
	if splices.Recorded(w.Facts) {
		sheets = append(sheets, Worksheet{"splices", []float64{14, 10, 14}, w.spliceRows()})
	}
	return WriteSheets(to, sheets...)
}

// Worksheet is one of a workbook. The first row names the columns.
type Worksheet struct {
	Name   string
	Widths []float64 // of the first columns, in characters
	Rows   iter.Seq[[]any]
}

// WriteSheets writes a workbook (ECMA-376, .xlsx): decimals, counts, days and times are
// typed cells as in results.xlsx, texts are texts. The same rows give the same bytes.
func WriteSheets(to io.Writer, sheets ...Worksheet) error {
	w := &workbook{File: excelize.NewFile(), styles: map[string]int{}}
	defer w.Close()
	w.SetZipWriter(func(to io.Writer) excelize.ZipWriter { return &sortedZip{to, map[string]*zipPart{}} })
	if err := w.SetSheetName(w.GetSheetName(0), sheets[0].Name); err != nil {
		return err
	}
	for _, one := range sheets {
		if err := w.sheet(one.Name, one.Widths, one.Rows); err != nil {
			return err
		}
	}
	return w.Write(to)
}

type workbook struct {
	*excelize.File
	styles map[string]int // by number format
}

// style returns the number of a style with a number format, made when first
// asked for.
func (w *workbook) style(format string) (int, error) {
	if id, ok := w.styles[format]; ok {
		return id, nil
	}
	s := &excelize.Style{CustomNumFmt: &format}
	if format == heading {
		s = &excelize.Style{Font: &excelize.Font{Bold: true}}
	}
	id, err := w.NewStyle(s)
	w.styles[format] = id
	return id, err
}

// heading stands for the style of the first row.
const heading = "heading"

// sheet writes rows, the first of which names the columns.
func (w *workbook) sheet(name string, widths []float64, rows iter.Seq[[]any]) error {
	if i, err := w.GetSheetIndex(name); err != nil {
		return err
	} else if i < 0 {
		if _, err := w.NewSheet(name); err != nil {
			return err
		}
	}
	out, err := w.NewStreamWriter(name)
	if err != nil {
		return err
	}
	for i, width := range widths {
		if err := out.SetColWidth(i+1, i+1, width); err != nil {
			return err
		}
	}
	if err := out.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return err
	}
	n := 0
	for row := range rows {
		if n == excelize.TotalRows {
			return fmt.Errorf("a sheet has at most %d rows, and there are more results: write them as CSV", excelize.TotalRows)
		}
		at, err := excelize.CoordinatesToCellName(1, n+1)
		if err != nil {
			return err
		}
		cells := make([]any, len(row))
		for i, v := range row {
			if cells[i], err = w.cell(v, n == 0); err != nil {
				return err
			}
		}
		if err := out.SetRow(at, cells); err != nil {
			return err
		}
		n++
	}
	return out.Flush()
}

// cell types a value: decimals and counts are numbers, days and times dates,
// all else text. What is not given is an empty cell.
func (w *workbook) cell(v any, head bool) (any, error) {
	format := ""
	switch x := v.(type) {
	case quantity.Decimal:
		format, v = "0", Float(x)
		if p := x.Places(); p > 0 {
			format = "0." + strings.Repeat("0", p)
		}
	case *quantity.Decimal:
		if x == nil {
			return nil, nil
		}
		return w.cell(*x, head)
	case record.Date:
		if x.IsZero() {
			return nil, nil
		}
		format, v = "yyyy-mm-dd", x.Time()
	case time.Time:
		if x.IsZero() {
			return nil, nil
		}
		// A date cell has no zone: it shows the wall clock.
		y, m, d := x.Date()
		format, v = "yyyy-mm-dd hh:mm:ss", time.Date(y, m, d, x.Hour(), x.Minute(), x.Second(), 0, time.UTC)
	case string:
		if x == "" {
			return nil, nil
		}
		if head {
			format = heading
		}
	case int:
		if x == 0 {
			return nil, nil
		}
	}
	if format == "" {
		return v, nil
	}
	id, err := w.style(format)
	return excelize.Cell{StyleID: id, Value: v}, err
}

func (w *Writer) resultRows() iter.Seq[[]any] {
	return func(yield func([]any) bool) {
		methods := w.methods()
		names := w.nameColumns(slices.Concat(resultColumns, methods))
		if !yield(texts(slices.Concat(resultColumns, methods, names.headings))) {
			return
		}
		for l := range w.ResultLinks() {
			more := texts(names.of(&l.Schedule.Link))
			for _, f := range l.Findings {
				var r ResultReading // the first names the place, as in results.csv
				if len(f.Readings) > 0 {
					r = f.Readings[0]
				}
				var a judge.Reply
				if f.Answer != nil {
					a = *f.Answer
				}
				if !yield(append([]any{l.Certificate, l.Link, l.Verdict.String(), string(f.Kind), f.Code, f.Verdict.String(), string(f.Quantity), f.WavelengthNM, string(f.Direction), f.End,
					f.Measured, f.Limit, f.Margin, string(f.Unit), f.Uncertainty, f.Set, string(r.Fate), w.Local(r.Time), r.Instrument, r.Person, r.File, r.Row, r.SHA256, f.Question.Text,
					a.Text, a.Who, a.Day.String(), shownIn(&f)}, slices.Concat(texts(w.methodCells(methods, &r)), more)...)) {
					return
				}
			}
			for _, r := range slices.Concat(l.Superseded, l.Stages) {
				if !yield(append([]any{l.Certificate, l.Link, l.Verdict.String(), "reading", codeOf(&r), "", string(r.Quantity), r.WavelengthNM, string(r.Direction), "",
					r.Value, "", "", "", "", "", string(r.Fate), w.Local(r.Time), r.Instrument, r.Person, r.File, r.Row, r.SHA256, "", "", "", "", r.Shown}, slices.Concat(texts(w.methodCells(methods, &r)), more)...)) {
					return
				}
			}
		}
	}
}

// texts are cells.
func texts(all []string) []any {
	cells := make([]any, len(all))
	for i, text := range all {
		cells[i] = text
	}
	return cells
}

// linkColumns are those of the sheet of links.
var linkColumns = []string{"link", "verdict", "certificate", "strand", "cable", "fibre", "from", "to", "length_m", "mated_pairs", "splices", "end_a", "end_b",
	"smallest_margin_db", "at_nm", "direction", "measured_last", "open_points"}

func (w *Writer) linkRows() [][]any {
	names := w.nameColumns(linkColumns)
	rows := [][]any{texts(slices.Concat(linkColumns, names.headings))}
	for _, r := range w.Judgement.Results() {
		l := r.Link
		number := ""
		if r.Verdict.Certifiable() {
			number = w.CertificateNumber(l.ID)
		}
		row := []any{l.ID, r.Verdict.String(), number, l.Strand, l.Cable, l.Fibre, l.From, l.To, l.Length, l.MatedPairs, l.Splices, l.EndA.Text, l.EndB.Text, "", "", "", w.Local(record.Last(r.Readings).Time), len(r.Open())}
		if f := r.WorstFinding(); f != nil {
			row[13], row[14], row[15] = f.Margin, f.WavelengthNM, string(f.Direction)
		}
		rows = append(rows, append(row, texts(names.of(l))...))
	}
	return rows
}

func (w *Writer) jobRows() [][]any {
	j, c := &w.Facts.Job, w.Judgement.Counts
	conforms := "does not conform"
	if w.Judgement.Conforms() {
		conforms = "conforms"
	}
	rows := [][]any{{"of the job", ""}, {"number", j.Number}, {"title", j.Title}, {"site", j.Site.Name}, {"customer", j.Customer.Name}, {"order", j.Customer.Order},
		{"contractor", j.Contractor.Name}, {"invoice", j.Invoice}, {"completed", j.Completed}, {"time zone of times", j.TimeZone}, {"result", conforms},
		{"scheduled", c.Scheduled}, {"measured", c.Measured}, {"certified", c.Certified}, {"of which marginal", c.Marginal}, {"failed", c.Failed}, {"incomplete", c.Incomplete}}
	for _, set := range w.Judgement.Sets {
		rows = append(rows, []any{"limit set " + set.ID, w.english.Edition(set.Standard, set.Edition) + ", SHA-256 " + set.SHA256})
	}
	for _, i := range j.Instruments {
		rows = append(rows, []any{"instrument " + i.ID, wording.Comma(i.Kind, i.Make, i.Model, i.Serial)})
	}
	for _, a := range w.Facts.Accounts {
		rows = append(rows, []any{"file " + a.File, "SHA-256 " + a.SHA256})
	}
	return rows
}
