package summary_test

import (
	"bytes"
	"io"
	"io/fs"
	"testing"

	"spanseal/internal/bulk"
	"spanseal/internal/intake"
	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/pdf"
	"spanseal/internal/summary"
	"spanseal/internal/testset"
	"spanseal/templates"
)

// BenchmarkSummary makes the summary of 10,000 links and puts it on paper, from a
// judgement and results.json, which is attached, that are there already.
func BenchmarkSummary(b *testing.B) {
	dir := b.TempDir()
	if err := bulk.Write(dir, 10_000); err != nil {
		b.Fatal(err)
	}
	facts, problems := intake.Read(dir, intake.Options{})
	testset.Good(b, problems)
	sets, err := fs.Sub(templates.Files, "limits")
	if err != nil {
		b.Fatal(err)
	}
	book, problems := limits.NewBook(sets)
	testset.Good(b, problems)
	judged, problems := judge.Judge(facts, book)
	testset.Good(b, problems)
	set, problems := testset.NewSettings().Set(facts, judged)
	testset.Good(b, problems)
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
		doc := &pdf.Document{Title: d.Title, Language: d.Language, Created: set.Issued, Draw: d.Draw}
		doc.Attachments = d.Attachments
		if err := canvas.Write(io.Discard, doc, nil); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(canvas.PageNumber()), "pages")
}
