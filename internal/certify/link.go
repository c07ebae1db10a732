package certify

import (
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/colour"
	"spanseal/internal/layout"
	"spanseal/internal/record"
	"spanseal/internal/wording"
)

// link is the section that says what was built.
func (sh *sheet) link(f *layout.Flow) {
	w, l := sh.words, sh.l.Link
	f.Section(w.Say("link.title"), 2)
	var fibre []string
	fibre = append(fibre, l.Fibre)
	code, coded := colour.Of(sh.Facts.Job.Colours, l)
	if tube := wording.FirstOf(l.Tube, written(code.Tube)); tube != "" {
		fibre = append(fibre, sh.coloured(w.Say("link.tube", "n", tube), code.Hue))
	}
	if l.Strand != "" {
		fibre = append(fibre, sh.coloured(w.Say("link.strand", "n", l.Strand), code.Colour))
	}
	table := ""
	if coded {
		table = sh.Facts.Job.Colours.Title
	}
	cable := l.Cable
	if c, ok := sh.Facts.Job.Cable(l.Cable); ok && c.Reel != "" {
		cable = w.Say("link.reel", "cable", l.Cable, "reel", c.Reel)
	}
	pairs := w.Whole(l.MatedPairs)
	if counted, present := sh.counted(); present > 0 {
		pairs = w.Say("link.counted", "counted", strings.Join(counted, " / "), "present", w.Whole(present))
	}
	splices := w.Whole(l.AllSplices())
	if n := l.SplicedEnds(); n > 0 {
		key := "link.behind"
		if l.Splices > 0 {
			key = "link.span_and_behind"
		}
		splices = w.Count(key, n, "all", w.Whole(l.AllSplices()), "span", w.Whole(l.Splices))
	}
	pair := ""
	if l.Pair != "" {
		pair = wording.Comma(l.Pair, w.Term("link.polarity", l.Polarity))
	}
	fields := []layout.Field{
		layout.Field{Caption: w.Say("link.fibre"), Value: wording.Comma(fibre...)},
		layout.Field{Caption: w.Say("link.length"), Value: sh.length()},
		layout.Field{Caption: w.Say("link.mated_pairs"), Value: pairs},
		layout.Field{Caption: w.Say("link.splices"), Value: splices},
		layout.Field{Caption: w.Say("link.end_a"), Value: w.Known("made", l.EndA.Text)},
		layout.Field{Caption: w.Say("link.end_b"), Value: w.Known("made", l.EndB.Text)},
		layout.Field{Caption: w.Say("link.cable"), Value: cable},
		layout.Field{Caption: w.Say("link.stage"), Value: wording.FirstOf(l.Stage, sh.Facts.Job.Stage)},
		layout.Field{Caption: w.Say("link.pair"), Value: pair},
		layout.Field{Caption: w.Say("link.colours"), Value: table},
		layout.Field{Caption: w.Say("link.splitters"), Value: sh.splitters()},
	}
	sh.printNames(f, fields)
}

// written is a number that is known.
func written(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

// splitters are those on the way, and the output of the last.
func (sh *sheet) splitters() string {
	l := sh.l.Link
	var list []string
	for _, ratio := range l.Splitters {
		list = append(list, "1:"+strconv.Itoa(ratio))
	}
	text := strings.Join(list, " + ")
	if l.Leg != "" {
		text = sh.words.Say("link.leg", "list", text, "leg", l.Leg)
	}
	return strings.TrimPrefix(text, ", ")
}

// way is a direction in few words. From a head end through splitters light goes
// downstream, from A to B, and upstream.
func (sh *sheet) way(d record.Direction) string {
	if len(sh.l.Link.Splitters) > 0 {
		return sh.words.Term("way_split", string(d))
	}
	return sh.words.Term("way_short", string(d))
}

// coloured is a part of a cable with the colour that its number has.
func (sh *sheet) coloured(part string, hue record.Hue) string {
	if hue.IsZero() {
		return part
	}
	return sh.words.Say("link.coloured", "part", part, "colour", sh.words.State(colour.Said(hue)))
}

// counted returns how many of the mated pairs the measurement holds, in each way in
// which the link was measured.
func (sh *sheet) counted() (counted []string, present int) {
	for _, f := range sh.losses {
		if f.Working != nil && f.Working.PairsPresent > 0 {
			counted, present = wording.Distinct(append(counted, sh.words.Whole(f.Working.PairsCounted))...), f.Working.PairsPresent
		}
	}
	return counted, present
}

// housed is what was made, and of a splice in the span the closure that holds it.
func (sh *sheet) housed(t *record.Termination) string {
	w := sh.words
	kind := w.Known("made", t.Kind)
	if t.Closure != "" {
		kind = w.Say("terminations.closure", "kind", kind, "closure", t.Closure)
	}
	if t.Tray != "" {
		kind = w.Say("terminations.tray", "kind", kind, "tray", t.Tray)
	}
	if !t.Shut.IsZero() {
		kind = w.Say("terminations.shut", "kind", kind, "when", w.ShortDay(record.DateOf(sh.Local(t.Shut)), sh.IssuedOn()))
	}
	return kind
}

// terminations is what the splicer recorded: estimates, never measurements.
func (sh *sheet) terminations(f *layout.Flow) {
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
	columns := []layout.Column{{Name: w.Say("terminations.end"), Wrap: true}, {Name: w.Say("terminations.kind"), Wrap: true}, {Name: w.Say("terminations.estimate"), Right: true},
		{Name: w.Say("terminations.attempts"), Right: true}, {Name: w.Say("terminations.lot"), Wrap: true}, {Name: w.Say("terminations.end_face")},
		{Name: w.Say("terminations.by"), Wrap: true}}
	var rows [][]layout.Cell
	for _, t := range sh.l.Terminations {
		row := []string{wording.FirstOf(t.End, w.Say("terminations.span")), sh.housed(&t), w.Say("terminations.none"), "", t.Lot,
			w.EndFace(t.EndFace), wording.Comma(sh.Person(t.Person), w.ShortDay(record.DateOf(sh.Local(t.Finished)), sh.IssuedOn()))}
		if t.Estimate != nil {
			row[2] = w.Say("terminations.estimated", "db", w.Fixed(*t.Estimate, max(2, t.Estimate.Places())))
		}
		if t.Attempts > 0 {
			row[3] = w.Whole(t.Attempts)
		}
		rows = append(rows, layout.Cells(f.Body, row...))
	}
	f.Tabled(w.Say("terminations.title"), columns, rows, remark)
}
