package certify

import (
	"slices"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/record"
	"spanseal/internal/wording"
)

// lead says in plain words what was measured, when, and what it proves.
func (sh *sheet) lead() string {
	w, l := sh.words, sh.l
	link := w.Say("lead.link", "link", l.Link.ID, "from", l.Link.From, "to", l.Link.To)
	if !l.Measured {
		return link + " " + w.Say("lead.never")
	}
	var nm, ways []string
	for _, r := range l.Readings {
		if r.Quantity == record.InsertionLoss {
			if n := wording.Nanometres(r.WavelengthNM); !slices.Contains(nm, n) {
				nm = append(nm, n)
			}
			if way := string(r.Direction); !slices.Contains(ways, way) {
				ways = append(ways, way)
			}
		}
	}
	way := ""
	switch {
	case len(ways) > 1:
		way = w.Say("lead.both")
	case len(ways) == 1:
		way = w.Term("lead.way", ways[0])
	}
	what := w.Say("lead.measured", "way", way, "nm", w.List(nm))
	if first, last := sh.measuredOn(l.Readings); !first.IsZero() {
		day := w.LongDay(first)
		if !first.Equal(last) {
			day = w.Say("locale.span", "first", day, "last", w.LongDay(last))
		}
		what = w.Say("lead.measured_on", "way", way, "nm", w.List(nm), "day", day)
	}
	sentence := link + " " + what + " "
	against := w.List(sh.standards())
	worst, p := l.WorstFinding(), 2
	if worst != nil {
		p = worst.Places(sh.places)
	}
	switch {
	case l.Verdict == judge.Pass:
		sentence += sh.pass(against)
	case l.Verdict == judge.Marginal:
		sentence += sh.pass(against) + " " + sh.marginal()
	case l.Verdict == judge.Fail && worst != nil && worst.Margin != nil && worst.Margin.Sign() < 0 && atLeast(*worst):
		sentence += w.Say("lead.fail_low", "subject", sh.subject(*worst), "measured", sh.db(worst.Measured, p), "least", sh.db(worst.Limit, p))
	case l.Verdict == judge.Fail && worst != nil && worst.Margin != nil && worst.Margin.Sign() < 0:
		sentence += w.Say("lead.fail", "subject", sh.subject(*worst), "measured", sh.db(worst.Measured, p), "allowed", sh.db(worst.Limit, p),
			"over", w.Fixed(worst.Margin.Abs(), p)+"\u00A0dB")
	case l.Verdict == judge.Fail && worst != nil && worst.Guard != nil && worst.Verdict == judge.Fail:
		sentence += w.Say("lead.fail_guard", "subject", sh.subject(*worst), "margin", w.Fixed(*worst.Margin, p)+"\u00A0dB", "guard", w.Fixed(*worst.Guard, p)+"\u00A0dB")
	case l.Verdict == judge.Fail:
		sentence += w.Say("lead.fail_other")
	default:
		sentence += w.Say("lead.incomplete")
	}
	return sentence
}

// pass says that the readings are within their limits, and which have none.
func (sh *sheet) pass(standards string) string {
	w := sh.words
	var unbound []string
	for _, r := range sh.l.Unbound() {
		what := w.Term("quantity", string(r.Quantity))
		if r.WavelengthNM > 0 {
			what = w.Say("lead.unbound", "quantity", what, "nm", wording.Nanometres(r.WavelengthNM))
		}
		unbound = unique(append(unbound, what)...)
	}
	reference := w.Term("reference", string(sh.Facts.Job.Policy.Reference))
	if len(unbound) == 0 {
		return w.Say("lead.pass", "standards", standards, "reference", reference)
	}
	return w.Say("lead.pass_bound", "standards", standards, "reference", reference, "unbound", w.List(unbound))
}

// marginal says why a link that passes is marked.
func (sh *sheet) marginal() string {
	w := sh.words
	worst := sh.l.WorstFinding()
	if worst == nil || worst.Margin == nil || worst.Verdict != judge.Marginal {
		return w.Say("lead.marginal_other")
	}
	p := places(*worst)
	margin := w.Fixed(*worst.Margin, p)
	if band := sh.Facts.Job.Policy.Marginal; band != nil {
		return w.Say("lead.marginal_band", "margin", margin, "band", w.Short(*band))
	}
	if worst.Uncertainty == nil {
		return w.Say("lead.marginal_other")
	}
	return w.Say("lead.marginal", "margin", margin, "u", w.Fixed(*worst.Uncertainty, p))
}

// standards are those whose limits the losses were held against.
func (sh *sheet) standards() []string {
	w := sh.words
	var out []string
	for _, f := range sh.losses {
		if f.Working != nil {
			out = unique(append(out, w.Edition(f.Working.Standard, f.Working.Edition))...)
		}
	}
	if len(out) == 0 {
		for _, set := range sh.Judgement.Sets {
			out = unique(append(out, w.Edition(set.Standard, set.Edition))...)
		}
	}
	return out
}

// subject is what a finding is about, in words: "1310 nm, A to B".
func (s *Set) subject(f judge.Finding) string {
	var parts []string
	if f.Quantity != "" && f.Quantity != record.InsertionLoss && f.Quantity != record.TwoWayAverage {
		parts = append(parts, s.words.Term("quantity", string(f.Quantity)))
	}
	if f.WavelengthNM > 0 {
		parts = append(parts, wording.Nanometres(f.WavelengthNM)+" nm")
	}
	if f.Direction != "" {
		parts = append(parts, s.words.Term("way", string(f.Direction)))
	}
	if f.End != "" {
		parts = append(parts, s.words.Say("end.name", "end", f.End))
	}
	if f.Event != "" {
		parts = append(parts, f.Event)
	}
	return strings.Join(parts, ", ")
}
