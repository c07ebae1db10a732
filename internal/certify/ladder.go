package certify

import (
	"math"
	"slices"
	"strings"

	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
)

// rung is one wavelength of the ladder: its tightest limit as steps, its
// readings as marks.
type rung struct {
	nm     int
	limit  judge.Finding   // with the tightest limit, whose working makes the steps
	others []judge.Finding // one for each further limit set
	marks  []judge.Finding // one for each direction and the two-way average
}

// rungs groups losses by wavelength.
func rungs(losses []judge.Finding) []rung {
	var out []rung
	for _, f := range losses {
		if f.Measured == nil || f.Limit == nil || f.Shown() != "" {
			continue
		}
		f = AgainstMost(f)
		i := slices.IndexFunc(out, func(r rung) bool { return r.nm == f.WavelengthNM })
		if i < 0 {
			out = append(out, rung{nm: f.WavelengthNM, limit: f})
			i = len(out) - 1
		}
		r := &out[i]
		if f.Limit.Less(*r.limit.Limit) {
			r.limit = f
		}
		if !slices.ContainsFunc(r.marks, func(m judge.Finding) bool { return m.Direction == f.Direction && m.Quantity == f.Quantity }) {
			r.marks = append(r.marks, f)
		}
	}
	for i := range out {
		r := &out[i]
		for _, f := range losses {
			f = AgainstMost(f)
			if f.WavelengthNM == r.nm && f.Limit != nil && !f.Limit.Equal(*r.limit.Limit) &&
				!slices.ContainsFunc(r.others, func(o judge.Finding) bool { return o.Limit.Equal(*f.Limit) }) {
				r.others = append(r.others, f)
			}
		}
	}
	return out
}

// rightOfLadder is the room for figures beside the scale, mm.
const rightOfLadder = 28.0

// ladder draws, for each wavelength, the allowances as steps from zero to the
// limit line and below them the readings, pointing the way the light went.
func (sh *sheet) ladder(f *layout.Flow) {
	all := rungs(sh.losses)
	if len(all) == 0 {
		return
	}
	w := sh.words
	const label = 20.0
	s := layout.Scale{X0: f.X + label, Width: f.W - label - rightOfLadder}
	highest := 0.0
	for _, r := range all {
		highest = max(highest, form.Float(*r.limit.Limit))
		for _, m := range r.marks {
			high := form.Float(*m.Measured)
			if m.Uncertainty != nil {
				high += form.Float(*m.Uncertainty)
			}
			s.Top = max(s.Top, high)
		}
	}
	s.Top = max(highest, s.Top*1.02)
	if s.Top <= 0 {
		s.Top = 1
	}
	f.Section(w.Say("ladder.title"), 6)
	f.Illustrate(strings.Join(w.States(sh.drawn(all)), " "), func() {
		for _, r := range all {
			sh.rung(f, s, r)
		}
		sh.Axis(f, s)
	})
	var limits []judge.Finding
	for _, r := range all {
		limits = append(append(limits, r.limit), r.others...)
	}
	if nm := sh.undrawn(all); len(nm) > 0 {
		f.Paragraph(f.Note, 0.7, w.Say("ladder.undrawn", "nm", w.List(nm)))
	}
	sh.lowNote(f, limits)
}

// undrawn are the wavelengths that were measured and that the ladder has no rung of.
func (sh *sheet) undrawn(drawn []rung) (nm []string) {
	var all []int
	for _, r := range sh.l.Readings {
		if r.Quantity == record.InsertionLoss && !slices.ContainsFunc(drawn, func(d rung) bool { return d.nm == r.WavelengthNM }) {
			all = append(all, r.WavelengthNM)
		}
	}
	slices.Sort(all)
	for _, one := range slices.Compact(all) {
		nm = append(nm, wording.Nanometres(one))
	}
	return nm
}

