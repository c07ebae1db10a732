package judge

import (
	"iter"
	"math"
	"slices"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// kept holds what was found about some links that stand together in the schedule,
// in a third of the memory that it takes as it is, and for the most part without
// pointers: a large job has a million findings, and the collector would follow
// those of each again and again while papers are made.
type kept struct {
	links []keptLink
	notes []note // of the findings, link by link

	// What the notes name by its index.
	matters  []*Matter
	workings []*Working
	amounts  []*quantity.Decimal // uncertainties
	whole    []Finding           // those that do not fit on a note
}

// keptLink is a link without what is on notes and on the shelf.
type keptLink struct {
	end     uint32 // of the notes of its findings
	worst   int32
	carries []Carries // without findings
	ledger  []Entry   // shared
	// required is where the notes end that belong to each of them, or nil where
	// none has findings.
	required []uint32
	expected []ExpectedORL
}

// last is where the notes of the link end.
func (l *keptLink) last() uint32 {
	if l.required != nil {
		return l.required[len(l.required)-1]
	}
	return l.end
}

// note is a finding of a number that was held against a limit.
type note struct {
	measured, margin, guard quantity.Packed
	probability             float64
	matter, working         uint32
	uncertainty             uint32 // in amounts, from one; 0 for none
	form                    form
	verdict                 uint8
	reading, readings       uint8 // which of the link's: the first, and how many
}

type form uint8

const (
	isWhole form = iota // matter is the index in kept.whole
	isUpper             // the limit is the working's
	isLower             // it is its lower bound
)

// trimmed is the same without room for more.
func (k kept) trimmed() kept {
	return kept{slices.Clone(k.links), slices.Clone(k.notes), slices.Clip(k.matters), slices.Clip(k.workings), slices.Clip(k.amounts), slices.Clip(k.whole)}
}

// add keeps the result of the next link.
func (k *kept) add(r *LinkResult) {
	l := keptLink{worst: int32(r.Worst), carries: r.Carries, ledger: r.Ledger, expected: r.ExpectedORL}
	k.write(r.Findings, r.Readings)
	l.end = uint32(len(k.notes))
	if slices.ContainsFunc(r.Carries, func(c Carries) bool { return c.Findings != nil }) {
		l.carries = slices.Clone(r.Carries)
		for i := range l.carries {
			k.write(l.carries[i].Findings, r.Readings)
			l.carries[i].Findings = nil
			l.required = append(l.required, uint32(len(k.notes)))
		}
	}
	k.links = append(k.links, l)
}

func (k *kept) write(findings []Finding, readings []record.Reading) {
	for i := range findings {
		n, ok := k.note(&findings[i], readings)
		if !ok {
			n = note{form: isWhole, matter: uint32(len(k.whole))}
			k.whole = append(k.whole, findings[i])
		}
		k.notes = append(k.notes, n)
	}
}

// note writes a finding down, or reports that it does not fit.
func (k *kept) note(f *Finding, readings []record.Reading) (n note, ok bool) {
	switch w := f.Working; {
	case w == nil:
		return n, false
	case f.Limit == &w.Limit:
		n.form = isUpper
	case f.Limit == w.Lower:
		n.form = isLower
	default:
		return n, false
	}
	var fits [3]bool
	n.measured, fits[0] = quantity.Pack(f.Measured)
	n.margin, fits[1] = quantity.Pack(f.Margin)
	n.guard, fits[2] = quantity.Pack(f.Guard)
	if fits != [3]bool{true, true, true} {
		return n, false
	}
	if n.readings = uint8(len(f.Readings)); int(n.readings) != len(f.Readings) {
		return n, false
	}
	if n.readings > 0 {
		for n.reading = 0; int(n.reading) < len(readings) && &readings[n.reading] != &f.Readings[0]; n.reading++ {
			if n.reading == math.MaxUint8 {
				return n, false
			}
		}
		if int(n.reading) == len(readings) { // it rests on others
			return n, false
		}
	}
	n.probability, n.verdict = f.Probability, uint8(f.Verdict)
	n.matter, n.working = indexOf(&k.matters, f.Matter), indexOf(&k.workings, f.Working)
	if f.Uncertainty != nil {
		n.uncertainty = 1 + indexOf(&k.amounts, f.Uncertainty)
	}
	return n, true
}

// indexOf finds a pointer among the last of a list, or adds it, which does no
// harm where it is there already.
func indexOf[T any](list *[]*T, p *T) uint32 {
	const far = 200
	for i := len(*list) - 1; i >= max(0, len(*list)-far); i-- {
		if (*list)[i] == p {
			return uint32(i)
		}
	}
	*list = append(*list, p)
	return uint32(len(*list) - 1)
}

// result writes out again what was found about a link, but for its readings and
// terminations, which r has.
func (k *kept) result(i int, r *LinkResult) {
	l := &k.links[i]
	from := uint32(0)
	if i > 0 {
		from = k.links[i-1].last()
	}
	r.Findings, r.Worst, r.Carries, r.Ledger, r.ExpectedORL = k.findings(from, l.end, r.Readings), int(l.worst), l.carries, l.ledger, l.expected
	if l.required != nil {
		r.Carries = slices.Clone(l.carries)
		from = l.end
		for c, end := range l.required {
			r.Carries[c].Findings = k.findings(from, end, r.Readings)
			from = end
		}
	}
}

func (k *kept) findings(from, to uint32, readings []record.Reading) []Finding {
	if from == to {
		return nil
	}
	out := make([]Finding, to-from)
	for i := range out {
		n := &k.notes[int(from)+i]
		if n.form == isWhole {
			out[i] = k.whole[n.matter]
			continue
		}
		f := Finding{Matter: k.matters[n.matter], Verdict: Verdict(n.verdict), Measured: n.measured.Unpack(), Margin: n.margin.Unpack(),
			Guard: n.guard.Unpack(), Probability: n.probability, Working: k.workings[n.working]}
		f.Limit = &f.Working.Limit
		if n.form == isLower {
			f.Limit = f.Working.Lower
		}
		if n.uncertainty > 0 {
			f.Uncertainty = k.amounts[n.uncertainty-1]
		}
		if n.readings > 0 {
			first, last := int(n.reading), int(n.reading)+int(n.readings)
			f.Readings = readings[first:last:last]
		}
		out[i] = f
	}
	return out
}

// Result returns all that was found about link i of the schedule. It is written
// out anew for everybody who asks, at the same time as well.
func (j *Judgement) Result(i int) *LinkResult { return j.result(i) }

// Results are those of all links, in schedule order.
func (j *Judgement) Results() iter.Seq2[int, *LinkResult] {
	return func(yield func(int, *LinkResult) bool) {
		for i := range j.Links {
			if !yield(i, j.result(i)) {
				return
			}
		}
	}
}
