package summary

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/statement"
)

// margin is the smallest of a link; v serves drawing only.
type margin struct {
	link    string
	v       float64
	verdict judge.Verdict
	printed statement.Number
}

// What is drawn of margins: nothing of fewer links than say something together, a bar
// a link, or of so many that the bars would be hairs how many links have which margin.
const (
	fewestMargins = 3
	thinnestBar   = 1.0 // mm
	marginLines   = 3.5 // of the grid, above and below zero together
	marginLabel   = 10.0
)

// margins draws the smallest margin of every link.
func (o *overview) margins(f *layout.Flow) {
	var all []margin
	var open []string // links that are drawn and not certified
	for _, l := range o.Judgement.Results() {
		if one := l.WorstFinding(); one != nil && one.Margin != nil && noNumber(l) == nil {
			all = append(all, margin{l.Link.ID, form.Float(*one.Margin), l.Verdict, statement.Rounded(*one.Margin, o.placesOf(*one))})
			if !l.Verdict.Certifiable() {
				open = append(open, l.Link.ID)
			}
		}
	}
	if len(all) < fewestMargins {
		return
	}
	slices.SortStableFunc(all, func(a, b margin) int { return cmp.Compare(a.v, b.v) })
	said := []statement.Statement{statement.New("figure.margins", statement.Count(len(all)), all[0].printed, statement.Name(all[0].link), all[len(all)-1].printed)}
	if len(open) > 0 {
		said = append(said, statement.New("figure.margins-open", statement.Count(len(open)), statement.Few(open)))
	}
	alt := strings.Join(o.words.States(said), " ")
	if (f.W-marginLabel)/float64(len(all)) < thinnestBar {
		o.spread(f, all, alt)
	} else {
		o.bars(f, all, alt)
	}
}

// bars draws a bar a link, the smallest margin first.
func (o *overview) bars(f *layout.Flow, all []margin, alt string) {
	w := o.words
	low, high := min(0, all[0].v), max(0, all[len(all)-1].v)
	if high == low {
		high = low + 1
	}
	step := layout.NiceStep(high-low, 3)
	if high > 0 { // no bar is higher than the scale
		high = math.Ceil(high/step-0.001) * step
	}
	f.Section(w.Say("margins.title"), marginLines+2)
	f.Begin(page.Element{Role: page.Figure, Alt: alt})
	unit := marginLines * f.Grid / (high - low)
	zero, x0 := f.Y+high*unit, f.X+marginLabel
	pitch := min((f.W-marginLabel)/float64(len(all)), 6)
	f.Line(x0, zero, f.X+f.W, zero, 0.25, f.Ink)
	f.PutRight(x0-1.5, zero+0.8, f.Style.Small, "0")
	for v := step; v <= high*1.001; v += step {
		f.Line(x0, zero-v*unit, f.X+f.W, zero-v*unit, 0.1, f.Hair)
		f.PutRight(x0-1.5, zero-v*unit+0.8, f.Style.Small, w.Localise(form.Decimals(v, digitsOf(step))))
	}
	gap := min(0.25*pitch, 0.8)
	ends := [3]float64{x0, x0, x0} // of the names on each line
	names, lines, unnamed := zero-low*unit+0.65*f.Grid, 0, 0
	for i, one := range all {
		x := x0 + float64(i)*pitch
		o.bar(f, x, zero, pitch-gap, one.v*unit, one.verdict)
		if one.verdict == judge.Pass {
			continue
		}
		tag := f.Width(f.Style.Small, one.link)
		line := slices.IndexFunc(ends[:], func(end float64) bool { return x >= end && x+tag <= f.X+f.W })
		if line < 0 {
			unnamed++
			continue
		}
		f.Put(x, names+float64(line)*2.6, f.Style.Small, one.link)
		ends[line], lines = x+tag+2, max(lines, line+1)
	}
	f.Finish()
	f.Lines((names+float64(max(0, lines-1))*2.6-f.Y)/f.Grid + 0.4)
	f.Lines(layout.Ceil(f.Y, f.Grid/4)/f.Grid - f.Y/f.Grid)
	note := w.Say("margins.note")
	if unnamed > 0 {
		note += " " + w.Count("margins.unnamed", unnamed)
	}
	f.Paragraph(f.Note, 0.75, note)
}

// bar draws a margin up or down from zero, as its link was judged.
func (o *overview) bar(f *layout.Flow, x, zero, width, h float64, v judge.Verdict) {
	y := zero - h
	if h < 0 {
		y, h = zero, -h
	}
	switch {
	case !v.Certifiable():
		f.Fill(x, y, width, h, layout.White)
		f.Frame(x, y, width, h, min(0.5, width/4), f.Rust)
	case v == judge.Marginal:
		f.Fill(x, y, width, h, f.Step2)
		for sx := x + 0.4; sx < x+width; sx += 1.2 {
			f.Line(sx, y, sx, y+h, 0.25, f.Deep)
		}
	default:
		f.Fill(x, y, width, h, f.Deep)
	}
}

