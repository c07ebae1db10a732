// Package testjob makes a small job that raises no question, and the limits it is judged
// by, for tests.
package testjob

import (
	"io/fs"
	"strings"
	"testing"
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/templates"
)

// Book is a book of the built-in sets that a test may add to.
func Book(t testing.TB) *limits.Book {
	t.Helper()
	sub, err := fs.Sub(templates.Files, "limits")
	if err != nil {
		t.Fatal(err)
	}
	book, problems := limits.NewBook(sub)
	Report(t, problems)
	return book
}

// Report fails a test whose problems hold an error, and prints them.
func Report(t testing.TB, problems *diag.List) {
	t.Helper()
	if problems.Errors() > 0 {
		var text strings.Builder
		_ = problems.Write(&text, nil)
		t.Fatal(text.String())
	}
}

// Noon is when the readings begin.
var Noon = time.Date(2026, 11, 18, 12, 0, 0, 0, time.UTC)

// Clean is a job that raises no question: one link measured both ways.
func Clean() *record.Facts {
	uncertainty := number("0.12")
	f := &record.Facts{
		Job: record.Job{
			People: []record.Person{{ID: "mo", Name: "M. Okafor", ValidUntil: record.NewDate(2027, 6, 30)}},
			Instruments: []record.Instrument{{
				ID: "PM-9", Kind: "power meter", Serial: "22803", Calibrated: record.NewDate(2026, 3, 3), Due: record.NewDate(2027, 3, 3), Uncertainty: &uncertainty,
			}},
			Policy: record.Policy{
				Limits: []string{"tia-568.3-e"}, Reference: record.OneCord, TestCords: record.StandardCords, Decision: "simple",
				Require: record.Require{
					Wavelengths: map[record.Mode][]int{record.Singlemode: {1310, 1550}, record.Multimode: {850, 1300}},
					Directions:  "both", Reflectance: "optional",
				},
				Optional: []record.Agreed{{Quantity: record.SpliceLoss, By: "the owner", Reason: "the loss of the link is enough"}},
			},
		},
		Links: []record.Link{{
			ID: "A-12", Fibre: "OS2", Mode: record.Singlemode, Length: number("312"), MatedPairs: 2,
			EndA: record.End{SplicedOn: true, Connector: "LC", Polish: "UPC"}, EndB: record.End{SplicedOn: true, Connector: "LC", Polish: "UPC"},
		}},
	}
	for i, r := range []struct {
		nm   int
		way  record.Direction
		loss string
	}{{1310, record.AB, "0.94"}, {1310, record.BA, "1.03"}, {1550, record.AB, "0.88"}, {1550, record.BA, "0.96"}} {
		f.Readings = append(f.Readings, record.Reading{
			Link: "A-12", Quantity: record.InsertionLoss, WavelengthNM: r.nm, Direction: r.way, Value: number(r.loss),
			Instrument: "PM-9", Person: "mo", Fate: record.Used, Time: Noon.Add(time.Duration(i) * time.Minute), ReferenceTime: Noon.Add(-time.Hour),
			Origin: record.Origin{File: "readings/day2.csv", Row: i + 5},
		})
	}
	return f
}

func number(s string) quantity.Decimal {
	d, err := quantity.Parse(s)
	if err != nil {
		panic(err)
	}
	return d
}
