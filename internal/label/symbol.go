package label

import (
	"math/bits"
	"sync"

	"rsc.io/qr/coding"
)

// masks is how many masks a symbol is tried with (ISO/IEC 18004:2015, 7.8.2).
const masks = 8

// frame is all of a symbol that its version decides, at level M.
type frame struct {
	version coding.Version
	size    int          // modules a side
	places  []dot        // where each bit of data and error correction goes
	masked  [masks]lines // the patterns, the format and the mask, with bits of zero
}

// dot is a module, as a word and a bit of the rows and of the columns.
type dot struct {
	row, column       int
	rowBit, columnBit uint8
}

// lines is a symbol's modules twice, by row and by column, so that the rules
// that judge rows also judge columns. Each is cut in strips of 64 modules: word
// strip*size + line holds 64 modules of a line, the first in the lowest bit.
// What the rules look for along a column then is a comparison of words below
// each other, in 64 columns at once.
type lines struct{ rows, columns []uint64 }

func newLines(size int) lines {
	n := strips(size) * size
	both := make([]uint64, 2*n)
	return lines{both[:n], both[n:]}
}

func strips(size int) int { return (size + 63) / 64 }

func placeAt(row, column, size int) dot {
	return dot{column/64*size + row, row/64*size + column, uint8(column % 64), uint8(row % 64)}
}

func (l lines) set(p dot, dark uint64) {
	l.rows[p.row] |= dark << p.rowBit
	l.columns[p.column] |= dark << p.columnBit
}

var frames = func() (all [coding.MaxVersion + 1]func() *frame) {
	for v := range all {
		all[v] = sync.OnceValue(func() *frame { return newFrame(coding.Version(v)) })
	}
	return all
}()

func newFrame(version coding.Version) *frame {
	f := &frame{version: version}
	for mask := range f.masked {
		plan, err := coding.NewPlan(version, coding.M, coding.Mask(mask))
		if err != nil {
			panic(err) // the version is one of the forty
		}
		f.size = len(plan.Pixel)
		f.places = make([]dot, 8*(plan.DataBytes+plan.CheckBytes))
		f.masked[mask] = newLines(f.size)
		for y, row := range plan.Pixel {
			for x, pixel := range row {
				p := placeAt(y, x, f.size)
				f.masked[mask].set(p, uint64(pixel&coding.Black))
				if role := pixel.Role(); role == coding.Data || role == coding.Check {
					f.places[pixel.Offset()] = p
				}
			}
		}
	}
	return f
}

// alphanumeric makes the symbol that go-qrcode makes of a text, module for
// module and in a twentieth of its time, if that is one segment of alphanumeric
// mode; otherwise it returns nil.
func alphanumeric(text string) [][]bool {
	if !oneSegment(text) {
		return nil
	}
	segment := coding.Alpha(text)
	for v := coding.Version(coding.MinVersion); v <= coding.MaxVersion; v++ {
		if segment.Bits(v) <= 8*v.DataBytes(coding.M) {
			return frames[v]().symbol(segment)
		}
	}
	return nil
}

// Up to these lengths a number costs fewer bits among letters than as a segment
// of its own. Such a segment takes 14 bits of header or more, and a number
// between letters 13 more for the header of those behind it; then a digit takes
// 10/3 bits instead of 5½ (ISO/IEC 18004:2015, 7.4.3 and 7.4.4).
const (
	digitsAtEnd  = 6
	digitsInside = 12
)

// oneSegment reports whether go-qrcode is sure to write the text as one segment
// of alphanumeric mode, the shortest way if there is no long number in it.
func oneSegment(text string) bool {
	if coding.Alpha(text).Check() != nil {
		return false
	}
	letters := false
	for i := 0; i < len(text); {
		start := i
		for i < len(text) && '0' <= text[i] && text[i] <= '9' {
			i++
		}
		allowed := digitsInside
		if start == 0 || i == len(text) {
			allowed = digitsAtEnd
		}
		if i-start > allowed {
			return false
		}
		if i < len(text) {
			letters = true
			i++
		}
	}
	return letters
}

