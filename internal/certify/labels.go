package certify

import (
	"fmt"
	"slices"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/rail"
	"spanseal/internal/record"
	"spanseal/internal/stationery"
	"spanseal/internal/wording"
)

// A LabelError reports a symbol that cannot be read from labels of the size
// that documents/labels.yaml gives, or a text that they have no room for.
type LabelError struct {
	Link       string
	Need, Have float64 // millimetres, with the white around the symbol
	Text       bool    // it is the height of the text that is needed
}

func (e *LabelError) Error() string {
	if e.Text {
		return fmt.Sprintf("the label of %s: its text needs %.1f mm of height, and a label has %.1f mm", e.Link, e.Need, e.Have)
	}
	return fmt.Sprintf("the label of %s: its symbol needs %.1f mm with the white around it to be read, and a label has %.1f mm", e.Link, e.Need, e.Have)
}

// labelled is what a label shows of its link.
type labelled struct {
	*judge.Brief
	measured record.Date
	symbol   symbol
	end      string // "A" or "B" where it says at which it is
}

// Label is that of a paper beside those of the links.
type Label struct {
	ID, From, To string
	Verdict      judge.Verdict
	Measured     record.Date
	Symbol       [][]bool // nil of a specimen
}

// Labels is [PaperSet.LabelsWith] no others.
func (s *PaperSet) Labels() (*Paper, error) { return s.LabelsWith() }

// LabelsWith returns the labels, those of each certified link in schedule
// order and then the others, with their symbols and what a person can read. Links that are not
// certified have none. It returns nil where no link is certified, and a
// [*LabelError] where a symbol would be too fine to read.
func (s *PaperSet) LabelsWith(others ...Label) (*Paper, error) {
	g := s.look.labels
	all, err := s.labelled(g, others)
	if err != nil || len(all) == 0 {
		return nil, err
	}
	widest := 0.0
	if g.Carries != stationery.Nothing {
		widest = g.Least() + 2*g.Quiet() // one for all, so that the texts stand under each other
	}
	for _, one := range all {
		n := one.symbol.side
		if n == 0 { // of a specimen
			n = g.Coarsest()
		}
		if g.Carries == stationery.Nothing {
			continue
		}
		side, ok := g.Side(n)
		if !ok {
			return nil, &LabelError{one.Link.ID, stationery.Wide(side, n), g.Room(), false}
		}
		widest = max(widest, stationery.Wide(side, n))
	}
	f := s.ruler()
	if g.Tape && g.Width == 0 {
		text := 0.0
		for _, one := range all {
			text = max(text, s.lengthOf(f, g, &one))
		}
		g = g.Long(text, widest)
	}
	for _, one := range all {
		if g.Carries == stationery.Token && !g.Ends {
			break // what has no room is in the symbol
		}
		if _, small := s.fitted(f, g, &one, widest); small != nil {
			return nil, small
		}
	}
	d := s.newDocument("labels.pdf", s.words.Say("labels.title")+" "+s.Facts.Job.Number, func(f *layout.Flow) {
		each := g.Columns * g.Rows
		for n, one := range all {
			at := n + g.Start - 1
			if n == 0 || at%each == 0 {
				f.NextPage()
				s.printing(f, g)
			}
			if n == 0 {
				f.Begin(page.Element{Role: page.List})
			}
			at %= each
			x, y := g.Left+float64(at%g.Columns)*g.PitchX, g.Top+float64(at/g.Columns)*g.PitchY
			if g.Outline {
				f.Frame(x, y, g.Width, g.Height, 0.1, f.Hair)
			}
			f.Begin(page.Element{Role: page.Item})
			f.Begin(page.Element{Role: page.ItemBody})
			s.label(f, g, x, y, widest, &one)
			f.Finish()
			f.Finish()
		}
		f.Finish()
	}, s.press.Place)
	if g.Tape {
		d.Paper = page.PaperSize{Name: "tape", Width: g.Width, Height: g.Height}
	}
	return d, nil
}

// ends are those of which each link has a label, "" where it has one for both.
func ends(g stationery.Labels) []string {
	if g.Ends {
		return []string{"A", "B"}
	}
	return []string{""}
}

