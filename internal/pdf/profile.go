package pdf

import (
	"encoding/binary"
	"math"
)

// sRGB builds the colour profile of the output intent: a version 2 display
// profile with three matrix columns and one tone curve (ICC.1:2001-04, 6.3.1.2)
// for the colour space of IEC 61966-2-1.
//
// The columns are the colorants of IEC 61966-2-1 (ITU-R BT.709 primaries,
// white D65), adapted to the profile connection space's D50 by the Bradford
// transform; the test computes them afresh.
func sRGB() []byte {
	const d50X, d50Y, d50Z = 0.9642, 1, 0.8249 // ICC.1:2001-04, 6.1.3
	curve := sRGBCurve()
	tags := []struct {
		sig  string
		data []byte
	}{
		{"desc", iccDescription("sRGB IEC61966-2-1")},
		{"cprt", iccText("Public domain")},
		{"wtpt", iccXYZ(d50X, d50Y, d50Z)},
		{"rXYZ", iccXYZ(0.4360413, 0.2224845, 0.0139202)},
		{"gXYZ", iccXYZ(0.3851129, 0.7169051, 0.0970672)},
		{"bXYZ", iccXYZ(0.1430458, 0.0606104, 0.7139126)},
		{"rTRC", curve},
		{"gTRC", nil}, // the same data as the tag before
		{"bTRC", nil},
	}
	head := make([]byte, 128, 128+4+12*len(tags))
	copy(head[8:], "\x02\x10\x00\x00mntrRGB XYZ ") // version 2.1, display device
	for i, v := range []uint16{2026, 1, 1, 0, 0, 0} {
		binary.BigEndian.PutUint16(head[24+2*i:], v) // fixed: the bytes must not depend on the day
	}
	copy(head[36:], "acsp")
	copy(head[68:], iccXYZ(d50X, d50Y, d50Z)[8:])

	head = binary.BigEndian.AppendUint32(head, uint32(len(tags)))
	at, size := cap(head), 0
	var body []byte
	for _, t := range tags {
		if t.data != nil {
			at, size = cap(head)+len(body), len(t.data)
			body = append(body, t.data...)
			for len(body)%4 != 0 {
				body = append(body, 0)
			}
		}
		head = append(head, t.sig...)
		head = binary.BigEndian.AppendUint32(head, uint32(at))
		head = binary.BigEndian.AppendUint32(head, uint32(size))
	}
	profile := append(head, body...)
	binary.BigEndian.PutUint32(profile, uint32(len(profile)))
	return profile
}

// sRGBCurve samples the transfer function of IEC 61966-2-1 at 64 places: lines between
// them are within a hundredth of a percent of it, where eight bits tell 0.4 %.
func sRGBCurve() []byte {
	const n = 64
	b := append([]byte("curv\x00\x00\x00\x00"), 0, 0, n>>8, n&0xFF)
	for i := range n {
		v := float64(i) / (n - 1)
		if v <= 0.04045 {
			v /= 12.92
		} else {
			v = math.Pow((v+0.055)/1.055, 2.4)
		}
		b = binary.BigEndian.AppendUint16(b, uint16(math.Round(v*65535)))
	}
	return b
}

// iccXYZ is a tag of one colour, in s15Fixed16 numbers.
func iccXYZ(x, y, z float64) []byte {
	b := []byte("XYZ \x00\x00\x00\x00")
	for _, v := range []float64{x, y, z} {
		b = binary.BigEndian.AppendUint32(b, uint32(int32(math.Round(v*65536))))
	}
	return b
}

func iccText(s string) []byte { return []byte("text\x00\x00\x00\x00" + s + "\x00") }

// iccDescription is a textDescriptionType with the ASCII name only; the empty
// Unicode and script names are of fixed size.
func iccDescription(s string) []byte {
	b := []byte("desc\x00\x00\x00\x00")
	b = binary.BigEndian.AppendUint32(b, uint32(len(s)+1))
	b = append(b, s...)
	return append(b, make([]byte, 1+4+4+2+1+67)...)
}
