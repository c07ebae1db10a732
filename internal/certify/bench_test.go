package certify_test

import (
	"testing"

	"spanseal/internal/page"
)

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