// fitted is the text of a label beside a symbol that takes box, or what it needs.
func (s *PaperSet) fitted(f *layout.Flow, g stationery.Labels, l *labelled, box float64) ([]labelLine, *LabelError) {
	set, fits := s.labelText(f, g, l, g.Beside(box))
	if !fits {
		return nil, &LabelError{l.Link.ID, heightOf(set) + 2*labelMargin, g.Height, true}
	}
	return set, nil
}

// labelled are all labels, in order: the copies of one follow each other.
func (s *PaperSet) labelled(g stationery.Labels, others []Label) (all []labelled, err error) {
	add := func(one labelled) {
		for _, one.end = range ends(g) {
			for range g.Copies {
				all = append(all, one)
			}
		}
	}
	symbolOf := func(link string, token symbol) (symbol, error) {
		switch {
		case g.Carries == stationery.Nothing, s.Specimen:
			return symbol{}, nil
		case g.Carries == stationery.Token:
			return token, nil
		}
		modules, err := s.Symbol(s.CertificateNumber(link))
		return pack(modules), err
	}
	for i, l := range s.Judgement.Results() {
		if !l.Verdict.Certifiable() {
			continue
		}
		one := labelled{Brief: &s.Judgement.Links[i]}
		var token symbol
		if g.Carries == stationery.Token {
			sealed, err := s.sealed(l, nil)
			if err != nil {
				return nil, err
			}
			token = sealed.symbol
		}
		if one.symbol, err = symbolOf(l.Link.ID, token); err != nil {
			return nil, err
		}
		_, one.measured = s.MeasuredOn(l.Readings)
		add(one)
	}
	for _, o := range others {
		one := labelled{Brief: &judge.Brief{Link: &record.Link{ID: o.ID, From: o.From, To: o.To}, Verdict: o.Verdict}, measured: o.Measured}
		if one.symbol, err = symbolOf(o.ID, pack(o.Symbol)); err != nil {
			return nil, err
		}
		add(one)
	}
	return all, nil
}

// printing says beside the labels how to print the sheet, where their first row
// leaves the room: a coarser printer makes symbols that telephones do not read.
func (s *PaperSet) printing(f *layout.Flow, g stationery.Labels) {
	const least = 9 // mm above the labels, of which printers leave some blank
	if g.Top < least {
		return
	}
	if f.PageNumber() > 1 {
		f.Begin(page.Element{Role: page.Artifact})
		defer f.Finish()
	}
	f.Put(g.Left, g.Top-2.5, page.Style{Face: page.Regular, Size: 6, Ink: f.Soft}, s.words.Say("labels.printing"))
}

// label draws one label: the symbol in a box of its own, the text right of it or
// on the other side of the cord; without a symbol, the text on both.
func (s *PaperSet) label(f *layout.Flow, g stationery.Labels, x, y, box float64, l *labelled) {
	from, width := x+box, g.Beside(box)
	if box == 0 {
		from = x + g.Quiet()
	}
	if g.Flag {
		box = g.Half()
		from = x + box + g.Wrap + g.Quiet()
		for _, fold := range []float64{x + box, x + box + g.Wrap} {
			f.Line(fold, y+1, fold, y+3, 0.1, f.Soft)
			f.Line(fold, y+g.Height-3, fold, y+g.Height-1, 0.1, f.Soft)
		}
	}
	top := y
	switch symbol := l.symbol.modules(); {
	case g.Carries == stationery.Nothing:
		top = y + labelMargin
		if g.Flag {
			s.put(f, g, x+g.Quiet(), y, top, width, l)
		}
	case symbol == nil:
		side, _ := g.Side(g.Coarsest())
		top = y + (g.Height-side)/2
		rail.NoSymbol(f, s.words, x+(box-side)/2, top, side)
	default:
		side, _ := g.Side(len(symbol))
		top = y + (g.Height-side)/2
		says := "figure.symbol_of"
		if g.Carries == stationery.Number {
			says = "figure.number_of"
		}
		f.Illustrate(s.words.Say(says, "link", l.Link.ID), func() {
			f.Modules(stationery.ToDot(x+(box-side)/2), stationery.ToDot(top), side, symbol, 0)
		})
	}
	s.put(f, g, from, y, top, width, l)
}

