package page

import (
	"bytes"
	"encoding/binary"
	"hash/crc32"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// sample is a picture of testdata, 24 by 18 pixels. The JPEGs were written by
// libjpeg 2.1.5, the PNGs by the rules of ISO/IEC 15948 with zlib alone: none of
// them by the code that reads them here.
func sample(tb testing.TB, name string) []byte {
	data, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		tb.Fatal(err)
	}
	return data
}

var samples = []string{"baseline.jpg", "progressive.jpg", "restarts.jpg", "grey.jpg", "cmyk.jpg", "rgb.jpg", "interlaced.png", "sixteen.png"}

// TestCheckPicture holds that every kind of whole picture passes, also with what
// cameras put behind its end, and that none passes that was cut anywhere.
func TestCheckPicture(t *testing.T) {
	for _, name := range samples {
		data := sample(t, name)
		if err := CheckPicture(data); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if w, h, err := PictureSize(data); w != 24 || h != 18 || err != nil {
			t.Errorf("%s: %d by %d, %v", name, w, h, err)
		}
		if err := CheckPicture(append(bytes.Clone(data), "a film of two seconds"...)); err != nil {
			t.Errorf("%s with more behind it: %v", name, err)
		}
		says := len(data)
		if strings.HasSuffix(name, ".png") {
			says -= 12 // the IEND chunk at the end of a PNG says nothing more
		}
		for n := range says {
			if CheckPicture(data[:n]) == nil {
				t.Errorf("%s passes with %d of %d bytes", name, n, len(data))
			}
			if blank := append(data[:n:n], make([]byte, len(data)-n)...); CheckPicture(blank) == nil {
				t.Errorf("%s passes with zeros from byte %d of %d", name, n, len(data))
			}
		}
	}
}

func TestCheckPictureRefuses(t *testing.T) {
	header := func(width, height uint32) []byte { // of a PNG, with its check sum
		data := bytes.Clone(sample(t, "sixteen.png"))
		binary.BigEndian.PutUint32(data[16:], width)
		binary.BigEndian.PutUint32(data[20:], height)
		binary.BigEndian.PutUint32(data[29:], crc32.ChecksumIEEE(data[12:29]))
		return data
	}
	frame := func(precision, width, height byte) []byte { // of a baseline JPEG
		data := bytes.Clone(sample(t, "baseline.jpg"))
		at := bytes.Index(data, []byte("\xFF\xC0\x00\x11"))
		data[at+4], data[at+6], data[at+8] = precision, height, width
		return data
	}
	for _, tt := range []struct {
		name string
		data []byte
		want string
	}{
		{"nothing", nil, "neither a JPEG nor a PNG"},
		{"text", []byte("notapng\n"), "neither a JPEG nor a PNG"},
		{"a GIF", []byte("GIF89a\x01\x00\x01\x00\x80\x00\x00\x00\x00\x00\xFF\xFF\xFF,\x00\x00\x00\x00\x01\x00\x01\x00\x00\x02\x02D\x01\x00;"), "neither a JPEG nor a PNG"},
		{"a JPEG of no height", frame(8, 24, 0), "no pixels"},
		{"a JPEG of no width", frame(8, 0, 18), "no pixels"},
		{"a JPEG of 12 bits a sample", frame(12, 24, 18), "unsupported"},
		{"a PNG of no width", header(0, 18), "invalid"},
		{"a PNG of 100 megapixels", header(10_000, 10_000), "more than 64 megapixels"},
		{"a PNG that promises more rows than it has", header(24, 19), "not enough pixel data"},
		{"a start of a JPEG", []byte("\xFF\xD8"), "cut off"},
	} {
		if err := CheckPicture(tt.data); err == nil || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: %v, want %s", tt.name, err, tt.want)
		}
	}
}

func FuzzCheckPicture(f *testing.F) {
	for _, name := range samples {
		f.Add(sample(f, name))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if CheckPicture(data) == nil {
			if w, h, err := PictureSize(data); err != nil || w <= 0 || h <= 0 || w*h > mostPixels {
				t.Errorf("passed, and is %d by %d: %v", w, h, err)
			}
		}
	})
}

// BenchmarkCheckPicture checks a JPEG of 3 MB as cameras write them.
func BenchmarkCheckPicture(b *testing.B) {
	data := sample(b, "baseline.jpg")
	at := bytes.LastIndex(data, []byte("\xFF\xD9"))
	scan := bytes.Repeat([]byte("glass, scratched: \xFF\x00"), 3_000_000/20)
	data = append(append(data[:at:at], scan...), 0xFF, 0xD9)
	b.SetBytes(int64(len(data)))
	for b.Loop() {
		if err := CheckPicture(data); err != nil {
			b.Fatal(err)
		}
	}
}
