package certify_test

import (
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"testing"

	"spanseal/internal/bulk"
	"spanseal/internal/intake"
	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/page"
	"spanseal/internal/pdf"
	"spanseal/internal/record"
	"spanseal/internal/summary"
	"spanseal/templates"
)

// estate is a job of so many links, the library's over and over.
func estate(links int) *record.Facts {
	f := library()
	small := *f
	f.Links, f.Readings, f.Terminations, f.Photos = nil, nil, nil, nil
	for n := 0; len(f.Links) < links; n++ {
		rename := func(id string) string { return fmt.Sprintf("%03d-%s", n, id) }
		for _, l := range small.Links {
			l.ID = rename(l.ID)
			l.From, l.To = fmt.Sprintf("panel %d.%s", n, l.From[6:]), fmt.Sprintf("panel %d.%s", n, l.To[6:])
			f.Links = append(f.Links, l)
		}
		for _, r := range small.Readings {
			r.Link = rename(r.Link)
			f.Readings = append(f.Readings, r)
		}
		for _, t := range small.Terminations {
			t.Link = rename(t.Link)
			f.Terminations = append(f.Terminations, t)
		}
	}
	return f
}

func BenchmarkCertificate(b *testing.B) {
	set := newSet(b, library(), options())
	l, _ := set.Judgement.Link("A-11")
	r := page.NewRecorder(page.A4)
	d, err := set.Certificate(l)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		r.Marks = r.Marks[:0]
		if err := d.Draw(r); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkSummary makes the summary of 10,000 links and puts it on paper, from a
// judgement and results.json, which is attached, that are there already.
func BenchmarkSummary(b *testing.B) {
	dir := b.TempDir()
	if err := bulk.Write(dir, 10_000); err != nil {
		b.Fatal(err)
	}
	facts, problems := intake.Read(dir, intake.Options{})
	good(b, problems)
	sets, err := fs.Sub(templates.Files, "limits")
	if err != nil {
		b.Fatal(err)
	}
	book, problems := limits.NewBook(sets)
	good(b, problems)
	judged, problems := judge.Judge(facts, book)
	good(b, problems)
	set, problems := options().set(facts, judged)
	good(b, problems)
	var results bytes.Buffer
	if err := set.WriteResults(&results); err != nil {
		b.Fatal(err)
	}
	set.Stored = func(to io.Writer) error {
		_, err := to.Write(results.Bytes())
		return err
	}
	press, err := pdf.NewPress(set.Paper(), pdf.Options{Runes: set.Runes()})
	if err != nil {
		b.Fatal(err)
	}
	canvas := press.Canvas()
	for b.Loop() {
		d, err := summary.New(set)
		if err != nil {
			b.Fatal(err)
		}
		write(b, canvas, d, set.Issued, "")
	}
	b.ReportMetric(float64(canvas.PageNumber()), "pages")
}
