package pdf

import (
	"bytes"
	"io"
	"testing"

	"github.com/go-pdf/fpdf"

	"spanseal/internal/page"
)

// plainFpdf is the same page by fpdf alone, unsigned: the yardstick.
func plainFpdf(w io.Writer, draw func(page.Sheet)) error {
	f := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: page.A4.Width, Ht: page.A4.Height}})
	for face, t := range page.GoTypefaces() {
		f.AddUTF8FontFromBytes(family(page.Face(face)), "", t.TTF())
	}
	c := press().Canvas()
	c.tpl = f
	for i := range c.names {
		c.names[i] = []byte{}
	}
	f.AddPage()
	draw(c)
	return f.Output(w)
}

func BenchmarkNewPress(b *testing.B) {
	for b.Loop() {
		if _, err := NewPress(page.A4, Options{Runes: []rune(runesOf(press())), Sample: []func(page.Sheet) error{certificate("A-17").Draw}}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCertificate(b *testing.B) {
	for name, symbol := range map[string]bool{"with mask": true, "without symbol": false} {
		d := certificate("A-17")
		d.Draw = func(s page.Sheet) error { drawCertificate(s, "A-17", symbol); return nil }
		sig := signature()
		sig.Reserve = signer().MaxCMS()
		b.Run("signed "+name, func(b *testing.B) {
			c := press().Canvas()
			var out bytes.Buffer
			b.ReportAllocs()
			for b.Loop() {
				out.Reset()
				if err := c.Write(&out, d, sig); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(out.Len()), "B/file")
		})
		b.Run("unsigned "+name, func(b *testing.B) {
			c := press().Canvas()
			for b.Loop() {
				if err := c.Write(io.Discard, d, nil); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	b.Run("plain fpdf", func(b *testing.B) {
		for b.Loop() {
			if err := plainFpdf(io.Discard, func(s page.Sheet) { drawCertificate(s, "A-17", false) }); err != nil {
				b.Fatal(err)
			}
		}
	})
}
