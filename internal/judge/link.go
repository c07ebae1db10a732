package judge

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// subject is one number to judge, with the readings it comes from.
type subject struct {
	quantity   record.Quantity
	wavelength int
	direction  record.Direction
	event      string
	value      quantity.Decimal
	u          *quantity.Decimal
	readings   []record.Reading
}

// work is a limit worked out for one wavelength and end of the link at hand.
type work struct {
	limit      *limits.Limit
	wavelength int
	end        string
	working    *Working // nil: the limit does not apply, or missing is set
	missing    string   // the value that the set does not give
}

// docket is one link while it is judged.
type docket struct {
	*clerk
	link  *record.Link
	sets  []bound
	at    limits.Situation
	works []work
	out   *LinkResult
}

func (c *clerk) link(l *record.Link, out *LinkResult) {
	out.Link = *l
	out.Terminations = c.made[l.ID]
	out.Readings, out.Superseded = sift(c.facts.Readings, c.readings[l.ID])
	out.Measured = len(out.Readings) > 0
	d := &docket{clerk: c, link: l, sets: c.bind(l), out: out, at: limits.Situation{
		Fibre: l.Fibre, Mode: l.Mode, TestCords: c.policy.TestCords, Reference: c.policy.Reference,
		LengthM: l.Length, MatedPairs: l.MatedPairs, Splices: l.Splices, SplicedEnds: l.SplicedEnds(),
	}}
	d.limits()
	d.required()
	d.terminations()
	d.evidence()
	d.expectORL()
	if d.out.Measured {
		d.carries()
	}
}

// sift parts the readings that count from those that later ones replaced, the
// first by quantity, event, wavelength and direction, the others by time.
func sift(all []record.Reading, of []int) (used, superseded []record.Reading) {
	counts, replaced := make([]int, 0, len(of)), []int(nil)
	for _, i := range of {
		if all[i].Fate == record.Superseded {
			replaced = append(replaced, i)
		} else {
			counts = append(counts, i)
		}
	}
	slices.SortStableFunc(counts, func(i, k int) int {
		x, y := &all[i], &all[k]
		return cmp.Or(
			cmp.Compare(quantityRank[x.Quantity], quantityRank[y.Quantity]),
			strings.Compare(x.Event, y.Event),
			cmp.Compare(x.WavelengthNM, y.WavelengthNM),
			cmp.Compare(directionRank[x.Direction], directionRank[y.Direction]),
			earlier(x, y),
		)
	})
	slices.SortStableFunc(replaced, func(i, k int) int { return earlier(&all[i], &all[k]) })
	return pick(all, counts), pick(all, replaced)
}

// earlier orders readings by time, and by place and value where that is not
// enough, so that the order of rows in memory never matters.
func earlier(x, y *record.Reading) int {
	return cmp.Or(x.Time.Compare(y.Time), strings.Compare(x.Origin.File, y.Origin.File),
		cmp.Compare(x.Origin.Row, y.Origin.Row), cmp.Compare(x.Origin.Column, y.Origin.Column), x.Value.Cmp(y.Value))
}

func pick(all []record.Reading, which []int) []record.Reading {
	if len(which) == 0 {
		return nil
	}
	out := make([]record.Reading, len(which))
	for k, i := range which {
		out[k] = all[i]
	}
	return out
}

// limits holds every subject of the link against every limit that binds it.
func (d *docket) limits() {
	subjects := d.subjects()
	d.out.Findings = make([]Finding, 0, len(subjects)*len(d.sets)+4)
	for i := range subjects {
		for _, s := range d.sets {
			d.hold(&subjects[i], s)
		}
	}
	d.unlimited(subjects)
}

// subjects lists what there is to judge: every used reading, the two-way
// averages, and the length, measured or as scheduled.
func (d *docket) subjects() []subject {
	rs := d.out.Readings
	out := make([]subject, 0, len(rs)*3/2+1)
	length := false
	for i := range rs {
		r := &rs[i]
		s := subject{r.Quantity, r.WavelengthNM, r.Direction, r.Event, r.Value, nil, rs[i : i+1 : i+1]}
		switch r.Quantity {
		case record.InsertionLoss, record.SpliceLoss:
			s.u = d.uncertainty(r)
		case record.Length:
			length = true
		}
		// One way through a splice is no more than an apparent loss, and may be
		// an apparent gain: the average of both ways is judged, unless the job
		// is content with one.
		if r.Quantity != record.SpliceLoss || r.Direction.From() == "" || d.oneWay() && !d.hasBothWays(i) {
			out = append(out, s)
		}
		if average, ok := twoWay(rs, i); ok {
			s.value, s.direction, s.readings = average, record.TwoWay, rs[i-1:i+1:i+1]
			s.u = larger(s.u, d.uncertainty(&rs[i-1]))
			if r.Quantity == record.InsertionLoss {
				s.quantity = record.TwoWayAverage
			}
			out = append(out, s)
		}
	}
	if !length {
		out = append(out, subject{quantity: record.Length, value: d.link.Length})
	}
	return out
}

