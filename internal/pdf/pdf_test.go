package pdf

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"sync"
	"testing"
	"time"

	"spanseal/internal/page"
	"spanseal/internal/seal"
)

var issued = time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC)

// press is for Latin text, as a small job has it.
var press = sync.OnceValue(func() *Press {
	runes := []rune("≤≥−·µμλ×Σ±…“”‘’–—→←°²Ωéüñß")
	for r := ' '; r <= '~'; r++ {
		runes = append(runes, r)
	}
	p, err := NewPress(page.A4, Options{Runes: runes})
	if err != nil {
		panic(err)
	}
	return p
})

var signer = sync.OnceValue(func() *seal.Signer {
	s, err := seal.NewSigner("A. Tester", "Test Cabling", issued.AddDate(0, -1, 0), 10)
	if err != nil {
		panic(err)
	}
	return s
})

// signature certifies with the test key, invisibly.
func signature() *Signature {
	return &Signature{
		Name: "A. Tester", Reason: "Certified (measured)", Location: "Köln", When: issued,
		Sign: func(digest [32]byte) ([]byte, error) { return signer().SignCMS(digest, time.Time{}) },
	}
}

// certificate is a page like a real one: about a hundred texts, a table, a
// bar, a symbol, three attachments.
func certificate(link string) *Document {
	return &Document{
		Title: "Certificate " + link, Author: "Test Cabling", Subject: "Insertion loss of link " + link + ", ≤ 2.60 dB",
		Language: "en-GB", Created: issued,
		Attachments: []page.Attachment{
			{Name: "record.json", MIME: "application/json", Description: "What was judged", Relationship: Data,
				Data: bytes.Repeat([]byte(`{"link":"`+link+`","loss_db":"0.35"}`), 60)},
			{Name: "source-rows.txt", MIME: "text/plain", Relationship: Source, Modified: issued.Add(-time.Hour),
				Data: []byte("A-17;1310;0,35;AB\n")},
			{Name: "größe (1).csv", MIME: "text/csv", Description: "(\\) ≤", Relationship: Supplement},
		},
		Draw: func(s page.Sheet) error {
			drawCertificate(s, link, true)
			return nil
		},
	}
}

func drawCertificate(s page.Sheet, link string, symbol bool) {
	const ink, soft, hair, deep = 0x1B1F23, 0x5C636A, 0xBEC2C6, 0x173E54
	s.NextPage()
	s.Bookmark("Certificate "+link, 0)
	s.Fill(0, 0, 52, 297, 0xF1F2F0)
	s.Fill(10, 12, 36, 16, deep)
	s.Text(14, 23, page.Style{Face: page.Bold, Size: 22, Ink: 0xFFFFFF}, "PASS")
	caption := page.Style{Face: page.Regular, Size: 6.5, Ink: soft}
	value := page.Style{Face: page.Medium, Size: 9, Ink: ink}
	for i := range 13 {
		y := 40 + 11*float64(i)
		s.Text(10, y, caption, fmt.Sprintf("caption %d", i))
		s.Text(10, y+4.5, value, fmt.Sprintf("BL-2026-031/%s %d", link, i))
	}
	s.Text(60, 23, page.Style{Face: page.Bold, Size: 16, Ink: ink}, "Link "+link)
	for i, line := range []string{
		"The insertion loss of this link was measured in both directions at 1310 and",
		"1550 nm on 25 November 2026; every reading is at least 0.42 dB better than",
		"the limit of 2.60 dB.",
	} {
		s.Text(60, 33+4.7*float64(i), page.Style{Size: 9.5, Ink: ink}, line)
	}
	s.Line(60, 50, 198, 50, 0.1, hair)
	for i, w := range []float64{30, 22, 12, 40} {
		s.Fill(60+18*float64(i), 60, w, 6, 0x7C96A7)
	}
	s.Frame(60, 58, 138, 10, 0.15, soft)
	s.Line(180, 56, 180, 70, 0.4, 0xA84E28)
	s.Polygon([]page.Point{{X: 120, Y: 69}, {X: 122, Y: 73}, {X: 118, Y: 73}}, ink)
	for row := range 9 {
		y := 90 + 4.7*float64(row)
		for col, text := range []string{"1310 nm", "A→B", "0.35", "2.60", "2.25", "0.05", "pass"} {
			style := page.Style{Size: 8.5, Ink: ink}
			x := 60 + 20*float64(col)
			s.Text(x+12-s.Width(style, text), y, style, text)
		}
		s.Line(60, y+1.4, 198, y+1.4, 0.1, hair)
	}
	for i := range 12 {
		y := 145 + 4.7*float64(i)
		s.Text(60, y, caption, fmt.Sprintf("working %d", i))
		s.Text(85, y, page.Style{Face: page.Mono, Size: 7.5, Ink: ink}, "0.4 dB/km × 1.250 km + 0.75 dB × 2 = 2.00 dB")
	}
	s.Text(60, 280, page.Style{Face: page.Italic, Size: 7, Ink: soft}, "Laser light: never look into a fibre – follow local codes…")
	if symbol {
		s.Modules(10, 250, 36, checkerboard(61), 0)
	}
}

