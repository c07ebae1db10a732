package certify

import (
	"fmt"
	"slices"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/stationery"
	"spanseal/internal/wording"
)

// A LabelError reports a symbol that cannot be read from labels of the size
// that documents/labels.yaml gives.
type LabelError struct {
	Link       string
	Need, Have float64 // millimetres, with the white around the symbol
}

func (e *LabelError) Error() string {
	return fmt.Sprintf("the label of %s: its symbol needs %.1f mm with the white around it to be read, and a label has %.1f mm", e.Link, e.Need, e.Have)
}

// labelled is what a label shows of its link.
type labelled struct {
	*judge.Brief
	measured record.Date
	symbol   symbol
}

// Label is that of a paper beside those of the links.
type Label struct {
	ID, From, To string
	Verdict      judge.Verdict
	Measured     record.Date
	Symbol       [][]bool // nil of a specimen
}

// Labels is [Set.LabelsWith] no others.
func (s *Set) Labels() (*Document, error) { return s.LabelsWith() }

// LabelsWith returns a sheet of labels, one for each certified link in schedule
// order and then the others, with its symbol and what a person can read. Links that are not
// certified have none. It returns nil where no link is certified, and a
// [*LabelError] where a symbol would be too fine to read.
func (s *Set) LabelsWith(others ...Label) (*Document, error) {
	var all []labelled
	g := s.look.labels
	widest := g.Least() + 2*g.Quiet() // one for all, so that the texts stand under each other
	for i, l := range s.Judgement.Results() {
		if !l.Verdict.Certifiable() {
			continue
		}
		sealed, err := s.sealed(l, nil)
		if err != nil {
			return nil, err
		}
		_, measured := s.MeasuredOn(l.Readings)
		all = append(all, labelled{&s.Judgement.Links[i], measured, sealed.symbol})
	}
	for _, o := range others {
		all = append(all, labelled{&judge.Brief{Link: &record.Link{ID: o.ID, From: o.From, To: o.To}, Verdict: o.Verdict}, o.Measured, pack(o.Symbol)})
	}
	for _, one := range all {
		n := one.symbol.side
		if n == 0 { // of a specimen
			n = stationery.Coarsest
		}
		side, ok := g.Side(n)
		if !ok {
			return nil, &LabelError{one.Link.ID, stationery.Wide(side, n), g.Room()}
		}
		widest = max(widest, stationery.Wide(side, n))
	}
	if len(all) == 0 {
		return nil, nil
	}
	return s.NewDocument("labels.pdf", s.words.Say("labels.title")+" "+s.Facts.Job.Number, func(f *layout.Flow) {
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
	}), nil
}

