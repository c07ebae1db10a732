package judge

import (
	"cmp"
	"math"
	"slices"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
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

// copies asks whether one direction was copied from the other, one wavelength from
// another, or two wavelengths were swapped, over the whole job.
func (b *jobJudge) copies() (out []statement.Statement) {
	var directions doubles
	var steps stepper
	wavelengths, swaps := map[pairOf]*doubles{}, map[pairOf]*swap{}
	figures := b.worker()
	for i := range b.facts.Links {
		l := &b.facts.Links[i]
		used := b.links[i].Readings
		var losses []*record.Reading
		for k := range used {
			if r := &used[k]; r.Quantity == record.InsertionLoss && r.Shown == "" {
				losses = append(losses, r)
				steps.add(thousandths(r.Value))
			}
		}
		km := float(l.Length) / 1000
		for x := range losses {
			for y := range losses {
				short, long := losses[x], losses[y]
				switch {
				case short.WavelengthNM == long.WavelengthNM && short.Direction == record.AB && long.Direction == record.BA:
					directions.add(short.Value, long.Value)
				case short.WavelengthNM < long.WavelengthNM && short.Direction == long.Direction:
					of := pairOf{l.Mode, short.WavelengthNM, long.WavelengthNM}
					if wavelengths[of] == nil {
						wavelengths[of] = &doubles{}
					}
					wavelengths[of].add(short.Value, long.Value)
					if figure := figures.difference(of.mode, of.short, of.long); figure != nil && l.Mode == record.Multimode {
						if swaps[of] == nil {
							swaps[of] = &swap{}
						}
						s, by := swaps[of], float(long.Value.Sub(short.Value))
						s.n, s.sum, s.squares, s.glass = s.n+1, s.sum+by, s.squares+by*by, s.glass+float(*figure)*km
					}
				}
			}
		}
	}
	step := steps.step()
	if directions.copied(step) {
		out = append(out, statement.New("direction-copied", statement.Count(directions.same), statement.Count(directions.n)))
	}
	for _, of := range sortedPairs(wavelengths) {
		if d := wavelengths[of]; d.copied(step) {
			out = append(out, statement.New("wavelength-copied", statement.NM(of.short), statement.NM(of.long), statement.Count(d.same), statement.Count(d.n)))
		}
	}
	for _, of := range sortedPairs(swaps) {
		if s := swaps[of]; s.swapped() {
			mean := rounded(s.sum/float64(s.n), 2)
			out = append(out, statement.New("wavelengths-swapped", statement.NM(of.short), statement.NM(of.long), mean, statement.Count(s.n)))
		}
	}
	return out
}

func sortedPairs[T any](m map[pairOf]T) []pairOf {
	out := make([]pairOf, 0, len(m))
	for of := range m {
		out = append(out, of)
	}
	slices.SortFunc(out, func(x, y pairOf) int {
		return cmp.Or(cmp.Compare(x.mode, y.mode), cmp.Compare(x.short, y.short), cmp.Compare(x.long, y.long))
	})
	return out
}

// sameFiles asks about files of readings that are byte for byte the same.
func (b *jobJudge) sameFiles() []statement.Statement {
	var out []statement.Statement
	first := map[string]string{}
	for _, a := range b.facts.Accounts {
		if other, ok := first[a.SHA256]; ok && a.SHA256 != "" {
			out = append(out, statement.New("duplicate-rows.file", statement.Name(other), statement.Name(a.File)))
		} else {
			first[a.SHA256] = a.File
		}
	}
	return out
}
