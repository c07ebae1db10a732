package certify

import (
	"strings"

	"spanseal/internal/judge"
)

// method is how it was measured: the first thing a dispute asks for.
func (sh *sheet) method(f *flow) {
	w, policy := sh.words, &sh.Facts.Job.Policy
	title, witness := w.say("method.title"), firstOf(sh.Facts.Job.Witness, w.say("method.none"))
	if len(sh.l.Readings) == 0 { // no word of a measurement that never was
		title, witness = w.say("method.planned"), sh.Facts.Job.Witness
	}
	f.section(title, 4)
	var times, powers []string
	for _, r := range sh.l.Readings {
		times = append(times, clock(sh.local(r.ReferenceTime)))
		if r.Reference != nil {
			powers = append(powers, w.fixed(*r.Reference, max(2, r.Reference.Places())))
		}
	}
	taken := unique(times...)
	if powers = unique(powers...); len(powers) > 0 {
		taken = append(taken, strings.Join(powers, ", ")+" dBm")
	}
	var serials, calibrated, ofEach, made []string
	for _, i := range sh.instruments(sh.l) {
		serials = append(serials, strings.TrimSpace(i.ID+" "+i.Serial))
		made = append(made, strings.TrimSpace(i.Make+" "+i.Model))
		if !i.Calibrated.IsZero() {
			days := w.say("method.due", "day", w.day(i.Calibrated), "due", w.day(i.Due))
			calibrated, ofEach = append(calibrated, days), append(ofEach, i.ID+" "+days)
		}
	}
	if calibrated = unique(calibrated...); len(calibrated) > 1 { // each has days of its own
		calibrated = ofEach
	}
	var by []string
	for _, r := range sh.l.Readings {
		if p, ok := sh.Facts.Job.Person(r.Person); ok {
			qualified := firstOf(p.Qualification, w.phrase(p.Role))
			if p.Qualification != "" && !p.ValidUntil.IsZero() {
				qualified = w.say("method.valid", "qualified", qualified, "day", w.day(p.ValidUntil))
			}
			by = append(by, joinComma(p.Name, qualified))
		} else {
			by = append(by, r.Person)
		}
	}
	f.fields(3,
		field{w.say("method.reference"), joinComma(append([]string{w.term("reference", string(policy.Reference))}, taken...)...)},
		field{w.say("method.cords"), w.term("cords", string(policy.TestCords))},
		field{w.say("method.instruments"), joinComma(serials...)},
		field{w.say("method.calibrated"), strings.Join(calibrated, "; ")},
		field{w.say("method.by"), strings.Join(unique(by...), "; ")},
		field{w.say("method.witness"), witness},
		field{w.say("method.made"), strings.Join(unique(made...), "; ")},
	)
}

// questions lists what a careful reader should know; never an accusation.
func (sh *sheet) questions(f *flow) {
	var texts []string
	for _, one := range sh.l.Findings {
		if one.Kind != judge.KindLimit && one.Question != "" {
			texts = append(texts, sh.words.judged(one.Question))
		}
	}
	if sh.l.Link.Exempt != "" {
		texts = append(texts, sh.words.say("questions.exempt", "reason", sh.l.Link.Exempt))
	}
	if texts = unique(texts...); len(texts) == 0 {
		return
	}
	f.section(sh.words.say("questions.title"), 1)
	f.list(texts)
}
