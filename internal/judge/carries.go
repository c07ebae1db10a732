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

// trial is an application worked out for links of one kind.
type trial struct {
	set *limits.Set
	// unmet says what stands in the way before any reading is looked at, or "".
	unmet string
	rows  []trialRow
}

// trialRow is one bound of a trial; nil ends are open.
type trialRow struct {
	quantity   record.Quantity
	wavelength int
	low, high  *quantity.Decimal
}

// trialKey is all that a trial depends on, so that it is worked out once for
// the many links that are alike.
type trialKey struct {
	fibre       string
	mode        record.Mode
	pairs       int
	length      int // between which lengths that some application tells apart
	wavelengths string
}

// extreme are the readings of a link that decide: the least and the most of a
// quantity at a wavelength.
type extreme struct {
	quantity    record.Quantity
	wavelength  int
	least, most quantity.Decimal
}

// trials are all applications worked out for links of one kind, and the lists
// of those carried that were made so far. Links that carry the same share one.
type trials struct {
	all   []trial
	lists map[string][]Carries // by the bytes of which trials are within
}

// carries says of every application that the link must carry whether it does,
// and lists the others that it would.
func (d *docket) carries() {
	extremes := d.extremes()
	ts := d.trials(extremes)
	within := make([]byte, len(ts.all), 256)
	required := false
	for i := range ts.all {
		t := &ts.all[i]
		switch {
		case slices.ContainsFunc(d.sets, func(s bound) bool { return s.Set == t.set }):
			required = true
		case t.unmet == "" && t.within(extremes):
			within[i] = 1
		}
	}
	list, ok := ts.lists[string(within)]
	if !ok {
		for i, yes := range within {
			if yes != 0 {
				set := ts.all[i].set
				list = append(list, Carries{ID: set.ID, Title: set.Title, Within: true})
			}
		}
		ts.lists[string(within)] = list
	}
	if !required {
		d.out.Carries = list
		return
	}
	d.out.Carries = append(d.mustCarry(ts.all), list...)
}

// mustCarry judges the applications that the link must carry.
func (d *docket) mustCarry(all []trial) (out []Carries) {
	for _, s := range d.sets {
		i := slices.IndexFunc(all, func(t trial) bool { return t.set == s.Set })
		if i < 0 {
			continue
		}
		t := &all[i]
		c := Carries{ID: t.set.ID, Title: t.set.Title, Required: true, Within: t.unmet == ""}
		if t.unmet != "" {
			f := Finding{Kind: KindRequired, Code: "application", Verdict: Incomplete, Question: t.unmet, Probability: -1}
			d.out.Findings = append(d.out.Findings, f)
			c.Findings = append(c.Findings, f)
		}
		for i := range d.out.Findings {
			if f := &d.out.Findings[i]; f.Working != nil && f.Working.SetID == t.set.ID {
				c.Findings = append(c.Findings, *f)
				c.Within = c.Within && f.Verdict.Certifiable()
			}
		}
		out = append(out, c)
	}
	return out
}

func (d *docket) extremes() []extreme {
	out := make([]extreme, 0, 8)
	add := func(q record.Quantity, nm int, v quantity.Decimal) {
		for i := range out {
			if e := &out[i]; e.quantity == q && e.wavelength == nm {
				if v.Less(e.least) {
					e.least = v
				}
				if e.most.Less(v) {
					e.most = v
				}
				return
			}
		}
		out = append(out, extreme{q, nm, v, v})
	}
	for i := range d.out.Readings {
		r := &d.out.Readings[i]
		switch r.Quantity {
		case record.ReturnLoss:
			add(record.Reflectance, r.WavelengthNM, r.Value.Neg())
		case record.InsertionLoss, record.Reflectance, record.OpticalReturnLoss:
			add(r.Quantity, r.WavelengthNM, r.Value)
		case record.Length:
			add(r.Quantity, 0, r.Value)
		}
	}
	if !slices.ContainsFunc(out, func(e extreme) bool { return e.quantity == record.Length }) {
		add(record.Length, 0, d.link.Length)
	}
	return out
}

// trials returns the applications for links like this one.
func (d *docket) trials(extremes []extreme) *trials {
	key := trialKey{fibre: d.link.Fibre, mode: d.link.Mode, pairs: d.link.MatedPairs, length: d.lengthClass()}
	var nms []int
	for _, e := range extremes {
		if e.quantity == record.InsertionLoss {
			nms = append(nms, e.wavelength)
		}
	}
	slices.Sort(nms)
	key.wavelengths = fmt.Sprint(nms)
	known := d.tried[key]
	if known == nil {
		at := limits.Situation{Fibre: d.link.Fibre, Mode: d.link.Mode, LengthM: d.link.Length, MatedPairs: d.link.MatedPairs, Reflections: d.link.MatedPairs}
		known = &trials{lists: map[string][]Carries{}}
		for _, set := range d.applications {
			known.all = append(known.all, d.try(set, at, nms))
		}
		d.tried[key] = known
	}
	return known
}

