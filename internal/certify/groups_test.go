package certify_test

import (
	"encoding/json"
	"fmt"
	"math/big"
	"slices"
	"testing"

	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// TestStatisticsInResults: results.json holds the statistics of every kind of
// group. Those of the whole job, of a person and of an instrument are worked out
// again here, from the readings and in whole numbers; percentiles are nearest
// ranks, the smallest loss that at least that share does not exceed.
func TestStatisticsInResults(t *testing.T) {
	set := newSet(t, library(), options())
	data, err := set.ResultsJSON()
	if err != nil {
		t.Fatal(err)
	}
	var results form.Results
	if err := json.Unmarshal(data, &results); err != nil {
		t.Fatal(err)
	}
	kinds := map[string]bool{}
	marginal := false
	for _, g := range results.Statistics {
		kinds[g.By] = true
		var losses []quantity.Decimal
		links, marginals := map[string]bool{}, 0
		for _, l := range set.Judgement.Results() {
			for _, r := range l.Readings {
				person, _ := set.Facts.Job.Person(r.Person)
				if r.Quantity != record.InsertionLoss || r.WavelengthNM != g.WavelengthNM ||
					g.By != "all" && !(g.By == "person" && person.Name == g.Name) && !(g.By == "instrument" && r.Instrument == g.Name) {
					continue
				}
				losses = append(losses, r.Value)
				if !links[l.Link.ID] && l.Verdict == judge.Marginal {
					marginals++
				}
				links[l.Link.ID] = true
			}
		}
		if g.By != "all" && g.By != "person" && g.By != "instrument" {
			continue
		}
		at := fmt.Sprintf("%s %s at %d nm", g.By, g.Name, g.WavelengthNM)
		if g.Losses != len(losses) || g.Links != len(links) || len(losses) == 0 {
			t.Errorf("%s: %d losses of %d links, want %d of %d", at, g.Losses, g.Links, len(losses), len(links))
			continue
		}
		slices.SortFunc(losses, quantity.Decimal.Cmp)
		nearest := func(percent int) quantity.Decimal { return losses[(percent*len(losses)+99)/100-1] }
		ratio := func(d quantity.Decimal, n int) quantity.Decimal {
			r, ok := new(big.Rat).SetString(d.String())
			if !ok {
				t.Fatal(d)
			}
			return quantity.Must(r.Quo(r, big.NewRat(int64(n), 1)).FloatString(4))
		}
		for name, pair := range map[string][2]quantity.Decimal{
			"mean":     {g.Mean, ratio(quantity.Sum(losses...), len(losses))},
			"median":   {g.Median, losses[(len(losses)-1)/2].Add(losses[len(losses)/2]).Half()},
			"worst":    {g.Worst, losses[len(losses)-1]},
			"marginal": {g.Marginal, ratio(quantity.Int(marginals), len(links))},
		} {
			if off := pair[0].Sub(pair[1]).Abs(); quantity.Must("0.0001").Less(off) {
				t.Errorf("%s: %s %s, want %s", at, name, pair[0], pair[1])
			}
		}
		for percent, got := range map[int]*quantity.Decimal{95: g.Percentile95, 97: g.Percentile97} {
			want := nearest(percent)
			if (percent*len(losses)+99)/100 == len(losses) { // the largest: the sample shows none
				if got != nil {
					t.Errorf("%s: %d %% of %d losses is %s", at, percent, len(losses), got)
				}
			} else if got == nil || quantity.Must("0.0001").Less(got.Sub(want).Abs()) {
				t.Errorf("%s: %d %% is %v, want %s", at, percent, got, want)
			}
		}
		if (g.Deviation != nil) != (len(losses) >= 10) {
			t.Errorf("%s: deviation %v of %d losses", at, g.Deviation, len(losses))
		}
		marginal = marginal || g.Marginal.Sign() > 0
	}
	for _, by := range []string{"all", "fibre", "connector", "person", "instrument", "panel"} {
		if !kinds[by] {
			t.Errorf("no group by %s", by)
		}
	}
	if !marginal {
		t.Error("no share of marginal links, so the fixture shows nothing")
	}
}