// checkerboard looks as busy as a symbol.
func checkerboard(n int) [][]bool {
	dark := make([][]bool, n)
	for y := range dark {
		dark[y] = make([]bool, n)
		for x := range dark[y] {
			dark[y][x] = (x*x+3*y+x*y/2)%5 < 2
		}
	}
	return dark
}

// gallery has two pages with every kind of mark and picture.
func gallery(t testing.TB) *Document {
	d := certificate("A-18")
	d.Title = "Gallery – Größe Ω"
	d.Draw = func(s page.Sheet) error {
		drawCertificate(s, "A-18", true)
		s.NextPage()
		s.Bookmark("Größe", 1)
		within := func(e page.Element, draw func()) {
			s.Begin(e)
			draw()
			s.Finish()
		}
		text := func(role page.Role, y float64, texts ...string) func() {
			return func() {
				within(page.Element{Role: role}, func() {
					for i, one := range texts {
						s.Text(20, y+5*float64(i), page.Style{Size: 9}, one)
					}
				})
			}
		}
		text(page.Heading, 110, "A heading")()
		text(page.Subheading, 120, "Below it")()
		text(page.Paragraph, 130, "Two lines that break a wo"+page.Joint, "rd, and", "not another")()
		within(page.Element{Role: page.List, Numbered: true}, func() {
			within(page.Element{Role: page.Item}, func() {
				text(page.Label, 150, "1")()
				text(page.ItemBody, 150, "One of one")()
			})
		})
		within(page.Element{Role: page.Table}, func() {
			within(page.Element{Role: page.TableHead}, func() {
				within(page.Element{Role: page.Row}, func() {
					within(page.Element{Role: page.HeaderCell, Span: 2}, text(page.Paragraph, 160, "Loss"))
				})
			})
			within(page.Element{Role: page.TableBody}, func() {
				within(page.Element{Role: page.Row}, func() {
					within(page.Element{Role: page.HeaderCell, OfRow: true}, text(page.Paragraph, 170, "A-18"))
					within(page.Element{Role: page.Cell}, text(page.Paragraph, 170, "0.35 dB"))
				})
			})
		})
		within(page.Element{Role: page.Figure, Alt: "Größe (two lines)", Lang: "de"}, func() {
			s.Line(20, 200, 40, 210, 0.3, 0)
			s.Line(20, 210, 40, 200, 0.3, 0)
			s.Text(40, 205, page.Style{Size: 9}, "crossed")
		})
		within(page.Element{Role: page.Artifact}, text(page.Paragraph, 280, "page 2 of 2"))
		within(page.Element{Role: page.Signing, Alt: "Signature of A. Tester"}, func() {})
		for i, data := range pictures(t) {
			if err := s.Picture(20+45*float64(i), 20, 40, 30, data); err != nil {
				return err
			}
			if err := s.Picture(20+45*float64(i), 60, 20, 15, data); err != nil {
				return err
			}
		}
		s.Text(20, 100, page.Style{Size: 9}, `A backslash \ and (brackets)`)
		return nil
	}
	return d
}

// pictures are a colour and a grey JPEG, an opaque and a transparent PNG.
func pictures(t testing.TB) [][]byte {
	const w, h = 80, 60
	rgb, grey, clear := image.NewRGBA(image.Rect(0, 0, w, h)), image.NewGray(image.Rect(0, 0, w, h)), image.NewNRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{uint8(3 * x), uint8(4 * y), 120, 255}
			rgb.Set(x, y, c)
			grey.Set(x, y, c)
			clear.Set(x, y, color.NRGBA{200, 40, 0, uint8(3 * x)})
		}
	}
	var out [][]byte
	for i, img := range []image.Image{rgb, grey, rgb, clear} {
		var b bytes.Buffer
		var err error
		if i < 2 {
			err = jpeg.Encode(&b, img, nil)
		} else {
			err = png.Encode(&b, img)
		}
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, b.Bytes())
	}
	return out
}

func write(t testing.TB, d *Document, sig *Signature) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := press().Canvas().Write(&b, d, sig); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
