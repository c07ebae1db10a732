package page

import (
	"bytes"
	"encoding/binary"
	"image"
	"image/jpeg"
	"testing"
)

// turned returns a JPEG, 4 by 3 pixels, with an Exif orientation.
func turned(t testing.TB, order binary.AppendByteOrder, mark string, orientation uint16) []byte {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, image.NewGray(image.Rect(0, 0, 4, 3)), nil); err != nil {
		t.Fatal(err)
	}
	tiff := []byte(mark)
	tiff = order.AppendUint32(tiff, 8)
	tiff = order.AppendUint16(tiff, 2)
	for _, tag := range []uint16{0x010F, 0x0112} { // the maker comes first
		tiff = order.AppendUint16(tiff, tag)
		tiff = order.AppendUint16(tiff, 3)
		tiff = order.AppendUint32(tiff, 1)
		tiff = order.AppendUint16(tiff, orientation)
		tiff = append(tiff, 0, 0)
	}
	exif := append([]byte("Exif\x00\x00"), tiff...)
	segment := binary.BigEndian.AppendUint16([]byte{0xFF, 0xE1}, uint16(len(exif)+2))
	return append(append(b.Bytes()[:2:2], append(segment, exif...)...), b.Bytes()[2:]...)
}

func TestPictureSizeIsAsSeen(t *testing.T) {
	for o := uint16(0); o <= 9; o++ {
		for _, data := range [][]byte{
			turned(t, binary.LittleEndian, "II*\x00", o), turned(t, binary.BigEndian, "MM\x00*", o),
		} {
			wantW, wantH := 4, 3
			if o >= 5 && o <= 8 {
				wantW, wantH = 3, 4
			}
			w, h, err := PictureSize(data)
			if err != nil || w != wantW || h != wantH {
				t.Errorf("orientation %d: %d by %d, %v", o, w, h, err)
			}
		}
	}
}

func FuzzOrientation(f *testing.F) {
	f.Add(turned(f, binary.LittleEndian, "II*\x00", 6))
	f.Add(turned(f, binary.BigEndian, "MM\x00*", 3))
	f.Add([]byte("\xFF\xD8\xFF\xE1\x00\x10Exif\x00\x00II*\x00\xFF\xFF\xFF\xFF"))
	f.Fuzz(func(t *testing.T, data []byte) {
		if o := Orientation(data); o < 1 || o > 8 {
			t.Errorf("orientation %d", o)
		}
	})
}