// symbol fills a segment in and chooses the mask.
func (f *frame) symbol(segment coding.Alpha) [][]bool {
	var code coding.Bits
	segment.Encode(&code, f.version)
	code.AddCheckBytes(f.version, coding.M)
	data := newLines(f.size)
	for i, b := range code.Bytes() {
		for j, p := range f.places[8*i : 8*i+8] {
			data.set(p, uint64(b>>(7-j)&1))
		}
	}
	best, try := newLines(f.size), newLines(f.size)
	least := -1
	for _, masked := range f.masked {
		for i := range data.rows {
			try.rows[i] = data.rows[i] ^ masked.rows[i]
			try.columns[i] = data.columns[i] ^ masked.columns[i]
		}
		if p := penalty(try, f.size); least < 0 || p < least {
			least = p
			best, try = try, best
		}
	}
	dark := make([][]bool, f.size)
	modules := make([]bool, f.size*f.size)
	for y := range dark {
		dark[y] = modules[y*f.size : (y+1)*f.size]
		for x := range dark[y] {
			p := placeAt(y, x, f.size)
			dark[y][x] = best.rows[p.row]>>p.rowBit&1 == 1
		}
	}
	return dark
}

// penalty judges a symbol by the four rules of ISO/IEC 18004:2015, 7.8.3, as
// go-qrcode reads them: a run of five modules costs nothing, and patterns like
// a finder pattern that overlap cost once. A reader takes any mask, so where
// that differs from the standard does no harm.
func penalty(l lines, size int) int {
	runs, blocks, finders, dark := 0, 0, 0, 0
	for strip := range strips(size) {
		from, to := strip*size, (strip+1)*size
		inside := ^uint64(0) // the columns of this strip
		if rest := size - 64*strip; rest < 64 {
			inside = 1<<rest - 1
		}
		rows, columns := l.rows[from:to], l.columns[from:to]
		runs += runsDown(rows, inside) + runsDown(columns, inside)
		finders += findersDown(rows) + findersDown(columns)
		for y, row := range rows {
			dark += bits.OnesCount64(row)
			if y == 0 {
				continue
			}
			// A module, the one above and the two to their right.
			above, beside := row^rows[y-1], row^row>>1
			next := above >> 1
			pairs := inside >> 1
			if to < len(l.rows) { // the column behind the strip is in the next
				after, afterAbove := l.rows[to+y], l.rows[to+y-1]
				beside ^= after << 63
				next |= (after ^ afterAbove) << 63
				pairs = inside
			}
			blocks += bits.OnesCount64(^(above | beside | next) & pairs)
		}
	}
	modules := size * size
	return runs + 3*blocks + 40*finders + 10*(max(modules/2-dark, dark-modules/2)/(modules/20))
}

// runsDown is rule 1: six modules of one colour below each other cost four, and
// each further one costs one.
func runsDown(rows []uint64, inside uint64) int {
	cost := 0
	var same [5]uint64 // same[i%5] holds the columns where row i is like row i-1
	var before uint64  // the columns where the six rows up to the last are alike
	for i := 1; i < len(rows); i++ {
		same[i%5] = ^(rows[i] ^ rows[i-1])
		six := same[0] & same[1] & same[2] & same[3] & same[4] & inside
		cost += bits.OnesCount64(six) + 3*bits.OnesCount64(six&^before)
		before = six
	}
	return cost
}

// findersDown is rule 3: it counts the patterns 1011101, dark as 1, that have
// four light modules on a side, or whose last module is the symbol's.
func findersDown(rows []uint64) int {
	// Each column is read from above, and what ended one pattern is no part of
	// the next, but for its last module: that counts as dark.
	var end [64]int
	for i := range end {
		end[i] = -11 // light, as far as a pattern reaches
	}
	at := func(i int) uint64 { // outside the symbol it is light
		if i < 0 || i >= len(rows) {
			return 0
		}
		return rows[i]
	}
	count := 0
	for i := 5; i < len(rows); i++ {
		tail := ^rows[i-5] & rows[i-4] & rows[i-3] & rows[i-2] &^ rows[i-1] & rows[i] // 011101
		if tail == 0 {
			continue
		}
		first := at(i - 6)
		lightBefore := first &^ (at(i-7) | at(i-8) | at(i-9) | at(i-10))
		lightBehind := ^(at(i+1) | at(i+2) | at(i+3) | at(i+4))
		last := min(i+4, len(rows)-1) // where a pattern that is light behind ends
		if i < last && last < i+4 {
			lightBehind = 0 // the symbol ends within the four
		}
		for left := tail & (lightBefore | lightBehind); left != 0; left &= left - 1 {
			column := bits.TrailingZeros64(left)
			whole := first>>column&1 == 1
			switch {
			case lightBefore>>column&1 == 1 && i-end[column] >= 11:
				end[column] = i
				count++
			case lightBehind>>column&1 == 1 && (i-end[column] == 6 || i-end[column] > 6 && whole):
				end[column] = last
				count++
			}
		}
	}
	return count
}
