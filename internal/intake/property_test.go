package intake

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// export is a generated file of readings with what it must give.
type export struct {
	delimiter string
	comma     bool // decimal
	rows      [][]string
	used      int
	blank     int
}

var exportHeading = []string{"link", "wavelength_nm", "direction", "loss_db", "time", "note"}

// genExport draws a file in long form with distinct times, blank rows and notes
// that need quotes.
var genExport = rapid.Custom(func(t *rapid.T) export {
	e := export{delimiter: rapid.SampledFrom([]string{",", ";", "\t", "|"}).Draw(t, "delimiter")}
	e.comma = e.delimiter != "," && rapid.Bool().Draw(t, "comma")
	at := time.Date(2026, 11, 2, 8, 0, 0, 0, time.UTC)
	seen := map[string]bool{}
	for i := range rapid.IntRange(1, 40).Draw(t, "rows") {
		if rapid.IntRange(0, 5).Draw(t, "kind") == 0 {
			e.rows = append(e.rows, make([]string, len(exportHeading)))
			e.blank++
			continue
		}
		link := rapid.SampledFrom([]string{"A-11", "A-12", "B-01"}).Draw(t, "link")
		nm := rapid.SampledFrom([]string{"1310", "1550", "850"}).Draw(t, "nm")
		direction := rapid.SampledFrom([]string{"A-B", "B-A"}).Draw(t, "direction")
		loss := quantity.Scaled(int64(rapid.IntRange(-50, 3000).Draw(t, "loss")), 3).String()
		if e.comma {
			loss = strings.Replace(loss, ".", ",", 1)
		}
		note := rapid.StringOfN(rapid.RuneFrom([]rune("ab ,;\t|\"\n.é漢")), 0, 8, -1).Draw(t, "note")
		e.rows = append(e.rows, []string{link, nm, direction, loss, at.Add(time.Duration(i) * time.Minute).Format(time.DateTime), note})
		seen[link+nm+direction] = true
	}
	e.used = len(seen)
	return e
})

// write writes the file by another program's rules: those of encoding/csv.
func (e export) write(tb interface{ Fatal(...any) }, rows [][]string) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.Comma = rune(e.delimiter[0])
	if err := w.WriteAll(append([][]string{exportHeading}, rows...)); err != nil {
		tb.Fatal(err)
	}
	return b.Bytes()
}

// TestGenerated holds over well-formed files: every row is accounted for, the
// latest reading of each thing counts, each value stands where its origin says,
// and the order of the rows never matters.
func TestGenerated(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := genExport.Draw(t, "export")
		raw := e.write(t, e.rows)
		facts, list := readMemory(t, "readings/a.csv", raw, "")
		if list.Errors() > 0 {
			t.Fatalf("%s\n%s", raw, printProblems(list))
		}
		a := facts.Accounts[0]
		if a.Used != e.used || a.Blank != e.blank || a.Rows != len(e.rows) || a.Refused != 0 || a.Superseded != len(e.rows)-e.used-e.blank {
			t.Fatalf("%+v of %d rows, %d blank, %d used\n%s", a, len(e.rows), e.blank, e.used, raw)
		}
		checkOrigins(t, facts, raw)
		shuffled, list := readMemory(t, "readings/a.csv", e.write(t, rapid.Permutation(e.rows).Draw(t, "shuffled")), "")
		if list.Errors() > 0 || usedReadings(facts) != usedReadings(shuffled) {
			t.Fatalf("in another order\n%s\ninstead of\n%s\n%s", usedReadings(shuffled), usedReadings(facts), printProblems(list))
		}
	})
}

func usedReadings(f *record.Facts) string {
	var all []string
	for _, r := range f.Readings {
		if r.Fate == record.Used {
			all = append(all, fmt.Sprint(r.Link, r.Quantity, r.Subject(), r.Value, r.Time))
		}
	}
	slices.Sort(all)
	return strings.Join(all, "\n")
}

// checkOrigins holds that a loss stands in the file where its origin says.
func checkOrigins(t interface{ Fatalf(string, ...any) }, facts *record.Facts, raw []byte) {
	f := source.New("", raw)
	for _, r := range facts.Readings {
		at := f.Offset(source.Position{Line: r.Origin.Row, Column: r.Origin.Column})
		rest := strings.TrimLeft(string(f.Text[at:min(len(f.Text), at+60)]), "\" ")
		if !slices.ContainsFunc([]rune{'.', ','}, func(mark rune) bool {
			for n := range len(rest) + 1 {
				if v, err := quantity.ParseMark(rest[:n], mark); err == nil && v.String() == r.Value.String() {
					return true
				}
			}
			return false
		}) {
			t.Fatalf("%s is said to stand at %d:%d, but there stands %q", r.Value, r.Origin.Row, r.Origin.Column, rest)
		}
	}
}

// TestMangled holds over files with bytes cut, doubled and changed: no row is
// lost from the account, nothing panics, and what cannot be read is refused.
func TestMangled(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		e := genExport.Draw(t, "export")
		raw := e.write(t, e.rows)
		for range rapid.IntRange(1, 6).Draw(t, "changes") {
			if len(raw) == 0 {
				break
			}
			at := rapid.IntRange(0, len(raw)-1).Draw(t, "at")
			n := rapid.IntRange(0, min(20, len(raw)-at)).Draw(t, "n")
			switch rapid.IntRange(0, 4).Draw(t, "change") {
			case 0:
				raw = slices.Delete(raw, at, at+n)
			case 1:
				raw = slices.Insert(raw, at, slices.Clone(raw[at:at+n])...)
			case 2:
				raw[at] = rapid.SampledFrom([]byte("\"\r\n,;\t|\x00\xff-9A ")).Draw(t, "byte")
			case 3:
				raw = raw[:at]
			case 4:
				raw = slices.Insert(raw, at, rapid.SampledFrom([]byte("\"\r\n,;\x00\xc3")).Draw(t, "byte"))
			}
		}
		entry := rapid.SampledFrom([]string{"", "block: \"A-{link}\"", "delimiter: \";\"", "encoding: windows-1252",
			"columns: {link: 1, wavelength_nm: 2, direction: 3, loss_db: 4}", "header_line: 2", "thousands: \".\"\ndecimal: \",\"", "header_rows: 2\nheader_line: 1",
		}).Draw(t, "entry")
		facts, list := readMemory(t, "readings/a.csv", raw, entry)
		checkAccounts(t, facts)
		for _, a := range facts.Accounts {
			if a.Refused > 0 && list.Errors() == 0 {
				t.Fatalf("%d rows were refused without a reason\n%s", a.Refused, raw)
			}
		}
		if entry == "" && list.Errors() == 0 {
			checkOrigins(t, facts, raw)
		}
	})
}
