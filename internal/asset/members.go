package asset

import (
	"fmt"
	"iter"
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// Export is a judged job that is to be handed over.
type Export struct {
	*form.Writer
	// Issued is the folder of the job's revisions, and Latest the number of the last, or 0.
	Issued string
	Latest int
	// By is the e-mail address of whoever hands over, or "": COBie asks for it.
	By string
}

// member is one value of a link, a text, decimal, count or day, and what it is called.
type member struct {
	key   string
	value any
}

// text is the value as a cell of a table; numbers are told from texts.
func (m member) text() (text string, number bool) {
	switch v := m.value.(type) {
	case string:
		return v, false
	case quantity.Decimal:
		return v.String(), true
	case int:
		return strconv.Itoa(v), true
	case record.Date:
		return v.String(), false
	}
	panic("a member of another type") // they are all made here
}

// assetOf is the id of the link in the owner's register, or "".
func assetOf(l *record.Link) string {
	if l.Names == nil {
		return ""
	}
	return l.Asset
}

// placed reports whether the link has coordinates.
func placed(l *record.Link) bool { return l.Names != nil && l.Latitude != nil && l.Longitude != nil }

// members are the values of a link, in order; what is not given is left out.
func (e *Export) members(r *judge.LinkResult) (all []member) {
	l := r.Link
	add := func(key string, value any) {
		if text, _ := (member{key, value}).text(); text != "" {
			all = append(all, member{key, value})
		}
	}
	add("asset", assetOf(l))
	add("job", e.Facts.Job.Number)
	add("link", l.ID)
	add("verdict", r.Verdict.String())
	if r.Verdict.Certifiable() {
		add("certificate", e.CertificateNumber(l.ID))
	}
	add("paper", e.PathOf(r))
	first, last := e.MeasuredOn(r.Readings)
	add("measured_first", first)
	add("measured_last", last)
	add("cable", l.Cable)
	add("tube", l.Tube)
	add("strand", l.Strand)
	add("fibre", l.Fibre)
	add("from", l.From)
	add("to", l.To)
	add("length_m", l.Length)
	add("mated_pairs", l.MatedPairs)
	add("splices", l.Splices)
	losses := slices.DeleteFunc(slices.Clone(r.Readings), func(x record.Reading) bool { return x.Quantity != record.InsertionLoss || x.Event != "" })
	slices.SortStableFunc(losses, func(a, b record.Reading) int { return compareLosses(lossKey(&a), lossKey(&b)) })
	for i := range losses {
		var value any = losses[i].Value
		if losses[i].Shown != "" { // the number only stands for it
			value = losses[i].Shown
		}
		add(lossKey(&losses[i]), value)
	}
	if f := r.WorstFinding(); f != nil && f.Margin != nil {
		add("smallest_margin_db", *f.Margin)
		if f.WavelengthNM > 0 {
			add("smallest_margin_nm", f.WavelengthNM)
		}
		add("smallest_margin_direction", string(f.Direction))
	}
	add("open_points", len(r.Open()))
	given, further := l.Given()
	for _, n := range given {
		switch n.Key {
		case "asset": // leads
		case "latitude":
			add(n.Key, *l.Latitude)
		case "longitude":
			add(n.Key, *l.Longitude)
		default:
			add(n.Key, n.Text)
		}
	}
	for _, n := range further { // a heading of the schedule's own may be one of ours
		for slices.ContainsFunc(all, func(m member) bool { return m.key == n.Key }) || slices.Contains(fixed, n.Key) || isLoss(n.Key) {
			n.Key += own
		}
		add(n.Key, n.Text)
	}
	return all
}

// fixed are the members that any job may have, in order; those of losses follow behind
// "splices", the names that receivers use and the schedule's own columns at the end.
var fixed = slices.Concat([]string{"asset", "job", "link", "verdict", "certificate", "paper", "measured_first", "measured_last", "cable", "tube", "strand",
	"fibre", "from", "to", "length_m", "mated_pairs", "splices", "smallest_margin_db", "smallest_margin_nm", "smallest_margin_direction", "open_points"},
	record.NameKeys)

const lossPrefix = "loss_db_"

// own marks headings of the schedule's own that would be taken for ours.
const own = " (schedule)"

func isLoss(key string) bool {
	return strings.HasPrefix(key, lossPrefix) && !strings.HasSuffix(key, own)
}

// lossKey names the loss at one wavelength in one direction: loss_db_1310_A-B.
func lossKey(r *record.Reading) string {
	key := fmt.Sprintf("%s%d", lossPrefix, r.WavelengthNM)
	if r.Direction != "" {
		key += "_" + string(r.Direction)
	}
	return key
}

// links are those that the export is of.
func (e *Export) links(of func(*record.Link) bool) iter.Seq[*judge.LinkResult] {
	return func(yield func(*judge.LinkResult) bool) {
		for _, l := range e.Judgement.Results() {
			if of(l.Link) && !yield(l) {
				return
			}
		}
	}
}

func registered(l *record.Link) bool { return assetOf(l) != "" }

// compareLosses orders 850 before 1300.
func compareLosses(a, b string) int {
	if n := len(number(a)) - len(number(b)); n != 0 {
		return n
	}
	return strings.Compare(a, b)
}

// number is the wavelength in the key of a loss.
func number(key string) string {
	text, _, _ := strings.Cut(strings.TrimPrefix(key, lossPrefix), "_")
	return text
}
