package retest

import (
	"cmp"
	"fmt"
	"slices"

	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// conclude says in words what the numbers show, and what they do not.
func (c *Comparison) conclude() {
	var compared, larger, out, mended, beyond, undecided []*Row
	withheld, limits := 0, 0
	for i := range c.Rows {
		r := &c.Rows[i]
		if r.NotCompared != "" {
			withheld++
			continue
		}
		compared = append(compared, r)
		limits += len(r.Limits)
		if r.Larger {
			larger = append(larger, r)
		}
		switch missed := slices.ContainsFunc(r.Limits, func(l Limit) bool { return !l.Met }); {
		case !r.Within():
			out = append(out, r)
		case missed:
			mended = append(mended, r)
		}
		if r.BeyondTolerance {
			beyond = append(beyond, r)
		}
		if isLoss(r.Quantity) && r.Explained == nil {
			undecided = append(undecided, r)
		}
	}
	say := func(format string, args ...any) { c.Conclusion = append(c.Conclusion, fmt.Sprintf(format, args...)) }
	switch {
	case len(compared) == 0:
		c.Outcome = NotCompared
		say("Nothing was compared, for the reasons given with each reading. Neither a change nor its absence is shown.")
		return
	case len(out) > 0:
		c.Outcome = OverLimit
	case len(larger) > 0 || len(beyond) > 0:
		c.Outcome = Changed
	case len(undecided) > 0:
		c.Outcome = Undecided
	default:
		c.Outcome = NoChange
	}

	if r := largest(larger); r != nil {
		verb := "higher"
		if r.Change.Sign() < 0 {
			verb = "lower"
		}
		say("%s: %s %s now than then, %s against %s; the two measurements explain up to %s (normalised error %s).",
			capital(r), amount(r, r.Change.Abs()), verb, amount(r, *r.Now), amount(r, *r.Then), r.Explained.Fixed(r.UncertaintyPlaces())+" "+string(r.Unit), r.Error())
		if n := len(larger) - 1; n > 0 {
			say("%s larger than measurement explains.", plural(n, "further change is", "further changes are"))
		}
	} else if len(undecided) < len(compared) {
		say("No change is larger than the uncertainties of the two measurements explain. That does not show that nothing changed, only that these measurements cannot tell.")
	}
	if len(undecided) > 0 {
		say("Whether %s larger than measurement explains is not decided: an uncertainty is not known.", plural(len(undecided), "change of a loss is", "changes of a loss are"))
	}
	if c.Tolerance != nil {
		if r := largest(beyond); r != nil {
			say("The project's tolerance of %s dB for a change is exceeded: %s, by %s.", c.Tolerance.Short(), r.Subject(), amount(r, r.Change.Abs().Sub(*c.Tolerance)))
		} else {
			say("No change is beyond the project's tolerance of %s dB.", c.Tolerance.Short())
		}
	}
	as := "as certified"
	if !c.Verdict.Certifiable() {
		as = "as recorded on the nonconformance sheet"
	}
	stands := func(r *Row) string { // how a reading stands to its tightest limit
		t := r.Tightest()
		places := r.LimitPlaces(t)
		return fmt.Sprintf("%s %s, where %s %s %s allowed by %s (%s)", r.Now.Fixed(places), r.Unit, t.Limit.Fixed(places), r.Unit, boundWord(t), t.Standard, t.Edition)
	}
	if len(out) > 0 {
		r := tightest(out)
		not := "is not met any more"
		if !r.Tightest().Met {
			not = "is still not met"
		}
		say("The limit %s %s at %s: %s.", as, not, r.Subject(), stands(r))
	}
	if len(mended) > 0 {
		r := tightest(mended)
		say("The limit that was not met at %s is met now: %s.", r.Subject(), stands(r))
		if n := len(mended) - 1; n > 0 {
			say("%s a limit now that was not met then.", plural(n, "further reading meets", "further readings meet"))
		}
	}
	if len(out) == 0 && limits > 0 {
		say("Every reading that was compared is within its limit %s.", as)
	}
	if !c.Verdict.Certifiable() {
		say("This comparison certifies nothing: a certificate takes another issue of the job.")
	}
	if withheld > 0 {
		say("%s not compared, for the reasons given.", plural(withheld, "reading is", "readings are"))
	}
	if text := otherwise(c.Then.Link, c.Now.Link); text != "" {
		say("The link is described otherwise now (%s): its limit %s is for the link as it was.", text, as)
	}
	say("The comparison does not show when a change came about, nor what or who caused it.")
	c.Advice = c.advise(compared)
}

// tightest is the row with the smallest margin.
func tightest(rows []*Row) *Row {
	return slices.MinFunc(rows, func(a, b *Row) int { return a.Tightest().Margin.Cmp(b.Tightest().Margin) })
}

func boundWord(l *Limit) string {
	if l.Bound == "at_least" {
		return "or more is"
	}
	return "or less is"
}

// largest is the row with the largest normalised error, else the largest
// change; nil of none.
func largest(rows []*Row) *Row {
	if len(rows) == 0 {
		return nil
	}
	return slices.MaxFunc(rows, func(a, b *Row) int {
		if a.NormalisedError != nil && b.NormalisedError != nil {
			return a.NormalisedError.Cmp(*b.NormalisedError)
		}
		return a.Change.Abs().Cmp(b.Change.Abs())
	})
}

func capital(r *Row) string {
	what := r.Subject()
	if r.Quantity == record.InsertionLoss {
		what += ", loss"
	}
	return "At " + what
}

// Error prints the normalised error with as many digits as show on which side
// of 1 it lies, "" without one.
func (r *Row) Error() string {
	switch {
	case r.NormalisedError == nil && r.Larger: // of two certain values
		return "> 1"
	case r.NormalisedError == nil:
		return ""
	}
	one := quantity.Int(1)
	text := r.NormalisedError.Fixed(quantity.PlacesToTell(*r.NormalisedError, one))
	if r.Larger && !one.Less(quantity.Must(text)) { // nearer to 1 than any digit kept
		return "> 1"
	}
	return text
}

// settle finds how many digits a loss is printed with: as many as on the
// certificate, whose losses have at least so many, and more where otherwise the
// change, or the new margin, would not be the difference of what is printed.
func (r *Row) settle(findings []judge.Finding, least int) {
	var shown []judge.Finding
	differ := func(a, b, difference *quantity.Decimal) {
		if a.Sub(*b).Abs().Equal(difference.Abs()) { // not of a limit's other bound
			shown = append(shown, judge.Finding{Measured: a, Limit: b, Margin: difference})
		}
	}
	for _, f := range findings {
		if r.judgedBy(&f) {
			shown = append(shown, f)
		}
	}
	if r.Change != nil {
		differ(r.Now, r.Then, r.Change)
	}
	for i := range r.Limits {
		l := &r.Limits[i]
		differ(r.Now, &l.Limit, &l.Margin)
	}
	r.places = least
	for before := 0; before != r.places; { // more digits for one may be too few for another
		before = r.places
		for i := range shown {
			r.places = shown[i].Places(r.places)
		}
	}
}

// Places is how many digits a row is printed with: a loss of the link as on the
// certificate, anything else with as many as were read, at most three, and a
// loss at least two.
func (r *Row) Places() int {
	if r.places > 0 {
		return r.places
	}
	p := 0
	if isLoss(r.Quantity) {
		p = 2
	}
	for _, d := range []*quantity.Decimal{r.Then, r.Now} {
		if d != nil {
			p = max(p, min(d.Places(), 3))
		}
	}
	return p
}

// UncertaintyPlaces is how many digits the uncertainties of a row, and what they
// explain, are printed with: as many as they were given with, at least two.
func (r *Row) UncertaintyPlaces() int {
	p := 2
	for _, u := range []*quantity.Decimal{r.UncertaintyThen, r.UncertaintyNow} {
		if u != nil {
			p = max(p, u.Places())
		}
	}
	return min(p, r.Places())
}

// LimitPlaces is how many digits a limit and its margin are printed with: enough
// to tell the reading from the limit.
func (r *Row) LimitPlaces(l *Limit) int {
	p := max(r.Places(), min(l.Limit.Places(), 3))
	if isLoss(r.Quantity) {
		p = max(r.Places(), quantity.PlacesToTell(*r.Now, l.Limit))
	}
	return p
}

// amount prints a number of a row with its unit.
func amount(r *Row, d quantity.Decimal) string { return d.Fixed(r.Places()) + " " + string(r.Unit) }

func plural(n int, one, other string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, other)
}