// try works out an application for a kind of link measured at some wavelengths.
func (d *docket) try(set *limits.Set, at limits.Situation, nms []int) trial {
	t := trial{set: set}
	losses := false
	for i := range set.Limits {
		l := &set.Limits[i]
		anyWavelength := l.Where
		anyWavelength.Wavelengths = nil
		if !anyWavelength.Fits(&at) {
			continue
		}
		wavelengths := nms
		if l.Quantity == record.Length {
			wavelengths = []int{0}
		}
		fits := false
		for _, nm := range wavelengths {
			at.WavelengthNM = nm
			if !l.Where.Fits(&at) {
				continue
			}
			row := trialRow{quantity: l.Quantity, wavelength: nm}
			if l.AtLeast != nil {
				if sum, missing := set.Add(l.AtLeast, &at); missing == "" {
					row.low = &sum.Total
				}
			}
			if l.AtMost != nil {
				if sum, missing := set.Add(l.AtMost, &at); missing == "" {
					row.high = &sum.Total
				}
			}
			if row.low != nil || row.high != nil {
				fits = true
				t.rows = append(t.rows, row)
			}
		}
		if l.Quantity == record.InsertionLoss {
			losses = true
			if !fits && t.unmet == "" {
				t.unmet = fmt.Sprintf("%s is judged by the loss at %s nm: when will it be measured?", set.Title, nanometres(l.Where.Wavelengths))
			}
		}
	}
	if !losses {
		t.unmet = fmt.Sprintf("%s has no figure for %s: is it to run on this link?", set.Title, d.link.Fibre)
	}
	return t
}

// applications lists them by standard and speed, as a person would.
func applications(book *limits.Book) []*limits.Set {
	var out []*limits.Set
	for _, s := range book.All() {
		if s.Kind == limits.Application {
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(x, y *limits.Set) int {
		return cmp.Or(strings.Compare(x.Standard, y.Standard), cmp.Compare(speed(x.Title), speed(y.Title)), strings.Compare(x.Title, y.Title))
	})
	return out
}

// speed reads the rate that a title begins with, in Mbit/s: 100 of 100BASE-FX,
// 25000 of 25GBASE-LR, 16000 of 16GFC. It is 0 where there is none.
func speed(title string) int {
	n, i := 0, 0
	for i < len(title) && title[i] >= '0' && title[i] <= '9' && i < 6 {
		n = 10*n + int(title[i]-'0')
		i++
	}
	if i < len(title) && title[i] == 'G' {
		n *= 1000
	}
	return n
}

// lengthEnds lists the length ranges by which applications tell links apart.
func lengthEnds(sets []*limits.Set) []*limits.Span {
	var out []*limits.Span
	for _, set := range sets {
		for i := range set.Limits {
			if s := set.Limits[i].Where.Length; s != nil {
				out = append(out, s)
			}
		}
		for _, g := range set.Groups {
			for _, v := range g.Rows {
				if v.Where.Length != nil {
					out = append(out, v.Where.Length)
				}
			}
		}
	}
	return out
}

// lengthClass counts the ends of length ranges that the link lies beyond. Links
// of one class fit the same rows.
func (d *docket) lengthClass() int {
	n := 0
	for _, s := range d.lengthEnds {
		if s.Min != nil && !d.link.Length.Less(*s.Min) {
			n++
		}
		if s.Max != nil && s.Max.Less(d.link.Length) {
			n++
		}
	}
	return n
}

func nanometres(ranges []limits.Range) string {
	out := make([]string, len(ranges))
	for i, r := range ranges {
		out[i] = fmt.Sprint(r.Min)
		if r.Max > r.Min {
			out[i] += fmt.Sprintf(" to %d", r.Max)
		}
	}
	return strings.Join(out, " or ")
}

func (t *trial) within(extremes []extreme) bool {
	for i := range t.rows {
		row := &t.rows[i]
		for k := range extremes {
			e := &extremes[k]
			if e.quantity == row.quantity && e.wavelength == row.wavelength &&
				(row.low != nil && e.least.Less(*row.low) || row.high != nil && row.high.Less(e.most)) {
				return false
			}
		}
	}
	return true
}
