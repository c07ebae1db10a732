package chance

import (
	"cmp"
	"math"
	"slices"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// What readings must be alike to look copied. The figures are ours: so many, and so
// many times as many as differ by one step, which of honest readings are about as
// many as those that do not differ at all. Readings in coarser steps than
// coarsest, in thousandths of a decibel, do not tell.
const (
	leastCopied = 8
	timesAsMany = 8
	coarsest    = 20
)

// doubles counts how two kinds of reading differ.
type doubles struct {
	n    int
	same int
	by   [2*coarsest + 1]int // by a difference in thousandths of a decibel
}

func (d *doubles) add(x, y quantity.Decimal) {
	d.n++
	by := thousandths(y) - thousandths(x)
	if by == 0 {
		d.same++
	} else if by >= -coarsest && by <= coarsest {
		d.by[by+coarsest]++
	}
}

// copied reports whether one kind looks copied from the other, as read in steps.
func (d *doubles) copied(step int32) bool {
	if step > coarsest {
		return false
	}
	near := 0
	for by := -step; by <= step; by++ {
		near += d.by[by+coarsest]
	}
	return d.same >= leastCopied && d.same >= timesAsMany*(near+1)
}

// swap sums up how much more a kind of multimode link loses at the longer
// wavelength, over so much glass.
type swap struct {
	n            int
	sum, squares float64 // dB
	glass        float64 // what glass loses more at the longer wavelength at most, dB
}

// What makes wavelengths look swapped. The figures are ours: so many pairs, so many
// decibels more at the longer wavelength, half of what glass loses less there, and
// so far beyond chance.
const (
	leastSwapped = 8
	leastMore    = 0.05
	shareOfGlass = 0.5
	swappedSigma = 4
)

func (s *swap) swapped() bool {
	n := float64(s.n)
	mean := s.sum / n
	sd := math.Sqrt(max(0, s.squares/n-mean*mean))
	return s.n >= leastSwapped && mean >= leastMore && mean >= -shareOfGlass*s.glass/n && mean >= swappedSigma*sd/math.Sqrt(n)
}

// Wavelengths are two of one kind of fibre, in nm.
type Wavelengths struct {
	Mode        record.Mode
	Short, Long int
}

// Copied says that so many of so many pairs of readings are the very same.
type Copied struct {
	Wavelengths // none of directions
	Same, Of    int
}

// Swapped says how much more so many pairs of readings lose at the longer wavelength.
type Swapped struct {
	Wavelengths
	More float64 // on average, dB
	Of   int
}

// Likenesses is what looks copied or swapped over a whole job.
type Likenesses struct {
	Directions  *Copied // nil where neither looks copied from the other
	Wavelengths []Copied
	Swapped     []Swapped
}

// Copies finds directions that look copied from each other, wavelengths that look
// copied from each other, and those of multimode fibre that look swapped. A function
// gives the readings of a link that count, another the most that glass loses at the
// longer wavelength beyond the shorter one, dB/km, or nil.
func Copies(links []record.Link, readings func(link int) []record.Reading, difference func(Wavelengths) *quantity.Decimal) (out Likenesses) {
	var directions doubles
	var steps stepper
	wavelengths, swaps := map[Wavelengths]*doubles{}, map[Wavelengths]*swap{}
	for i := range links {
		l := &links[i]
		used := readings(i)
		var losses []*record.Reading
		for k := range used {
			if r := &used[k]; r.Quantity == record.InsertionLoss && r.Shown == "" {
				losses = append(losses, r)
				steps.add(thousandths(r.Value))
			}
		}
		km := Float(l.Length) / 1000
		for x := range losses {
			for y := range losses {
				short, long := losses[x], losses[y]
				switch {
				case short.WavelengthNM == long.WavelengthNM && short.Direction == record.AB && long.Direction == record.BA:
					directions.add(short.Value, long.Value)
				case short.WavelengthNM < long.WavelengthNM && short.Direction == long.Direction:
					of := Wavelengths{l.Mode, short.WavelengthNM, long.WavelengthNM}
					if wavelengths[of] == nil {
						wavelengths[of] = &doubles{}
					}
					wavelengths[of].add(short.Value, long.Value)
					if figure := difference(of); figure != nil && l.Mode == record.Multimode {
						if swaps[of] == nil {
							swaps[of] = &swap{}
						}
						s, by := swaps[of], Float(long.Value.Sub(short.Value))
						s.n, s.sum, s.squares, s.glass = s.n+1, s.sum+by, s.squares+by*by, s.glass+Float(*figure)*km
					}
				}
			}
		}
	}
	step := steps.step()
	if directions.copied(step) {
		out.Directions = &Copied{Same: directions.same, Of: directions.n}
	}
	for _, of := range sortedPairs(wavelengths) {
		if d := wavelengths[of]; d.copied(step) {
			out.Wavelengths = append(out.Wavelengths, Copied{of, d.same, d.n})
		}
	}
	for _, of := range sortedPairs(swaps) {
		if s := swaps[of]; s.swapped() {
			out.Swapped = append(out.Swapped, Swapped{of, s.sum / float64(s.n), s.n})
		}
	}
	return out
}

func sortedPairs[T any](m map[Wavelengths]T) []Wavelengths {
	out := make([]Wavelengths, 0, len(m))
	for of := range m {
		out = append(out, of)
	}
	slices.SortFunc(out, func(x, y Wavelengths) int {
		return cmp.Or(cmp.Compare(x.Mode, y.Mode), cmp.Compare(x.Short, y.Short), cmp.Compare(x.Long, y.Long))
	})
	return out
}