// advise tells patterns of changes apart. A loss that rose shows the same both
// ways and, where a face or a splice is the cause, alike at every wavelength; a
// bend shows most at the longest (IEC 61280-4-2 and texts of the trade, from
// memory). It is advice: only work on the link shows what it was.
func (c *Comparison) advise(rows []*Row) []string {
	var losses []*Row
	for _, r := range rows {
		if r.Quantity == record.InsertionLoss && r.Explained != nil {
			losses = append(losses, r)
		}
	}
	rose := func(r *Row) bool { return r.Larger && r.Change.Sign() > 0 }
	fell := func(r *Row) bool { return r.Larger && r.Change.Sign() < 0 }
	switch {
	case len(losses) < 2:
		return nil
	case !slices.ContainsFunc(losses, rose):
		switch {
		case !slices.ContainsFunc(losses, fell):
			return nil
		case c.Verdict.Certifiable():
			return []string{"The loss is lower than it was certified. Cleaner faces or another reference explain that; it does not make the earlier reading wrong: keep both."}
		}
		return []string{"The loss is lower than the nonconformance sheet says. Repair, cleaner faces or another reference explain that; it does not make the earlier reading wrong: keep both."}
	case c.Link.Mode == record.Singlemode && bent(losses, rose):
		return []string{"The loss rose more at the longer wavelength. That points to a tight bend: look first in trays, panels and closures, and where cable was moved."}
	case oneWay(losses, rose):
		return []string{"The loss rose in one direction only. A loss inside the link shows in both: look first at the reference and the test cords of that direction, and at fibres of different mode field diameter."}
	case alike(losses, rose):
		return []string{"The loss rose alike wherever it was measured. That points to a connection or a splice: clean and inspect the faces first, then measure again."}
	}
	return []string{"The changes follow no single pattern: take a new reference, clean and inspect both ends, and measure again before anything is opened."}
}