// hasBothWays reports whether reading i has its counterpart from the other end.
func (d *docket) hasBothWays(i int) bool {
	_, ok := twoWay(d.out.Readings, i)
	if !ok && i+1 < len(d.out.Readings) {
		_, ok = twoWay(d.out.Readings, i+1)
		ok = ok && d.out.Readings[i].Direction == record.AB
	}
	return ok
}

// oneWay reports whether the link needs no more than one direction.
func (d *docket) oneWay() bool {
	return d.policy.Require.Directions == "either" || d.link.Exempt != ""
}

// twoWay returns the average of both ways where reading i is B-A and the one
// before it is its A-B; sifted readings stand in that order.
func twoWay(rs []record.Reading, i int) (quantity.Decimal, bool) {
	if i == 0 || rs[i].Direction != record.BA || rs[i].Quantity != record.InsertionLoss && rs[i].Quantity != record.SpliceLoss {
		return quantity.Decimal{}, false
	}
	p, r := &rs[i-1], &rs[i]
	if p.Direction != record.AB || p.Quantity != r.Quantity || p.WavelengthNM != r.WavelengthNM || p.Event != r.Event {
		return quantity.Decimal{}, false
	}
	return p.Value.Add(r.Value).Half(), true
}

func larger(x, y *quantity.Decimal) *quantity.Decimal {
	if x == nil || y != nil && x.Less(*y) {
		return y
	}
	return x
}

// hold judges a subject by one set.
func (d *docket) hold(s *subject, by bound) {
	own := false // the set has a limit of its own for two-way averages
	for i := range by.Limits {
		own = own || by.Limits[i].Quantity == record.TwoWayAverage
	}
	for i := range by.Limits {
		l := &by.Limits[i]
		value := s.value
		switch {
		case l.Quantity == s.quantity:
		case l.Quantity == record.InsertionLoss && s.quantity == record.TwoWayAverage && !own && !by.application:
			// Without a limit of its own the average is held against that of
			// one way, which it meets wherever both ways do.
		case l.Quantity == record.Reflectance && s.quantity == record.ReturnLoss,
			l.Quantity == record.ReturnLoss && s.quantity == record.Reflectance:
			value = value.Neg() // one is the other with its sign turned
		default:
			continue
		}
		w := d.work(l, s.wavelength, endOf(l.Quantity, s.direction))
		if w.working == nil {
			continue
		}
		f := Finding{
			Kind: KindLimit, Code: code(l.Quantity), Quantity: l.Quantity, WavelengthNM: s.wavelength, Direction: s.direction,
			End: endOf(l.Quantity, s.direction), Event: s.event, Measured: &value, Unit: unitOf(l.Quantity),
			Uncertainty: s.u, Working: w.working, Readings: s.readings,
		}
		if s.quantity == record.TwoWayAverage {
			f.Quantity, f.Code = s.quantity, code(s.quantity)
		}
		d.decide(&f)
		if f.Verdict == Fail {
			d.advise(&f, l)
		}
		d.out.Findings = append(d.out.Findings, f)
	}
}

// endOf is the end whose face is judged: that which the light entered.
func endOf(q record.Quantity, dir record.Direction) string {
	if q == record.Reflectance || q == record.ReturnLoss {
		return dir.From()
	}
	return ""
}

func unitOf(q record.Quantity) quantity.Unit {
	if q == record.Length {
		return quantity.Metre
	}
	return quantity.DB
}

// code turns a quantity's name into a finding's code.
func code(q record.Quantity) string { return strings.ReplaceAll(string(q), "_", "-") }

// work returns the limit as worked out for the link, once for each wavelength
// and end.
func (d *docket) work(l *limits.Limit, wavelength int, end string) *work {
	for i := range d.works {
		if w := &d.works[i]; w.limit == l && w.wavelength == wavelength && w.end == end {
			return w
		}
	}
	at := d.at
	at.WavelengthNM = wavelength
	switch end {
	case "A":
		at.Connector, at.Polish = d.link.EndA.Connector, d.link.EndA.Polish
	case "B":
		at.Connector, at.Polish = d.link.EndB.Connector, d.link.EndB.Polish
	}
	if l.Set.CountAbove != nil {
		at.Reflections = d.reflections(*l.Set.CountAbove)
	}
	w := work{limit: l, wavelength: wavelength, end: end}
	if l.Where.Fits(&at) {
		w.working, w.missing = d.workOut(l, &at)
	}
	d.works = append(d.works, w)
	return &d.works[len(d.works)-1]
}

