package pdf

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"image"
	"image/color"
	"image/jpeg"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/pdfcpu/pdfcpu/pkg/api"
	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu"
	"github.com/pdfcpu/pdfcpu/pkg/pdfcpu/model"

	"spanseal/internal/page"
)

func setTexts(s page.Sheet, texts ...string) error {
	s.NextPage()
	for i, one := range texts {
		s.Text(20, 20+5*float64(i), page.Style{Size: 10}, one)
	}
	return nil
}

func TestWriteRefuses(t *testing.T) {
	boom := errors.New("boom")
	tests := []struct {
		name   string
		change func(*Document, *Signature)
		want   string
	}{
		{"no date", func(d *Document, _ *Signature) { d.Created = time.Time{} }, "no date"},
		{"no title", func(d *Document, _ *Signature) { d.Title = "" }, "title"},
		{"no language", func(d *Document, _ *Signature) { d.Language = "" }, "language"},
		{"control character", func(d *Document, _ *Signature) { d.Title = "a\x07b" }, "U+0007 at byte 1"},
		{"invalid UTF-8", func(d *Document, _ *Signature) { d.Author = "\xFF" }, "U+FFFD"},
		{"nothing to draw", func(d *Document, _ *Signature) { d.Draw = nil }, "either a drawing or parts"},
		{"no page", func(d *Document, _ *Signature) { d.Draw = func(page.Sheet) error { return nil } }, "no page"},
		{"part without page", func(d *Document, _ *Signature) {
			d.Parts = []BundlePart{{"one", d.Draw}, {"two", func(page.Sheet) error { return nil }}}
			d.Draw = nil
		}, "a part of the document has no page"},
		{"drawing fails", func(d *Document, _ *Signature) { d.Draw = func(page.Sheet) error { return boom } }, "boom"},
		{"attachment twice", func(d *Document, _ *Signature) { d.Attachments = append(d.Attachments, d.Attachments[0]) }, "twice"},
		{"attachment unnamed", func(d *Document, _ *Signature) { d.Attachments[0].Name = "" }, "empty"},
		{"attachment with a control character", func(d *Document, _ *Signature) { d.Attachments[0].Name = "a\tb" }, "U+0009 at byte 1"},
		{"reason with a control character", func(_ *Document, s *Signature) { s.Reason = "\x00" }, "U+0000 at byte 0"},
		{"unknown relationship", func(d *Document, _ *Signature) { d.Attachments[0].Relationship = "Origin" }, `"Origin"`},
		{"missing glyph", func(d *Document, _ *Signature) {
			d.Draw = func(s page.Sheet) error { return setTexts(s, "光ファイバ", "光") }
		}, `no glyph for "ァイバフ光" in the regular typeface`},
		{"text that is not UTF-8", func(d *Document, _ *Signature) {
			d.Draw = func(s page.Sheet) error { return setTexts(s, "A\xE0") }
		}, "\uFFFD"},
		{"picture", func(d *Document, _ *Signature) {
			d.Draw = func(s page.Sheet) error { s.NextPage(); return s.Picture(0, 0, 1, 1, []byte("no picture")) }
		}, "neither a JPEG nor a PNG"},
		{"picture of a hundred megapixels", func(d *Document, _ *Signature) {
			d.Draw = func(s page.Sheet) error {
				s.NextPage()
				huge := bytes.Clone(pictures(t)[2][:33]) // up to the end of the header, IHDR
				copy(huge[16:], "\x00\x00\x27\x10\x00\x00\x27\x10")
				binary.BigEndian.PutUint32(huge[29:], crc32.ChecksumIEEE(huge[12:29]))
				return s.Picture(0, 0, 1, 1, huge)
			}
		}, "more than 64 megapixels"},
		{"picture cut off", func(d *Document, _ *Signature) {
			d.Draw = func(s page.Sheet) error {
				s.NextPage()
				data := pictures(t)[3]
				return s.Picture(0, 0, 1, 1, data[:len(data)/2])
			}
		}, "png: invalid format"},
		{"page of signature", func(_ *Document, s *Signature) { s.Page = 2 }, "page 2 of 1"},
		{"signature undated", func(_ *Document, s *Signature) { s.When = time.Time{} }, "signature has no date"},
		{"signature too long", func(_ *Document, s *Signature) { s.Reserve = 100 }, "more than the 100 reserved"},
		{"reserve too long", func(_ *Document, s *Signature) { s.Reserve = 40000 }, "archival"},
		{"signing fails", func(_ *Document, s *Signature) { s.Sign = func([32]byte) ([]byte, error) { return nil, boom } }, "boom"},
	}
	canvas := press().Canvas() // one for all: a refusal leaves no trace
	want := write(t, certificate("A-17"), nil)
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			d, sig := certificate("A-17"), signature()
			tt.change(d, sig)
			var b bytes.Buffer
			err := canvas.Write(&b, d, sig)
			if err == nil || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %v, want %q", err, tt.want)
			}
			if b.Len() > 0 {
				t.Error("something was written")
			}
			if err := canvas.Write(&b, certificate("A-17"), nil); err != nil || !bytes.Equal(b.Bytes(), want) {
				t.Errorf("the canvas is not as before: %v", err)
			}
		})
	}
	var missing *MissingError
	d := certificate("A-17")
	d.Draw = func(s page.Sheet) error { return setTexts(s, "光") }
	if err := canvas.Write(&bytes.Buffer{}, d, nil); !errors.As(err, &missing) || string(missing.Runes) != "光" {
		t.Errorf("got %v", err)
	}
}

