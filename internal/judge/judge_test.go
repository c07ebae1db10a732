package judge_test

import (
	"fmt"
	"strings"
	"sync"
	"testing"

	"spanseal/internal/judge"
	"spanseal/internal/judge/testjob"
	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

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

func dec(s string) quantity.Decimal { return quantity.Must(s) }

func ptr(s string) *quantity.Decimal { d := dec(s); return &d }

var (
	newBook, report, clean = testjob.Book, testjob.Report, testjob.Clean
	noon                   = testjob.Noon
)

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
		bands := 0
		for _, a := range first.Advice {
			if a.Code == "advice.owner" {
				bands++
			}
		}
		if bands > 1 {
			t.Errorf("%s, %s dB is in %d bands", c.set, c.loss, bands)
		}
	}
}

// TestSetsAndLinks: a set that somebody confirmed says so with the note, if there is one;
// a link is found by its own id alone.
func TestSetsAndLinks(t *testing.T) {
	for note, want := range map[string]string{"": "confirmed.bare", "copy no. 7.": "confirmed.noted"} {
		book := builtIn(t)
		set, _ := book.Find("tia-568.3-e")
		book.Confirm([]limits.Confirmation{{Set: set.ID, SHA256: set.SHA256, By: "M. Okafor", On: record.NewDate(2026, 11, 20), Note: note}})
		j := judged(t, clean(), book)
		if got := j.Sets[0]; got.Confirmation.Code != want || !strings.Contains(got.Confirmed, "M. Okafor") {
			t.Errorf("%q: %q, %q, want %q", note, got.Confirmation.Code, got.Confirmed, want)
		}
		if l, ok := j.Link("A-12"); !ok || l.Link.ID != "A-12" {
			t.Errorf("no A-12")
		}
		if _, ok := j.Link("a-12"); ok {
			t.Errorf("a-12 is A-12")
		}
	}
}
