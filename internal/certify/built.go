package certify

import (
	"spanseal/internal/record"
)

// link is the section that says what was built.
func (sh *sheet) link(f *flow) {
	w, l := sh.words, sh.l.Link
	f.section(w.say("link.title"), 2)
	var fibre []string
	fibre = append(fibre, l.Fibre)
	if l.Tube != "" {
		fibre = append(fibre, w.say("link.tube", "n", l.Tube))
	}
	if l.Strand != "" {
		fibre = append(fibre, w.say("link.strand", "n", l.Strand))
	}
	cable := l.Cable
	if c, ok := sh.Facts.Job.Cable(l.Cable); ok && c.Reel != "" {
		cable = w.say("link.reel", "cable", l.Cable, "reel", c.Reel)
	}
	pairs := w.whole(l.MatedPairs)
	if counted, present := sh.counted(); present > 0 {
		pairs = w.say("link.counted", "counted", w.whole(counted), "present", w.whole(present))
	}
	splices := w.whole(l.AllSplices())
	if n := l.SplicedEnds(); n > 0 {
		splices = w.count("link.behind", n, "all", w.whole(l.AllSplices()))
	}
	pair := ""
	if l.Pair != "" {
		pair = joinComma(l.Pair, w.term("link.polarity", l.Polarity))
	}
	f.fields(4,
		field{w.say("link.fibre"), joinComma(fibre...)},
		field{w.say("link.length"), sh.length()},
		field{w.say("link.mated_pairs"), pairs},
		field{w.say("link.splices"), splices},
		field{w.say("link.end_a"), w.phrase(l.EndA.Text)},
		field{w.say("link.end_b"), w.phrase(l.EndB.Text)},
		field{w.say("link.cable"), cable},
		field{w.say("link.stage"), firstOf(l.Stage, sh.Facts.Job.Stage)},
		field{w.say("link.pair"), pair},
	)
}

// counted returns how many of the mated pairs the measurement holds.
func (sh *sheet) counted() (counted, present int) {
	for _, f := range sh.losses {
		if f.Working != nil && f.Working.PairsPresent > 0 {
			return f.Working.PairsCounted, f.Working.PairsPresent
		}
	}
	return 0, 0
}

// terminations is what the splicer recorded: estimates, never measurements.
func (sh *sheet) terminations(f *flow) {
	if len(sh.l.Terminations) == 0 {
		return
	}
	w := sh.words
	f.section(w.say("terminations.title"), 3, w.say("terminations.remark"))
	columns := []column{{name: w.say("terminations.end"), wrap: true}, {name: w.say("terminations.kind"), wrap: true}, {name: w.say("terminations.estimate"), right: true},
		{name: w.say("terminations.attempts"), right: true}, {name: w.say("terminations.lot"), wrap: true}, {name: w.say("terminations.end_face")},
		{name: w.say("terminations.by"), wrap: true}}
	var rows [][]cell
	for _, t := range sh.l.Terminations {
		row := []string{firstOf(t.End, w.say("terminations.span")), w.phrase(t.Kind), w.say("terminations.none"), "", t.Lot,
			w.endFace(t.EndFace), joinComma(sh.person(t.Person), w.shortDay(record.DateOf(sh.local(t.Finished)), sh.issuedOn()))}
		if t.Estimate != nil {
			row[2] = w.say("terminations.estimated", "db", w.fixed(*t.Estimate, max(2, t.Estimate.Places())))
		}
		if t.Attempts > 0 {
			row[3] = w.whole(t.Attempts)
		}
		rows = append(rows, cells(f.body, row...))
	}
	f.table(columns, rows)
}