// The same input gives the same bytes: on a used canvas and on a new one, from
// another press, and with many workers at once.
func TestReproducible(t *testing.T) {
	unsigned, signed := write(t, gallery(t), nil), write(t, certificate("B-1"), signature())
	other, err := NewPress(page.A4, Options{Runes: []rune(runesOf(press()))})
	if err != nil {
		t.Fatal(err)
	}
	for _, workers := range []int{1, 8} {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(workers))
		var wg sync.WaitGroup
		for _, p := range []*Press{press(), other} {
			for range workers {
				wg.Go(func() {
					c := p.Canvas()
					for range 3 {
						var b bytes.Buffer
						if err := c.Write(&b, certificate("B-1"), signature()); err != nil || !bytes.Equal(b.Bytes(), signed) {
							t.Errorf("signed: other bytes, %v", err)
						}
						b.Reset()
						if err := c.Write(&b, gallery(t), nil); err != nil || !bytes.Equal(b.Bytes(), unsigned) {
							t.Errorf("unsigned: other bytes, %v", err)
						}
					}
				})
			}
		}
		wg.Wait()
	}
}

func runesOf(p *Press) string {
	var runes []rune
	for r := range rune(len(p.faces[0].wide.glyphs)) {
		if p.faces[0].wide.contains(r) {
			runes = append(runes, r)
		}
	}
	return string(runes)
}

// Each of four pictures is placed twice and stored once, beside the symbol;
// photos are stored as they came.
func TestPicturesAreStoredOnce(t *testing.T) {
	data := write(t, gallery(t), nil)
	if n := bytes.Count(data, []byte("/Subtype/Image")); n != 5 {
		t.Errorf("%d images", n)
	}
	for _, photo := range pictures(t)[:2] {
		if !bytes.Contains(data, photo) {
			t.Error("a photo was packed anew")
		}
	}
}

func TestNoModulesAreNoSymbol(t *testing.T) {
	d := certificate("A-17")
	d.Draw = func(s page.Sheet) error {
		s.NextPage()
		s.Modules(10, 10, 20, nil, 0)
		return nil
	}
	if bytes.Contains(write(t, d, nil), []byte("/Subtype/Image")) {
		t.Error("an image of nothing")
	}
}

func TestBundle(t *testing.T) {
	var numbers []int
	part := func(title string, pages int) BundlePart {
		return BundlePart{title, func(s page.Sheet) error {
			for i := range pages {
				setTexts(s, fmt.Sprintf("%s %d", title, i+1))
				numbers = append(numbers, s.PageNumber())
			}
			s.Bookmark("end", 0)
			return nil
		}}
	}
	d := certificate("A-17")
	d.Draw, d.Parts = nil, []BundlePart{part("Summary", 2), part("A-17", 1), part("", 2)}
	data := write(t, d, signature())
	s, err := Open(data)
	if err != nil {
		t.Fatal(err)
	}
	if s.Pages != 5 || fmt.Sprint(numbers) != "[1 2 1 1 2]" {
		t.Errorf("%d pages, numbered %v", s.Pages, numbers)
	}
	path := save(t, data)
	if out := run(t, "pdftotext", "-f", "4", "-l", "4", path, "-"); strings.TrimSpace(out) != "1" {
		t.Errorf("page 4 reads %q", out)
	}
	var outline strings.Builder
	conf := model.NewDefaultConfiguration()
	conf.Offline = true
	marks, err := api.Bookmarks(bytes.NewReader(data), conf)
	if err != nil {
		t.Fatal(err)
	}
	var walk func(marks []pdfcpu.Bookmark, indent string)
	walk = func(marks []pdfcpu.Bookmark, indent string) {
		for _, m := range marks {
			fmt.Fprintf(&outline, "%s%s %d\n", indent, m.Title, m.PageFrom)
			walk(m.Kids, indent+" ")
		}
	}
	walk(marks, "")
	if want := "Summary 1\n end 2\nA-17 3\n end 3\nend 5\n"; outline.String() != want {
		t.Errorf("outline:\n%s\nwant\n%s", outline.String(), want)
	}
}