// drawn says what the ladder shows: at each wavelength between which losses its
// readings lie and what is allowed, and how many fail. Means are of readings that
// are drawn too, unless they alone are judged.
func (sh *sheet) drawn(all []rung) (out []statement.Statement) {
	number := func(d quantity.Decimal) statement.Number { return statement.Rounded(d, sh.places) }
	fails := 0
	for _, r := range all {
		marks := slices.DeleteFunc(slices.Clone(r.marks), func(m judge.Finding) bool { return m.Quantity == record.TwoWayAverage })
		if len(marks) == 0 {
			marks = r.marks
		}
		least, most := *marks[0].Measured, *marks[0].Measured
		for _, m := range marks {
			if m.Measured.Less(least) {
				least = *m.Measured
			}
			if most.Less(*m.Measured) {
				most = *m.Measured
			}
			if m.Verdict == judge.Fail {
				fails++
			}
		}
		if nm := statement.NM(r.nm); len(marks) == 1 {
			out = append(out, statement.New("figure.reading", nm, number(least), number(*r.limit.Limit)))
		} else {
			out = append(out, statement.New("figure.readings", nm, statement.Count(len(marks)), number(least), number(most), number(*r.limit.Limit)))
		}
	}
	return append(out, statement.Failing(fails))
}

// Axis draws the scale of losses below a plot.
func (s *PaperSet) Axis(f *layout.Flow, scale layout.Scale) {
	f.Need(f.Grid)
	y := f.Y + 0.1*f.Grid
	f.Line(scale.X0, y, scale.X0+scale.Width, y, 0.15, f.Soft)
	step := layout.NiceStep(scale.Top, 8)
	for n := 0; float64(n)*step <= scale.Top*1.0001; n++ {
		v := float64(n) * step
		x := scale.At(v)
		f.Line(x, y, x, y+0.8, 0.15, f.Soft)
		places := 1
		if step < 0.1 {
			places = 2
		}
		text := s.words.Localise(form.Decimals(v, places))
		f.Put(x-f.Width(f.Style.Small, text)/2, f.Y+0.85*f.Grid, f.Style.Small, text)
	}
	f.Put(scale.X0+scale.Width+3, f.Y+0.85*f.Grid, f.Style.Small, "dB")
	f.Lines(1.25)
}

// step is one term of the limit as a box.
type step struct {
	x, w   float64
	label  string
	colour page.Ink
}

func (sh *sheet) steps(f *layout.Flow, s layout.Scale, limit judge.Finding) []step {
	var out []step
	if limit.Working == nil {
		return nil
	}
	if slices.ContainsFunc(limit.Working.Terms, func(t judge.WorkedTerm) bool { return t.TakenOff() }) {
		return nil // a power budget is no sum of the link's parts
	}
	w, sum := sh.words, 0.0
	tones := map[string]page.Ink{"cable": f.Step1, "mated_pair": f.Step3, "end_connection": f.Step3, "splice": f.Step2}
	for i, t := range limit.Working.Terms {
		v := form.Float(t.Product)
		if v <= 0 {
			continue
		}
		tone, ok := tones[t.Label]
		if !ok {
			tone = []page.Ink{f.Step1, f.Step2, f.Step3}[i%3]
		}
		name := w.Term("term", t.Label)
		if key := "amount." + t.Label; w.Has(key+".other") && t.AmountUnit == "" {
			form := ".other"
			if t.Amount.Short() == "1" {
				form = ".one"
			}
			name = w.Say(key+form, "n", w.Short(t.Amount))
		}
		product := w.Fixed(t.Product, sh.places)
		if t.Low {
			product += lowMark
		}
		x := s.At(sum)
		sum += v
		out = append(out, step{x, s.At(sum) - x, name + " " + product, tone})
	}
	return out
}

// tag is the label of a step too narrow for it: it stands above, on the first
// line of labels that has room.
type tag struct {
	x    float64
	line int
	text string
}

// fitsStep reports whether a label stands inside its step.
func fitsStep(f *layout.Flow, one step) bool { return f.Width(f.Caption, one.label)+2.4 <= one.w }

func tags(f *layout.Flow, s layout.Scale, steps []step) (above []tag, lines int) {
	var ends []float64 // of the lines so far
	for _, one := range steps {
		if fitsStep(f, one) {
			continue
		}
		width := f.Width(f.Caption, one.label)
		x := min(one.x, s.X0+s.Width-width)
		line := 0
		for line < len(ends) && ends[line] > x {
			line++
		}
		if line == len(ends) {
			ends = append(ends, 0)
		}
		ends[line] = x + width + 2.5
		above = append(above, tag{x, line, one.label})
	}
	return above, len(ends)
}

// barLines is how high the steps are, in lines of the grid.
const barLines = 1.25

