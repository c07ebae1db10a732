package retest

import (
	"cmp"
	"math"
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// Format names the form of a comparison for programs.
const Format = "spanseal-comparison/2"

// Outcome is the result of a comparison, and no more than its numbers show.
type Outcome string

const (
	NoChange    Outcome = "no change shown" // all changes are explained by measurement
	Changed     Outcome = "changed"         // one is larger, or beyond the project's tolerance
	OverLimit   Outcome = "over the limit"  // one new reading is out of a limit of then
	Undecided   Outcome = "not decided"     // an uncertainty is missing
	NotCompared Outcome = "not compared"    // nothing is comparable
)

// Comparison is everything found out about one link.
type Comparison struct {
	Format      string        `json:"format"`
	Certificate string        `json:"certificate"`
	Revision    int           `json:"revision"`
	Issued      record.Date   `json:"issued"`
	Verdict     judge.Verdict `json:"verdict"` // then; with Fail and Incomplete it is a nonconformance sheet
	Job         string        `json:"job"`
	Link        record.Link   `json:"link"`
	Outcome     Outcome       `json:"outcome"`
	// Conclusion is what the numbers show, Questions are about the new measurement
	// and never accusations, Advice is what the pattern suggests.
	Conclusion []statement.Statement `json:"conclusion"`
	Questions  []statement.Statement `json:"questions,omitempty"`
	Advice     []statement.Statement `json:"advice,omitempty"`
	Rows       []Row                 `json:"rows"`
	Tolerance  *quantity.Decimal     `json:"tolerance_db,omitempty"` // the project's own
	Then       Side                  `json:"then"`
	Now        Side                  `json:"now"`
}

// Row is one quantity at one wavelength in one direction.
type Row struct {
	Quantity     record.Quantity  `json:"quantity"`
	WavelengthNM int              `json:"wavelength_nm,omitempty"`
	Direction    record.Direction `json:"direction,omitempty"`
	Event        string           `json:"event,omitempty"`
	Unit         quantity.Unit    `json:"unit"`

	Then *quantity.Decimal `json:"then,omitempty"`
	Now  *quantity.Decimal `json:"now,omitempty"`
	// NotCompared says why the two are not held against each other, or is zero;
	// what follows is set only where it is.
	NotCompared statement.Statement `json:"not_compared,omitzero"`

	Change          *quantity.Decimal `json:"change,omitempty"` // now − then
	UncertaintyThen *quantity.Decimal `json:"uncertainty_then,omitempty"`
	UncertaintyNow  *quantity.Decimal `json:"uncertainty_now,omitempty"`
	// NormalisedError is |change| / √(U1² + U2²), and Explained is what it is
	// divided by, dB; nil without both uncertainties. Larger: it is above 1.
	NormalisedError *quantity.Decimal `json:"normalised_error,omitempty"`
	Explained       *quantity.Decimal `json:"explained,omitempty"`
	Larger          bool              `json:"larger_than_measurement_explains"`
	BeyondTolerance bool              `json:"beyond_tolerance,omitempty"`
	Limits          []Limit           `json:"limits,omitempty"`

	places, uncertainty int // digits, as settled
}

// Limit is a limit of then, and how both readings stand to it.
type Limit struct {
	Set      string            `json:"set"`
	Standard string            `json:"standard"`
	Edition  string            `json:"edition"`
	SHA256   string            `json:"sha256"` // of the set's file then
	Bound    string            `json:"bound"`
	Limit    quantity.Decimal  `json:"limit"`
	Lower    *quantity.Decimal `json:"lower,omitempty"` // where Bound is "between"
	Margin   quantity.Decimal  `json:"margin"`          // of the new reading; negative: out
	Within   bool              `json:"within"`
	Met      bool              `json:"met_then"` // whether the earlier reading was within
}

// margin of a value: how far it is within the limit, negative where it is out.
func (l *Limit) margin(value quantity.Decimal) quantity.Decimal {
	if l.Bound == "at_least" {
		return value.Sub(l.Limit)
	}
	m := l.Limit.Sub(value)
	if l.Lower != nil && value.Sub(*l.Lower).Less(m) {
		m = value.Sub(*l.Lower)
	}
	return m
}

// Compare holds the new measurement of the link against the certified one.
func Compare(c *Certified, now Side) *Comparison {
	out := &Comparison{
		Format: Format, Certificate: c.Certificate, Revision: c.Revision, Issued: c.Issued, Verdict: c.Verdict,
		Job: c.Job.Number, Link: c.Link, Tolerance: c.Job.Policy.RetestChange, Then: c.Side(), Now: now,
	}
	conditions := differences(&out.Then, &out.Now)
	then, fresh := measured(&out.Then), measured(&out.Now)
	least := judge.PlacesOf(slices.DeleteFunc(slices.Clone(c.Findings), func(f judge.Finding) bool { return f.Kind != judge.KindLimit || !ofLink(f.Quantity) }))
	for _, k := range keysOf(then, fresh) {
		r := Row{Quantity: k.quantity, WavelengthNM: k.wavelength, Direction: k.direction, Event: k.event, Unit: unitOf(k.quantity)}
		before, was := then[k]
		after, is := fresh[k]
		if was {
			r.Then = &before.value
		}
		if is {
			r.Now = &after.value
		}
		switch {
		case !is:
			r.NotCompared = statement.New("retest.not-again")
		case !was:
			r.NotCompared = statement.New("retest.not-then")
		case shared(before, after) == len(after.of):
			r.NotCompared = statement.New("retest.same-reading")
		case shared(before, after) > 0:
			r.NotCompared = statement.New("retest.same-half")
		case isLoss(k.quantity) && len(conditions) > 0:
			r.NotCompared = statement.New("retest.measured-otherwise", conditions)
		default:
			r.compare(before, after, out.Tolerance)
			r.hold(c.Findings)
		}
		out.Rows = append(out.Rows, r)
	}
	out.settle(c.Findings, least)
	out.conclude()
	out.Questions = out.questions()
	return out
}

// unknown is the word of the vocabulary for a reference method, or a grade of
// test cords, that nobody states.
const unknown = "unknown"

// differences are why losses of the two sides are not comparable at all.
func differences(then, now *Side) (list statement.List) {
	differ := func(what, group, was, is string) {
		if was != is {
			list = append(list, statement.New("retest.conditions."+what, statement.Word{Group: group, Code: cmp.Or(was, unknown)}, statement.Word{Group: group, Code: cmp.Or(is, unknown)}))
		}
	}
	differ("reference", "reference", string(then.Reference), string(now.Reference))
	differ("cords", "cords", string(then.TestCords), string(now.TestCords))
	return list
}

// otherwise says in what the link is described otherwise now.
func otherwise(then, now *record.Link) (list statement.List) {
	if then == nil || now == nil {
		return nil
	}
	differ := func(what string, differs bool, was, is statement.Value) {
		if differs {
			list = append(list, statement.New("retest.described."+what, was, is))
		}
	}
	differ("fibre", then.Fibre != now.Fibre, statement.Name(cmp.Or(then.Fibre, "–")), statement.Name(cmp.Or(now.Fibre, "–")))
	differ("length", !then.Length.Equal(now.Length), statement.Short(then.Length), statement.Short(now.Length))
	differ("mated-pairs", then.MatedPairs != now.MatedPairs, statement.Count(then.MatedPairs), statement.Count(now.MatedPairs))
	differ("splices", then.AllSplices() != now.AllSplices(), statement.Count(then.AllSplices()), statement.Count(now.AllSplices()))
	return list
}

func isLoss(q record.Quantity) bool {
	return q == record.InsertionLoss || q == record.TwoWayAverage || q == record.SpliceLoss
}

// ofLink reports whether a quantity is a loss of the whole link.
func ofLink(q record.Quantity) bool { return q == record.InsertionLoss || q == record.TwoWayAverage }

func unitOf(q record.Quantity) quantity.Unit {
	if q == record.Length {
		return quantity.Metre
	}
	return quantity.DB
}

// key is what two readings must have in common to be compared.
type key struct {
	quantity   record.Quantity
	wavelength int
	direction  record.Direction
	event      string
}

func keyOf(r *record.Reading) key { return key{r.Quantity, r.WavelengthNM, r.Direction, r.Event} }

// result is one value of a side, its uncertainty, and the readings behind it.
type result struct {
	value quantity.Decimal
	u     *quantity.Decimal
	of    []*record.Reading // two for an average
}

// measured are the results of a side, two-way averages among them. An average
// has the larger uncertainty of its two readings, as package judge has it.
func measured(s *Side) map[key]result {
	all := map[key]result{}
	for i := range s.Readings {
		r := &s.Readings[i]
		all[keyOf(r)] = result{r.Value, s.uncertainty(r), []*record.Reading{r}}
	}
	for k, one := range all {
		k.direction = opposite(k.direction)
		other, both := all[k]
		if k.quantity != record.InsertionLoss || k.direction != record.BA || !both {
			continue
		}
		average := result{value: one.value.Add(other.value).Half(), of: slices.Concat(one.of, other.of)}
		if one.u != nil && other.u != nil {
			if average.u = one.u; one.u.Less(*other.u) {
				average.u = other.u
			}
		}
		all[key{record.TwoWayAverage, k.wavelength, record.TwoWay, k.event}] = average
	}
	return all
}

func opposite(d record.Direction) record.Direction {
	switch d {
	case record.AB:
		return record.BA
	case record.BA:
		return record.AB
	}
	return d
}

// keysOf are the keys of both sides in the order of a certificate.
func keysOf(sides ...map[key]result) []key {
	var keys []key
	for _, s := range sides {
		for k := range s {
			if !slices.Contains(keys, k) {
				keys = append(keys, k)
			}
		}
	}
	quantities := []record.Quantity{record.InsertionLoss, record.TwoWayAverage, record.SpliceLoss, record.Reflectance, record.ReturnLoss, record.OpticalReturnLoss, record.Length}
	ways := []record.Direction{record.AB, record.BA, record.TwoWay, record.NoWay}
	rank := func(k key) int { return max(slices.Index(quantities, k.quantity), 1) } // a mean stands with its losses
	slices.SortFunc(keys, func(a, b key) int {
		return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(a.wavelength, b.wavelength),
			cmp.Compare(slices.Index(ways, a.direction), slices.Index(ways, b.direction)), strings.Compare(a.event, b.event))
	})
	return keys
}

