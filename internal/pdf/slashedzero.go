package pdf

import (
	"encoding/binary"
	"math"
	"slices"

	"golang.org/x/image/font/sfnt"
)

// slantOf is how far to the right a font leans, of its height.
func slantOf(f *sfnt.Font) float64 {
	if post := f.PostTable(); post != nil {
		return math.Tan(-post.ItalicAngle * math.Pi / 180)
	}
	return 0
}

// outlinePoint is a point of a simple glyph, in font units.
type outlinePoint struct {
	x, y    float64
	onCurve bool
}

// opened takes the slash out of a zero that is an outer contour and two openings, above
// and below a slash: one opening as large as both, of the shape of the outer contour,
// takes their place. Any other outline is left as it is.
func opened(g []byte, slant float64) []byte {
	contours := contoursOf(g)
	if len(contours) != 3 {
		return g
	}
	type box struct{ x0, y0, x1, y1 float64 }
	around := func(points ...outlinePoint) box { // of the glyph as if it stood upright
		b := box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
		for _, p := range points {
			x := p.x - slant*p.y
			b = box{min(b.x0, x), min(b.y0, p.y), max(b.x1, x), max(b.y1, p.y)}
		}
		return b
	}
	slices.SortFunc(contours, func(a, b []outlinePoint) int {
		p, q := around(a...), around(b...)
		return int((q.x1-q.x0)*(q.y1-q.y0) - (p.x1-p.x0)*(p.y1-p.y0))
	})
	outer, from := contours[0], around(contours[0]...)
	into := around(slices.Concat(contours[1], contours[2])...)
	if into.x0 <= from.x0 || into.x1 >= from.x1 || into.y0 <= from.y0 || into.y1 >= from.y1 {
		return g
	}
	inner := make([]outlinePoint, len(outer))
	for i, p := range outer {
		x := into.x0 + (p.x-slant*p.y-from.x0)*(into.x1-into.x0)/(from.x1-from.x0)
		y := into.y0 + (p.y-from.y0)*(into.y1-into.y0)/(from.y1-from.y0)
		inner[i] = outlinePoint{math.Round(x + slant*y), math.Round(y), p.onCurve}
	}
	slices.Reverse(inner) // an opening runs the other way round
	return simpleGlyph(g[:10], outer, inner)
}

// Flags of a simple glyph's points (OpenType, table glyf).
const (
	pointOnCurve = 0x01
	pointShortX  = 0x02
	pointShortY  = 0x04
	pointRepeat  = 0x08
	pointSameX   = 0x10 // or that a short one is positive
	pointSameY   = 0x20
)

// contoursOf reads a simple glyph without instructions; nil of anything else.
func contoursOf(g []byte) [][]outlinePoint {
	if len(g) < 12 {
		return nil
	}
	n := int(int16(binary.BigEndian.Uint16(g)))
	at := 10 + 2*n + 2
	if n < 1 || len(g) < at {
		return nil
	}
	points := int(binary.BigEndian.Uint16(g[10+2*(n-1):])) + 1
	flags := make([]byte, 0, points)
	for len(flags) < points {
		if at >= len(g) {
			return nil
		}
		flag, times := g[at], 1
		if at++; flag&pointRepeat != 0 {
			if at >= len(g) {
				return nil
			}
			times += int(g[at])
			at++
		}
		for range times {
			flags = append(flags, flag)
		}
	}
	read := func(short, same byte) []float64 {
		out, v := make([]float64, points), 0
		for i := range out {
			switch flag := flags[i]; {
			case flag&short != 0 && at < len(g):
				d := int(g[at])
				if flag&same == 0 {
					d = -d
				}
				v, at = v+d, at+1
			case flag&short == 0 && flag&same == 0 && at+1 < len(g):
				v, at = v+int(int16(binary.BigEndian.Uint16(g[at:]))), at+2
			case flag&short != 0 || flag&same == 0:
				return nil
			}
			out[i] = float64(v)
		}
		return out
	}
	x := read(pointShortX, pointSameX)
	y := read(pointShortY, pointSameY)
	if x == nil || y == nil {
		return nil
	}
	var out [][]outlinePoint
	first := 0
	for c := range n {
		last := int(binary.BigEndian.Uint16(g[10+2*c:]))
		if last < first || last >= points {
			return nil
		}
		var contour []outlinePoint
		for i := first; i <= last; i++ {
			contour = append(contour, outlinePoint{x[i], y[i], flags[i]&pointOnCurve != 0})
		}
		out, first = append(out, contour), last+1
	}
	return out
}

// simpleGlyph writes contours behind a glyph's head, whose box they keep.
func simpleGlyph(head []byte, contours ...[]outlinePoint) []byte {
	out := slices.Clone(head)
	binary.BigEndian.PutUint16(out, uint16(len(contours)))
	last := -1
	for _, c := range contours {
		last += len(c)
		out = binary.BigEndian.AppendUint16(out, uint16(last))
	}
	out = binary.BigEndian.AppendUint16(out, 0) // no instructions
	all := slices.Concat(contours...)
	for _, p := range all {
		flag := byte(0)
		if p.onCurve {
			flag = pointOnCurve
		}
		out = append(out, flag)
	}
	deltas := func(of func(outlinePoint) float64) {
		before := 0.0
		for _, p := range all {
			out = binary.BigEndian.AppendUint16(out, uint16(int16(of(p)-before)))
			before = of(p)
		}
	}
	deltas(func(p outlinePoint) float64 { return p.x })
	deltas(func(p outlinePoint) float64 { return p.y })
	return out
}