// reflections counts the connections of a link that may reflect more than a
// level: all of them, but for ends that measured no more than it.
func (d *docket) reflections(above quantity.Decimal) int {
	n := d.link.MatedPairs
	for _, from := range []record.Direction{record.AB, record.BA} {
		seen, strong := false, false
		for i := range d.out.Readings {
			r := &d.out.Readings[i]
			value := r.Value
			switch {
			case r.Direction != from:
				continue
			case r.Quantity == record.ReturnLoss:
				value = value.Neg()
			case r.Quantity != record.Reflectance:
				continue
			}
			seen, strong = true, strong || above.Less(value)
		}
		if seen && !strong {
			n--
		}
	}
	return max(n, 0)
}

func (d *docket) workOut(l *limits.Limit, at *limits.Situation) (*Working, string) {
	set := l.Set
	w := &Working{
		SetID: set.ID, LimitID: l.ID, Standard: set.Standard, Edition: set.Edition, SHA256: set.SHA256, Bound: l.Bound(),
		PairsCounted: at.Inner() + at.Ends(), PairsPresent: at.MatedPairs, AllSplices: at.Splices + at.SplicedEnds,
	}
	terms := l.AtMost
	if terms == nil {
		terms = l.AtLeast
	} else if l.AtLeast != nil {
		sum, missing := set.Add(l.AtLeast, at)
		if missing != "" {
			return nil, missing
		}
		d.note(set, sum)
		w.Lower = &sum.Total
	}
	sum, missing := set.Add(terms, at)
	if missing != "" {
		return nil, missing
	}
	d.note(set, sum)
	w.Limit = sum.Total
	w.Terms = make([]Term, len(sum.Addends))
	for i, a := range sum.Addends {
		v := a.Value
		w.Terms[i] = Term{
			Label: v.Group, Rate: v.Number, RateUnit: v.Unit, Amount: a.Amount, AmountUnit: a.AmountUnit, Product: a.Product,
			Clause: v.Clause, Provenance: string(v.Provenance), Low: v.Low, Source: v.Source,
		}
	}
	return w, ""
}

// note remembers which values were used.
func (d *docket) note(set *limits.Set, sum limits.Sum) {
	used := d.used[set]
	if used == nil {
		return // an application that is only tried
	}
	for _, a := range sum.Addends {
		used[a.Value] = true
	}
}

// unlimited asks about losses that a set, or every set, has no figure for.
func (d *docket) unlimited(subjects []subject) {
	required := d.policy.Require.Wavelengths[d.link.Mode]
	asked := map[int]bool{}
	for i := range subjects {
		s := &subjects[i]
		if s.quantity != record.InsertionLoss || asked[s.wavelength] {
			continue
		}
		asked[s.wavelength] = true
		judged := false
		var gaps []string
		for j := range d.works {
			w := &d.works[j]
			if w.limit.Quantity != record.InsertionLoss && w.limit.Quantity != record.TwoWayAverage || w.wavelength != s.wavelength {
				continue
			}
			if w.working != nil {
				judged = true
			} else if w.missing != "" {
				gaps = append(gaps, fmt.Sprintf("%s gives no figure of %s for %s at %d nm", w.limit.Set.ID, strings.ReplaceAll(w.missing, "_", " "), d.link.Fibre, s.wavelength))
			}
		}
		f := Finding{Kind: KindRequired, Code: "no-limit", Quantity: s.quantity, WavelengthNM: s.wavelength, Probability: -1}
		switch {
		case !judged && slices.Contains(required, s.wavelength):
			f.Verdict = Incomplete
			if len(gaps) == 0 {
				gaps = []string{fmt.Sprintf("no limit set of this job covers %s at %d nm", d.link.Fibre, s.wavelength)}
			}
			f.Question = capital(strings.Join(gaps, "; ")) + ": which limit binds this loss?"
			f.Advice = []string{"Read the notes of the set (spanseal limits show); name the fibre as it does, or add the owner's own figures in a file that extends it."}
		case len(gaps) > 0:
			f.Question = capital(strings.Join(gaps, "; ")) + ": it was not judged by that set. Is that as agreed?"
		default:
			continue
		}
		d.out.Findings = append(d.out.Findings, f)
	}
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
