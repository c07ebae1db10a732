package page

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"image"
	_ "image/jpeg" // the two formats of Picture
	_ "image/png"
)

// PictureSize returns the size in pixels of a JPEG or PNG as it is seen: a
// photo taken with the camera on its side is turned upright.
func PictureSize(data []byte) (width, height int, err error) {
	conf, _, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return 0, 0, fmt.Errorf("picture: %w", err)
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
