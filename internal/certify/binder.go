package certify

import "spanseal/internal/page"

// hole is what a punch takes of the rail, from one height to another, mm.
type hole struct{ from, to float64 }

// The holes of binders, as wide as they are: two, 80 mm apart, of 6 mm (ISO 838); three,
// 4 1/4 in apart, of up to 8 mm (common practice in North America). Either stands in
// the middle of the paper's height. Nothing that is read stands at their heights, for
// the texts of the rail begin left of them.
func holes(p page.Paper) []hole {
	middle := p.Height / 2
	const two, three, air = 3.0, 4.0, 0.4
	var out []hole
	for _, at := range []float64{-107.95, -40, 0, 40, 107.95} {
		r := three
		if at == 40 || at == -40 {
			r = two
		}
		out = append(out, hole{middle + at - r - air, middle + at + r + air})
	}
	return out
}

// below is how far down what stands between two heights must move to miss the holes.
func below(holes []hole, from, to float64) (down float64) {
	for _, h := range holes { // from the top of the paper
		if from+down < h.to && to+down > h.from {
			down = h.to - from
		}
	}
	return down
}

// above is how far up it must move.
func above(holes []hole, from, to float64) (up float64) {
	for i := len(holes) - 1; i >= 0; i-- {
		if h := holes[i]; from-up < h.to && to-up > h.from {
			up = to - h.from
		}
	}
	return up
}

// capHeight and descent are how far a text reaches above and below its baseline, of
// its size.
const capHeight, descent = 0.74, 0.22
