package page

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"image"
	"image/color"
	_ "image/jpeg" // the two formats of Picture
	_ "image/png"
	"io"
)

// mostPixels bounds what a picture may unpack to: 64 megapixels.
const mostPixels = 64 << 20

var errCutOff = errors.New("it is cut off before its end")

// PictureConfig reads the header of a JPEG or PNG, "jpeg" or "png" by its
// bytes; other formats, no pixels and more than 64 megapixels are errors.
func PictureConfig(data []byte) (conf image.Config, format string, err error) {
	conf, format, err = image.DecodeConfig(bytes.NewReader(data))
	switch {
	case errors.Is(err, image.ErrFormat), err == nil && format != "jpeg" && format != "png":
		err = errors.New("it is neither a JPEG nor a PNG")
	case err != nil:
		err = cutOff(err)
	case conf.Width <= 0 || conf.Height <= 0:
		err = errors.New("it has no pixels")
	case int64(conf.Width)*int64(conf.Height) > mostPixels:
		err = errors.New("it has more than 64 megapixels")
	}
	return conf, format, err
}

func cutOff(err error) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return errCutOff
	}
	return fmt.Errorf("it cannot be read: %w", err)
}

// StoredAsIs reports whether paper takes a picture as it is: a JPEG in grey or
// YCbCr. All others are unpacked, and CMYK has no place beside an RGB output
// intent.
func StoredAsIs(conf image.Config, format string) bool {
	return format == "jpeg" && (conf.ColorModel == color.GrayModel || conf.ColorModel == color.YCbCrModel)
}

// CheckPicture says why a picture cannot be drawn whole, or returns nil. A
// JPEG that is stored as it is needs its markers up to the last alone, so that
// photos by the hundred are checked in no time; others are unpacked.
func CheckPicture(data []byte) error {
	conf, format, err := PictureConfig(data)
	switch {
	case err != nil:
		return err
	case !StoredAsIs(conf, format):
		if _, _, err := image.Decode(bytes.NewReader(data)); err != nil {
			return cutOff(err)
		}
	case !wholeJPEG(data):
		return errCutOff
	}
	return nil
}

// wholeJPEG follows the markers to the end of the image (ITU-T T.81, B.1).
func wholeJPEG(data []byte) bool {
	scanned := false
	for rest := data[2:]; ; {
		i := bytes.IndexByte(rest, 0xFF)
		if i < 0 || i+1 == len(rest) {
			return false
		}
		rest = rest[i+1:]
		switch marker := rest[0]; {
		case marker == 0xFF: // fills the room before a marker
		case marker == 0x00, marker >= 0xD0 && marker <= 0xD7: // a byte of the scan, a restart
			rest = rest[1:]
		case marker == 0xD9:
			return scanned
		case len(rest) < 3:
			return false
		default:
			size := 1 + int(binary.BigEndian.Uint16(rest[1:]))
			if size > len(rest) {
				return false
			}
			scanned = scanned || marker == 0xDA
			rest = rest[size:]
		}
	}
}

// PictureSize returns the size in pixels of a JPEG or PNG as it is seen: a
// photo taken with the camera on its side is turned upright.
func PictureSize(data []byte) (width, height int, err error) {
	conf, _, err := PictureConfig(data)
	if err != nil {
		return 0, 0, err
	}
	if Orientation(data) > 4 {
		return conf.Height, conf.Width, nil
	}
	return conf.Width, conf.Height, nil
}

// Orientation returns how the camera was held, 1 to 8: 1 is upright, 5 to 8
// exchange width and height (Exif 2.3, JEITA CP-3451C, tag 0112). Data that
// says nothing is upright.
func Orientation(data []byte) int {
	for at := 2; bytes.HasPrefix(data, []byte("\xFF\xD8")) && at+4 <= len(data) && data[at] == 0xFF; {
		marker, size := data[at+1], int(binary.BigEndian.Uint16(data[at+2:]))
		if marker == 0xDA || size < 2 || at+2+size > len(data) { // start of scan
			break
		}
		if exif, ok := bytes.CutPrefix(data[at+4:at+2+size], []byte("Exif\x00\x00")); marker == 0xE1 && ok {
			return exifOrientation(exif)
		}
		at += 2 + size
	}
	return 1
}

// exifOrientation reads the tag from the first directory of a TIFF structure.
func exifOrientation(tiff []byte) int {
	var order binary.ByteOrder
	switch {
	case bytes.HasPrefix(tiff, []byte("II*\x00")):
		order = binary.LittleEndian
	case bytes.HasPrefix(tiff, []byte("MM\x00*")):
		order = binary.BigEndian
	}
	if order == nil || len(tiff) < 8 {
		return 1
	}
	dir := uint64(order.Uint32(tiff[4:]))
	if dir+2 > uint64(len(tiff)) {
		return 1
	}
	entries := tiff[dir+2:]
	for range order.Uint16(tiff[dir:]) {
		if len(entries) < 12 {
			break
		}
		if order.Uint16(entries) == 0x0112 {
			if v := order.Uint16(entries[8:]); v >= 1 && v <= 8 {
				return int(v)
			}
			break
		}
		entries = entries[12:]
	}
	return 1
}