// A summary of ten thousand links, and a bundle of as many pages.
func TestThousandsOfPages(t *testing.T) {
	if testing.Short() {
		t.Skip("short")
	}
	const n = 5000
	d := certificate("A-17")
	d.Draw = nil
	for i := range n {
		d.Parts = append(d.Parts, BundlePart{fmt.Sprint("Link ", i), func(s page.Sheet) error { return setTexts(s, fmt.Sprint("Link ", i), "0.35 dB") }})
	}
	data := write(t, d, signature())
	if err := verify(data); err != nil {
		t.Fatal(err)
	}
	path := save(t, data)
	run(t, "qpdf", "--check", path)
	if out := run(t, "pdftotext", "-f", "4321", "-l", "4321", path, "-"); !strings.Contains(out, "Link 4320") {
		t.Errorf("page 4321 reads %q", out)
	}
}

// A photo taken with the camera on its side: white is at the top as stored,
// and at the right as seen (Exif orientation 6).
func TestPhotosStandUpright(t *testing.T) {
	const n = 32
	for orientation, dark := range map[byte][2]int{ // where the corner that is stored top left is seen
		1: {0, 0}, 2: {1, 0}, 3: {1, 1}, 4: {0, 1}, 5: {0, 0}, 6: {1, 0}, 7: {1, 1}, 8: {0, 1},
	} {
		img := image.NewGray(image.Rect(0, 0, n, n))
		for i := range img.Pix {
			img.Pix[i] = 255
		}
		for y := range n / 2 {
			for x := range n / 2 {
				img.Set(x, y, color.Black)
			}
		}
		var b bytes.Buffer
		if err := jpeg.Encode(&b, img, nil); err != nil {
			t.Fatal(err)
		}
		exif := "\xFF\xE1\x00\x22Exif\x00\x00MM\x00*\x00\x00\x00\x08\x00\x01\x01\x12\x00\x03\x00\x00\x00\x01\x00" + string(rune(orientation)) + "\x00\x00\x00\x00\x00\x00"
		photo := append([]byte("\xFF\xD8"+exif), b.Bytes()[2:]...)
		if page.Orientation(photo) != int(orientation) {
			t.Fatalf("the test's Exif block is wrong: %d", page.Orientation(photo))
		}
		d := certificate("A-17")
		d.Draw = func(s page.Sheet) error {
			s.NextPage()
			return s.Picture(0, 0, 100, 100, photo)
		}
		got := render(t, write(t, d, nil), 1, 72)
		for y := range 2 {
			for x := range 2 {
				v, _, _, _ := got.At(int((25+50*float64(x))/page.MM), int((25+50*float64(y))/page.MM)).RGBA()
				if isDark := v < 0x8000; isDark != (dark == [2]int{x, y}) {
					t.Errorf("orientation %d: quarter %d,%d dark: %v", orientation, x, y, isDark)
				}
			}
		}
	}
}

func TestPressRefusesTypefaces(t *testing.T) {
	for name, ttf := range map[string][]byte{
		"no font":  []byte("hello"),
		"cut off":  page.GoTypefaces()[0].TTF()[:40000],
		"no glyf":  bytes.Replace(bytes.Clone(page.GoTypefaces()[0].TTF()), []byte("glyf"), []byte("glyg"), 1),
		"OpenType": bytes.Replace(bytes.Clone(page.GoTypefaces()[0].TTF()), []byte("\x00\x01\x00\x00"), []byte("OTTO"), 1),
	} {
		if _, err := NewPress(page.A4, Options{Typefaces: [page.Faces][]byte{page.Italic: ttf}}); err == nil {
			t.Errorf("%s: no error", name)
		} else {
			t.Log(name, ":", err)
		}
	}
}

func TestTypefaceOverride(t *testing.T) {
	mono := page.GoTypefaces()[page.Mono].TTF()
	p, err := NewPress(page.Letter, Options{Runes: []rune("Largo"), Typefaces: [page.Faces][]byte{page.Regular: mono}})
	if err != nil {
		t.Fatal(err)
	}
	c := p.Canvas()
	if c.Width(page.Style{Size: 10}, "iii") != c.Width(page.Style{Size: 10}, "mmm") {
		t.Error("widths are not those of the typeface given")
	}
	d := certificate("A-17")
	d.Draw = func(s page.Sheet) error { return setTexts(s, "Largo") }
	var b bytes.Buffer
	if err := c.Write(&b, d, nil); err != nil {
		t.Fatal(err)
	}
	if out := run(t, "pdffonts", save(t, b.Bytes())); !strings.Contains(out, "GoMono") {
		t.Error(out)
	}
	if out := run(t, "pdfinfo", save(t, b.Bytes())); !strings.Contains(out, "612 x 792 pts (letter)") {
		t.Error(out)
	}
}
