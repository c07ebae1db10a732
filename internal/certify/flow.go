package certify

import (
	"fmt"
	"slices"
	"strings"
	"sync/atomic"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"spanseal/internal/page"
)

// flow sets a document from the top down: the rail on every page, the main
// column on one grid of lines, another page where the column is full. Sizes are
// millimetres; y is the top of the next free line.
type flow struct {
	page.Sheet
	*style
	press *press

	x, w    float64 // the main column
	y, end  float64
	gap     float64 // free lines before a section
	gaps    float64 // how many of them were left free
	endless bool    // the page has no end: see [press.single]
	pages   int     // how many there are; 0 while they are counted
	apart   int     // pages that no closer setting saves: of pictures
	first   bool    // nothing stands on this page yet
	part    string  // the section that is being set
	parts   bool    // sections stand in the outline
	mark    *Mark
	err     error // the first that drawing met

	rails   func(f *flow) // draws the rail
	heading func(f *flow) // repeats the head on later pages
}

// Mark is a place on paper: where the signature stands.
type Mark struct {
	Page int // from one
	Box  page.Box
}

// press is what the papers of a set share: how they are drawn, how their
// language writes numbers, and what one paper leaves for the next to go by. It
// may be used by several goroutines.
type press struct {
	style *style
	mark  string             // decimal mark
	whole func(n int) string // a whole number

	guess atomic.Int32 // the density of the last paper
	wraps wraps
}

// density is how closely a document is set: the height of a line of its grid
// against that of the template, and the free lines before a section.
type density struct{ grid, gap float64 }

// densities go from roomy to tight. The tightest still leaves a third of the
// size of the type between two lines.
var densities = []density{{1, 1}, {1, 0.5}, {0.96, 0.5}, {0.92, 0.5}, {0.88, 0.5}, {0.86, 0.4}, {0.86, 0.25}}

// fewPages is how many pages a document has at most, if setting it closer to
// save one is worth a try.
const fewPages = 4

// lay draws a document as roomy as it may be to fit one page, or over as few
// pages as it takes; what is longer than a page is drawn again, now that each
// page can say how many there are. A paper that is to fit one page is set at its
// closest; another, such as a summary, is set a little closer at most, to save a
// page of leftovers.
func (p *press) lay(sheet page.Sheet, onePage bool, compose func(*flow)) (*flow, error) {
	run := func(on page.Sheet, d density, pages int, endless bool) (*flow, error) {
		style := *p.style
		style.grid *= d.grid
		f := &flow{Sheet: on, style: &style, press: p, gap: d.gap, pages: pages, endless: endless, first: true}
		paper := on.Paper()
		f.x = f.rail + f.gutter
		f.w = paper.Width - f.right - f.x
		f.end = paper.Height - f.bottom
		compose(f)
		return f, f.err
	}
	closest := 4
	if onePage {
		closest = len(densities)
		if f, err := p.single(sheet, run); f != nil || err != nil {
			return f, err
		}
	}
	drawn := newTape(sheet)
	defer drawn.free()
	best, fewest := densities[0], 0
	for _, d := range densities[:closest] {
		drawn.rewind()
		f, err := run(drawn, d, 0, false)
		if err != nil {
			return nil, err
		}
		if drawn.pages == 1 {
			return f, drawn.play(sheet)
		}
		if fewest == 0 || drawn.pages < fewest {
			best, fewest = d, drawn.pages
		}
		if text := fewest - f.apart; text == 1 || text > fewPages {
			break
		}
	}
	return run(sheet, best, fewest, false)
}

// single sets a document on one page without an end. Where it ends tells where
// it would end at every other density, since all heights are lines of the grid:
// two settings find the roomiest that fits, and one where the guess was right.
// The guess is the last paper's, of whichever worker; it costs time at most. No
// flow is returned for what does not fit one page.
func (p *press) single(sheet page.Sheet, run func(page.Sheet, density, int, bool) (*flow, error)) (*flow, error) {
	drawn := newTape(sheet)
	defer drawn.free()
	at := int(p.guess.Load())
	for range 2 {
		drawn.rewind()
		f, err := run(drawn, densities[at], 0, true)
		if err != nil || drawn.pages > 1 {
			return nil, err
		}
		roomiest := slices.IndexFunc(densities, func(d density) bool { return f.ends(d) <= f.end+0.01 })
		if roomiest == at || roomiest > at && f.y <= f.end+0.01 {
			p.guess.Store(int32(at))
			return f, drawn.play(sheet)
		}
		if roomiest < 0 {
			break
		}
		at = roomiest
	}
	return nil, nil
}