// labelMargin is the white above and below the text of a label, in millimetres.
const labelMargin = 1

// put sets the text of a label: beside the top of the symbol, or higher where it is long.
func (s *PaperSet) put(f *layout.Flow, g stationery.Labels, x, y, top, width float64, l *labelled) {
	set, _ := s.labelText(f, g, l, width)
	at := min(top, y+g.Height-labelMargin-heightOf(set))
	for i, line := range set {
		if i == 0 || line.of != set[i-1].of {
			f.Begin(page.Element{Role: page.Paragraph})
		}
		f.Put(x, at+0.7*line.height(), line.style, line.text)
		if i == len(set)-1 || line.of != set[i+1].of {
			f.Finish()
		}
		at += line.height()
	}
}

// labelLine is one line of a label's text.
type labelLine struct {
	style page.Style
	least float64 // size that it may shrink to
	text  string
	of    int  // the text that it is a line of
	cut   bool // it ends with an ellipsis
}

func (l labelLine) height() float64 { return l.style.Size * page.MM * 1.25 }

func heightOf(lines []labelLine) (sum float64) {
	for _, l := range lines {
		sum += l.height()
	}
	return sum
}

// The texts of a label are set at most so many times their size, and at least.
const largestText, smallestText = 2.0, 0.7

// What a label says, in its order.
const (
	labelID = iota
	labelFrom
	labelTo
	labelVerdict
	labelNumber
	labelContractor
)

// lines is what a label says: where it says at which end it is, that end before the other.
func (s *PaperSet) lines(f *layout.Flow, l *labelled) (all []labelLine, verdict []string) {
	w := s.words
	measured := ""
	if !l.measured.IsZero() {
		measured = w.Say("labels.measured", "day", w.Day(l.measured))
	}
	verdict = wording.Distinct(w.Say("verdict."+l.Verdict.String()), measured)
	from, to := l.Link.From, l.Link.To
	switch l.end {
	case "A":
		from, to = w.Say("labels.this_end", "end", "A", "place", from), w.Say("labels.other_end", "end", "B", "place", to)
	case "B":
		from, to = w.Say("labels.this_end", "end", "B", "place", to), w.Say("labels.other_end", "end", "A", "place", from)
	}
	said := page.Style{Face: page.Medium, Size: 6.8, Ink: f.Ink}
	plain := page.Style{Face: page.Regular, Size: 6.4, Ink: f.Ink}
	fine := page.Style{Face: page.Regular, Size: 6, Ink: f.Ink}
	return []labelLine{
		{style: page.Style{Face: page.Medium, Size: 11, Ink: f.Ink}, least: 7, text: l.Link.ID},
		{style: plain, least: 6, text: from},
		{style: plain, least: 6, text: to},
		{style: said, least: 6, text: strings.Join(verdict, " · ")},
		{style: fine, least: 5, text: s.CertificateNumber(l.Link.ID)},
		{style: fine, least: 5, text: s.Facts.Job.Contractor.Name},
	}, verdict
}

// dropped are the texts that labels do without, the first of these that is enough: the
// end at which a label is stays, and its number, which holds the link's name.
func dropped(l *labelled) (all [][]int) {
	order := []int{labelContractor, labelVerdict, labelTo, labelFrom, labelID}
	if l.end != "" {
		order = []int{labelContractor, labelVerdict, labelTo, labelID}
	}
	for i := range order {
		all = append(all, order[:i+1])
	}
	return all
}

