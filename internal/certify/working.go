package certify

import (
	"math"
	"slices"
	"strings"

	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/wording"
)

// workingGroup is limits with the same terms from the same source.
type workingGroup struct {
	work         *judge.Working // of the first
	line, source string
	nm           []string
	low, mean    bool // mean: only two-way averages are held against it
}

// working prints how each limit came about, in one line with its source. Limits
// with the same terms are printed once, for all their wavelengths.
func (sh *sheet) working(f *layout.Flow) {
	w := sh.words
	var groups []*workingGroup
	for _, one := range sh.losses {
		if one.Working == nil || one.Limit == nil {
			continue
		}
		i := slices.IndexFunc(groups, func(g *workingGroup) bool { return g.work == one.Working }) // findings share workings
		if i < 0 {
			line, source := sh.sum(one.Working), sh.source(one.Working)
			if name := sh.limitName(one.Working); name != sh.SetName(one.Working.SetID) {
				line = w.Say("bound.of", "bound", line, "set", name)
			}
			i = slices.IndexFunc(groups, func(g *workingGroup) bool { return g.line == line && g.source == source })
			if i < 0 {
				groups = append(groups, &workingGroup{work: one.Working, line: line, source: source, mean: true})
				i = len(groups) - 1
			}
		}
		g := groups[i]
		g.nm = wording.Distinct(append(g.nm, wording.Nanometres(one.WavelengthNM))...)
		g.mean = g.mean && one.Quantity == record.TwoWayAverage
		g.low = g.low || isLow(one.Working)
	}
	for from := 0; from < len(groups); {
		to := from + 1
		for to < len(groups) && groups[to].source == groups[from].source {
			to++
		}
		again := from > 0 && to == from+1 && groups[from].like(groups[from-1]) // the terms of another set, from a source of its own
		sh.workings(f, groups[from:to], len(groups) == 1, again, to == len(groups))
		from = to
	}
}

// like reports whether two workings read alike, but for their sources.
func (g *workingGroup) like(o *workingGroup) bool {
	return g.line == o.line && g.mean == o.mean && slices.Equal(g.nm, o.nm)
}

// workings prints the workings of one source and under them the source, on one page;
// again: they stand above already.
func (sh *sheet) workings(f *layout.Flow, groups []*workingGroup, only, again, last bool) {
	w := sh.words
	type paragraph struct {
		layout.Cell
		leading float64
	}
	var all []paragraph
	low := false
	for _, g := range groups {
		what := "working.at"
		switch {
		case g.mean && only:
			what = "working.mean"
		case g.mean:
			what = "working.mean_at"
		case only:
			what = "working.all"
		}
		low = low || g.low
		if again {
			continue
		}
		line := w.Say(what, "nm", w.List(g.nm), "sum", g.line)
		all = append(all, paragraph{layout.Cell{Text: line, Style: f.Shrink(f.Body, 0.92*f.Body.Size, f.W, line)}, 0.9})
	}
	source := groups[0].source
	if p := sh.probability(); p != "" && last && sh.l.Verdict.Certifiable() {
		source += "; " + p
	}
	if low && !sh.lowTold {
		source += ". " + sh.lowText()
		sh.lowTold = true
	}
	all = append(all, paragraph{layout.Cell{Text: source, Style: f.Note}, 0.7})
	height := 0.0
	for _, p := range all {
		height += p.leading * f.Grid * float64(len(f.Wrap(p.Style, f.W, p.Text)))
	}
	f.Need(height)
	for _, p := range all {
		f.Paragraph(p.Style, p.leading, p.Text)
	}
}