// digitsOf is how many digits the figures of a scale need.
func digitsOf(step float64) int {
	switch {
	case step < 0.1:
		return 2
	case step < 1:
		return 1
	}
	return 0
}

// mostBins is how many bars a distribution has at most; leastBar is the height of one
// link among many, mm.
const (
	mostBins = 48
	leastBar = 0.8
)

// spread draws how many links have which margin, and names those that are not
// certified, the worst first, as far as two lines go.
func (o *overview) spread(f *layout.Flow, all []margin, alt string) {
	w := o.words
	low, high := min(0, all[0].v), max(0, all[len(all)-1].v)
	width := layout.NiceStep(high-low, mostBins)
	first := math.Floor(low/width + 0.0001)
	bin := func(v float64) int { return int(math.Floor(v/width+0.0001) - first) }
	type column struct{ pass, marginal, open int }
	bins, most := make([]column, bin(high)+1), 0
	var named []margin
	for _, one := range all {
		b := &bins[bin(one.v)]
		switch {
		case !one.verdict.Certifiable():
			b.open++
			named = append(named, one)
		case one.verdict == judge.Marginal:
			b.marginal++
		default:
			b.pass++
		}
		most = max(most, b.pass+b.marginal+b.open)
	}
	f.Section(w.Say("margins.title_spread"), marginLines+3)
	f.Begin(page.Element{Role: page.Figure, Alt: alt})
	height := marginLines * f.Grid
	floor, x0 := f.Y+height, f.X+marginLabel
	pitch := (f.W - marginLabel - 6) / float64(len(bins))
	at := func(v float64) float64 { return x0 + (v/width-first)*pitch }
	tick := layout.NiceStep(float64(most), 3)
	for n := tick; n <= float64(most); n += tick {
		y := floor - n/float64(most)*height
		f.Line(x0, y, f.X+f.W, y, 0.1, f.Hair)
		f.PutRight(x0-1.5, y+0.8, f.Style.Small, w.Whole(int(n)))
	}
	f.Line(x0, floor, f.X+f.W, floor, 0.25, f.Ink)
	for i, b := range bins {
		x, y := x0+float64(i)*pitch, floor
		for _, part := range []struct {
			n int
			v judge.Verdict
		}{{b.open, judge.Fail}, {b.marginal, judge.Marginal}, {b.pass, judge.Pass}} {
			if part.n > 0 {
				h := max(leastBar, float64(part.n)/float64(most)*height)
				o.bar(f, x, y, 0.85*pitch, h, part.v)
				y -= h
			}
		}
	}
	f.Line(at(0), f.Y-0.2*f.Grid, at(0), floor, 0.7, f.Ink) // the limit
	step := layout.NiceStep(high-low, 8)
	for n := math.Ceil(low/step - 0.001); n*step <= high; n++ {
		x, text := at(n*step), w.Localise(form.Decimals(n*step, digitsOf(step)))
		f.Line(x, floor, x, floor+0.8, 0.15, f.Soft)
		f.Put(x-f.Width(f.Style.Small, text)/2, floor+0.65*f.Grid, f.Style.Small, text)
	}
	f.Put(f.X+f.W-4, floor+0.65*f.Grid, f.Style.Small, "dB")
	f.Finish()
	f.Lines(marginLines + 1)
	f.Paragraph(f.Note, 0.75, w.Say("margins.note_spread"))
	if len(named) > 0 {
		f.Paragraph(f.Caption, 0.75, o.namedOn(f, named))
	}
}

// namedOn names links with their margins on two lines, and says how many more there
// are than fit.
func (o *overview) namedOn(f *layout.Flow, all []margin) string {
	w := o.words
	texts := make([]string, len(all))
	for i, one := range all {
		texts[i] = strings.ReplaceAll(one.link, " ", "\u00A0") + "\u00A0" + w.Localise(one.printed.String())
	}
	said := func(n int) string {
		list := strings.Join(texts[:n], ", ")
		if n < len(texts) {
			list = w.Count("margins.more", len(texts)-n, "list", list)
		}
		return w.Say("margins.named", "list", list)
	}
	n := len(texts)
	if n > mostNamed { // no more have room anyway
		n = mostNamed
	}
	for ; n > 1 && len(f.Wrap(f.Caption, f.W, said(n))) > 2; n-- {
	}
	return said(n)
}
