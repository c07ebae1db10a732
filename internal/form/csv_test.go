package form_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"io"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/testset"
	"spanseal/internal/wording"
	"spanseal/templates"
)

// TestResultsCSV reads results.csv by encoding/csv (RFC 4180): numbers are the digits that
// were read, with their zeros and signs; a text that a spreadsheet would run begins with
// an apostrophe; a heading of the schedule that would be taken for ours is marked.
func TestResultsCSV(t *testing.T) {
	facts := testset.Library()
	south := quantity.Must("-33.90")
	facts.Links[0].Names = &record.Names{Asset: "=1+1", Latitude: &south, Longitude: &south, Further: record.Further{{Key: "link", Text: "@own"}, {Key: "+x", Text: "plain"}}}
	values := map[string]bool{}
	at := time.Date(2026, time.November, 18, 9, 32, 0, 0, time.FixedZone("", 3600))
	for i := range facts.Readings {
		r := &facts.Readings[i]
		if r.Link != facts.Links[0].ID || r.Quantity != record.InsertionLoss {
			continue
		}
		r.Value, r.Time = quantity.Must("0.300"), at
		values[r.Value.String()] = true
	}
	problems := &diag.List{}
	english := wording.Load(templates.Files, nil, "en", problems)
	testset.Good(t, problems)
	w := form.New(form.Writer{Facts: facts, Judgement: testset.Judged(t, facts), Revision: 1, Issued: at}, english, "")
	raw, err := w.ResultsCSV()
	if err != nil || bytes.Contains(raw, []byte("\r")) || !bytes.HasSuffix(raw, []byte("\n")) {
		t.Fatal("line ends", err)
	}
	rows, err := csv.NewReader(bytes.NewReader(raw)).ReadAll() // each as long as the first
	if err != nil {
		t.Fatal(err)
	}
	column := func(name string) int {
		i := slices.Index(rows[0], name)
		if i < 0 {
			t.Fatalf("no column %q in %q", name, rows[0])
		}
		return i
	}
	losses := 0
	for _, row := range rows[1:] {
		cell := func(name string) string { return row[column(name)] }
		if cell("link") != facts.Links[0].ID {
			if cell("latitude") != "" || cell("asset") != "" {
				t.Errorf("names of another link: %q", row)
			}
			continue
		}
		for name, want := range map[string]string{"asset": "'=1+1", "latitude": "-33.90", "link (schedule)": "'@own", "'+x": "plain"} {
			if got := cell(name); got != want {
				t.Errorf("%s: %q, want %q", name, got, want)
			}
		}
		if cell("quantity") == "insertion_loss" && cell("kind") == "limit" && cell("measured") != "" {
			losses++
			if cell("measured") != "0.300" || cell("unit") != "dB" || cell("time") != "2026-11-18T09:32:00+01:00" || strings.HasPrefix(cell("margin"), "'") {
				t.Errorf("%q", row)
			}
		}
	}
	if losses == 0 || len(values) != 1 {
		t.Errorf("%d losses of the link, values %v", losses, values)
	}
}

// TestPlain holds the first characters by which spreadsheets know a formula (OWASP, CSV
// Injection: = + - @, tab and carriage return).
func TestPlain(t *testing.T) {
	for _, c := range [][2]string{{"=1", "'=1"}, {"+1", "'+1"}, {"-1", "'-1"}, {"@x", "'@x"}, {"\tx", "'\tx"}, {"\rx", "'\rx"}, {"", ""}, {"A-1", "A-1"}, {" =1", " =1"}, {"'x", "'x"}, {"é", "é"}} {
		if got := form.Plain(c[0]); got != c[1] {
			t.Errorf("%q: %q, want %q", c[0], got, c[1])
		}
	}
}

// TestStatistic: half a unit is rounded away from zero, once, as on paper.
func TestStatistic(t *testing.T) {
	for v, want := range map[float64]string{0.125: "0.13", -0.125: "-0.13", 1.0 / 3: "0.33", 2: "2.00", 0.0049: "0.00"} {
		if got := form.Statistic(v).Fixed(2); got != want {
			t.Errorf("%v: %s, want %s", v, got, want)
		}
	}
}

// TestWorkbook: a program of another hand reads typed cells, the parts lie by name, and the
// same rows give the same bytes.
func TestWorkbook(t *testing.T) {
	write := func() []byte {
		var b bytes.Buffer
		rows := slices.Values([][]any{{"link", "loss", "n", "day"}, {"=A-1", quantity.Must("0.350"), 3, record.NewDate(2026, time.November, 18)}, {"A-2", nil, 0, record.Date{}}})
		if err := form.WriteSheets(&b, form.Worksheet{Name: "one", Widths: []float64{10}, Rows: rows}, form.Worksheet{Name: "two", Rows: rows}); err != nil {
			t.Fatal(err)
		}
		return b.Bytes()
	}
	raw := write()
	for range 5 {
		if !bytes.Equal(raw, write()) {
			t.Fatal("other bytes")
		}
	}
	z, err := zip.NewReader(bytes.NewReader(raw), int64(len(raw)))
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, f := range z.File {
		names = append(names, f.Name)
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.Copy(io.Discard, r); err != nil { // its CRC-32 and length
			t.Errorf("%s: %v", f.Name, err)
		}
	}
	if !slices.IsSorted(names) || len(names) < 8 {
		t.Errorf("parts %q", names)
	}
	f, err := excelize.OpenReader(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	if shown, err := f.GetCellValue("two", "B2"); shown != "0.350" || err != nil {
		t.Errorf("a decimal is shown as %q, not with its places; %v", shown, err)
	}
	for cell, want := range map[string]struct {
		raw  string
		kind excelize.CellType
	}{
		"A2": {"=A-1", excelize.CellTypeInlineString}, "B2": {"0.35", excelize.CellTypeUnset}, "C2": {"3", excelize.CellTypeUnset},
		"D2": {"46344", excelize.CellTypeUnset}, // days since 1899-12-30 (ECMA-376, 18.17.4.1)
		"B3": {"", excelize.CellTypeUnset}, "C3": {"", excelize.CellTypeUnset} /* 0 is what nobody gave */, "D3": {"", excelize.CellTypeUnset},
	} {
		got, err := f.GetCellValue("two", cell, excelize.Options{RawCellValue: true})
		kind, err2 := f.GetCellType("two", cell)
		if formula, _ := f.GetCellFormula("two", cell); got != want.raw || kind != want.kind || formula != "" || err != nil || err2 != nil {
			t.Errorf("%s: %q of kind %d, formula %q; want %q of kind %d; %v %v", cell, got, kind, formula, want.raw, want.kind, err, err2)
		}
	}
}
