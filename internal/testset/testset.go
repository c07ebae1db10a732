// Package testset invents jobs, judges them and makes the sets of their papers, for the
// tests of the packages that make papers.
//
// The job is [Library]; the others are it with something changed. Nothing in it is real.
package testset

import (
	"bytes"
	"encoding/base32"
	"io/fs"
	"iter"
	"os"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"testing/fstest"
	"time"

	"spanseal/internal/certify"
	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/intake"
	"spanseal/internal/judge"
	"spanseal/internal/label"
	"spanseal/internal/limits"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/seal"
	"spanseal/internal/source"
	"spanseal/internal/summary"
	"spanseal/internal/superseded"
	"spanseal/templates"
)

// TB is what is asked of a test, so that one of package rapid will do.
type TB interface {
	Helper()
	Fatal(args ...any)
}

// Good ends a test whose problems hold an error, and prints them.
func Good(t TB, problems *diag.List) {
	t.Helper()
	if problems.Errors() > 0 {
		var b bytes.Buffer
		_ = problems.Write(&b, nil)
		t.Fatal(b.String())
	}
}

// OwnersFigures is an owner's own limit set, for six wavelengths.
const OwnersFigures = `
id: owner-harbour
kind: cabling
title: The harbour authority's own figures
standard: Port Ansel Harbour Authority, fibre schedule
edition: "2025"
owner: true
values:
  cable:
    unit: dB/km
    clause: schedule 3
    provenance: read
    rows:
      - {value: 0.8, fibre: OS2, wavelength_nm: [1270, 1310, 1383, 1490, 1550, 1625]}
      - {value: 3.5, fibre: OM4, wavelength_nm: [850, 1300]}
  mated_pair: {unit: dB, value: 0.8, clause: schedule 3, provenance: read}
  splice: {unit: dB, value: 0.35, clause: schedule 3, provenance: read}
limits:
  - id: link-loss
    title: Link loss
    quantity: insertion_loss
    at_most:
      - {rate: cable, amount: length_km}
      - {rate: mated_pair, amount: mated_pairs}
      - {rate: splice, amount: splices}
`

// owners holds one cabling standard and an owner's own set.
var owners = sync.OnceValues(func() (*limits.Book, *diag.List) {
	const name = "tia-568.3-e.yaml"
	text, err := fs.ReadFile(templates.Files, "limits/"+name)
	if err != nil {
		panic(err) // it is embedded
	}
	book, problems := limits.NewBook(fstest.MapFS{name: {Data: text}})
	problems.Join(book.Add(source.New("owner.yaml", []byte(OwnersFigures))))
	return book, problems
})

// builtIn holds every built-in limit set.
var builtIn = sync.OnceValues(func() (*limits.Book, *diag.List) {
	sets, err := fs.Sub(templates.Files, "limits")
	if err != nil {
		panic(err) // the folder is embedded
	}
	return limits.NewBook(sets)
})

// Judged is a job judged by one cabling standard and an owner's own set.
func Judged(t TB, f *record.Facts) *judge.Judgement {
	t.Helper()
	book, problems := owners()
	Good(t, problems)
	taken := *f // the readings, of which the test has more to say
	j, problems := judge.Judge(&taken, book)
	Good(t, problems)
	return j
}

var signer = sync.OnceValues(func() (*seal.Signer, error) {
	return seal.NewSigner("R. Lindqvist", "Tidewater Fibre Works", time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), 5)
})

// TokenOf is a text as long as the claim's token, at least so long, and the same
// on every run. It begins with the link, so that no two are the same.
func TokenOf(c seal.Claim, least int) (string, error) {
	s, err := signer()
	if err != nil {
		return "", err
	}
	token, err := s.SignToken(c)
	if err != nil {
		return "", err
	}
	text := seal.Prefix + strings.TrimRight(base32.StdEncoding.EncodeToString([]byte(c.Link)), "=")
	n := max(len(token), least)
	return (text + strings.Repeat("MZXW6YTBOI2DCNRTGQ4TS", n))[:n], nil
}

// Settings are all that a set is made of but facts and judgement.
type Settings struct {
	form.Writer
	certify.Options
}

// NewSettings are those of a set whose tokens are as long as real ones.
func NewSettings() Settings {
	return Settings{
		form.Writer{
			Revision: 1, Issued: time.Date(2026, 11, 25, 16, 0, 0, 0, time.UTC),
			Signer: form.Signatory{Name: "R. Lindqvist", Organisation: "Tidewater Fibre Works", KeyID: "5F0C 91D2"},
		},
		certify.Options{
			Sign:      func(c seal.Claim) (string, error) { return TokenOf(c, 0) },
			Symbol:    label.Encode,
			Templates: templates.Files,
		},
	}
}