// midline is the baseline of a text in the middle of steps that begin at y.
func midline(f *layout.Flow, y float64) float64 { return y + (barLines/2+0.18)*f.Grid }

// rung draws one wavelength.
func (sh *sheet) rung(f *layout.Flow, s layout.Scale, r rung) {
	steps := sh.steps(f, s, r.limit)
	tags, lines := tags(f, s, steps)
	bar, row, tagged := barLines*f.Grid, 0.75*f.Grid, 0.7*f.Grid*float64(lines)
	height := layout.Ceil(tagged+bar+row*float64(len(r.marks))+0.55*f.Grid, f.Grid/4)
	f.Need(height)
	y := f.Y + tagged
	clear := max(0.22*f.Grid, layout.Descent*f.Caption.Size*page.MM+0.65) // of the head of the limit's line
	for _, t := range tags {
		f.Put(t.x, y-clear-float64(t.line)*0.7*f.Grid, f.Caption, t.text)
	}
	middle := midline(f, y)
	f.Put(f.X, middle, f.Strong, wording.Nanometres(r.nm)+" nm")
	inside := f.Caption
	inside.Ink = f.Ink
	for i, one := range steps {
		f.Fill(one.x, y, one.w, bar, one.colour)
		if fitsStep(f, one) {
			f.Put(one.x+1.2, middle, inside, one.label)
		}
		if i > 0 { // a hairline of paper keeps steps apart in grey
			f.Line(one.x, y, one.x, y+bar, 0.25, layout.White)
		}
	}
	limit := s.At(form.Float(*r.limit.Limit))
	if len(steps) == 0 {
		f.Frame(s.X0, y, limit-s.X0, bar, 0.2, f.Hair)
	}
	edge := f.X + f.W
	if len(r.others) > 0 || r.limit.Guard != nil { // more figures stand on the right
		edge = s.X0 + s.Width
	}
	sh.limits(f, s, r, y, y+bar+row*float64(len(r.marks))+0.15*f.Grid)
	for i, m := range r.marks {
		sh.reading(f, s, limit, edge, y+bar+row*(float64(i)+0.55), m, r.others)
	}
	f.Lines(height / f.Grid)
}

// limits draws the limit line of a rung, over its steps and under its readings,
// and lightly those of other sets and of the guard band. Its figure stands at the line, or on
// the right with theirs.
func (sh *sheet) limits(f *layout.Flow, s layout.Scale, r rung, top, bottom float64) {
	w := sh.words
	limit := s.At(form.Float(*r.limit.Limit))
	f.Line(limit, top-0.6, limit, bottom, 0.7, f.Ink)
	dashes := func(v, on, off, weight float64) {
		for y := top; y < bottom && v <= s.Top; y += on + off {
			f.Line(s.At(v), y, s.At(v), min(y+on, bottom), weight, f.Ink)
		}
	}
	x := s.X0 + s.Width + 2
	y := top + 0.45*f.Grid
	figure := func(style page.Style, least float64, text string) {
		f.Put(x, y, f.Shrink(style, least, f.X+f.W-x, text), text)
	}
	printed, allowed := marked(r.limit, sh.Allowed(r.limit, sh.places)+"\u00A0dB"), w.Say("ladder.allowed")
	if len(r.others) > 0 && r.limit.Working != nil { // each is named
		allowed = sh.besideLimit(f, f.Caption, 4, allowed, r.limit.Working)
	}
	if len(r.others) == 0 { // nothing is drawn right of the line at the height of the steps
		x = limit + 2
	}
	if beside := x + f.Width(f.Strong, printed) + 1.2; beside+f.Width(f.Caption, allowed) <= f.X+f.W && len(r.others) == 0 {
		y = midline(f, top)
		f.Put(x, y, f.Strong, printed)
		f.Put(beside, y, f.Caption, allowed)
	} else {
		figure(f.Strong, 6, printed)
		y += max(0.57*f.Grid, 2.5)
		figure(f.Caption, 4, allowed)
	}
	x = s.X0 + s.Width + 2
	more := func(text string) {
		if y += 0.65 * f.Grid; y <= bottom {
			figure(f.Style.Small, 4.5, text)
		}
	}
	if g := r.limit.Guard; g != nil && g.Sign() > 0 { // what guarded acceptance lets through
		accepted := r.limit.Limit.Sub(*g)
		dashes(form.Float(accepted), 0.5, 0.7, 0.25)
		more(w.Say("ladder.guarded", "limit", w.Fixed(accepted, sh.places)))
	}
	for _, o := range r.others {
		dashes(form.Float(*o.Limit), 0.9, 0.7, 0.3)
		text := marked(o, sh.Allowed(o, sh.places))
		if o.Working != nil {
			text = sh.besideLimit(f, f.Style.Small, 4.5, text, o.Working)
		}
		more(text)
	}
}

