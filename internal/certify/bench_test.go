package certify_test

import (
	"fmt"
	"testing"

	"spanseal/internal/certify"
	"spanseal/internal/page"
	"spanseal/internal/record"
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

func BenchmarkSummary10000(b *testing.B) {
	f := estate(10_000)
	j := judged(b, f)
	set, problems := certify.NewSet(f, j, options())
	good(b, problems)
	for b.Loop() {
		d, err := set.Summary()
		if err != nil {
			b.Fatal(err)
		}
		r := page.NewRecorder(page.A4)
		if err := d.Draw(r); err != nil {
			b.Fatal(err)
		}
		b.ReportMetric(float64(r.PageNumber()), "pages")
	}
}
