package judge

import (
	"fmt"
	"time"

	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// evidence asks about one link what an owner would ask who looks for a reason
// to reject it.
func (d *docket) evidence() {
	d.traceable()
	d.reference()
	d.afterFinished()
	d.possible()
	d.lengths()
	d.bend()
	d.directions()
	d.connections()
	d.duplicates()
}

// gather collects the readings of one link that raise the same question, in
// the order in which the questions first came up.
type gather struct {
	texts []string
	by    map[string][]record.Reading
}

func (g *gather) add(text string, r *record.Reading) {
	if g.by == nil {
		g.by = map[string][]record.Reading{}
	}
	if g.by[text] == nil {
		g.texts = append(g.texts, text)
	}
	g.by[text] = append(g.by[text], *r)
}

func (g *gather) ask(d *docket, code string) {
	for _, text := range g.texts {
		d.ask(code, text, g.by[text]...)
	}
}

// traceable asks for day, instrument, calibration, person and qualification of
// every reading that counts.
func (d *docket) traceable() {
	var calibration, date, instrument, person, expired gather
	for i := range d.out.Readings {
		r := &d.out.Readings[i]
		day := record.DateOf(r.Time)
		if day.IsZero() {
			date.add("On which day was this measured? The reading has no time.", r)
		}
		if r.Instrument == "" {
			instrument.add("Which instrument took this reading? None is named.", r)
		}
		for _, id := range []string{r.Instrument, r.Source} {
			if id == "" {
				continue
			}
			in := d.instruments[id]
			if in == nil {
				instrument.add(fmt.Sprintf("Is %s one of the job's instruments? It is not on the list.", id), r)
				continue
			}
			if text := calibrated(in, day); text != "" {
				calibration.add(text, r)
			}
		}
		switch p := d.people[r.Person]; {
		case r.Person == "":
			person.add("Who measured this? Nobody is named.", r)
		case p == nil:
			person.add(fmt.Sprintf("Who is %s? The name is not on the list of people.", r.Person), r)
		case !p.ValidUntil.IsZero() && day.After(p.ValidUntil):
			expired.add(fmt.Sprintf("Was the qualification of %s renewed? It was valid until %s, and the reading is of %s.", p.Name, p.ValidUntil, day), r)
		}
	}
	date.ask(d, "no-date")
	instrument.ask(d, "unknown-instrument")
	calibration.ask(d, "calibration")
	person.ask(d, "unknown-person")
	expired.ask(d, "expired-qualification")
}

// calibrated returns what there is to ask about an instrument on a day, or "".
// The day of calibration and the day it is due are both valid days.
func calibrated(in *record.Instrument, day record.Date) string {
	switch {
	case in.Calibrated.IsZero() && in.Due.IsZero():
		return fmt.Sprintf("When was %s calibrated, and until when? No dates are given.", in.ID)
	case in.Due.IsZero():
		return fmt.Sprintf("Until when is the calibration of %s valid? No due date is given.", in.ID)
	case in.Calibrated.IsZero():
		return fmt.Sprintf("When was %s calibrated? No date is given.", in.ID)
	case day.IsZero():
		return ""
	case day.After(in.Due):
		return fmt.Sprintf("Was %s calibrated again before %s? Its calibration was due on %s.", in.ID, day, in.Due)
	case day.Before(in.Calibrated):
		return fmt.Sprintf("Was %s in calibration on %s? The calibration on the list is of %s.", in.ID, day, in.Calibrated)
	}
	return ""
}

// reference asks about references that are too old, or younger than the
// reading that rests on them.
func (d *docket) reference() {
	var old gather
	hours := d.question("reference-age").threshold
	most := time.Duration(float(hours) * float64(time.Hour))
	for i := range d.out.Readings {
		r := &d.out.Readings[i]
		if r.Time.IsZero() || r.ReferenceTime.IsZero() {
			continue
		}
		// Where an hour was not written down, only what is certain asks: the least
		// age that the reference can have.
		switch age := r.Time.Sub(record.Latest(r.ReferenceTime)); {
		case record.Latest(r.Time).Before(r.ReferenceTime):
			old.add(fmt.Sprintf("How can the reference (%s) be younger than the reading (%s)?", record.Moment(r.ReferenceTime), record.Moment(r.Time)), r)
		case age > most:
			old.add(fmt.Sprintf("Was the reference of %s still good? It was more than %s hours old.", record.Moment(r.ReferenceTime), hours.Short()), r)
		}
	}
	old.ask(d, "reference-age")
}

// afterFinished asks about readings that were certainly taken before a
// termination was finished.
func (d *docket) afterFinished() {
	var last *record.Termination
	for i := range d.out.Terminations {
		if t := &d.out.Terminations[i]; last == nil || t.Finished.After(last.Finished) {
			last = t
		}
	}
	if last == nil || last.Finished.IsZero() {
		return
	}
	var early gather
	for i := range d.out.Readings {
		r := &d.out.Readings[i]
		if !r.Time.IsZero() && record.Latest(r.Time).Before(last.Finished) {
			early.add(fmt.Sprintf("Was the link measured again after the termination at %s was finished (%s)?", endName(last.End), record.Moment(last.Finished)), r)
		}
	}
	early.ask(d, "before-finished")
}

// possible asks about losses that physics does not allow: negative ones, and
// ones below what the glass alone loses.
func (d *docket) possible() {
	below, glassBelow := d.question("negative-loss").threshold, d.question("below-glass").threshold
	var negative, glass gather
	var least quantity.Decimal // what the glass alone loses at a wavelength
	at := limits.Situation{Fibre: d.link.Fibre, Mode: d.link.Mode}
	for i := range d.out.Readings {
		r := &d.out.Readings[i]
		if r.Quantity != record.InsertionLoss {
			continue
		}
		if d.glass != nil && r.WavelengthNM != at.WavelengthNM {
			at.WavelengthNM, least = r.WavelengthNM, quantity.Decimal{}
			if v := d.glass.Value("cable", &at); v != nil {
				least = v.Number.Mul(quantity.Kilometres(d.link.Length))
			}
		}
		if !r.Value.Less(least) && r.Value.Sign() >= 0 {
			continue
		}
		var u quantity.Decimal
		if p := d.uncertainty(r); p != nil {
			u = *p
		}
		if most := r.Value.Add(u); most.Add(below).Sign() < 0 {
			negative.add("How can more light leave the link than went in? A negative loss beyond the uncertainty points at the reference.", r)
		} else if most.Add(glassBelow).Less(least) {
			glass.add(fmt.Sprintf("How can the link lose less at %d nm than %s m of glass alone (about %s dB)?", r.WavelengthNM, d.link.Length.Short(), least.Fixed(2)), r)
		}
	}
	negative.ask(d, "negative-loss")
	glass.ask(d, "below-glass")
}

// lengthSlack is what measured lengths may differ by beside the percentage: the
// slack at the ends of a short link, m.
const lengthSlack = 10

// lengths asks about a measured length that is far from the scheduled one, by
// which limits are worked out: the farthest.
func (d *docket) lengths() {
	var far *record.Reading
	var most quantity.Decimal
	for i := range d.out.Readings {
		r := &d.out.Readings[i]
		if r.Quantity != record.Length {
			continue
		}
		if by := r.Value.Sub(d.link.Length).Abs(); far == nil || most.Less(by) {
			far, most = r, by
		}
	}
	if far == nil {
		return
	}
	percent, hundred := d.question("length-difference").threshold, quantity.Int(100)
	if allowed := percent.Mul(d.link.Length).Add(hundred.Mul(quantity.Int(lengthSlack))); allowed.Less(hundred.Mul(most)) {
		d.ask("length-difference", fmt.Sprintf("Is the scheduled length of %s m right? %s m was measured, and limits are worked out from the schedule.", d.link.Length.Short(), far.Value.Short()), *far)
	}
}

// bend asks about a loss that is higher at the longer wavelength: the largest
// such rise of the link, in one direction.
func (d *docket) bend() {
	if d.link.Mode != record.Singlemode {
		return
	}
	most := d.question("bend").threshold
	var short, long *record.Reading
	var losses []*record.Reading // few, where a link may have thousands of splices
	for i := range d.out.Readings {
		if r := &d.out.Readings[i]; r.Quantity == record.InsertionLoss {
			losses = append(losses, r)
		}
	}
	for _, x := range losses {
		for _, y := range losses {
			if x.Direction != y.Direction || x.WavelengthNM >= y.WavelengthNM {
				continue
			}
			if rise := y.Value.Sub(x.Value); most.Less(rise) && (short == nil || long.Value.Sub(short.Value).Less(rise)) {
				short, long = x, y
			}
		}
	}
	if short != nil {
		d.ask("bend", fmt.Sprintf("Is the fibre bent too tightly? %s dB at %d nm is %s dB more than at %d nm (%s).",
			long.Value, long.WavelengthNM, long.Value.Sub(short.Value), short.WavelengthNM, long.Direction), *short, *long)
	}
}

// directions asks about a large difference between the two ways.
func (d *docket) directions() {
	most := d.question("direction-difference").threshold
	for i := 1; i < len(d.out.Readings); i++ {
		x, y := &d.out.Readings[i-1], &d.out.Readings[i]
		if x.Quantity != record.InsertionLoss || y.Quantity != x.Quantity || x.WavelengthNM != y.WavelengthNM || x.Direction != record.AB || y.Direction != record.BA {
			continue
		}
		if diff := x.Value.Sub(y.Value).Abs(); most.Less(diff) {
			d.ask("direction-difference", fmt.Sprintf("Why do the two directions differ by %s dB at %d nm?", diff, x.WavelengthNM), *x, *y)
		}
	}
}

// count prints a number with a noun in its right form.
func count(n int, noun string) string {
	if n != 1 {
		noun += "s"
	}
	return fmt.Sprintf("%d %s", n, noun)
}

// connections asks where their number cannot be right.
func (d *docket) connections() {
	n, spliced, method := d.link.MatedPairs, d.link.SplicedEnds(), d.policy.Reference
	switch {
	case spliced > n:
		d.ask("connection-count", fmt.Sprintf("%d ends are spliced on, and the schedule counts %s: is each face counted as one?", spliced, count(n, "mated pair")))
	case n < 2 && method == record.ThreeCord:
		d.ask("connection-count", fmt.Sprintf("A three-cord reference leaves both end connections out, and the schedule counts %s: are both ends counted?", count(n, "mated pair")))
	case n < 2 && d.link.EndA.Connector != "" && d.link.EndB.Connector != "":
		d.ask("connection-count", fmt.Sprintf("Both ends have connectors, and the schedule counts %s: are both ends counted?", count(n, "mated pair")))
	case n < 1 && method == record.TwoCord:
		d.ask("connection-count", "A two-cord reference leaves one end connection out, and the schedule counts no mated pair: are the ends counted?")
	}
}

// duplicates asks about a reading that stands in the files twice.
func (d *docket) duplicates() {
	var twice gather
	for i := range d.out.Superseded {
		s := &d.out.Superseded[i]
		for k := range d.out.Readings {
			r := &d.out.Readings[k]
			if !s.Time.IsZero() && s.Time.Equal(r.Time) && s.Quantity == r.Quantity && s.WavelengthNM == r.WavelengthNM &&
				s.Direction == r.Direction && s.Event == r.Event && s.Value.Equal(r.Value) {
				twice.add(fmt.Sprintf("Is %s the same reading as %s?", s.Origin.Where(), r.Origin.Where()), r)
			}
		}
	}
	twice.ask(d, "duplicate-rows")
}
