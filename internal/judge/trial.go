package judge

import (
	"cmp"
	"slices"
	"strconv"

	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// trial is an application worked out for a link, or for all that are alike.
type trial struct {
	set *limits.Set
	// unmet says what stands in the way before any reading is looked at.
	unmet statement.Statement
	rows  []trialRow
}

// trialRow is what a trial allows at one of the link's slots; nil ends are open.
type trialRow struct {
	at        int
	low, high *quantity.Decimal
}

// slot is where readings of a link are judged alike: a quantity (reflectance
// for a return loss too), a wavelength, and the end whose face it is about.
type slot struct {
	quantity   record.Quantity
	wavelength int
	end        string
	way        way
}

// extreme is the readings of a slot that decide: the least and the most of
// them, less and more by the guard band where one was agreed.
type extreme struct {
	slot
	least, most quantity.Decimal
	unsure      bool // a guard band was agreed, and a reading has no uncertainty
}

// needs is what some application tells links apart by.
type needs struct {
	lengths []*limits.Span       // ranges of length
	length  map[*limits.Set]bool // applications that count the length
	splices bool                 // numbers of splices
	ends    bool                 // connectors and polishes
	levels  []quantity.Decimal   // reflectances from which on reflections count
}

// trialKey is all that trials depend on, so that they are worked out once for
// the many links that are alike; those that count the length are not kept.
type trialKey struct {
	limits.Situation // with the class of the length for the length
	ends             [2]record.End
	slots            string // with the counts of reflections
}

// mostTried is of how many kinds of link a worker remembers the trials.
const mostTried = 200

// trials returns the applications as worked out for the link at hand.
func (j *linkJudge) trials(extremes []extreme) []trial {
	key := j.trialKey(extremes)
	all, known := j.tried[key]
	if !known {
		for _, set := range j.applications {
			all = append(all, j.try(set, extremes))
		}
		remember(j.tried, key, all, mostTried)
	}
	if len(j.needs.length) > 0 {
		for i := range all { // those that are remembered are of the length of another link
			if set := all[i].set; j.needs.length[set] {
				all[i] = j.try(set, extremes)
			}
		}
	}
	return all
}

func (j *linkJudge) trialKey(extremes []extreme) trialKey {
	key := trialKey{Situation: j.at}
	key.LengthM = quantity.Int(j.lengthClass())
	if !j.needs.splices {
		key.Splices, key.SplicedEnds = 0, 0
	}
	if j.needs.ends {
		for i, e := range []*record.End{&j.link.EndA, &j.link.EndB} {
			key.ends[i] = record.End{Connector: e.Connector, Polish: e.Polish}
		}
	}
	text := make([]byte, 0, 512)
	for i := range extremes {
		e := &extremes[i]
		text = append(append(append(text, e.quantity...), e.end...), ' ')
		text = append(strconv.AppendInt(text, int64(e.wavelength), 10), ' ')
		text = append(append(append(text, e.way.reference...), e.way.cords...), ' ')
	}
	for _, level := range j.needs.levels {
		text = append(strconv.AppendInt(text, int64(j.reflections(level)), 10), ' ')
	}
	key.slots = string(text)
	return key
}

// try works out an application for the link at hand, by the rules by which it
// is judged where it is required.
func (j *linkJudge) try(set *limits.Set, slots []extreme) trial {
	t := trial{set: set}
	known := false // a limit of loss is about such a link
	unmet := func(code string, args ...statement.Argument) {
		if t.unmet.IsZero() {
			t.unmet = statement.New(code, append([]statement.Argument{statement.Name(set.Title)}, args...)...)
		}
	}
	fibre := statement.Name(j.link.Fibre)
	for i := range set.Limits {
		l := &set.Limits[i]
		turned := l.Quantity == record.ReturnLoss // which slots have as reflectance
		fits, missing := false, ""
		for k := range slots {
			s := &slots[k]
			if s.quantity != l.Quantity && !(turned && s.quantity == record.Reflectance) {
				continue
			}
			at := j.situation(set, s.wavelength, s.end, s.way)
			if !l.Applies(&at) {
				continue
			}
			row, lacks := row(l, &at)
			if lacks != "" {
				missing = lacks
				continue
			}
			if row.at = k; turned {
				row.low, row.high = negative(row.high), negative(row.low)
			}
			fits = true
			t.rows = append(t.rows, row)
		}
		if l.Quantity != record.InsertionLoss && l.Quantity != record.TwoWayAverage {
			if missing != "" {
				value := statement.Word{Group: "value", Code: missing}
				if level := set.CountAbove; level != nil {
					unmet("application.no-figure-count", value, statement.Count(j.reflections(*level)), statement.Number{Decimal: *level})
				} else {
					unmet("application.no-figure", value)
				}
			}
			continue
		}
		anywhere := *l
		anywhere.Where.Wavelengths = nil
		if !slices.ContainsFunc(j.ways, func(w way) bool {
			at := j.situation(set, 0, "", w)
			return anywhere.Applies(&at)
		}) {
			continue
		}
		known = true
		switch {
		case fits:
		case missing != "":
			unmet("application.no-figure-fibre", statement.Word{Group: "value", Code: missing}, fibre)
		case l.Quantity == record.TwoWayAverage:
			if nm := nanometres(l.Where.Wavelengths); nm != nil {
				unmet("application.average", nm)
			} else {
				unmet("application.average-any")
			}
		default:
			if nm := nanometres(l.Where.Wavelengths); nm != nil {
				unmet("application.loss", nm)
			} else {
				unmet("application.loss-any")
			}
		}
	}
	if !known {
		t.unmet = statement.Statement{}
		unmet("application.fibre", fibre)
	}
	return t
}

// row works out both bounds of a limit, or returns the value that its set does
// not give.
func row(l *limits.Limit, at *limits.Situation) (r trialRow, missing string) {
	for _, side := range []struct {
		terms []limits.Term
		into  **quantity.Decimal
	}{{l.AtLeast, &r.low}, {l.AtMost, &r.high}} {
		if side.terms == nil {
			continue
		}
		sum, lacks := l.Set.Add(side.terms, at)
		missing = cmp.Or(missing, lacks)
		*side.into = &sum.Total
	}
	return r, missing
}

func negative(d *quantity.Decimal) *quantity.Decimal {
	if d == nil {
		return nil
	}
	n := d.Neg()
	return &n
}

// nanometres lists wavelengths, nil where any will do.
func nanometres(ranges []limits.Range) (out statement.Either) {
	for _, r := range ranges {
		out = append(out, statement.Span{From: r.Min, To: max(r.Min, r.Max)})
	}
	return out
}

// within reports whether every reading is within what the trial allows.
func (t *trial) within(extremes []extreme) bool {
	for i := range t.rows {
		row := &t.rows[i]
		e := &extremes[row.at]
		if e.unsure || row.low != nil && e.least.Less(*row.low) || row.high != nil && row.high.Less(e.most) {
			return false
		}
	}
	return t.unmet.IsZero()
}

// judgesLength reports whether a limit of length is among those of the trial.
func (t *trial) judgesLength(extremes []extreme) bool {
	return slices.ContainsFunc(t.rows, func(r trialRow) bool { return extremes[r.at].quantity == record.Length })
}

// needsOf gathers what applications tell links apart by.
func needsOf(sets []*limits.Set) needs {
	n := needs{length: map[*limits.Set]bool{}}
	where := func(s *limits.Selector) {
		if s.Length != nil {
			n.lengths = append(n.lengths, s.Length)
		}
		n.splices = n.splices || len(s.Splices) > 0
		n.ends = n.ends || len(s.Connector) > 0 || len(s.Polish) > 0
	}
	for _, set := range sets {
		for i := range set.Limits {
			l := &set.Limits[i]
			where(&l.Where)
			for _, t := range slices.Concat(l.AtMost, l.AtLeast) {
				switch t.Amount {
				case limits.LengthKm, limits.LengthM:
					n.length[set] = true
				case limits.AllSplices, limits.SpanSplices, limits.SplicedEnds:
					n.splices = true
				}
			}
		}
		for _, g := range set.Groups {
			for _, v := range g.Rows {
				where(&v.Where)
			}
		}
		if level := set.CountAbove; level != nil && !slices.ContainsFunc(n.levels, level.Equal) {
			n.levels = append(n.levels, *level)
		}
	}
	return n
}

// lengthClass counts the ends of length ranges that the link lies beyond. Links
// of one class fit the same rows.
func (j *linkJudge) lengthClass() int {
	n := 0
	for _, s := range j.needs.lengths {
		if s.Min != nil && !j.link.Length.Less(*s.Min) {
			n++
		}
		if s.Max != nil && s.Max.Less(j.link.Length) {
			n++
		}
	}
	return n
}
