package judge

import (
	"cmp"
	"slices"
	"strings"

	"spanseal/internal/record"
)

// arrange puts the readings of each link side by side, the links in the order
// of the schedule, and returns where those of each end. It works in place: the
// readings of 100,000 links take 300 MB, and the results share them.
func arrange(facts *record.Facts) (ends []int) {
	links := make(map[string]int, len(facts.Links))
	for i := range facts.Links {
		links[facts.Links[i].ID] = i
	}
	rs := facts.Readings
	ends = make([]int, len(facts.Links)+1) // the last is for links that are not scheduled
	place := make([]int, len(rs))          // of each reading: first its link, then where it goes
	for i := range rs {
		k, ok := links[rs[i].Link]
		if !ok {
			k = len(facts.Links)
		}
		place[i] = k
		ends[k]++
	}
	at := 0
	for k, n := range ends {
		ends[k] = at
		at += n
	}
	for i, k := range place {
		place[i] = ends[k]
		ends[k]++
	}
	for i := range rs {
		for to := place[i]; to != i; to = place[i] {
			rs[i], rs[to] = rs[to], rs[i]
			place[i], place[to] = place[to], to
		}
	}
	return ends
}

// readingsOf are those of link k of the schedule.
func (b *bench) readingsOf(k int) []record.Reading {
	from := 0
	if k > 0 {
		from = b.ends[k-1]
	}
	return b.facts.Readings[from:b.ends[k]:b.ends[k]]
}

// sift parts the readings of a link, in place, into those that count and those
// that later ones replaced, the first by quantity, event, wavelength and
// direction, the others by time.
func (c *clerk) sift(rs []record.Reading) (used, superseded []record.Reading) {
	counts, replaced := c.order[:0], []int(nil)
	for i := range rs {
		if rs[i].Fate == record.Superseded {
			replaced = append(replaced, i)
		} else {
			counts = append(counts, i)
		}
	}
	slices.SortStableFunc(counts, func(i, k int) int {
		x, y := &rs[i], &rs[k]
		return cmp.Or(
			cmp.Compare(quantityRank[x.Quantity], quantityRank[y.Quantity]),
			strings.Compare(x.Event, y.Event),
			cmp.Compare(x.WavelengthNM, y.WavelengthNM),
			cmp.Compare(directionRank[x.Direction], directionRank[y.Direction]),
			earlier(x, y),
		)
	})
	slices.SortStableFunc(replaced, func(i, k int) int { return earlier(&rs[i], &rs[k]) })
	n := len(counts)
	c.order = append(counts, replaced...)
	if !slices.IsSorted(c.order) {
		c.mixed = append(c.mixed[:0], rs...)
		for k, i := range c.order {
			rs[k] = c.mixed[i]
		}
	}
	if n > 0 {
		used = rs[:n:n]
	}
	if n < len(rs) {
		superseded = rs[n:]
	}
	return used, superseded
}

// earlier orders readings by time, and by place and value where that is not
// enough, so that the order of rows in memory never matters.
func earlier(x, y *record.Reading) int {
	return cmp.Or(x.Time.Compare(y.Time), strings.Compare(x.Origin.File, y.Origin.File),
		cmp.Compare(x.Origin.Row, y.Origin.Row), cmp.Compare(x.Origin.Column, y.Origin.Column), x.Value.Cmp(y.Value))
}
