package chance_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"spanseal/internal/chance"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// measured is n multimode links of 100 m with losses of their own, both ways and at
// two wavelengths, to a hundredth of a decibel.
func measured(n int) (links []record.Link, readings [][]record.Reading) {
	rng := rand.New(rand.NewPCG(1, 2))
	for i := range n {
		links = append(links, record.Link{ID: fmt.Sprint(i), Mode: record.Multimode, Length: quantity.Int(100)})
		var of []record.Reading
		for _, way := range []record.Direction{record.AB, record.BA} {
			for _, nm := range []int{850, 1300} {
				loss := quantity.Scaled(int64(40+rng.IntN(60)), 2)
				if nm == 850 {
					loss = loss.Add(quantity.Must("0.20"))
				}
				of = append(of, record.Reading{Quantity: record.InsertionLoss, WavelengthNM: nm, Direction: way, Value: loss})
			}
		}
		readings = append(readings, of)
	}
	return links, readings
}

// TestCopies: what was copied or swapped is found, and nothing of honest readings.
func TestCopies(t *testing.T) {
	less := quantity.Must("-2") // glass at 1300 nm beyond 850 nm, dB/km
	for _, c := range []struct {
		name  string
		plant func(of []record.Reading)
		want  string
	}{
		{"honest", func([]record.Reading) {}, ""},
		{"B-A copied from A-B", func(of []record.Reading) { of[2].Value, of[3].Value = of[0].Value, of[1].Value }, "directions 60 of 60"},
		{"1300 nm copied from 850 nm", func(of []record.Reading) { of[1].Value, of[3].Value = of[0].Value, of[2].Value }, "850-1300 60 of 60"},
		{"wavelengths swapped", func(of []record.Reading) {
			for i := 0; i < len(of); i += 2 {
				of[i].Value, of[i+1].Value = of[i+1].Value, of[i].Value
			}
		}, "swapped 850-1300"},
	} {
		links, readings := measured(30)
		for i := range readings {
			c.plant(readings[i])
		}
		found := chance.Copies(links, func(i int) []record.Reading { return readings[i] }, func(chance.Wavelengths) *quantity.Decimal { return &less })
		got := ""
		if d := found.Directions; d != nil {
			got += fmt.Sprintf("directions %d of %d", d.Same, d.Of)
		}
		for _, w := range found.Wavelengths {
			got += fmt.Sprintf("%d-%d %d of %d", w.Short, w.Long, w.Same, w.Of)
		}
		for _, s := range found.Swapped {
			got += fmt.Sprintf("swapped %d-%d", s.Short, s.Long)
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// TestIdentical: two of many links with the same four losses are found, unless the
// job wants three; one loss alone is alike everywhere.
func TestIdentical(t *testing.T) {
	for _, c := range []struct {
		name   string
		losses int
		least  int
		want   [][]int
	}{{"four losses", 4, 2, [][]int{{3, 11}}}, {"three links wanted", 4, 3, nil}, {"one loss", 1, 2, nil}} {
		_, readings := measured(30)
		copy(readings[11], readings[3])
		var digests []chance.Digest
		for i := range readings {
			readings[i] = readings[i][:c.losses]
			digests = append(digests, chance.DigestOf(readings[i]))
		}
		got := chance.Identical(digests, func(i int) []record.Reading { return readings[i] }, quantity.Int(c.least))
		if !slices.EqualFunc(got, c.want, slices.Equal) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
}

// TestRank: the nearest rank of p percent of n is ⌈n·p/100⌉ (Hyndman and Fan 1996,
// definition 1).
func TestRank(t *testing.T) {
	for _, c := range []struct{ percentile, n, want int }{{50, 1, 1}, {50, 4, 2}, {50, 5, 3}, {95, 19, 19}, {95, 20, 19}, {97, 33, 33}, {97, 34, 33}, {100, 7, 7}} {
		if got := chance.Rank(quantity.Int(c.percentile), c.n); got != c.want {
			t.Errorf("%d %% of %d: %d, want %d", c.percentile, c.n, got, c.want)
		}
	}
}
