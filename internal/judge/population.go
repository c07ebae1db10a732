package judge

import (
	"cmp"
	"slices"
	"sort"

	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// grade holds a population of losses, sorted, against the group limits of a
// set. The mean is compared without dividing: a sum of n losses meets a mean m
// where it is at most n × m. A percentile is the smallest loss that at least
// that share of the population does not exceed (the nearest rank).
func grade(set *limits.Set, of record.Quantity, at *limits.Situation, sorted []quantity.Decimal, used map[*limits.Value]bool) []Finding {
	if len(sorted) == 0 {
		return nil
	}
	n := quantity.Int(len(sorted))
	values := usage{set: used}
	var out []Finding
	for i := range set.Limits {
		l := &set.Limits[i]
		if l.Of != of || !l.Applies(at) || l.Quantity != record.GroupMean && l.Quantity != record.GroupPercentile {
			continue
		}
		w, missing := values.workOut(l, at)
		if missing != "" {
			continue
		}
		w.Of = of
		var measured quantity.Decimal
		over := false
		if l.Quantity == record.GroupMean {
			sum := quantity.Sum(sorted...)
			measured, over = statistic(float(sum)/float64(len(sorted))), n.Mul(w.Limit).Less(sum)
		} else {
			w.Percentile = &l.Percentile
			measured = sorted[rank(l.Percentile, len(sorted))-1]
			over = w.Limit.Less(measured)
		}
		margin := w.Limit.Sub(measured)
		f := Finding{
			Matter:   &Matter{Kind: KindLimit, Code: code(l.Quantity), Quantity: l.Quantity, WavelengthNM: at.WavelengthNM, Unit: quantity.DB, Population: len(sorted)},
			Measured: &measured, Limit: &w.Limit, Margin: &margin, Probability: -1, Working: w,
		}
		if over {
			f.Verdict = Fail
		}
		out = append(out, f)
	}
	return out
}

// rank returns the nearest rank of a percentile among n, from one: the smallest
// k with k/n ≥ p/100, reckoned exactly.
func rank(percentile quantity.Decimal, n int) int {
	share := percentile.Mul(quantity.Int(n))
	return 1 + sort.Search(n-1, func(i int) bool { return !quantity.Int(100 * (i + 1)).Less(share) })
}

// population is the losses of a job that are alike.
type population struct {
	of         record.Quantity // insertion_loss for each connection, or splice_loss
	mode       record.Mode
	wavelength int
}

// losses gathers those for each connection, and the two-way averages of splices.
func (b *bench) losses() (by map[population][]quantity.Decimal, order []population) {
	by = map[population][]quantity.Decimal{}
	add := func(of record.Quantity, l *record.Link, nm int, v quantity.Decimal) {
		k := population{of, l.Mode, nm}
		if by[k] == nil {
			order = append(order, k)
		}
		by[k] = append(by[k], v)
	}
	for i := range b.facts.Links {
		l := &b.facts.Links[i]
		used, _ := b.shelf.readingsOf(i, l.ID)
		for k := range used {
			r := &used[k]
			if loss, ok := lossPerPair(b.policy, l, r); ok {
				add(record.InsertionLoss, l, r.WavelengthNM, loss)
			}
			if r.Quantity != record.SpliceLoss {
				continue
			}
			if r.Direction.From() == "" {
				add(record.SpliceLoss, l, r.WavelengthNM, r.Value)
			} else if v, ok := twoWay(used, k); ok {
				add(record.SpliceLoss, l, r.WavelengthNM, v)
			}
		}
	}
	slices.SortFunc(order, func(x, y population) int {
		return cmp.Or(cmp.Compare(quantityRank[x.of], quantityRank[y.of]), cmp.Compare(x.mode, y.mode), cmp.Compare(x.wavelength, y.wavelength))
	})
	return by, order
}

// lossPerPair returns a loss over the number of connections inside it: glass
// and splices included, so more than the connections lose. A grade that it
// meets is met.
func lossPerPair(p *record.Policy, l *record.Link, r *record.Reading) (quantity.Decimal, bool) {
	at := limits.Situation{MatedPairs: l.MatedPairs, Reference: p.Reference}
	n := at.Inner() + at.Ends()
	if r.Quantity != record.InsertionLoss || n == 0 {
		return quantity.Decimal{}, false
	}
	return statistic(float(r.Value) / float64(n)), true
}

// populations holds the job's connections and splices against the group limits
// of the sets that bind the job.
func (b *bench) populations() []Finding {
	var out []Finding
	for _, id := range b.policy.Limits {
		set := b.sets[id]
		if !hasGroupLimits(set) {
			continue
		}
		by, order := b.losses()
		for _, k := range order {
			slices.SortFunc(by[k], quantity.Decimal.Cmp)
			at := limits.Situation{Mode: k.mode, WavelengthNM: k.wavelength, TestCords: b.policy.TestCords, Reference: b.policy.Reference}
			for _, f := range grade(set, k.of, &at, by[k], b.used[set]) {
				f.ask(statement.New("population", statement.Count(len(by[k])), statement.Word{Group: "population_of", Code: string(k.of)},
					statement.NM(k.wavelength), statement.Word{Group: "mode", Code: string(k.mode)}))
				out = append(out, f)
			}
		}
	}
	return out
}

func hasGroupLimits(s *limits.Set) bool {
	return slices.ContainsFunc(s.Limits, func(l limits.Limit) bool {
		return l.Quantity == record.GroupMean || l.Quantity == record.GroupPercentile
	})
}
