package summary

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"spanseal/internal/certify"
	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
)

// lossPlot is a drawing of the losses of one kind of fibre at one wavelength, with the limits
// they were held against. Floats serve drawing and statistics only.
type lossPlot struct {
	fibre           string
	nm              int
	losses, fails   []float64
	limited         bool
	least, most     float64 // of the limits
	lowest, highest string  // the same as printed
	// What is said of the drawing: from which loss to which, and of which limits.
	losing, limits    [2]statement.Number
	smallest, largest float64
}

func (g *lossPlot) name() string { return g.fibre + " " + wording.Nanometres(g.nm) + " nm" }

// lossPlots collects insertion losses by fibre and wavelength, those without a limit too.
func (o *overview) lossPlots() []*lossPlot {
	var out []*lossPlot
	at, rank := map[string]*lossPlot{}, map[string]int{}
	for _, l := range o.Judgement.Results() {
		for _, m := range drawn(l) {
			key := l.Link.Fibre + " " + wording.Nanometres(m.WavelengthNM)
			g := at[key]
			if g == nil {
				g = &lossPlot{fibre: l.Link.Fibre, nm: m.WavelengthNM}
				if _, known := rank[g.fibre]; !known {
					rank[g.fibre] = len(rank)
				}
				at[key], out = g, append(out, g)
			}
			v := form.Float(*m.Measured)
			if len(g.losses) == 0 || v < g.smallest {
				g.smallest, g.losing[0] = v, statement.Rounded(*m.Measured, o.placesOf(m))
			}
			if len(g.losses) == 0 || v > g.largest {
				g.largest, g.losing[1] = v, statement.Rounded(*m.Measured, o.placesOf(m))
			}
			g.losses = append(g.losses, v)
			if m.Verdict == judge.Fail {
				g.fails = append(g.fails, v)
			}
			if m.Limit == nil {
				continue
			}
			v = form.Float(*m.Limit)
			if !g.limited || v < g.least {
				g.least, g.lowest = v, o.words.Fixed(*m.Limit, o.placesOf(m))
				g.limits[0] = statement.Rounded(*m.Limit, o.placesOf(m))
			}
			if !g.limited || v > g.most {
				g.most, g.highest = v, o.words.Fixed(*m.Limit, o.placesOf(m))
				g.limits[1] = statement.Rounded(*m.Limit, o.placesOf(m))
			}
			g.limited = true
		}
	}
	// Fibres stay in the order of the schedule, their wavelengths rise.
	slices.SortStableFunc(out, func(a, b *lossPlot) int {
		return cmp.Or(cmp.Compare(rank[a.fibre], rank[b.fibre]), cmp.Compare(a.nm, b.nm))
	})
	return out
}

// drawn is every loss that was read as a number: as it was judged, or without a limit
// if none applies to it.
func drawn(l *judge.LinkResult) []judge.Finding {
	out := tightest(l.Findings)
	for i := range l.Readings {
		r := &l.Readings[i]
		if r.Quantity == record.InsertionLoss && r.Shown == "" && !slices.ContainsFunc(out, func(o judge.Finding) bool {
			return o.WavelengthNM == r.WavelengthNM && o.Direction == r.Direction
		}) {
			out = append(out, judge.Finding{Matter: &judge.Matter{Quantity: r.Quantity, WavelengthNM: r.WavelengthNM, Direction: r.Direction}, Measured: &r.Value})
		}
	}
	return out
}

// tightest are the findings of insertion loss, for each reading the one with
// the lowest limit: a reading is drawn once, however many sets bind it.
func tightest(findings []judge.Finding) []judge.Finding {
	var out []judge.Finding
	for _, f := range findings {
		if f.Kind != judge.KindLimit || f.Quantity != record.InsertionLoss || f.Measured == nil || f.Shown() != "" {
			continue
		}
		f = certify.AgainstMost(f)
		i := slices.IndexFunc(out, func(o judge.Finding) bool { return o.WavelengthNM == f.WavelengthNM && o.Direction == f.Direction })
		switch {
		case i < 0:
			out = append(out, f)
		case f.Limit != nil && (out[i].Limit == nil || f.Limit.Less(*out[i].Limit)):
			out[i] = f
		}
	}
	return out
}