// besideLimit puts behind a text which limit it is about, by its id where the name has
// no room at the least size.
func (sh *sheet) besideLimit(f *layout.Flow, s page.Style, least float64, text string, work *judge.Working) string {
	s.Size = least
	if long := text + " " + sh.limitName(work); f.Width(s, long) <= rightOfLadder-2 {
		return long
	}
	if sh.limitName(work) != sh.SetName(work.SetID) {
		return text + " " + work.SetID + " " + work.LimitID
	}
	return text + " " + work.SetID
}

// reading draws one mark: a triangle pointing the way the light went, a diamond
// for the two-way average, hollow and heavy where it is over the limit; a
// whisker for its uncertainty; its number.
func (sh *sheet) reading(f *layout.Flow, s layout.Scale, limit, edge, y float64, m judge.Finding, others []judge.Finding) {
	way := sh.way(m.Direction)
	f.PutRight(s.X0-3, y+0.17*f.Grid, f.Shrink(f.Caption, 4, s.X0-3-f.X, way), way)
	v := form.Float(*m.Measured)
	x := s.At(v)
	left, right := x-1.8, x+1.8
	corners := func(r float64) []page.Point {
		switch m.Direction {
		case record.AB:
			return []page.Point{{X: x - r, Y: y - r}, {X: x + r, Y: y}, {X: x - r, Y: y + r}}
		case record.BA:
			return []page.Point{{X: x + r, Y: y - r}, {X: x - r, Y: y}, {X: x + r, Y: y + r}}
		default:
			return []page.Point{{X: x, Y: y - r}, {X: x + r, Y: y}, {X: x, Y: y + r}, {X: x - r, Y: y}}
		}
	}
	const size, heavy, halo = 1.35, 0.35, 0.4
	if math.Abs(x-limit) < size+heavy+halo { // white between the mark and the limit line
		outline := corners(size)
		if m.Verdict == judge.Fail {
			outline = corners(size + heavy)
		}
		for i, a := range outline {
			b := outline[(i+1)%len(outline)]
			f.Line(a.X, a.Y, b.X, b.Y, 2*halo, layout.White)
		}
	}
	if m.Uncertainty != nil && m.Uncertainty.Sign() > 0 {
		u := form.Float(*m.Uncertainty)
		a, b := s.At(v-u), s.At(v+u)
		f.Line(a, y, b, y, 0.25, f.Ink)
		f.Line(a, y-0.8, a, y+0.8, 0.25, f.Ink)
		f.Line(b, y-0.8, b, y+0.8, 0.25, f.Ink)
		left, right = min(left, a), max(right, b)
	}
	if m.Verdict == judge.Fail {
		f.Polygon(corners(size+heavy), f.Rust)
		f.Polygon(corners(size-0.45), layout.White)
	} else {
		f.Polygon(corners(size), f.Ink)
	}
	text, style := sh.db(m.Measured, m.Places(sh.places)), f.Body
	if m.Verdict == judge.Fail {
		style = f.Alarm()
	}
	width := f.Width(style, text)
	at := right + 1.2
	// The number stands right of its mark, or left where the limit line or the
	// edge would cut it.
	if at+width > edge || at < limit+0.6 && at+width > limit-0.6 {
		at = left - 1.2 - width
		if at < limit+0.6 && at+width > limit-0.6 {
			at = min(left, limit) - 1.2 - width
		}
	}
	if at < s.X0-2 {
		at = max(right, limit) + 1.2
	}
	for _, o := range others { // a line that is drawn lightly stops at the number
		if line := s.At(form.Float(*o.Limit)); line > at-0.6 && line < at+width+0.6 {
			f.Fill(at-0.4, y-0.3*f.Grid, width+0.8, 0.6*f.Grid, layout.White)
		}
	}
	f.Put(at, y+0.17*f.Grid, style, text)
}
