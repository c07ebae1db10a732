package retest

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// Compare holds the new measurement of the link against the certified one.
func Compare(c *Certified, now Side) *Comparison {
	out := &Comparison{
		Format: Format, Certificate: c.Certificate, Revision: c.Revision, Issued: c.Issued, Verdict: c.Verdict,
		Job: c.Job.Number, Link: c.Link, Tolerance: c.Job.Policy.RetestChange, Then: c.Side(), Now: now,
	}
	then, fresh := measured(&out.Then), measured(&out.Now)
	least := judge.PlacesOf(slices.DeleteFunc(slices.Clone(c.Findings), func(f judge.Finding) bool { return f.Kind != judge.KindLimit || !ofLink(f.Quantity) }))
	for _, k := range keysOf(then, fresh) {
		r := Row{Quantity: k.quantity, WavelengthNM: k.wavelength, Direction: k.direction, Event: k.event, Unit: k.quantity.Unit()}
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
		default:
			if conditions := differences(out.Then.MethodOf(before.of[0]), out.Now.MethodOf(after.of[0])); isLoss(k.quantity) && len(conditions) > 0 {
				r.NotCompared = statement.New("retest.measured-otherwise", conditions)
				break
			}
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

// differences are why losses that were measured by two methods are not comparable at all.
func differences(then, now record.Method) (list statement.List) {
	differ := func(what, group, was, is string) {
		if was != is {
			list = append(list, statement.New("retest.conditions."+what, statement.Word{Group: group, Code: cmp.Or(was, unknown)}, statement.Word{Group: group, Code: cmp.Or(is, unknown)}))
		}
	}
	differ("reference", "reference", string(then.Reference), string(now.Reference))
	differ("cords", "cords", string(then.TestCords), string(now.TestCords))
	return list
}

// compare fills in what the change is and whether measurement explains it.
func (r *Row) compare(then, now measurement, tolerance *quantity.Decimal) {
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
		l := OriginalLimit{Set: w.SetID, Standard: w.Standard, Edition: w.Edition, SHA256: w.SHA256, Bound: w.Bound, Limit: w.Limit, Lower: w.Lower}
		l.Margin = l.margin(*r.Now)
		l.Within, l.Met = l.Margin.Sign() >= 0, l.margin(*r.Then).Sign() >= 0
		r.Limits = append(r.Limits, l)
	}
}