// labelText is what a person reads on a label, broken into lines for the width: as
// large as the label allows. What does not fit at the smallest size is cut to a line
// that ends with an ellipsis, first the contractor, then the ends: nothing is left out
// without a sign of it. Where a symbol carries the token, the rest is in that; of other
// labels, and of those of one end, some texts are left out, and fits is false if even the
// others have no room. [PaperSet.Rehearse] says what is cut and left out.
func (s *PaperSet) labelText(f *layout.Flow, g stationery.Labels, l *labelled, width float64) (set []labelLine, fits bool) {
	height := g.Height - 2*labelMargin
	all, verdict := s.lines(f, l)
	broken := func(scale float64, cut, without []int) ([]labelLine, bool) {
		return brokenLabel(f, all, verdict, width, height, scale, cut, without)
	}
	for scale := largestText; scale > smallestText-0.01; scale -= 0.05 {
		if set, fits := broken(scale, nil, nil); fits {
			return set, true
		}
	}
	cuts := [][]int{{labelContractor}, {labelContractor, labelFrom, labelTo}}
	if l.end != "" {
		cuts[1] = []int{labelContractor, labelTo}
	}
	for _, cut := range cuts {
		if set, fits := broken(smallestText, cut, nil); fits {
			return set, true
		}
	}
	if g.Carries != stationery.Token || l.end != "" {
		for _, without := range dropped(l) {
			for scale := 1.0; scale > smallestText-0.01; scale -= 0.05 {
				if set, fits = broken(scale, nil, without); fits {
					return set, true
				}
			}
		}
		return set, false
	}
	set, fits = broken(smallestText, nil, []int{labelFrom, labelTo, labelContractor}) // they are in the certificate
	for ; !fits && len(set) > 1; fits = heightOf(set) <= height {                     // the symbol says the rest
		set = set[:len(set)-1]
		set[len(set)-1].text, set[len(set)-1].cut = "…", true
	}
	return set, true
}

// brokenLabel breaks the texts of a label into lines, at a share of their size, some cut to
// one line and without others, and reports whether it has the height for them.
func brokenLabel(f *layout.Flow, all []labelLine, verdict []string, width, height, scale float64, cut, without []int) (set []labelLine, fits bool) {
	whole := true // no word is torn for the size
	for of, line := range all {
		if slices.Contains(without, of) {
			continue
		}
		style, text := line.style, line.text
		style.Size = max(5, style.Size*scale)
		if of == labelVerdict && f.Width(style, text) > width { // a date is not broken
			text = strings.Join(verdict, "\n")
		}
		for piece := range strings.SplitSeq(text, "\n") {
			style = f.Shrink(style, max(5, line.least*min(scale, 1)), width, piece)
		}
		lines := f.Wrap(style, width, text)
		clip := slices.Contains(cut, of) && len(lines) > 1
		if clip {
			lines = []string{f.Clip(style, width, text)}
		}
		for _, text := range lines {
			whole = whole && !layout.Torn(text)
			set = append(set, labelLine{style: style, text: text, of: of, cut: clip})
		}
	}
	return set, heightOf(set) <= height && (whole || scale <= 1)
}

// lengthOf is how long the longest line of a label on tape is, each text on one line: of
// those for which the tape is high enough.
func (s *PaperSet) lengthOf(f *layout.Flow, g stationery.Labels, l *labelled) (length float64) {
	all, _ := s.lines(f, l)
	for _, without := range append([][]int{nil}, dropped(l)...) {
		for scale := 1.0; scale > smallestText-0.01; scale -= 0.05 {
			var set []labelLine
			length = 0
			for of, line := range all {
				if slices.Contains(without, of) {
					continue
				}
				line.style.Size = max(5, line.style.Size*scale)
				set = append(set, line)
				length = max(length, f.Width(line.style, line.text)+0.01)
			}
			if heightOf(set) <= g.Height-2*labelMargin {
				return length
			}
		}
	}
	return length
}

// ruler measures texts in the typefaces of the set, and draws nothing that is kept.
func (s *PaperSet) ruler() *layout.Flow {
	return &layout.Flow{Sheet: &ruler{page.NewRecorder(s.paper), s.look.Style}, Style: s.look.Style, Press: s.press}
}

type ruler struct {
	*page.Recorder
	style *layout.Style
}

func (r *ruler) Width(s page.Style, text string) float64 {
	return r.style.Glyphs[s.Face].Width(s.Size, text)
}
