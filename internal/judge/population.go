package judge

import (
	"math"
	"slices"

	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// grade holds a population of losses against the group limits of a set. The
// mean is compared without dividing: a sum of n losses meets a mean m where it
// is at most n × m. A percentile is the smallest loss that at least that share
// of the population does not exceed (the nearest rank).
func grade(set *limits.Set, at *limits.Situation, losses []quantity.Decimal, used map[*limits.Value]bool) []Finding {
	if len(losses) == 0 {
		return nil
	}
	sorted := slices.Clone(losses)
	slices.SortFunc(sorted, quantity.Decimal.Cmp)
	sum := quantity.Sum(sorted...)
	n := quantity.Int(len(sorted))
	d := docket{bench: &bench{used: map[*limits.Set]map[*limits.Value]bool{set: used}}}
	var out []Finding
	for i := range set.Limits {
		l := &set.Limits[i]
		if !l.Where.Fits(at) || l.Quantity != record.GroupMean && l.Quantity != record.GroupPercentile {
			continue
		}
		w, missing := d.workOut(l, at)
		if missing != "" {
			continue
		}
		f := Finding{Kind: KindLimit, Code: code(l.Quantity), Quantity: l.Quantity, WavelengthNM: at.WavelengthNM, Unit: quantity.DB, Probability: -1, Working: w, Limit: &w.Limit}
		var measured quantity.Decimal
		over := false
		if l.Quantity == record.GroupMean {
			over = n.Mul(w.Limit).Less(sum)
			measured = quantity.Must(fixed(float(sum) / float64(len(sorted))))
		} else {
			share := float(l.Percentile) / 100
			rank := int(math.Ceil(share * float64(len(sorted)))) // 97 % of 100 is the 97th
			measured = sorted[min(max(rank, 1), len(sorted))-1]
			over = w.Limit.Less(measured)
		}
		margin := w.Limit.Sub(measured)
		f.Measured, f.Margin = &measured, &margin
		if over {
			f.Verdict = Fail
		}
		out = append(out, f)
	}
	return out
}
