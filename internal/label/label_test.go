package label_test

import (
	"image"
	"image/color"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"image/png"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/makiuchi-d/gozxing/qrcode/decoder"

	"spanseal/internal/label"
	"spanseal/internal/outside"
)

// text is as long as a typical token: four readings, P-256.
var text = "SS1." + strings.Repeat("ABCDEFGHIJKLMNOPQRSTUVWXYZ234567", 8)[:252]

// longest is the longest token that a 20 mm label is promised for.
var longest = "SS1." + strings.Repeat("ABCDEFGHIJKLMNOPQRSTUVWXYZ234567", 20)[:596]

// quietZone is the white around a symbol, in modules (ISO/IEC 18004, 5.3.8).
const quietZone = 4

// printed draws the symbol as a label printer would: side millimetres at 300
// dots an inch, whole dots, black or white. Each dot then is twice two pixels,
// so that the blur of a camera can be told from the printer's steps.
func printed(dark [][]bool, side float64) *image.Gray {
	const scale = 2
	dots := int(side / 25.4 * 300)
	quiet := quietZone * dots / len(dark)
	size := (dots + 2*quiet) * scale
	img := image.NewGray(image.Rect(0, 0, size, size))
	for y := range size {
		for x := range size {
			row, column := at(y/scale-quiet, dots, len(dark)), at(x/scale-quiet, dots, len(dark))
			c := color.Gray{255}
			if row >= 0 && column >= 0 && dark[row][column] {
				c.Y = 0
			}
			img.SetGray(x, y, c)
		}
	}
	return img
}

// at is the module at a dot, or -1 in the quiet zone.
func at(dot, dots, modules int) int {
	if dot < 0 || dot >= dots {
		return -1
	}
	return dot * modules / dots
}

// blurred softens a picture with a Gaussian of the radius in pixels, lowers
// its contrast and tilts it, as a telephone would see it.
func blurred(src *image.Gray, sigma, tilt float64) *image.Gray {
	b := src.Bounds()
	n := int(3*sigma) + 1
	kernel := make([]float64, 2*n+1)
	sum := 0.0
	for i := range kernel {
		kernel[i] = math.Exp(-float64((i-n)*(i-n)) / (2 * sigma * sigma))
		sum += kernel[i]
	}
	pass := func(get func(x, y, i int) float64) *image.Gray {
		out := image.NewGray(b)
		for y := range b.Dy() {
			for x := range b.Dx() {
				v := 0.0
				for i, k := range kernel {
					v += k / sum * get(x, y, i-n)
				}
				out.SetGray(x, y, color.Gray{uint8(v + 0.5)})
			}
		}
		return out
	}
	value := func(img *image.Gray, x, y int) float64 {
		return float64(img.GrayAt(min(max(x, 0), b.Dx()-1), min(max(y, 0), b.Dy()-1)).Y)
	}
	rows := pass(func(x, y, i int) float64 { return value(src, x+i, y) })
	both := pass(func(x, y, i int) float64 { return value(rows, x, y+i) })
	out := image.NewGray(b)
	sin, cos := math.Sincos(tilt)
	middle := float64(b.Dx()) / 2
	for y := range b.Dy() {
		for x := range b.Dx() {
			dx, dy := float64(x)-middle, float64(y)-middle
			v := value(both, int(math.Round(middle+cos*dx+sin*dy)), int(math.Round(middle-sin*dx+cos*dy)))
			out.SetGray(x, y, color.Gray{uint8(40 + v*0.7)})
		}
	}
	return out
}

func read(img image.Image) (string, map[gozxing.ResultMetadataType]any, error) {
	bitmap, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		return "", nil, err
	}
	r, err := qrcode.NewQRCodeReader().Decode(bitmap, map[gozxing.DecodeHintType]any{gozxing.DecodeHintType_TRY_HARDER: true})
	if err != nil {
		return "", nil, err
	}
	return r.GetText(), r.GetResultMetadata(), nil
}

// TestScans prints symbols at 20 mm and 300 dpi, takes a soft, tilted picture
// and reads it with a QR reader that is not ours.
func TestScans(t *testing.T) {
	for name, content := range map[string]string{
		"typical":      text,
		"longest":      longest,
		"with address": "https://check.example.org/c.html#" + text,
	} {
		t.Run(name, func(t *testing.T) {
			dark, err := label.Encode(content)
			if err != nil {
				t.Fatal(err)
			}
			dots := 20 / 25.4 * 300 / float64(len(dark))
			t.Logf("version %d, %d modules, %.1f dots a module", (len(dark)-17)/4, len(dark), dots)
			if dots < 3 { // under which a printer's dots make modules uneven by a third
				t.Error("under three dots a module")
			}
			for _, tilt := range []float64{0, 0.1} {
				got, data, err := read(blurred(printed(dark, 20), 1.5, tilt))
				if err != nil || got != content {
					t.Errorf("tilt %v: read %q, %v", tilt, got, err)
					continue
				}
				if level := data[gozxing.ResultMetadataType_ERROR_CORRECTION_LEVEL]; level != decoder.ErrorCorrectionLevel_M.String() {
					t.Errorf("error correction %v, want M", level)
				}
			}
		})
	}
}

// TestVersions: a token stays in alphanumeric mode, so its symbol has the
// version that ISO/IEC 18004:2015, table 7 gives for level M (from memory):
// 311 characters fit version 10, 366 version 11, 600 version 15.
func TestVersions(t *testing.T) {
	for _, c := range []struct{ characters, version int }{{311, 10}, {312, 11}, {366, 11}, {367, 12}, {600, 15}, {601, 16}} {
		dark, err := label.Encode(longest[:min(c.characters, 600)] + strings.Repeat("A", max(c.characters-600, 0)))
		if err != nil {
			t.Fatal(err)
		}
		if got := (len(dark) - 17) / 4; got != c.version {
			t.Errorf("%d characters: version %d, want %d", c.characters, got, c.version)
		}
	}
}

// TestDirt paints over a piece of the symbol's data, between its patterns.
func TestDirt(t *testing.T) {
	dark, err := label.Encode(text)
	if err != nil {
		t.Fatal(err)
	}
	for y := 37; y < 47; y++ {
		for x := 37; x < 47; x++ {
			dark[y][x] = true
		}
	}
	if got, _, err := read(printed(dark, 20)); err != nil || got != text {
		t.Errorf("read %q, %v", got, err)
	}
}

func TestTooLong(t *testing.T) {
	if _, err := label.Encode(strings.Repeat("A", 4000)); err == nil {
		t.Error("4000 characters made a symbol")
	}
}

// TestZbarReads has a program read the same picture.
func TestZbarReads(t *testing.T) {
	zbar := outside.Program(t, "zbarimg")
	dark, err := label.Encode(text)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "label.png")
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := png.Encode(f, blurred(printed(dark, 20), 1.5, 0.1)); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(zbar, "--raw", "-q", path).Output()
	if got := strings.TrimSuffix(string(out), "\n"); err != nil || got != text {
		t.Errorf("read %q, %v", got, err)
	}
}

func BenchmarkEncode(b *testing.B) {
	for b.Loop() {
		if _, err := label.Encode(text); err != nil {
			b.Fatal(err)
		}
	}
}