// dots draws every loss of every kind of fibre against its limits.
func (o *overview) dots(f *layout.Flow) {
	groups := o.lossPlots()
	if len(groups) == 0 {
		return
	}
	w := o.words
	const label, right, size = 26.0, 8.0, 1.5
	s := layout.Scale{X0: f.X + label, Width: f.W - label - right}
	for _, g := range groups {
		s.Top = max(s.Top, g.most, slices.Max(g.losses))
	}
	s.Top = max(s.Top*1.05, 0.1)
	// One dot stands for so many readings that no pile is higher than eight.
	columns := int(s.Width/size) + 1
	pile := func(values []float64) []int {
		n := make([]int, columns)
		for _, v := range values {
			n[int((s.At(v)-s.X0)/size)]++
		}
		return n
	}
	each := 1
	for _, g := range groups {
		each = max(each, (slices.Max(pile(g.losses))+7)/8)
	}
	limited := slices.ContainsFunc(groups, func(g *lossPlot) bool { return g.limited })
	title := w.Say("dots.title")
	if !limited {
		title = w.Say("dots.unlimited")
	}
	f.Section(title, 5)
	fails := 0
	var said []statement.Statement
	for _, g := range groups {
		said, fails = append(said, g.said()), fails+len(g.fails)
	}
	f.Begin(page.Element{Role: page.Figure, Alt: strings.Join(w.States(append(said, statement.Failing(fails))), " ")})
	for _, g := range groups {
		bad, all := pile(g.fails), pile(g.losses)
		high := 0
		for _, n := range all {
			high = max(high, (n+each-1)/each)
		}
		height := layout.Ceil(max(float64(high)*size+0.5*f.Grid, 1.75*f.Grid), f.Grid/2)
		f.Need(height + f.Grid)
		floor := f.Y + height
		f.Put(f.X, floor-0.1*f.Grid, f.Body, g.name())
		f.Line(s.X0, floor, s.X0+s.Width, floor, 0.15, f.Soft)
		if g.limited {
			a, b := s.At(g.least), s.At(g.most)
			top := floor - height + 0.4*f.Grid
			text := g.lowest
			if g.lowest != g.highest {
				text = g.lowest + "–" + g.highest
				f.Fill(a, top, b-a, floor-top, f.Step3)
				f.Line(a, top, a, floor, 0.35, f.Ink)
			}
			f.Line(b, top, b, floor, 0.7, f.Ink)
			x := b + 1
			if width := f.Width(f.Style.Small, text); x+width > f.X+f.W {
				x = a - 1 - width
			}
			f.Put(x, top+1.9, f.Style.Small, text)
		}
		for c, n := range all {
			open := (bad[c] + each - 1) / each
			for k := range (n + each - 1) / each {
				x, y := s.X0+(float64(c)+0.5)*size, floor-(float64(k)+0.55)*size
				if k < open {
					f.Polygon(disc(x, y, size*0.62), f.Rust)
					f.Polygon(disc(x, y, size*0.3), layout.White)
				} else {
					f.Polygon(disc(x, y, size*0.43), f.Deep)
				}
			}
		}
		f.Lines(height/f.Grid + 0.25)
	}
	o.dotAxis(f, s, each, limited)
}

// said is between which losses the plot lies, and which limits it has.
func (g *lossPlot) said() statement.Statement {
	args := []statement.Argument{statement.Name(g.fibre), statement.NM(g.nm), statement.Count(len(g.losses)), g.losing[0], g.losing[1]}
	switch {
	case !g.limited:
		return statement.New("figure.losses", args...)
	case g.lowest == g.highest:
		return statement.New("figure.losses-limit", append(args, g.limits[0])...)
	}
	return statement.New("figure.losses-limits", append(args, g.limits[0], g.limits[1])...)
}

func (o *overview) dotAxis(f *layout.Flow, s layout.Scale, each int, limited bool) {
	w := o.words
	step := layout.NiceStep(s.Top, 8)
	for n := 0; float64(n)*step <= s.Top; n++ {
		x := s.At(float64(n) * step)
		text := w.Localise(form.Decimals(float64(n)*step, 1))
		if step < 0.1 {
			text = w.Localise(form.Decimals(float64(n)*step, 2))
		}
		f.Line(x, f.Y-0.25*f.Grid, x, f.Y-0.25*f.Grid+0.8, 0.15, f.Soft)
		f.Put(x-f.Width(f.Style.Small, text)/2, f.Y+0.5*f.Grid, f.Style.Small, text)
	}
	f.Put(s.X0+s.Width+2, f.Y+0.5*f.Grid, f.Style.Small, "dB")
	f.Finish() // the figure
	f.Lines(1)
	note := w.Say("dots.note")
	if !limited {
		note = w.Say("dots.reading")
	}
	if each > 1 {
		note += " " + w.Say("dots.each", "n", w.Whole(each))
	}
	f.Paragraph(f.Note, 0.75, note)
}

// disc is a circle's polygon.
func disc(x, y, r float64) []page.Point {
	const corners = 12
	p := make([]page.Point, corners)
	for i := range p {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / corners)
		p[i] = page.Point{X: x + r*cos, Y: y + r*sin}
	}
	return p
}
