package pdf

import (
	"bytes"
	"crypto/sha256"
	"fmt"
	"image"
	"image/color"
	"image/draw"
	_ "image/jpeg"
	_ "image/png"

	"spanseal/internal/page"
)

// picture is an image resource of the document being drawn.
type picture struct {
	entries string
	data    []byte
	turn    int // see page.Orientation
}

// add returns the number of the picture in the document. The key is of its
// source: a repeated logo is stored once.
func (c *Canvas) add(key [32]byte, make func() (picture, error)) (int, error) {
	if n, ok := c.placed[key]; ok {
		return n, nil
	}
	p, err := make()
	if err != nil {
		return 0, err
	}
	c.placed[key] = len(c.pictures)
	c.pictures = append(c.pictures, p)
	return c.placed[key], nil
}

// Picture places a JPEG as it is, turned upright, and a PNG without its
// transparency on white.
func (c *Canvas) Picture(x, y, w, h float64, data []byte) error {
	n, err := c.add(sha256.Sum256(data), func() (picture, error) { return newPicture(data) })
	if err != nil {
		return err
	}
	c.place(n, c.pictures[n].turn, x, y, w, h)
	return nil
}

func newPicture(data []byte) (picture, error) {
	conf, format, err := page.PictureConfig(data)
	if err != nil {
		return picture{}, err
	}
	turn := page.Orientation(data)
	size := fmt.Sprintf("/Type/XObject/Subtype/Image/Width %d/Height %d/BitsPerComponent 8", conf.Width, conf.Height)
	if page.StoredAsIs(conf, format) {
		space := "DeviceRGB"
		if conf.ColorModel == color.GrayModel {
			space = "DeviceGray"
		}
		return picture{entries: size + "/ColorSpace/" + space + "/Filter/DCTDecode", data: data, turn: turn}, nil
	}
	img, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return picture{}, fmt.Errorf("it cannot be read: %w", err)
	}
	flat := image.NewRGBA(image.Rect(0, 0, conf.Width, conf.Height))
	draw.Draw(flat, flat.Rect, image.White, image.Point{}, draw.Src)
	draw.Draw(flat, flat.Rect, img, img.Bounds().Min, draw.Over)
	rgb := make([]byte, 0, 3*conf.Width*conf.Height)
	for i := 0; i < len(flat.Pix); i += 4 {
		rgb = append(rgb, flat.Pix[i:i+3]...)
	}
	return picture{entries: size + "/ColorSpace/DeviceRGB/Filter/FlateDecode", data: deflate(rgb), turn: turn}, nil
}

// Modules draws the symbol as a mask of one bit a module, through which the
// ink is painted.
func (c *Canvas) Modules(x, y, side float64, dark [][]bool, ink page.Ink) {
	n := len(dark)
	if n == 0 {
		return
	}
	row := (n + 7) / 8
	bits := bytes.Repeat([]byte{0xFF}, n*row)
	for y, line := range dark {
		for x, on := range line {
			bit := byte(0)
			if on { // compiled without a jump, which no processor could foresee
				bit = 0x80
			}
			bits[y*row+x/8] &^= bit >> (x % 8)
		}
	}
	i, _ := c.add(sha256.Sum256(bits), func() (picture, error) {
		size := fmt.Sprintf("/Type/XObject/Subtype/Image/Width %d/Height %d/ImageMask true/BitsPerComponent 1", n, n)
		return picture{entries: size, data: bits}, nil
	})
	c.markInk(x, y, side, side)
	c.fill(ink)
	c.place(i, 1, x, y, side, side)
}