// Set makes a set of facts and judgement.
func (o Settings) Set(f *record.Facts, judged *judge.Judgement) (*certify.PaperSet, *diag.List) {
	o.Facts, o.Judgement = f, judged
	return certify.NewSet(o.Writer, o.Options)
}

// New is the set of a job.
func New(t TB, f *record.Facts, o Settings) *certify.PaperSet {
	t.Helper()
	set, problems := o.Set(f, Judged(t, f))
	Good(t, problems)
	return set
}

// Editions are the sets of a job in every language, on both papers.
func Editions(t TB, facts *record.Facts, judged *judge.Judgement) iter.Seq[*certify.PaperSet] {
	return func(yield func(*certify.PaperSet) bool) {
		for _, language := range []string{"de", "en", "es"} {
			for _, paper := range []page.PaperSize{page.A4, page.Letter} {
				facts.Job.Documents = record.Documents{Paper: paper.Name, Language: language}
				set, problems := NewSettings().Set(facts, judged)
				Good(t, problems)
				if !yield(set) {
					return
				}
			}
		}
	}
}

// PaperOf is the certificate of a link, or its nonconformance sheet.
func PaperOf(t TB, set *certify.PaperSet, l *judge.LinkResult) *certify.Paper {
	t.Helper()
	make := set.Certificate
	if !l.Verdict.Certifiable() {
		make = set.Nonconformance
	}
	d, err := make(l)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// Papers returns every document of a set.
func Papers(t TB, s *certify.PaperSet) []*certify.Paper {
	t.Helper()
	var all []*certify.Paper
	add := func(d *certify.Paper, err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, d)
	}
	add(summary.New(s))
	for _, make := range []func() (*certify.Paper, error){s.Labels, func() (*certify.Paper, error) { return summary.Quantities(s) }} {
		if d, err := make(); d != nil || err != nil {
			add(d, err)
		}
	}
	for _, l := range s.Judgement.Results() {
		if l.Verdict.Certifiable() {
			add(s.Certificate(l))
		} else {
			add(s.Nonconformance(l))
		}
		if len(l.Superseded) > 0 {
			add(superseded.Sheet(s, l))
		}
	}
	return all
}

// Drawn is a document as it was drawn, all of it on its sheets.
func Drawn(t TB, p page.PaperSize, d *certify.Paper) *page.Recorder {
	t.Helper()
	r := page.NewRecorder(p)
	if err := d.Draw(r); err != nil {
		t.Fatal(err)
	}
	if out := r.Outside(p.Sheet()); len(out) > 0 {
		t.Fatal(out[0])
	}
	return r
}

// ByBook is the set of a job that may name every built-in limit set.
func ByBook(t TB, f *record.Facts) *certify.PaperSet {
	t.Helper()
	book, problems := builtIn()
	Good(t, problems)
	j, problems := judge.Judge(f, book)
	Good(t, problems)
	o := NewSettings()
	o.Book = book
	set, problems := o.Set(f, j)
	Good(t, problems)
	return set
}

// Demonstration is the demonstration job, as read and judged, with more limit sets
// where some are named.
func Demonstration(t testing.TB, more ...string) (*record.Facts, *judge.Judgement) {
	t.Helper()
	dir := t.TempDir()
	demo, err := fs.Sub(templates.Files, "demo")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(dir, demo); err != nil {
		t.Fatal(err)
	}
	book, problems := builtIn()
	Good(t, problems)
	facts, problems := intake.Read(dir, intake.Options{})
	Good(t, problems)
	facts.Job.Policy.Limits = append(facts.Job.Policy.Limits, more...)
	judged, problems := judge.Judge(facts, book)
	Good(t, problems)
	return facts, judged
}

// Figures are the alternative texts of a paper.
func Figures(t TB, set *certify.PaperSet, d *certify.Paper) (alts []string) {
	t.Helper()
	for _, e := range Drawn(t, set.Paper(), d).Elements {
		if e.Role == page.Figure {
			alts = append(alts, e.Alt)
		}
	}
	return alts
}

// Span is the least and the most of some losses, as they are printed.
func Span(losses []float64, places int) (least, most string) {
	print := func(v float64) string { return strings.ReplaceAll(strconv.FormatFloat(v, 'f', places, 64), "-", "−") }
	return print(slices.Min(losses)), print(slices.Max(losses))
}

// Said is all text of a paper, with plain spaces.
func Said(t TB, d *certify.Paper) string {
	t.Helper()
	return strings.ReplaceAll(strings.Join(Drawn(t, page.A4, d).Texts(), " "), "\u00A0", " ")
}
