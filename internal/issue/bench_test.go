//go:build unix

package issue

import (
	"os"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"spanseal/internal/bulk"
	"spanseal/internal/certify"
	"spanseal/internal/intake"
	"spanseal/internal/judge"
	"spanseal/internal/label"
	"spanseal/internal/limits"
	"spanseal/internal/pdf"
	"spanseal/internal/seal"
	"spanseal/templates"
)

// BenchmarkCertificate makes signed certificates of eight readings, with their
// attachments, one after another, and throws them away. "drawn" leaves out the
// encoding of the QR symbol, which is not ours to make faster: each draws the
// symbol of the first.
func BenchmarkCertificate(b *testing.B) {
	encode := func(text string) ([][]bool, error) { return label.Encode(text) }
	b.Run("whole", func(b *testing.B) { certificates(b, encode) })
	var first [][]bool
	b.Run("drawn", func(b *testing.B) {
		certificates(b, func(text string) (symbol [][]bool, err error) {
			if first == nil {
				first, err = label.Encode(text)
			}
			return first, err
		})
	})
}

func certificates(b *testing.B, symbol func(string) ([][]bool, error)) {
	const links = 500
	issued := time.Date(2026, time.November, 25, 16, 0, 0, 0, time.UTC)
	signer, err := seal.NewSigner("R. Lindqvist", "Tidewater Fibre Works", issued.AddDate(-1, 0, 0), 10)
	if err != nil {
		b.Fatal(err)
	}
	dir := b.TempDir()
	if err := bulk.Write(dir, links); err != nil {
		b.Fatal(err)
	}
	facts, _ := intake.Read(dir, intake.Options{})
	book, _ := limits.NewBook(os.DirFS("../../templates/limits"))
	judged, _ := judge.Judge(facts, book)
	if judged.Counts.Certified != links {
		b.Fatalf("%d of %d links are certified", judged.Counts.Certified, links)
	}
	fresh := func() *certify.Set { // a set signs each link once
		set, problems := certify.NewSet(facts, judged, certify.Options{
			Revision: 1, Issued: issued, Templates: templates.Files, Symbol: symbol, Sign: signer.SignToken,
			Signer: certify.Signer{Name: "R. Lindqvist", Organisation: "Tidewater Fibre Works", KeyID: signer.KeyID().String(), Fingerprint: signer.Fingerprint()},
		})
		if problems.Errors() > 0 {
			b.Fatal("the set has problems")
		}
		return set
	}
	r := &Request{Set: fresh(), Signer: signer}
	press, err := pdf.NewPress(r.Set.Paper(), pdf.Options{Runes: r.Set.Runes()})
	if err != nil {
		b.Fatal(err)
	}
	p := r.printer(press, nil)
	makers := r.links()
	i, size := 0, 0
	used, began := time.Duration(0), processorTime()
	for b.Loop() {
		if i == len(makers) {
			b.StopTimer()
			used += processorTime() - began
			r.Set, i = fresh(), 0
			began = processorTime()
			b.StartTimer()
		}
		doc, err := makers[i]()
		if err != nil {
			b.Fatal(err)
		}
		if err := p.render(doc); err != nil {
			b.Fatal(err)
		}
		i, size = i+1, p.buffer.Len()
	}
	used += processorTime() - began
	b.ReportMetric(float64(used.Microseconds())/float64(b.N), "cpu-µs/op")
	b.ReportMetric(float64(size), "bytes/file")
}

// processorTime is what the process has used of all processors: on a machine
// that others use too, the only figure that can be compared.
func processorTime() time.Duration {
	var u unix.Rusage
	if err := unix.Getrusage(unix.RUSAGE_SELF, &u); err != nil {
		panic(err)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
