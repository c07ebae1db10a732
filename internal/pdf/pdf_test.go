package pdf

import (
	"bytes"
	"testing"
	"time"

	"spanseal/internal/page"
)

func TestWriteEveryMark(t *testing.T) {
	p, err := NewPress(page.A4, Options{})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	err = p.Canvas().Write(&b, &Document{Title: "Trial – Ω", Language: "en-GB", Created: time.Unix(1.7e9, 0),
		Attachments: []Attachment{{Name: "ré.csv", MIME: "text/csv", Relationship: Source, Data: []byte("a,b\n")}},
		Draw: func(s page.Sheet) error {
			s.NextPage()
			for f := range page.Face(page.Faces) {
				s.Text(20, 20+10*float64(f), page.Style{Face: f, Size: 12, Ink: 0x173E54}, "Ångström limit ≤ 2.60 dB, −0.35 ± 0.02 µm → λ 1 310 nm ½ Жя Ελ")
			}
			s.Bookmark("A", 0)
			s.Bookmark("B é", 1)
			s.Fill(20, 100, 30, 10, 0xA84E28)
			s.Line(20, 120, 80, 130, 0.3, 0)
			s.Polygon([]page.Point{{X: 100, Y: 100}, {X: 120, Y: 100}, {X: 110, Y: 120}}, 0x7C96A7)
			s.Modules(150, 100, 20, [][]bool{{true, false, true}, {false, true, false}, {true, true, true}}, 0)
			return nil
		}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.HasPrefix(b.Bytes(), []byte(header)) || !bytes.HasSuffix(b.Bytes(), []byte("\n%%EOF\n")) {
		t.Error("not a PDF from end to end")
	}
}