// apart reports whether two changes differ by more than their four
// uncertainties explain, the first being the higher.
func apart(a, b *Row) bool {
	d := a.Change.Sub(*b.Change)
	squares := quantity.Sum(square(a.UncertaintyThen), square(a.UncertaintyNow), square(b.UncertaintyThen), square(b.UncertaintyNow))
	return d.Sign() > 0 && squares.Less(d.Mul(d))
}

func square(d *quantity.Decimal) quantity.Decimal { return d.Mul(*d) }

// bent: in every direction the longest wavelength rose, and more than the
// shortest.
func bent(losses []*Row, rose func(*Row) bool) bool {
	ways := map[record.Direction][]*Row{}
	for _, r := range losses {
		ways[r.Direction] = append(ways[r.Direction], r)
	}
	for _, of := range ways {
		slices.SortFunc(of, func(a, b *Row) int { return cmp.Compare(a.WavelengthNM, b.WavelengthNM) })
		first, last := of[0], of[len(of)-1]
		if len(of) < 2 || !rose(last) || !apart(last, first) {
			return false
		}
	}
	return true
}

// oneWay: at every wavelength one and the same direction rose and the other did
// not.
func oneWay(losses []*Row, rose func(*Row) bool) bool {
	var way record.Direction
	for _, r := range losses {
		if !rose(r) {
			continue
		}
		if way != "" && way != r.Direction {
			return false
		}
		way = r.Direction
		other := slices.IndexFunc(losses, func(o *Row) bool { return o.WavelengthNM == r.WavelengthNM && o.Direction != r.Direction })
		if other < 0 || !apart(r, losses[other]) {
			return false
		}
	}
	return way != "" && !slices.ContainsFunc(losses, func(r *Row) bool { return r.Direction == way && !rose(r) })
}

// alike: all rose, and none differs from another.
func alike(losses []*Row, rose func(*Row) bool) bool {
	for i, a := range losses {
		if !rose(a) {
			return false
		}
		for _, b := range losses[:i] {
			if apart(a, b) || apart(b, a) {
				return false
			}
		}
	}
	return true
}
