package certify

import (
	"slices"

	"spanseal/internal/record"
)

// link is the section that says what was built.
func (sh *sheet) link(f *flow) {
	w, l := sh.words, sh.l.Link
	f.section(w.Say("link.title"), 2)
	var fibre []string
	fibre = append(fibre, l.Fibre)
	if l.Tube != "" {
		fibre = append(fibre, w.Say("link.tube", "n", l.Tube))
	}
	if l.Strand != "" {
		fibre = append(fibre, w.Say("link.strand", "n", l.Strand))
	}
	cable := l.Cable
	if c, ok := sh.Facts.Job.Cable(l.Cable); ok && c.Reel != "" {
		cable = w.Say("link.reel", "cable", l.Cable, "reel", c.Reel)
	}
	pairs := w.Whole(l.MatedPairs)
	if counted, present := sh.counted(); present > 0 {
		pairs = w.Say("link.counted", "counted", w.Whole(counted), "present", w.Whole(present))
	}
	splices := w.Whole(l.AllSplices())
	if n := l.SplicedEnds(); n > 0 {
		splices = w.Count("link.behind", n, "all", w.Whole(l.AllSplices()))
	}
	pair := ""
	if l.Pair != "" {
		pair = joinComma(l.Pair, w.Term("link.polarity", l.Polarity))
	}
	f.fields(4,
		field{w.Say("link.fibre"), joinComma(fibre...)},
		field{w.Say("link.length"), sh.length()},
		field{w.Say("link.mated_pairs"), pairs},
		field{w.Say("link.splices"), splices},
		field{w.Say("link.end_a"), w.Known("made", l.EndA.Text)},
		field{w.Say("link.end_b"), w.Known("made", l.EndB.Text)},
		field{w.Say("link.cable"), cable},
		field{w.Say("link.stage"), firstOf(l.Stage, sh.Facts.Job.Stage)},
		field{w.Say("link.pair"), pair},
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
	remark := w.Say("terminations.remark")
	if slices.ContainsFunc(sh.l.Terminations, func(t record.Termination) bool {
		return t.EndFace == record.EndFacePass || t.EndFace == record.EndFaceFail
	}) {
		remark += "; " + w.Say("terminations.face")
	}
	f.section(w.Say("terminations.title"), 3, remark)
	columns := []column{{name: w.Say("terminations.end"), wrap: true}, {name: w.Say("terminations.kind"), wrap: true}, {name: w.Say("terminations.estimate"), right: true},
		{name: w.Say("terminations.attempts"), right: true}, {name: w.Say("terminations.lot"), wrap: true}, {name: w.Say("terminations.end_face")},
		{name: w.Say("terminations.by"), wrap: true}}
	var rows [][]cell
	for _, t := range sh.l.Terminations {
		row := []string{firstOf(t.End, w.Say("terminations.span")), w.Known("made", t.Kind), w.Say("terminations.none"), "", t.Lot,
			w.EndFace(t.EndFace), joinComma(sh.person(t.Person), w.ShortDay(record.DateOf(sh.local(t.Finished)), sh.issuedOn()))}
		if t.Estimate != nil {
			row[2] = w.Say("terminations.estimated", "db", w.Fixed(*t.Estimate, max(2, t.Estimate.Places())))
		}
		if t.Attempts > 0 {
			row[3] = w.Whole(t.Attempts)
		}
		rows = append(rows, cells(f.body, row...))
	}
	f.table(columns, rows)
}