// sum is the working in one line, with the limit as it is printed everywhere on
// the paper: "0.4 dB/km × 0.312 km + … ≈ 2.22 dB", or of a power budget
// "3 dBm − (−32 dBm) − 0 = 35 dB".
func (sh *sheet) sum(work *judge.Working) string {
	w := sh.words
	var terms []string
	for _, t := range work.Terms {
		rate := strings.TrimSpace(w.Short(t.Rate) + " " + string(t.RateUnit))
		if t.Low {
			rate += lowMark
		}
		if t.TakenOff() { // of a power budget, behind the launched power
			switch t.Rate.Sign() {
			case -1:
				rate = "(" + rate + ")"
			case 0:
				rate = "0"
			}
			terms[len(terms)-1] += " − " + rate
			continue
		}
		if t.Label == "flat" {
			terms = append(terms, rate)
			continue
		}
		amount := strings.TrimSpace(w.Short(t.Amount) + " " + string(t.AmountUnit))
		if key := "amount." + t.Label; w.Has(key + ".other") {
			form := ".other"
			if t.Amount.Equal(quantity.Int(1)) {
				form = ".one"
			}
			amount = w.Say(key+form, "n", w.Short(t.Amount))
		}
		if amount != "1" {
			rate += " × " + amount
		}
		terms = append(terms, rate)
	}
	least := ""
	if work.Bound == "between" && work.Lower != nil { // of one side, the terms; the other is a figure
		least = "; ≥\u00A0" + w.Short(*work.Lower) + "\u00A0dB"
	}
	limit, equals := w.Short(work.Limit)+"\u00A0dB", " =\u00A0"
	if !work.Limit.Equal(work.Limit.Round(sh.places)) {
		limit, equals = w.Fixed(work.Limit, sh.places)+"\u00A0dB", " ≈\u00A0"
	}
	sum := strings.Join(terms, " + ")
	switch {
	case sum == "":
		return limit + least
	case strings.TrimSuffix(sum, lowMark) == w.Short(work.Limit)+" dB": // of one flat figure
		return sum + least
	}
	return sum + equals + limit + least
}

// lowMark stands behind a figure that is known with low confidence.
const lowMark = layout.HangingMark

// marked is the limit of a finding as it is printed, with the mark where it rests
// on such a figure.
func marked(f judge.Finding, limit string) string {
	if limit != "" && isLow(f.Working) {
		limit += lowMark
	}
	return limit
}

// lowNote says below figures what their mark means, where one of them has it.
func (sh *sheet) lowNote(f *layout.Flow, findings []judge.Finding) {
	if !sh.lowTold && slices.ContainsFunc(findings, func(one judge.Finding) bool { return one.Limit != nil && isLow(one.Working) }) {
		sh.lowTold = true
		f.Paragraph(f.Note, 0.7, sh.lowText())
	}
}

// lowText explains the mark: by whom and when sets with such figures on this paper
// were compared with their standard, and that those of the others are left to
// confirm.
func (sh *sheet) lowText() string {
	w := sh.words
	var known, open []string
	for _, f := range sh.l.Findings {
		if !isLow(f.Working) {
			continue
		}
		for i := range f.Working.Terms {
			t := &f.Working.Terms[i]
			if !t.Low {
				continue
			}
			id := f.Working.From(t).SetID
			k := slices.IndexFunc(sh.Judgement.Sets, func(s judge.SetUsed) bool { return s.ID == id })
			if k < 0 || sh.Judgement.Sets[k].Confirmation.IsZero() {
				open = wording.Distinct(append(open, id)...)
			} else {
				known = wording.Distinct(append(known, id+": "+w.State(sh.Judgement.Sets[k].Confirmation))...)
			}
		}
	}
	low := w.Say("working.low")
	switch {
	case len(known) == 0:
		return low
	case len(open) > 0:
		known = append(known, strings.Join(open, ", ")+": "+strings.TrimPrefix(low, lowMark+" "))
	}
	return lowMark + " " + strings.Join(known, " ")
}

// isLow reports whether a limit rests on a figure known with low confidence; what
// has no working does not.
func isLow(work *judge.Working) bool {
	return work != nil && slices.ContainsFunc(work.Terms, func(t judge.WorkedTerm) bool { return t.Low })
}

