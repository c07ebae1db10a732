package judge

import (
	"cmp"
	"slices"
	"strconv"
	"time"

	"spanseal/internal/chance"
	"spanseal/internal/colour"
	"spanseal/internal/evidence"
	"spanseal/internal/limits"
	"spanseal/internal/original"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// evidence asks about one link what an owner would ask who looks for a reason
// to reject it.
func (j *linkJudge) evidence() {
	j.traceable()
	j.reference()
	j.session()
	j.onReel()
	j.afterFinished()
	j.afterShut()
	j.possible()
	j.lengths()
	j.bend()
	j.directions()
	j.connections()
	j.duplicates()
	j.shown()
	if j.policy.Require.Originals == "required" {
		if subjects, readings := original.Lacking(j.out.Readings, j.out.InstrumentFiles, j.facts.Job.StageFor(j.link)); len(subjects) > 0 {
			j.ask(statement.New("original.missing", subjects), readings...)
		}
	}
	for _, question := range colour.Questions(j.facts.Job.Colours, j.link) {
		j.ask(question)
	}
}

// shown says of which readings the number only stands for what the instrument showed.
func (j *linkJudge) shown() {
	for i := range j.out.Readings {
		if r := &j.out.Readings[i]; r.Shown != "" {
			subject := statement.Subject{Quantity: r.Quantity, NM: r.WavelengthNM, Way: r.Direction, Event: r.Event}
			j.ask(statement.New("shown", subject, statement.Name(r.Shown), statement.Number{Decimal: r.Value}), *r)
		}
	}
}

// gather collects the readings of one link that raise the same question, in
// the order in which the questions first came up.
type gather struct {
	questions []statement.Statement
	by        map[string][]record.Reading // by the question's key
}

func (g *gather) add(r *record.Reading, code string, args ...statement.Argument) {
	if g.by == nil {
		g.by = map[string][]record.Reading{}
	}
	question := statement.New(code, args...)
	key := question.Key()
	if g.by[key] == nil {
		g.questions = append(g.questions, question)
	}
	g.by[key] = append(g.by[key], *r)
}

func (g *gather) ask(d *linkJudge) {
	for _, question := range g.questions {
		d.ask(question, g.by[question.Key()]...)
	}
}

// traceable asks for day, instrument, calibration, person and qualification of
// every reading that counts.
func (j *linkJudge) traceable() {
	var calibration, date, instrument, person, expired gather
	for i := range j.out.Readings {
		r := &j.out.Readings[i]
		day := record.DateOf(r.Time)
		if day.IsZero() {
			date.add(r, "no-date")
		}
		if r.Instrument == "" {
			instrument.add(r, "unknown-instrument.none")
		}
		for _, id := range []string{r.Instrument, r.Source} {
			if id == "" {
				continue
			}
			in := j.instruments[id]
			if in == nil {
				instrument.add(r, "unknown-instrument.unlisted", statement.Name(id))
				continue
			}
			if code, days := calibrated(in, day); code != "" {
				calibration.add(r, "calibration."+code, append([]statement.Argument{statement.Name(in.ID)}, days...)...)
			}
		}
		switch p := j.people[r.Person]; {
		case r.Person == "":
			person.add(r, "unknown-person.none")
		case p == nil:
			person.add(r, "unknown-person.unlisted", statement.Name(r.Person))
		case !p.ValidUntil.IsZero() && day.After(p.ValidUntil):
			expired.add(r, "expired-qualification", statement.Name(p.Name), statement.Day(p.ValidUntil), statement.Day(day))
		}
	}
	date.ask(j)
	instrument.ask(j)
	calibration.ask(j)
	person.ask(j)
	expired.ask(j)
}

// calibrated returns what there is to ask about an instrument on a day, or "", and
// the days that it rests on.
// The day of calibration and the day it is due are both valid days.
func calibrated(in *record.Instrument, day record.Date) (code string, days []statement.Argument) {
	switch {
	case in.Calibrated.IsZero() && in.Due.IsZero():
		return "no-dates", nil
	case in.Due.IsZero():
		return "no-due", nil
	case in.Calibrated.IsZero():
		return "no-start", nil
	case day.IsZero():
	case day.After(in.Due):
		return "overdue", []statement.Argument{statement.Day(day), statement.Day(in.Due)}
	case day.Before(in.Calibrated):
		return "early", []statement.Argument{statement.Day(day), statement.Day(in.Calibrated)}
	}
	return "", nil
}

// reference asks about references that are too old, or younger than the
// reading that rests on them.
func (j *linkJudge) reference() {
	var old gather
	hours := j.asks["reference-age"].Threshold
	most := time.Duration(chance.Float(hours) * float64(time.Hour))
	for i := range j.out.Readings {
		r := &j.out.Readings[i]
		if r.Time.IsZero() || r.ReferenceTime.IsZero() {
			continue
		}
		// Where an hour was not written down, only what is certain asks: the least
		// age that the reference can have.
		switch age := r.Time.Sub(record.Latest(r.ReferenceTime)); {
		case record.Latest(r.Time).Before(r.ReferenceTime):
			old.add(r, "reference-age.younger", statement.Moment(r.ReferenceTime), statement.Moment(r.Time))
		case age > most:
			old.add(r, "reference-age.old", statement.Moment(r.ReferenceTime), statement.Short(hours))
		}
	}
	old.ask(j)
}

// session asks for what some owners want on record of every session, where the job
// gives that a weight.
func (j *linkJudge) session() {
	times, versions := j.asks["no-reference-time"].Weight != evidence.Off, j.asks["no-software"].Weight != evidence.Off
	var untimed, unversioned gather
	for i := range j.out.Readings {
		r := &j.out.Readings[i]
		if times && r.ReferenceTime.IsZero() && r.Quantity == record.InsertionLoss {
			untimed.add(r, "no-reference-time")
		}
		if versions && j.policy.MethodOf(r).Software == "" {
			unversioned.add(r, "no-software")
		}
	}
	untimed.ask(j)
	unversioned.ask(j)
}

// onReel holds losses on the reel against those of the shipping record: at the same
// wavelength, in the same direction if the record has it.
func (j *linkJudge) onReel() {
	most := j.asks["reel-loss"].Threshold
	if len(j.out.Stages) == 0 {
		return // one stage alone
	}
	all, paper := slices.Concat(j.out.Readings, j.out.Stages), j.facts.Job.StageFor(j.link)
	of := func(stage record.Stage, nm int) (out []record.Reading) {
		for _, r := range all {
			if r.Quantity == record.InsertionLoss && r.Shown == "" && r.Fate != record.Superseded && cmp.Or(j.policy.MethodOf(&r).Stage, paper) == stage && (nm == 0 || r.WavelengthNM == nm) {
				out = append(out, r)
			}
		}
		return out
	}
	for _, reel := range of(record.OnReel, 0) {
		shipped := of(record.Shipped, reel.WavelengthNM)
		if same := slices.IndexFunc(shipped, func(r record.Reading) bool { return r.Direction == reel.Direction }); same > 0 {
			shipped = shipped[same:]
		}
		if len(shipped) == 0 {
			continue
		}
		differs := reel.Value.Sub(shipped[0].Value).Abs().Mul(quantity.Int(100))
		if shipped[0].Value.Mul(most).Less(differs) {
			j.ask(statement.New("reel-loss", statement.NM(reel.WavelengthNM), statement.Way(reel.Direction), statement.Number{Decimal: reel.Value},
				statement.Number{Decimal: shipped[0].Value}, statement.Short(most)), reel, shipped[0])
		}
	}
}

// afterFinished asks about readings that were certainly taken before a
// termination was finished.
func (j *linkJudge) afterFinished() {
	var last *record.Termination
	for i := range j.out.Terminations {
		if t := &j.out.Terminations[i]; last == nil || t.Finished.After(last.Finished) {
			last = t
		}
	}
	if last == nil || last.Finished.IsZero() {
		return
	}
	var early gather
	for i := range j.out.Readings {
		r := &j.out.Readings[i]
		if !r.Time.IsZero() && record.Latest(r.Time).Before(last.Finished) {
			early.add(r, "before-finished", statement.End(last.End), statement.Moment(last.Finished))
		}
	}
	early.ask(j)
}

// afterShut asks about readings that were certainly taken before the last closure on
// the way was shut.
func (j *linkJudge) afterShut() {
	var shut time.Time
	for i := range j.out.Terminations {
		if t := &j.out.Terminations[i]; t.Shut.After(shut) {
			shut = t.Shut
		}
	}
	if shut.IsZero() {
		return
	}
	var early gather
	for i := range j.out.Readings {
		if r := &j.out.Readings[i]; !r.Time.IsZero() && record.Latest(r.Time).Before(shut) {
			early.add(r, "before-shut", statement.Moment(shut))
		}
	}
	early.ask(j)
}

// possible asks about losses that physics does not allow: negative ones, and
// ones below what the glass alone loses.
func (j *linkJudge) possible() {
	below := j.asks["negative-loss"].Threshold
	var negative, glass gather
	for i := range j.out.Readings {
		r := &j.out.Readings[i]
		if r.Quantity != record.InsertionLoss {
			continue
		}
		if j.most(r).Add(below).Sign() < 0 {
			negative.add(r, "negative-loss")
		} else if least, so := j.belowGlass(r); so {
			glass.add(r, "below-glass", statement.NM(r.WavelengthNM), statement.Short(j.link.Length), statement.Number{Decimal: least.Round(2)})
		}
	}
	negative.ask(j)
	glass.ask(j)
}

// most is a loss with its uncertainty.
func (j *linkJudge) most(r *record.Reading) quantity.Decimal {
	if u := j.uncertainty(r); u != nil {
		return r.Value.Add(*u)
	}
	return r.Value
}

// belowGlass reports whether a loss is less than glass of the scheduled length must
// lose, beyond its uncertainty and the threshold, and what that is at least.
func (j *linkJudge) belowGlass(r *record.Reading) (least quantity.Decimal, so bool) {
	rate := j.lowest(r.WavelengthNM)
	if rate == nil {
		return least, false
	}
	least = rate.Mul(quantity.Kilometres(j.link.Length))
	return least, j.most(r).Add(j.asks["below-glass"].Threshold).Less(least)
}

// kindOfGlass is a fibre at a wavelength.
type kindOfGlass struct {
	fibre string
	mode  record.Mode
	nm    int
}

// lowest is the least that the link's glass loses at a wavelength, dB/km, or nil.
func (j *linkJudge) lowest(nm int) *quantity.Decimal {
	key := kindOfGlass{j.link.Fibre, j.link.Mode, nm}
	rate, known := j.least[key]
	if !known && j.glass != nil {
		if v := j.glass.Value("cable", &limits.Situation{Fibre: key.fibre, Mode: key.mode, WavelengthNM: nm}); v != nil {
			rate = &v.Number
		}
		remember(j.least, key, rate, mostWorked)
	}
	return rate
}

// lengthSlack is what measured lengths may differ by beside the percentage: the
// slack at the ends of a short link, m.
const lengthSlack = 10

// lengths asks about a measured length that is far from the scheduled one, by
// which limits are worked out: the farthest.
func (j *linkJudge) lengths() {
	var far *record.Reading
	var most quantity.Decimal
	for i := range j.out.Readings {
		r := &j.out.Readings[i]
		if r.Quantity != record.Length {
			continue
		}
		if by := r.Value.Sub(j.link.Length).Abs(); far == nil || most.Less(by) {
			far, most = r, by
		}
	}
	if far == nil {
		return
	}
	percent, hundred := j.asks["length-difference"].Threshold, quantity.Int(100)
	if allowed := percent.Mul(j.link.Length).Add(hundred.Mul(quantity.Int(lengthSlack))); allowed.Less(hundred.Mul(most)) {
		if far.Value.Less(j.link.Length) && j.fails(func(at *limits.Situation) { at.LengthM = far.Value }, "loosened.length", statement.Short(j.link.Length), statement.Short(far.Value)) {
			return
		}
		j.ask(statement.New("length-difference", statement.Short(j.link.Length), statement.Short(far.Value)), *far)
	}
}

// bend asks about a loss at a longer wavelength that glass of the link's length
// does not explain: the largest such excess of the link, in one direction.
func (j *linkJudge) bend() {
	if j.link.Mode != record.Singlemode {
		return
	}
	most := j.asks["bend"].Threshold
	var low, long *record.Reading
	var largest quantity.Decimal
	var losses []*record.Reading // few, where a link may have thousands of splices
	for i := range j.out.Readings {
		if r := &j.out.Readings[i]; r.Quantity == record.InsertionLoss && r.Shown == "" {
			losses = append(losses, r)
		}
	}
	for _, x := range losses {
		for _, y := range losses {
			if x.Direction != y.Direction || x.WavelengthNM >= y.WavelengthNM || !j.alike(x, y) {
				continue
			}
			if _, short := j.belowGlass(x); short {
				continue // the length is in doubt, which says what glass explains
			}
			excess, ok := j.excess(x, y)
			if ok && most.Less(excess) && (low == nil || largest.Less(excess)) {
				low, long, largest = x, y, excess
			}
		}
	}
	if low != nil {
		j.ask(statement.New("bend", statement.Number{Decimal: long.Value}, statement.NM(long.WavelengthNM), statement.Way(long.Direction),
			statement.Rounded(largest, 2), statement.Number{Decimal: low.Value}, statement.NM(low.WavelengthNM), statement.Short(j.link.Length)), *low, *long)
	}
}

// excess is how much more a loss at a longer wavelength is than one at a shorter
// wavelength and the glass of the link explain; ok is false for a pair of
// wavelengths that glass-differences has no figure for.
func (j *linkJudge) excess(short, long *record.Reading) (by quantity.Decimal, ok bool) {
	figure := j.difference(chance.Wavelengths{Mode: j.link.Mode, Short: short.WavelengthNM, Long: long.WavelengthNM})
	if figure == nil {
		return by, false
	}
	return long.Value.Sub(short.Value).Sub(figure.Mul(quantity.Kilometres(j.link.Length))), true
}

// difference is the most that glass loses at the longer wavelength beyond the
// shorter one, dB/km, or nil.
func (w *worker) difference(of chance.Wavelengths) *quantity.Decimal {
	figure, known := w.differs[of]
	if !known {
		figure = w.jobJudge.difference(of)
		w.differs[of] = figure
	}
	return figure
}

func (j *jobJudge) difference(of chance.Wavelengths) *quantity.Decimal {
	if j.differences == nil {
		return nil
	}
	v := j.differences.Value("over_"+strconv.Itoa(of.Short), &limits.Situation{Mode: of.Mode, WavelengthNM: of.Long})
	if v == nil {
		return nil
	}
	return &v.Number
}

// directions asks about a large difference between the two ways.
func (j *linkJudge) directions() {
	most := j.asks["direction-difference"].Threshold
	for i := 1; i < len(j.out.Readings); i++ {
		x, y := &j.out.Readings[i-1], &j.out.Readings[i]
		if x.Quantity != record.InsertionLoss || y.Quantity != x.Quantity || x.WavelengthNM != y.WavelengthNM || x.Direction != record.AB || y.Direction != record.BA || x.Shown != "" || y.Shown != "" || !j.alike(x, y) {
			continue
		}
		if diff := x.Value.Sub(y.Value).Abs(); most.Less(diff) {
			j.ask(statement.New("direction-difference", statement.Number{Decimal: diff}, statement.NM(x.WavelengthNM)), *x, *y)
		}
	}
}

// alike reports whether two losses were measured in one way, so that they hold the
// same connections.
func (j *jobJudge) alike(x, y *record.Reading) bool {
	return x.Method == y.Method || wayOf(j.policy.MethodOf(x)) == wayOf(j.policy.MethodOf(y))
}

// connections asks where their number cannot be right.
func (j *linkJudge) connections() {
	n, spliced := j.link.MatedPairs, j.link.SplicedEnds()
	by := func(m record.ReferenceMethod) bool {
		return slices.ContainsFunc(j.ways, func(w way) bool { return w.reference == m })
	}
	switch {
	case spliced > n:
		j.ask(statement.New("connection-count.spliced", statement.Count(spliced), pairs(n)))
	case n < 2 && by(record.ThreeCord):
		j.ask(statement.New("connection-count.three-cord", pairs(n)))
	case n < 2 && j.link.EndA.Connector != "" && j.link.EndB.Connector != "":
		j.ask(statement.New("connection-count.ends", pairs(n)))
	case n < 1 && by(record.TwoCord):
		j.ask(statement.New("connection-count.two-cord"))
	}
}

// duplicates asks about a reading that stands in the files twice.
func (j *linkJudge) duplicates() {
	var twice gather
	for i := range j.out.Superseded {
		s := &j.out.Superseded[i]
		for k := range j.out.Readings {
			r := &j.out.Readings[k]
			if !s.Time.IsZero() && s.Time.Equal(r.Time) && s.Quantity == r.Quantity && s.WavelengthNM == r.WavelengthNM &&
				s.Direction == r.Direction && s.Event == r.Event && s.Value.Equal(r.Value) {
				twice.add(r, "duplicate-rows.reading", statement.Row(s.Origin), statement.Row(r.Origin))
			}
		}
	}
	twice.ask(j)
}