// compare fills in what the change is and whether measurement explains it.
func (r *Row) compare(then, now result, tolerance *quantity.Decimal) {
	change := now.value.Sub(then.value)
	r.Change, r.UncertaintyThen, r.UncertaintyNow = &change, then.u, now.u
	r.BeyondTolerance = tolerance != nil && isLoss(r.Quantity) && tolerance.Less(change.Abs())
	if then.u == nil || now.u == nil {
		return
	}
	squares := then.u.Mul(*then.u).Add(now.u.Mul(*now.u))
	r.Larger = squares.Less(change.Mul(change))
	explained := root(squares)
	r.Explained = &explained
	if squares.Sign() > 0 {
		r.NormalisedError = ratio(change, squares)
	}
}

// printed is how many digits of a root or a ratio are kept. They are for print
// and judge nothing.
const printed = 4

func float(d quantity.Decimal) float64 {
	v, err := strconv.ParseFloat(d.String(), 64)
	if err != nil {
		panic(err) // a decimal always prints as a number
	}
	return v
}

func decimal(v float64) quantity.Decimal {
	return quantity.Must(strconv.FormatFloat(v, 'f', printed, 64))
}

func root(squares quantity.Decimal) quantity.Decimal { return decimal(math.Sqrt(float(squares))) }

