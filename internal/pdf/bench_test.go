package pdf

import (
	"bytes"
	"io"
	"testing"
	"time"

	"github.com/go-pdf/fpdf"

	"spanseal/internal/page"
)

// plainFpdf is the same page by fpdf alone, unsigned: the yardstick.
func plainFpdf(p *Press, w io.Writer, draw func(page.Sheet)) error {
	f := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: page.A4.Width, Ht: page.A4.Height}})
	o := &ownFonts{Canvas: p.Canvas(), file: f}
	o.Begin(page.Element{}) // without tags
	f.AddPage()
	draw(o)
	o.hand()
	return f.Output(w)
}

// ownFonts is a canvas that leaves the fonts to fpdf: those that it draws.
type ownFonts struct {
	*Canvas
	file *fpdf.Fpdf
	has  [page.Faces]bool
}

// hand hands over what our canvas has drawn.
func (o *ownFonts) hand() {
	if n := len(o.pending); n > 0 {
		o.file.RawWriteStr(string(o.pending[:n-1]))
		o.pending = o.pending[:0]
	}
}

func (o *ownFonts) Text(x, y float64, s page.Style, text string) {
	if !o.has[s.Face] {
		o.file.AddUTF8FontFromBytes(s.Face.String(), "", page.GoTypefaces()[s.Face].TTF())
		o.has[s.Face] = true
	}
	o.file.SetFont(s.Face.String(), "", s.Size)
	o.fill(s.Ink)
	o.hand()
	o.file.Text(x, y, text)
}

func BenchmarkNewPress(b *testing.B) {
	for b.Loop() {
		if _, err := NewPress(page.A4, Options{Runes: []rune(runesOf(press())), Sample: []func(page.Sheet) error{certificate("A-17").Draw}}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkCertificate writes the page of drawCertificate with three
// attachments.
func BenchmarkCertificate(b *testing.B) {
	drawn := func(symbol bool) *Document {
		d := certificate("A-17")
		d.Draw = func(s page.Sheet) error { drawCertificate(s, "A-17", symbol); return nil }
		return d
	}
	sig := signature()
	sig.Reserve = signer().MaxCMS()
	for _, bb := range []struct {
		name string
		d    *Document
		sig  *Signature
	}{
		{"unsigned", drawn(false), nil}, {"signed", drawn(false), sig}, {"signed with symbol", drawn(true), sig},
	} {
		b.Run(bb.name, func(b *testing.B) {
			c := press().Canvas()
			var out bytes.Buffer
			b.ReportAllocs()
			for b.Loop() {
				out.Reset()
				if err := c.Write(&out, bb.d, bb.sig); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(out.Len()), "B/file")
		})
	}
	b.Run("plain fpdf", func(b *testing.B) {
		for b.Loop() {
			if err := plainFpdf(press(), io.Discard, func(s page.Sheet) { drawCertificate(s, "A-17", false) }); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// BenchmarkRatio is the yardstick against noise: in each turn it writes the
// page once with fpdf alone and ten times signed with attachments, and reports
// how many times faster one of those is.
func BenchmarkRatio(b *testing.B) {
	d := certificate("A-17")
	d.Draw = func(s page.Sheet) error { drawCertificate(s, "A-17", false); return nil }
	sig := signature()
	sig.Reserve = signer().MaxCMS()
	c := press().Canvas()
	var theirs, ours time.Duration
	const times = 10
	for b.Loop() {
		start := time.Now()
		if err := plainFpdf(press(), io.Discard, func(s page.Sheet) { drawCertificate(s, "A-17", false) }); err != nil {
			b.Fatal(err)
		}
		middle := time.Now()
		for range times {
			if err := c.Write(io.Discard, d, sig); err != nil {
				b.Fatal(err)
			}
		}
		theirs += middle.Sub(start)
		ours += time.Since(middle)
	}
	b.ReportMetric(times*float64(theirs)/float64(ours), "times-faster")
}

func BenchmarkOpen(b *testing.B) {
	data := write(b, certificate("A-17"), signature())
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Open(data); err != nil {
			b.Fatal(err)
		}
	}
}