// printing says beside the labels how to print the sheet, where their first row
// leaves the room: a coarser printer makes symbols that telephones do not read.
func (s *Set) printing(f *layout.Flow, g stationery.Labels) {
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
// on the other side of the cord.
func (s *Set) label(f *layout.Flow, g stationery.Labels, x, y, box float64, l *labelled) {
	from, width := x+box, g.Width-box-g.Quiet()
	if g.Flag {
		box = g.Half()
		from, width = x+box+g.Wrap+g.Quiet(), box-2*g.Quiet()
		for _, fold := range []float64{x + box, x + box + g.Wrap} {
			f.Line(fold, y+1, fold, y+3, 0.1, f.Soft)
			f.Line(fold, y+g.Height-3, fold, y+g.Height-1, 0.1, f.Soft)
		}
	}
	var side float64
	if symbol := l.symbol.modules(); symbol == nil {
		side, _ = g.Side(stationery.Coarsest)
		s.noSymbol(f, x+(box-side)/2, y+(g.Height-side)/2, side)
	} else {
		side, _ = g.Side(len(symbol))
		f.Illustrate(s.words.Say("figure.symbol_of", "link", l.Link.ID), func() {
			f.Modules(stationery.ToDot(x+(box-side)/2), stationery.ToDot(y+(g.Height-side)/2), side, symbol, 0)
		})
	}
	const margin = 1
	set := s.labelText(f, l, width, g.Height-2*margin)
	height := heightOf(set)
	// The text begins beside the top of the symbol, or higher where it is long.
	at := min(y+(g.Height-side)/2, y+g.Height-margin-height)
	for i, line := range set {
		if i == 0 || line.of != set[i-1].of {
			f.Begin(page.Element{Role: page.Paragraph})
		}
		f.Put(from, at+0.7*line.height(), line.style, line.text)
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
	of    int // the text that it is a line of
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

// labelText is what a person reads on a label, broken into lines for the width: as
// large as the label allows. What does not fit at the smallest size is cut to a line
// that ends with an ellipsis, first the contractor, then the ends: nothing is left out
// without a sign of it.
func (s *Set) labelText(f *layout.Flow, l *labelled, width, height float64) []labelLine {
	w := s.words
	measured := ""
	if !l.measured.IsZero() {
		measured = w.Say("labels.measured", "day", w.Day(l.measured))
	}
	verdict := wording.Distinct(w.Say("verdict."+l.Verdict.String()), measured)
	said := page.Style{Face: page.Medium, Size: 6.8, Ink: f.Ink}
	plain := page.Style{Face: page.Regular, Size: 6.4, Ink: f.Ink}
	fine := page.Style{Face: page.Regular, Size: 6, Ink: f.Ink}
	all := []labelLine{
		{style: page.Style{Face: page.Medium, Size: 11, Ink: f.Ink}, least: 7, text: l.Link.ID},
		{style: plain, least: 6, text: l.Link.From},
		{style: plain, least: 6, text: l.Link.To},
		{style: said, least: 6, text: strings.Join(verdict, " · ")},
		{style: fine, least: 5, text: s.CertificateNumber(l.Link.ID)},
		{style: fine, least: 5, text: s.Facts.Job.Contractor.Name},
	}
	broken := func(scale float64, cut ...int) (set []labelLine, fits bool) {
		whole := true // no word is torn for the size
		for of, line := range all {
			style, text := line.style, line.text
			style.Size = max(5, style.Size*scale)
			if of == 3 && f.Width(style, text) > width { // a date is not broken
				text = strings.Join(verdict, "\n")
			}
			for piece := range strings.SplitSeq(text, "\n") {
				style = f.Shrink(style, max(5, line.least*min(scale, 1)), width, piece)
			}
			lines := f.Wrap(style, width, text)
			if slices.Contains(cut, of) && len(lines) > 1 {
				lines = []string{f.Clip(style, width, text)}
			}
			for _, text := range lines {
				whole = whole && !layout.Torn(text)
				set = append(set, labelLine{style: style, text: text, of: of})
			}
		}
		return set, heightOf(set) <= height && (whole || scale <= 1)
	}
	for scale := largestText; scale > smallestText-0.01; scale -= 0.05 {
		if set, fits := broken(scale); fits {
			return set
		}
	}
	const from, to, contractor = 1, 2, 5
	for _, cut := range [][]int{{contractor}, {contractor, from, to}} {
		if set, fits := broken(smallestText, cut...); fits {
			return set
		}
	}
	all = slices.Delete(slices.Delete(all, contractor, contractor+1), from, to+1) // they are in the certificate
	set, fits := broken(smallestText)
	for ; !fits && len(set) > 1; fits = heightOf(set) <= height { // the symbol says the rest
		set = set[:len(set)-1]
		set[len(set)-1].text = "…"
	}
	return set
}

// noSymbol is a hatched box where a specimen has no symbol.
func (s *Set) noSymbol(f *layout.Flow, x, y, side float64) {
	f.Begin(page.Element{Role: page.Figure, Alt: s.words.Say("figure.no_symbol")})
	defer f.Finish()
	f.Hatch(x, y, side, side, 2.4, 0.5, f.Hair)
	f.Frame(x, y, side, side, 0.4, f.Ink)
	word := s.words.Say("specimen.word")
	style := f.Shrink(f.Strong, 5, side-4, word)
	width := f.Width(style, word)
	f.Fill(x+(side-width)/2-1, y+side/2-3, width+2, 5, layout.White)
	f.Put(x+(side-width)/2, y+side/2+0.7, style, word)
}