// ends is where the flow would end, set at another density.
func (f *flow) ends(d density) float64 {
	start, grid := f.top-f.grid, f.press.style.grid*d.grid
	lines := (f.y-start)/f.grid - f.gaps*f.gap
	return f.top - grid + grid*(lines+f.gaps*d.gap)
}

// picture places a photo or logo; what cannot be drawn stops the document.
func (f *flow) picture(x, y, w, h float64, name string, data []byte) {
	if err := f.Picture(x, y, w, h, data); err != nil && f.err == nil {
		f.err = fmt.Errorf("%s: %w", name, err)
	}
}

// start opens the first page.
func (f *flow) start() {
	f.NextPage()
	f.rails(f)
	f.y = f.top - f.grid
	f.first = true
}

// turn opens a later page, with the head repeated.
func (f *flow) turn() {
	f.NextPage()
	f.rails(f)
	f.y = f.top - f.grid
	f.heading(f)
	f.first = true
}

// need turns the page unless so many millimetres are free, and reports whether
// it did. What is higher than a page is let through on a fresh one.
func (f *flow) need(height float64) bool {
	if f.endless || f.y+height <= f.end+0.01 || f.first {
		return false
	}
	f.turn()
	return true
}

// lines moves down by so many lines of the grid.
func (f *flow) lines(n float64) {
	f.y += n * f.grid
	f.first = false
}

// space leaves a share of the space before a section free.
func (f *flow) space(share float64) {
	f.gaps += share
	f.lines(share * f.gap)
}

// lineBase is where the baseline of a line of the grid stands in it, and
// headingLines what the name of a section takes.
const lineBase, headingLines = 0.74, 1.25

// base is the baseline of the line at y.
func (f *flow) base() float64 { return f.y + lineBase*f.grid }

// section rules off and names a part of the document, with a remark beside the
// name where there is one; so many lines of it must fit below.
func (f *flow) section(name string, lines float64, remark ...string) {
	f.part = ""
	if !f.first {
		f.space(0.5)
	}
	f.need((2 + lines) * f.grid)
	if !f.first {
		f.Line(f.x, f.y, f.x+f.w, f.y, 0.2, f.hair)
		f.space(0.5)
	}
	f.part = name
	if f.parts {
		f.Bookmark(name, 1)
	}
	f.put(f.x, f.base(), f.style.heading, name)
	for _, r := range remark {
		f.put(f.x+f.Width(f.style.heading, name)+3, f.base(), f.caption, r)
	}
	f.lines(headingLines)
}

// put sets a text: accents composed, so that they find their glyph, and spaces
// that do not break as plain ones, so that a search finds them.
func (f *flow) put(x, y float64, s page.Style, text string) {
	f.Text(x, y, s, printable(text))
}

// printable is a text as it is drawn.
func printable(text string) string {
	for i := range len(text) {
		if text[i] >= utf8.RuneSelf {
			return strings.ReplaceAll(norm.NFC.String(text), "\u00A0", " ")
		}
	}
	return text // most are plain ASCII
}

// putRight sets a text that ends at x.
func (f *flow) putRight(x, y float64, s page.Style, text string) {
	f.put(x-f.Width(s, norm.NFC.String(text)), y, s, text)
}

// paragraph sets a text over the column, leading in lines of the grid.
func (f *flow) paragraph(s page.Style, leading float64, text string) {
	for _, line := range f.wrap(s, f.w, text) {
		f.need(leading * f.grid)
		f.put(f.x, f.y+lineBase*leading*f.grid, s, line)
		f.lines(leading)
	}
}

// wrap breaks a text at spaces, and inside a word only where the word alone is
// too wide. Line ends in the text are kept. The lines are shared: nobody may
// change them.
func (f *flow) wrap(s page.Style, width float64, text string) []string {
	return f.press.wraps.lines(s, width, text, func() []string { return f.breakLines(s, width, text) })
}