func ratio(change, squares quantity.Decimal) *quantity.Decimal {
	d := decimal(math.Abs(float(change)) / math.Sqrt(float(squares)))
	return &d
}

// hold holds both readings against every limit that the record names for the
// same quantity, wavelength and direction.
func (r *Row) hold(findings []judge.Finding) {
	for _, f := range findings {
		if f.Working == nil || !r.judgedBy(&f) {
			continue
		}
		w := f.Working
		l := Limit{Set: w.SetID, Standard: w.Standard, Edition: w.Edition, SHA256: w.SHA256, Bound: w.Bound, Limit: w.Limit, Lower: w.Lower}
		l.Margin = l.margin(*r.Now)
		l.Within, l.Met = l.Margin.Sign() >= 0, l.margin(*r.Then).Sign() >= 0
		r.Limits = append(r.Limits, l)
	}
}

// judgedBy reports whether a finding held the earlier reading against a limit.
func (r *Row) judgedBy(f *judge.Finding) bool {
	return f.Kind == judge.KindLimit && f.Quantity == r.Quantity && f.WavelengthNM == r.WavelengthNM && f.Direction == r.Direction && f.Event == r.Event
}

// Within reports whether the new reading keeps every limit of then.
func (r *Row) Within() bool {
	return !slices.ContainsFunc(r.Limits, func(l Limit) bool { return !l.Within })
}

// Tightest is the limit with the smallest margin, or nil.
func (r *Row) Tightest() *Limit {
	var t *Limit
	for i := range r.Limits {
		if t == nil || r.Limits[i].Margin.Less(t.Margin) {
			t = &r.Limits[i]
		}
	}
	return t
}

// Subject is what a row is about.
func (r *Row) Subject() statement.Subject {
	return statement.Subject{Quantity: r.Quantity, NM: r.WavelengthNM, Way: r.Direction, Event: r.Event}
}

// Told returns the comparison with the text of every statement filled in, as it
// is written for programs.
func (c *Comparison) Told(tell func(statement.Statement) statement.Statement) *Comparison {
	out := *c
	for _, list := range []*[]statement.Statement{&out.Conclusion, &out.Questions, &out.Advice} {
		*list = slices.Clone(*list)
		for i, s := range *list {
			(*list)[i] = tell(s)
		}
	}
	out.Rows = slices.Clone(c.Rows)
	for i := range out.Rows {
		if r := &out.Rows[i]; !r.NotCompared.IsZero() {
			r.NotCompared = tell(r.NotCompared)
		}
	}
	return &out
}