// source says where the values of a working stand and how they are known.
func (sh *sheet) source(work *judge.Working) string {
	values := []figure{{from: work.Origins()[0]}}
	for i := range work.Terms {
		t := &work.Terms[i]
		values = append(values, figure{work.From(t), sh.words.Term("term", t.Label), t})
	}
	return strings.Join(append(sh.stand(values, nil), sh.decision()+", "+sh.words.Say("working.unrounded")), "; ")
}

// figure is a figure of a limit set, under the name by which it is known here;
// without a term it stands for the set alone.
type figure struct {
	from judge.SetOrigin
	name string
	term *judge.WorkedTerm
}

// stand says where values stand: those of one clause and provenance are named
// together, those of one set under its edition and file, in order of first
// appearance. Of a set that the paper names already the id is enough.
func (sh *sheet) stand(values []figure, named []judge.SetOrigin) []string {
	w := sh.words
	type group struct {
		tag   string
		names []string
	}
	var order []judge.SetOrigin
	groups := map[judge.SetOrigin][]*group{}
	for _, v := range values {
		if !slices.Contains(order, v.from) {
			order = append(order, v.from)
		}
		if v.term == nil {
			continue
		}
		tag := w.Term("provenance", v.term.Provenance)
		if v.term.Clause != "" {
			tag = w.Citation(v.term.Clause) + ", " + tag
		}
		of := groups[v.from]
		k := slices.IndexFunc(of, func(g *group) bool { return g.tag == tag })
		if k < 0 {
			k, of = len(of), append(of, &group{tag: tag})
		}
		of[k].names = wording.Distinct(append(of[k].names, v.name)...)
		groups[v.from] = of
	}
	var out []string
	for _, from := range order {
		known := slices.Contains(named, from)
		parts := []string{from.SetID}
		if !known {
			parts[0] = w.Edition(from.Standard, from.Edition)
		}
		for _, g := range groups[from] {
			parts = append(parts, w.List(g.names)+" ["+g.tag+"]")
		}
		out = append(out, strings.Join(parts, ", "))
		if !known {
			out = append(out, w.Say("working.set", "id", from.SetID, "sha", wording.Abbreviate(from.SHA256)))
		}
	}
	return out
}

// decision is the rule that was agreed, with the guard band where there is one.
func (sh *sheet) decision() string {
	w := sh.words
	rule := w.Term("decision", sh.Facts.Job.Policy.Decision)
	for _, f := range sh.losses {
		if f.Guard != nil {
			return w.Say("working.guard", "rule", rule, "w", w.Fixed(*f.Guard, max(2, f.Guard.Places())))
		}
	}
	return rule
}

// probability is the least probability of conformity among the losses, those that an
// application's line tells too, of which reading and set, where one was computed
// for each.
func (sh *sheet) probability() string {
	var least *judge.Finding
	for i := range sh.l.Findings {
		f := &sh.l.Findings[i]
		switch {
		case f.Kind != judge.KindLimit || f.Quantity != record.InsertionLoss && f.Quantity != record.TwoWayAverage || f.Limit == nil || f.Working == nil:
		case f.Uncertainty == nil || f.Probability < 0:
			return "" // the least certain reading is one of which nothing is known
		case least == nil || f.Probability < least.Probability:
			least = f
		}
	}
	if least == nil {
		return ""
	}
	w := sh.words
	if least.Probability > 0.999 {
		return w.Say("working.sure", "p", w.Localise("0.999"))
	}
	return w.Say("working.probability", "subject", sh.Subject(*least), "set", sh.SetName(least.Working.SetID), "p", w.Localise(lowerBound(least.Probability)))
}

// lowerBound is a probability to three places that is no higher than it.
func lowerBound(p float64) string { return form.Decimals(math.Floor(p*1000)/1000, 3) }
