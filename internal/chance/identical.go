package chance

import (
	"crypto/sha256"
	"math"
	"slices"
	"strconv"
	"time"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// Digest stands for the losses of a link: two links have the same one if all their
// losses are the same. It is zero where there is too little to compare.
type Digest [16]byte

// leastAlike is how many losses a link must have to be compared with others: one
// alone is alike everywhere.
const leastAlike = 2

// DigestOf is of the losses of a link, or zero where they are too few, or where one
// only stands for what the instrument showed.
func DigestOf(readings []record.Reading) (digest Digest) {
	text := make([]byte, 0, 128)
	n := 0
	for i := range readings {
		if r := &readings[i]; r.Quantity == record.InsertionLoss {
			if r.Shown != "" {
				return digest
			}
			n++
			text = strconv.AppendInt(text, int64(r.WavelengthNM), 10)
			text = append(append(append(text, r.Direction...), r.Value.Short()...), ';')
		}
	}
	if n >= leastAlike {
		sum := sha256.Sum256(text)
		digest = Digest(sum[:16])
	}
	return digest
}

// mostByChance is how many coincidences chance may be expected to give where a
// question is still asked. The figure is ours.
const mostByChance = 0.02

// Identical lists the links of a job whose losses are all the same where chance does
// not explain it, so many of them at least, in the order of the first of each. They
// go by the digests of all links of the job.
func Identical(digests []Digest, readings func(link int) []record.Reading, least quantity.Decimal) (out [][]int) {
	same := map[Digest][]int{}
	var order []Digest
	for i, k := range digests {
		if k == (Digest{}) {
			continue
		}
		if same[k] == nil {
			order = append(order, k)
		}
		same[k] = append(same[k], i)
	}
	order = slices.DeleteFunc(order, func(k Digest) bool {
		return len(same[k]) < 2 || quantity.Int(len(same[k])).Less(least)
	})
	if len(order) == 0 {
		return nil // as of nearly all jobs of long links
	}
	likes := likesOf(digests, readings, same)
	for _, k := range order {
		if which := same[k]; likes[which[0]].rare(which) {
			out = append(out, which)
		}
	}
	return out
}

// likes are links measured at the same wavelengths and in the same directions, and
// how often two of them have the very same losses by chance.
//
// No distribution is assumed. Losses are sorted into cells three steps of the
// readings wide. Where chance alone is at work, the k losses of two links that
// share a cell are the very same in one case of 3^k: so the pairs that share a
// cell and are not the same tell how many of the same kind to expect. Twice that
// is reckoned with, since losses crowd together within a cell as well, and half a
// pair more, since none seen is not none possible.
type likes struct {
	links int
	cells float64 // 3^k − 1
	near  float64 // pairs that share a cell, but for those that are the same
	cell  map[string]int
	of    map[int]string // the cell of a link that has a double
	// minute and rank tell when a link was measured: links of one minute, and those
	// measured one after the other; −1 where no hour is known.
	minute, rank map[int]int64
	together     float64 // pairs of one minute
}

// likesOf sorts all links with losses, and returns those that a link belongs to.
func likesOf(digests []Digest, readings func(int) []record.Reading, same map[Digest][]int) map[int]*likes {
	type row struct {
		link   int
		values []int32
		at     time.Time
	}
	by := map[string][]row{}
	var kinds []string
	for i := range digests {
		if digests[i] == (Digest{}) {
			continue
		}
		used := readings(i)
		r := row{link: i}
		var slots []byte
		for k := range used {
			if u := &used[k]; u.Quantity == record.InsertionLoss {
				slots = append(append(strconv.AppendInt(slots, int64(u.WavelengthNM), 10), u.Direction...), ';')
				r.values = append(r.values, thousandths(u.Value))
				if r.at.IsZero() && !record.DayOnly(u.Time) {
					r.at = u.Time
				}
			}
		}
		if by[string(slots)] == nil {
			kinds = append(kinds, string(slots))
		}
		by[string(slots)] = append(by[string(slots)], r)
	}
	out := map[int]*likes{}
	for _, kind := range kinds {
		rows := by[kind]
		var steps stepper
		for i := range rows {
			for _, v := range rows[i].values {
				steps.add(v)
			}
		}
		width := 3 * steps.step()
		l := &likes{links: len(rows), cells: math.Pow(3, float64(len(rows[0].values))) - 1, cell: map[string]int{}, of: map[int]string{}, minute: map[int]int64{}, rank: map[int]int64{}}
		exact := 0.0
		slices.SortStableFunc(rows, func(x, y row) int { return x.at.Compare(y.at) })
		minutes := map[int64]int{}
		for i := range rows {
			r := &rows[i]
			var key []byte
			for _, v := range r.values {
				key = append(strconv.AppendInt(key, int64(math.Floor(float64(v)/float64(width))), 36), ' ')
			}
			l.near += float64(l.cell[string(key)])
			l.cell[string(key)]++
			out[r.link] = l
			if doubles := same[digests[r.link]]; len(doubles) > 1 {
				exact += float64(len(doubles)-1) / 2
				l.of[r.link] = string(key)
			}
			l.minute[r.link], l.rank[r.link] = -1, -1
			if !r.at.IsZero() {
				m := r.at.Unix() / 60
				l.together += float64(minutes[m])
				minutes[m]++
				l.minute[r.link], l.rank[r.link] = m, int64(i)
			}
		}
		l.near -= exact
	}
	return out
}

// rare reports whether chance hardly makes links the same: anywhere among the
// links, among those of one minute, among those measured one after the other, or
// so many at once.
func (l *likes) rare(which []int) bool {
	expected := 2 * (l.near + 0.5) / l.cells
	if expected <= mostByChance {
		return true
	}
	perPair := expected / (float64(l.links) * float64(l.links-1) / 2)
	byRank := slices.Clone(which)
	slices.SortFunc(byRank, func(x, y int) int { return int(l.rank[x] - l.rank[y]) })
	for i := 1; i < len(byRank); i++ {
		x, y := byRank[i-1], byRank[i]
		if l.minute[x] < 0 {
			continue
		}
		if l.minute[x] == l.minute[y] && perPair*l.together <= mostByChance || l.rank[y]-l.rank[x] == 1 && perPair*float64(l.links-1) <= mostByChance {
			return true
		}
	}
	others := len(which) - 1
	here := 2 * (float64(l.cell[l.of[which[0]]]-len(which)) + 0.5) / l.cells
	return float64(l.links)*atLeast(others, here) <= mostByChance
}

// atLeast is the probability that n or more happen where so many are expected
// (Poisson).
func atLeast(n int, expected float64) float64 {
	logs, _ := math.Lgamma(float64(n + 1))
	term := math.Exp(float64(n)*math.Log(expected) - expected - logs)
	sum := 0.0
	for k := n; term > 0 && k < n+1000; k++ {
		sum += term
		term *= expected / float64(k+1)
	}
	return min(sum, 1)
}
