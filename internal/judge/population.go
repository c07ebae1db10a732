package judge

import (
	"cmp"
	"slices"

	"spanseal/internal/arrange"
	"spanseal/internal/chance"
	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// Connections is the losses of a population: of each link over its connections, or of
// each splice.
type Connections struct {
	sum    quantity.Decimal
	n      int                // connections
	single []quantity.Decimal // losses of one connection each
	joint  []quantity.Decimal // losses of several connections together
	ways   []way              // in which they were measured
}

func (c *Connections) measured(by way) {
	if !slices.Contains(c.ways, by) {
		c.ways = append(c.ways, by)
	}
}

// way is how all of them were measured, or the usual way where they were not alike.
func (c *Connections) way(usual way) way {
	if len(c.ways) == 1 {
		return c.ways[0]
	}
	return usual
}

// Add adds the loss of so many connections. One that only stands for what was shown is
// over or within a limit, and of no mean.
func (c *Connections) Add(loss quantity.Decimal, pairs int, shown bool) {
	if !shown {
		c.sum, c.n = c.sum.Add(loss), c.n+pairs
	}
	if pairs == 1 {
		c.single = append(c.single, loss)
	} else {
		c.joint = append(c.joint, loss)
	}
}

// Judge holds a population against the group limits of a set, and notes the values
// that it used. The mean is compared without dividing: a sum over n connections meets
// a mean m where it is at most n × m. A percentile is a statement about single
// connections, which no average proves: it is the smallest loss that at least that
// share of them does not exceed (the nearest rank), and they must be enough to show
// it ([chance.Shows]).
func (c *Connections) Judge(set *limits.Set, of record.Quantity, at *limits.Situation, used map[*limits.Value]bool) []Finding {
	if c.n == 0 {
		return nil
	}
	slices.SortFunc(c.single, quantity.Decimal.Cmp)
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
		var over bool
		n := c.n
		if l.Quantity == record.GroupMean {
			measured, over = chance.Decimal(chance.Float(c.sum)/float64(n), placesOfMean), quantity.Int(n).Mul(w.Limit).Less(c.sum)
		} else {
			w.Percentile = &l.Percentile
			var question statement.Statement
			if l.Percentile.Equal(quantity.Int(100)) {
				measured, question = each(w, at, c)
			} else {
				if n = len(c.single); n > 0 {
					measured = c.single[chance.Rank(l.Percentile, n)-1]
				}
				question = unshown(l.Percentile, w, at, c.single)
			}
			if over = w.Limit.Less(measured); !over && !question.IsZero() {
				out = append(out, Finding{Matter: &Matter{Kind: KindRequired, Code: "not-shown", WavelengthNM: at.WavelengthNM, Question: question}, Verdict: Incomplete, Probability: -1, Working: w})
				continue
			}
		}
		margin := w.Limit.Sub(measured)
		f := Finding{
			Matter:   &Matter{Kind: KindLimit, Code: code(l.Quantity), Quantity: l.Quantity, WavelengthNM: at.WavelengthNM, Unit: quantity.DB, Population: n},
			Measured: &measured, Limit: &w.Limit, Margin: &margin, Probability: -1, Working: w,
		}
		if over {
			f.Verdict = Fail
		}
		out = append(out, f)
	}
	return out
}

// each is the highest loss of one connection, where all of them must be within a
// limit: those that are within it together are so one by one. The question says
// how many links with several connections lose more than it together.
func each(w *Working, at *limits.Situation, c *Connections) (most quantity.Decimal, question statement.Statement) {
	unsure := 0
	for _, v := range c.joint {
		if w.Limit.Less(v) {
			unsure++
		} else if most.Less(v) {
			most = v
		}
	}
	if n := len(c.single); n > 0 && most.Less(c.single[n-1]) {
		most = c.single[n-1]
	}
	if unsure > 0 {
		question = statement.New("not-shown.each", statement.Count(unsure), statement.Name(w.SetID), statement.Short(w.Limit),
			statement.NM(at.WavelengthNM), statement.Word{Group: "mode", Code: string(at.Mode)})
	}
	return most, question
}

// unshown says why a sorted sample does not show a percentile; zero where it does.
func unshown(percentile quantity.Decimal, w *Working, at *limits.Situation, single []quantity.Decimal) statement.Statement {
	of := statement.Word{Group: "population_of_one", Code: string(w.Of)}
	nm, mode := statement.NM(at.WavelengthNM), statement.Word{Group: "mode", Code: string(at.Mode)}
	share := chance.Float(percentile) / 100
	over := 0
	for i := range single {
		if w.Limit.Less(single[i]) {
			over++
		}
	}
	if chance.Shows(len(single), over, share) {
		return statement.Statement{}
	}
	least := statement.Count(chance.Enough(over, share))
	if len(single) == 0 {
		return statement.New("not-shown.averages", statement.Name(w.SetID), statement.Short(percentile), of, nm, mode, least)
	}
	return statement.New("not-shown.few", statement.Count(len(single)), statement.Name(w.SetID), statement.Short(percentile), of, nm, mode, statement.Count(over), statement.Short(w.Limit), least)
}

// population is the losses of a job that are alike.
type population struct {
	of         record.Quantity // insertion_loss for each connection, or splice_loss
	mode       record.Mode
	wavelength int
}