func (f *flow) breakLines(s page.Style, width float64, text string) []string {
	width += 0.001 // sums of floats
	space := f.Width(s, " ")
	var lines []string
	for para := range strings.SplitSeq(norm.NFC.String(text), "\n") {
		words := strings.FieldsFunc(para, func(r rune) bool { return r == ' ' || r == '\t' })
		first, used := 0, 0.0 // of the words on this line, and how wide they are
		for i, word := range words {
			w := f.Width(s, word)
			if first < i && used+space+w <= width {
				used += space + w
				continue
			}
			if first < i {
				lines = append(lines, strings.Join(words[first:i], " "))
			}
			for ; w > width; w = f.Width(s, word) {
				n := f.fits(s, width, word)
				lines, word = append(lines, strings.TrimRight(word[:n], "\u00A0")), word[n:]
			}
			words[i], first, used = word, i, w
			if word == "" {
				first++
			}
		}
		if first < len(words) {
			lines = append(lines, strings.Join(words[first:], " "))
		}
	}
	return lines
}

// fits returns how many bytes of a word fit, at least one character; it breaks
// after a space that should not break, or else after a hyphen or slash where one
// is near the end.
func (f *flow) fits(s page.Style, width float64, word string) int {
	n, soft, space := 0, 0, 0
	for i, r := range word {
		next := i + utf8.RuneLen(r)
		if n > 0 && f.Width(s, word[:next]) > width {
			break
		}
		if r == '\u00A0' {
			space = next
		}
		if n = next; strings.ContainsRune("-/_.:", r) {
			soft = next
		}
	}
	switch {
	case space > 0:
		return space
	case soft > n/2:
		return soft
	}
	return n
}

// shrink returns the style, smaller where that makes the text fit the width on
// one line, but not below the least size.
func (f *flow) shrink(s page.Style, least, width float64, text string) page.Style {
	if w := f.Width(s, text); w > width {
		s.Size = max(least, s.Size*width/w)
	}
	return s
}

// field is a value under its caption.
type field struct{ caption, value string }

// captionBase and valueBase are where the baselines of a field stand in its
// first two lines of the grid.
const captionBase, valueBase = 0.62, 1.44

// valueLeading is the distance of a value's lines, in millimetres.
func (f *flow) valueLeading() float64 { return 0.86 * f.grid }

// fields sets captioned values in columns, row by row; empty ones are left out.
// Columns are as wide as their values; where that is too wide, the widest give.
func (f *flow) fields(columns int, all ...field) {
	const gutter = 4.0
	set := slices.DeleteFunc(all, func(one field) bool { return one.value == "" })
	widths, total := make([]float64, columns), gutter*float64(columns-1)
	for i, one := range set {
		c := i % columns
		widths[c] = max(widths[c], f.Width(f.body, one.value), f.Width(f.caption, one.caption))
	}
	for _, w := range widths {
		total += w
	}
	if total > f.w {
		squeeze(widths, slices.Repeat([]float64{(f.w+gutter)/float64(columns) - gutter}, columns), total-f.w)
	} else {
		for i := range widths {
			widths[i] += (f.w - total) / float64(columns)
		}
	}
	for row := range slices.Chunk(set, columns) {
		var values [][]string
		most := 1
		for i, one := range row {
			v := f.wrap(f.body, widths[i]+0.01, one.value)
			values = append(values, v)
			most = max(most, len(v))
		}
		// One line of value under its caption takes two lines of the grid.
		height := ceil(2*f.grid+float64(most-1)*f.valueLeading(), f.grid/2)
		f.need(height)
		x := f.x
		for i, one := range row {
			f.put(x, f.y+captionBase*f.grid, f.caption, one.caption)
			for n, line := range values[i] {
				f.put(x, f.y+valueBase*f.grid+float64(n)*f.valueLeading(), f.body, line)
			}
			x += widths[i] + gutter
		}
		f.lines(height / f.grid)
	}
}

// ceil rounds up to a multiple.
func ceil(v, of float64) float64 {
	n := float64(int(v/of + 0.999))
	return n * of
}

// list sets numbered sentences.
func (f *flow) list(texts []string) {
	const indent = 6.0
	for i, text := range texts {
		lines := f.wrap(f.body, f.w-indent, text)
		height := ceil(f.grid+float64(len(lines)-1)*f.valueLeading(), f.grid/2)
		f.need(height)
		f.put(f.x, f.base(), f.caption, f.press.whole(i+1))
		for k, line := range lines {
			f.put(f.x+indent, f.base()+float64(k)*f.valueLeading(), f.body, line)
		}
		f.lines(height / f.grid)
	}
}
