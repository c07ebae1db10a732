package judge_test

import (
	"fmt"
	"io/fs"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/templates"
)

// newBook is a book of the built-in sets that a test may add to.
func newBook(t testing.TB) *limits.Book {
	t.Helper()
	sub, err := fs.Sub(templates.Files, "limits")
	if err != nil {
		t.Fatal(err)
	}
	book, problems := limits.NewBook(sub)
	report(t, problems)
	return book
}

var shared struct {
	once sync.Once
	book *limits.Book
}

// builtIn is the book of built-in sets, read once for all tests.
func builtIn(t testing.TB) *limits.Book {
	t.Helper()
	shared.once.Do(func() { shared.book = newBook(t) })
	return shared.book
}

// own is a book with a set written in the test beside the built-in ones.
func own(t testing.TB, name, text string) *limits.Book {
	t.Helper()
	book := newBook(t)
	report(t, book.Add(source.New(name, []byte(text))))
	return book
}

func report(t testing.TB, problems *diag.List) {
	t.Helper()
	if problems.Errors() > 0 {
		_ = problems.Write(os.Stderr, nil)
		t.Fatal("problems")
	}
}

func dec(s string) quantity.Decimal { return quantity.Must(s) }

func ptr(s string) *quantity.Decimal { d := dec(s); return &d }

var noon = time.Date(2026, 11, 18, 12, 0, 0, 0, time.UTC)

// clean is a job that raises no question: one link measured both ways.
func clean() *record.Facts {
	f := &record.Facts{
		Job: record.Job{
			People: []record.Person{{ID: "mo", Name: "M. Okafor", ValidUntil: record.NewDate(2027, 6, 30)}},
			Instruments: []record.Instrument{{
				ID: "PM-9", Kind: "power meter", Serial: "22803", Calibrated: record.NewDate(2026, 3, 3), Due: record.NewDate(2027, 3, 3), Uncertainty: ptr("0.12"),
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
			ID: "A-12", Fibre: "OS2", Mode: record.Singlemode, Length: dec("312"), MatedPairs: 2,
			EndA: record.End{SplicedOn: true, Connector: "LC", Polish: "UPC"}, EndB: record.End{SplicedOn: true, Connector: "LC", Polish: "UPC"},
		}},
	}
	for i, r := range []struct {
		nm   int
		way  record.Direction
		loss string
	}{{1310, record.AB, "0.94"}, {1310, record.BA, "1.03"}, {1550, record.AB, "0.88"}, {1550, record.BA, "0.96"}} {
		f.Readings = append(f.Readings, record.Reading{
			Link: "A-12", Quantity: record.InsertionLoss, WavelengthNM: r.nm, Direction: r.way, Value: dec(r.loss),
			Instrument: "PM-9", Person: "mo", Fate: record.Used, Time: noon.Add(time.Duration(i) * time.Minute), ReferenceTime: noon.Add(-time.Hour),
			Origin: record.Origin{File: "readings/day2.csv", Row: i + 5},
		})
	}
	return f
}

func judged(t testing.TB, f *record.Facts, book *limits.Book) *judge.Judgement {
	t.Helper()
	j, problems := pure(t, f, book)
	report(t, problems)
	return j
}

// TestDesignExample: the worked allowance of the design: 0.4 dB/km × 0.312 km
// + 0.75 dB × 2 + 0.3 dB × 2, compared unrounded.
func TestDesignExample(t *testing.T) {
	f := clean()
	l := judged(t, f, builtIn(t)).Result(0)
	if l.Verdict != judge.Pass || len(l.Open()) != 0 {
		t.Fatalf("verdict %v, open %v", l.Verdict, l.Open())
	}
	worst := l.WorstFinding()
	if got := worst.Limit.String(); got != "2.2248" {
		t.Errorf("limit %s", got)
	}
	if got := worst.Margin.String(); got != "1.1948" {
		t.Errorf("margin %s", got)
	}
	var working string
	for _, term := range worst.Working.Terms {
		working += fmt.Sprintf("%s %s×%s=%s; ", term.Label, term.Rate, term.Amount, term.Product)
	}
	if want := "cable 0.4×0.312=0.1248; mated_pair 0.75×2=1.50; splice 0.3×2=0.6; "; working != want {
		t.Errorf("working %q, want %q", working, want)
	}
	// The limit met exactly is met; a ten-thousandth over is not.
	for value, want := range map[string]judge.Verdict{"2.2248": judge.Marginal, "2.2249": judge.Fail} {
		f.Readings[1].Value = dec(value)
		if got := judged(t, f, builtIn(t)).Result(0).Verdict; got != want {
			t.Errorf("%s dB: %v, want %v", value, got, want)
		}
	}
}

// TestNavyBands: what MIL-STD-2042-6B(SH) says about a loss over the limit, by
// how much (methods 6E1 and 6C1).
func TestNavyBands(t *testing.T) {
	for _, c := range []struct{ set, loss, want string }{
		{"mil-std-2042-6b", "3.2", "Over by less than 1.0 dB"}, // of 0.468 + 1.5 + 1.2 with two splices
		{"mil-std-2042-6b", "4.2", "Over by 1.0 dB or more"},
		{"mil-std-2042-6b", "4.168", "Over by 1.0 dB or more"},
		{"mil-std-2042-6b-assembly", "3.5", "Over by less than 0.5 dB"},
		{"mil-std-2042-6b-assembly", "3.668", "Over by 0.5 dB or more"},
	} {
		f := clean()
		f.Job.Policy.Limits = []string{c.set}
		f.Readings[0].Value = dec(c.loss)
		first := judged(t, f, builtIn(t)).Result(0).Findings[0]
		if over := first.Margin.Sign() < 0; over != (first.Verdict == judge.Fail) || over && !strings.HasPrefix(said(first.Advice[0]), c.want) {
			t.Errorf("%s, %s dB of %s: %v %q", c.set, c.loss, first.Limit, first.Verdict, first.Advice)
		}
	}
}