// losses gathers the losses of links, each the average of its directions where both
// were measured, since A-B and B-A of one connection are one; and those of splices.
func (j *jobJudge) losses() (by map[population]*Connections, order []population) {
	by = map[population]*Connections{}
	add := func(of record.Quantity, l *record.Link, nm int, v quantity.Decimal, pairs int, shown bool) {
		k := population{of, l.Mode, nm}
		if by[k] == nil {
			by[k] = new(Connections)
			order = append(order, k)
		}
		by[k].Add(v, pairs, shown)
	}
	for i := range j.facts.Links {
		l := &j.facts.Links[i]
		used := j.links[i].Readings
		for _, one := range j.eachWavelength(used) {
			if pairs := Counted(one.way.reference, l); pairs > 0 {
				add(record.InsertionLoss, l, one.nm, one.loss, pairs, one.shown)
				by[population{record.InsertionLoss, l.Mode, one.nm}].measured(one.way)
			}
		}
		for k := range used {
			r := &used[k]
			if r.Quantity != record.SpliceLoss {
				continue
			}
			if r.Direction.From() == "" {
				add(record.SpliceLoss, l, r.WavelengthNM, r.Value, 1, r.Shown != "")
			} else if v, ok := j.twoWay(used, k); ok {
				add(record.SpliceLoss, l, r.WavelengthNM, v, 1, false)
			}
		}
	}
	slices.SortFunc(order, func(x, y population) int {
		return cmp.Or(cmp.Compare(arrange.Quantity(x.of), arrange.Quantity(y.of)), cmp.Compare(x.mode, y.mode), cmp.Compare(x.wavelength, y.wavelength))
	})
	return by, order
}

// Counted is how many connections of a link are inside its measurement. A loss is
// that of all of them, of the glass and of the splices: more than the connections
// lose, so that a grade that it meets is met.
func Counted(reference record.ReferenceMethod, l *record.Link) int {
	at := limits.Situation{MatedPairs: l.MatedPairs, Reference: reference}
	return at.Inner() + at.Ends()
}

// References are the reference methods by which the losses of a link were measured,
// in the order of the readings; where there are none, that by which they are to be.
func References(p *record.Policy, l *record.Link, readings []record.Reading) (out []record.ReferenceMethod) {
	for i := range readings {
		r := &readings[i]
		if m := p.MethodOf(r).Reference; r.Quantity == record.InsertionLoss && !slices.Contains(out, m) {
			out = append(out, m)
		}
	}
	if out == nil {
		out = []record.ReferenceMethod{p.MethodFor(l).Reference}
	}
	return out
}

// oneLoss is the loss of a link at a wavelength.
type oneLoss struct {
	nm    int
	way   way
	loss  quantity.Decimal
	shown bool // it only stands for what the instrument showed
}

// eachWavelength gives the loss of a link at each wavelength: the average of both
// directions, or what was measured in one. Losses that hold other connections each
// are two.
func (j *jobJudge) eachWavelength(used []record.Reading) (out []oneLoss) {
	for i := range used {
		r := &used[i]
		if r.Quantity != record.InsertionLoss {
			continue
		}
		by := wayOf(j.policy.MethodOf(r))
		if n := len(out); n > 0 && out[n-1].nm == r.WavelengthNM && out[n-1].way == by {
			switch one := &out[n-1]; {
			case !one.shown && r.Shown == "":
				one.loss = one.loss.Add(r.Value).Half()
			case one.loss.Less(r.Value): // of what is no number there is no average
				one.loss, one.shown = r.Value, true
			default:
				one.shown = true
			}
			continue
		}
		out = append(out, oneLoss{r.WavelengthNM, by, r.Value, r.Shown != ""})
	}
	return out
}

// populations holds the job's connections and splices against the group limits
// of the sets that bind the job.
func (j *jobJudge) populations() []Finding {
	var out []Finding
	for _, id := range j.policy.Limits {
		set := j.sets[id]
		if !hasGroupLimits(set) {
			continue
		}
		by, order := j.losses()
		for _, k := range order {
			w := by[k].way(wayOf(j.policy.Method()))
			at := limits.Situation{Mode: k.mode, WavelengthNM: k.wavelength, TestCords: w.cords, Reference: w.reference}
			for _, f := range by[k].Judge(set, k.of, &at, j.used[set]) {
				if f.Kind == KindLimit {
					f.ask(statement.New("population", statement.Count(f.Population), statement.Word{Group: "population_of", Code: populationOf(&f, k.of)},
						statement.NM(k.wavelength), statement.Word{Group: "mode", Code: string(k.mode)}))
				}
				out = append(out, f)
			}
		}
	}
	return out
}

// populationOf names what a figure is of: connections one by one for a percentile.
func populationOf(f *Finding, of record.Quantity) string {
	if f.Quantity == record.GroupPercentile && of == record.InsertionLoss {
		return "single_connection"
	}
	return string(of)
}

func hasGroupLimits(s *limits.Set) bool {
	return slices.ContainsFunc(s.Limits, func(l limits.Limit) bool {
		return l.Quantity == record.GroupMean || l.Quantity == record.GroupPercentile
	})
}

// placesOfMean are far below what any instrument shows.
const placesOfMean = 6
