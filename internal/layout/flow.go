// Package layout sets text, tables and pictures on pages, on one grid of lines, and
// knows nothing of what they say.
//
// A [Compositor] holds what the papers of a set share: their [Style], read from
// documents/style.yaml, and how their language writes numbers. [Compositor.Lay] sets one
// paper, as roomy as it may be to fit its pages; the function that it is given
// moves a [Flow] from the top of the first page to the end of the last. Lengths
// are millimetres, sizes of type points.
package layout

import (
	"fmt"
	"slices"
	"strings"
	"sync/atomic"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"

	"spanseal/internal/page"
)

// Flow sets a document from the top down: the rail on every page, the main
// column on one grid of lines, another page where the column is full. Sizes are
// millimetres; y is the top of the next free line.
type Flow struct {
	page.Sheet
	*Style
	Press *Compositor

	X, W    float64 // the main column
	Y, End  float64
	Gap     float64 // free lines before a section
	gaps    float64 // how many of them were left free
	endless bool    // the page has no end: see [Press.single]
	Pages   int     // how many there are; 0 while they are counted
	Apart   int     // pages that no closer setting saves: of pictures
	first   bool    // nothing stands on this page yet
	Part    string  // the section that is being set
	Outline bool    // sections stand in the outline
	Mark    *SigningPlace
	err     error // the first that drawing met

	DrawRail func(f *Flow) // draws the rail
	DrawHead func(f *Flow) // repeats the head on later pages
}

// SigningPlace is a place on paper: where the signature stands.
type SigningPlace struct {
	Page int // from one
	Box  page.Box
}

// Compositor is what the papers of a set share: how they are drawn, how their
// language writes numbers, and what one paper leaves for the next to go by. It
// may be used by several goroutines.
type Compositor struct {
	Style *Style
	Mark  string             // decimal mark
	Whole func(n int) string // a whole number

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

// Lay draws a document as roomy as it may be to fit one page, or over as few
// pages as it takes; what is longer than a page is drawn again, now that each
// page can say how many there are. A paper that is to fit one page is set at its
// closest; another, such as a summary, is set a little closer at most, to save a
// page of leftovers.
func (c *Compositor) Lay(sheet page.Sheet, onePage bool, compose func(*Flow)) (*Flow, error) {
	run := func(on page.Sheet, d density, pages int, endless bool) (*Flow, error) {
		f := c.flow(on, d)
		f.Pages, f.endless = pages, endless
		compose(f)
		return f, f.err
	}
	closest := 4
	if onePage {
		closest = len(densities)
		if f, err := c.single(sheet, run); f != nil || err != nil {
			return f, err
		}
	}
	drawn := newReplay(sheet)
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
		if text := fewest - f.Apart; text == 1 || text > fewPages {
			break
		}
	}
	return run(sheet, best, fewest, false)
}

// Place draws a document that puts its texts where it wants them, page by page: it
// is as long at every density, and so is drawn once.
func (c *Compositor) Place(sheet page.Sheet, compose func(*Flow)) (*Flow, error) {
	f := c.flow(sheet, densities[0])
	compose(f)
	return f, f.err
}

// flow is before the first page of a document.
func (c *Compositor) flow(sheet page.Sheet, d density) *Flow {
	style := *c.Style
	style.Grid *= d.grid
	f := &Flow{Sheet: sheet, Style: &style, Press: c, Gap: d.gap, first: true}
	paper := sheet.Paper()
	f.X = f.RailWidth + f.Gutter
	f.W = paper.Width - f.Right - f.X
	f.End = paper.Height - f.Bottom
	return f
}

// Pages is how many pages a document takes as Lay would draw it.
func (c *Compositor) Pages(sheet page.Sheet, onePage bool, compose func(*Flow)) (int, error) {
	drawn := newReplay(sheet)
	defer drawn.free()
	drawn.rewind()
	_, err := c.Lay(drawn, onePage, compose)
	return drawn.pages, err
}

// single sets a document on one page without an end. Where it ends tells where
// it would end at every other density, since all heights are lines of the grid:
// two settings find the roomiest that fits, and one where the guess was right.
// The guess is the last paper's, of whichever worker; it costs time at most. No
// Flow is returned for what does not fit one page.
func (c *Compositor) single(sheet page.Sheet, run func(page.Sheet, density, int, bool) (*Flow, error)) (*Flow, error) {
	drawn := newReplay(sheet)
	defer drawn.free()
	at := int(c.guess.Load())
	for range 2 {
		drawn.rewind()
		f, err := run(drawn, densities[at], 0, true)
		if err != nil || drawn.pages > 1 {
			return nil, err
		}
		roomiest := slices.IndexFunc(densities, func(d density) bool { return f.ends(d) <= f.End+0.01 })
		if roomiest == at || roomiest > at && f.Y <= f.End+0.01 {
			c.guess.Store(int32(at))
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
func (f *Flow) ends(d density) float64 {
	start, grid := f.Top-f.Grid, f.Press.Style.Grid*d.grid
	lines := (f.Y-start)/f.Grid - f.gaps*f.Gap
	return f.Top - grid + grid*(lines+f.gaps*d.gap)
}

// PutPicture places a photo or logo; what cannot be drawn stops the document.
func (f *Flow) PutPicture(x, y, w, h float64, name string, data []byte) {
	if err := f.Picture(x, y, w, h, data); err != nil && f.err == nil {
		f.err = fmt.Errorf("%s: %w", name, err)
	}
}

// Start opens the first page.
func (f *Flow) Start() {
	f.NextPage()
	f.Y = f.Top - f.Grid
	f.first = true
}

// Turn opens a later page, with the head repeated.
func (f *Flow) Turn() {
	f.NextPage()
	f.Aside(func() { // it repeats what the first page says
		f.DrawRail(f)
		f.Y = f.Top - f.Grid
		f.DrawHead(f)
	})
	f.first = true
}

// Need turns the page unless so many millimetres are free, and reports whether
// it did. What is higher than a page is let through on a fresh one.
func (f *Flow) Need(height float64) bool {
	if f.endless || f.Y+height <= f.End+0.01 || f.first {
		return false
	}
	f.Turn()
	return true
}

// Lines moves down by so many lines of the grid.
func (f *Flow) Lines(n float64) {
	f.Y += n * f.Grid
	f.first = false
}

// Space leaves a share of the space before a section free.
func (f *Flow) Space(share float64) {
	f.gaps += share
	f.Lines(share * f.Gap)
}

// LineBase is where the baseline of a line of the grid stands in it, and
// headingLines what the name of a section takes.
const LineBase, HeadingLines = 0.74, 1.25

// Base is the baseline of the line at y.
func (f *Flow) Base() float64 { return f.Y + LineBase*f.Grid }

// Section rules off and names a part of the document, with a remark beside the
// name where there is one; so many lines of it must fit below.
func (f *Flow) Section(name string, lines float64, remark ...string) {
	f.Part = ""
	if !f.first {
		f.Space(0.5)
	}
	f.Need((2 + max(lines, 1.5)) * f.Grid) // two lines of small text at least, which stay together
	if !f.first {
		f.Line(f.X, f.Y, f.X+f.W, f.Y, 0.2, f.Hair)
		f.Space(0.5)
	}
	f.Part = name
	if f.Outline {
		f.Bookmark(name, 1)
	}
	f.within(page.Subheading, func() { f.Put(f.X, f.Base(), f.Style.Heading, name) })
	for _, r := range remark {
		x := f.X + f.Width(f.Style.Heading, name) + 3
		f.Put(x, f.Base(), f.Shrink(f.Caption, 4.5, f.X+f.W-x, r), r)
	}
	f.Lines(HeadingLines)
}

// Put sets a text: accents composed, so that they find their glyph, and spaces
// that do not break as plain ones, so that a search finds them.
func (f *Flow) Put(x, y float64, s page.Style, text string) {
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

// PutRight sets a text that ends at x.
func (f *Flow) PutRight(x, y float64, s page.Style, text string) {
	f.Put(x-f.Width(s, norm.NFC.String(text)), y, s, text)
}

// Paragraph sets a text over the column, leading in lines of the grid. Neither its first
// line nor its last stands alone on a page.
func (f *Flow) Paragraph(s page.Style, leading float64, text string) {
	f.Begin(page.Element{Role: page.Paragraph})
	lines := f.Wrap(s, f.W, text)
	for i, line := range lines {
		together := 1.0
		if len(lines) > 1 && (i == 0 || i == len(lines)-2) {
			together = 2
		}
		f.Need(together * leading * f.Grid)
		f.Put(f.X, f.Y+LineBase*leading*f.Grid, s, line)
		f.Lines(leading)
	}
	f.Finish()
}

// Wrap breaks a text at spaces, and inside a word only where the word alone is
// too wide. No line begins with a separator, no number is parted, a word that is
// parted ends with a hyphen, and a short word is not left alone on the last line.
// Line ends in the text are kept. The lines are shared: nobody may change them.
func (f *Flow) Wrap(s page.Style, width float64, text string) []string {
	return f.Press.wraps.lines(s, width, text, func() []string { return f.breakLines(s, width, text) })
}

// separators stand between two texts, and never at the beginning of a line.
const separators = "·–—×=≈+"

// unit is words that no line end parts: one, and the separators behind it.
type unit struct {
	text  string
	width float64
}

func (f *Flow) units(s page.Style, para string) []unit {
	var all []unit
	for word := range strings.FieldsFuncSeq(para, func(r rune) bool { return r == ' ' || r == '\t' }) {
		if last := len(all) - 1; last >= 0 && strings.Trim(word, separators) == "" {
			all[last].text += "\u00A0" + word
			all[last].width = f.Width(s, all[last].text)
			continue
		}
		all = append(all, unit{word, f.Width(s, word)})
	}
	return all
}

func (f *Flow) breakLines(s page.Style, width float64, text string) []string {
	width += 0.001 // sums of floats
	space := f.Width(s, " ")
	var lines []string
	for para := range strings.SplitSeq(norm.NFC.String(text), "\n") {
		units := f.units(s, para)
		var ends []int // behind the last unit of each line so far, -1 within one
		first, used := 0, 0.0
		finish := func(upto int) {
			var words []string
			for _, u := range units[first:upto] {
				words = append(words, u.text)
			}
			lines, ends, first = append(lines, strings.Join(words, " ")), append(ends, upto), upto
		}
		for i := range units {
			u := &units[i]
			if first < i && used+space+u.width <= width {
				used += space + u.width
				continue
			}
			if first < i {
				finish(i)
			}
			for u.width > width {
				n := f.fits(s, width, u.text)
				line := strings.TrimRight(u.text[:n], "\u00A0")
				if len(line) == n { // it breaks within a word
					line += f.joint(s, u.text, n)
				}
				lines, ends = append(lines, line), append(ends, -1)
				u.text = u.text[n:]
				u.width = f.Width(s, u.text)
			}
			used = u.width
			if u.text == "" {
				first++
			}
		}
		if last := len(ends) - 1; first == len(units)-1 && first > 0 && last >= 0 && ends[last] == first && units[first].width < width/4 {
			// A short word alone gets the one before it, where that leaves two.
			from := 0
			if last > 0 {
				from = max(0, ends[last-1])
			}
			if first-from >= 3 && (last == 0 || ends[last-1] >= 0) && units[first-1].width+space+units[first].width <= width {
				lines, ends, first = lines[:len(lines)-1], ends[:last], from
				finish(len(units) - 2)
			}
		}
		if first < len(units) {
			finish(len(units))
		}
	}
	return lines
}

// joint is what ends a line that breaks within a word: a hyphen between letters, as
// the soft hyphen, which programs that read the text leave out.
func (f *Flow) joint(s page.Style, word string, n int) string {
	before, _ := utf8.DecodeLastRuneInString(word[:n])
	after, _ := utf8.DecodeRuneInString(word[n:])
	if unicode.IsLetter(before) && unicode.IsLetter(after) && len(f.Missing(s.Face, page.SoftHyphen)) == 0 {
		return page.SoftHyphen + page.Joint
	}
	return page.Joint
}

// Torn reports whether a line of [Flow.Wrap] ends within a word, and not behind a
// mark at which a name may break.
func Torn(line string) bool {
	part, joint := strings.CutSuffix(line, page.Joint)
	return joint && !breaksAfter(part, "x")
}

// breaksAfter reports whether a name may go on in the next line behind the
// character that ends the first part.
func breaksAfter(part, rest string) bool {
	last, _ := utf8.DecodeLastRuneInString(part)
	next, _ := utf8.DecodeRuneInString(rest)
	switch last {
	case '-', '/', '_':
		return next != last
	case '.', ':', ',':
		return !unicode.IsDigit(next) && !unicode.IsPunct(next)
	}
	return false
}

// fits returns how many bytes of a word fit, at least one character; it breaks
// after a space that should not break, unless that stands in a number or before a
// separator, or else after a hyphen or slash.
func (f *Flow) fits(s page.Style, width float64, word string) int {
	n, soft, space := 0, 0, 0
	for i, r := range word {
		next := i + utf8.RuneLen(r)
		if n > 0 && f.Width(s, word[:next]) > width {
			break
		}
		if before, _ := utf8.DecodeLastRuneInString(word[:i]); r == '\u00A0' {
			after, _ := utf8.DecodeRuneInString(word[next:])
			if !(unicode.IsDigit(before) && unicode.IsDigit(after)) && !strings.ContainsRune(separators, after) {
				space = next
			}
		}
		if n = next; breaksAfter(word[:next], word[next:]) {
			soft = next
		}
	}
	switch {
	case space > 0:
		return space
	case soft > 0:
		return soft
	}
	for n > 1 { // room for the hyphen, and no mark at the beginning of a line
		_, size := utf8.DecodeLastRuneInString(word[:n])
		after, _ := utf8.DecodeRuneInString(word[n:])
		if n == size || f.Width(s, word[:n]+strings.TrimSuffix(f.joint(s, word, n), page.Joint)) <= width && !strings.ContainsRune("-/_.:,;)", after) {
			break
		}
		n -= size
	}
	return n
}

// Shrink returns the style, smaller where that makes the text fit the width on
// one line, but not below the least size.
func (f *Flow) Shrink(s page.Style, least, width float64, text string) page.Style {
	if w := f.Width(s, text); w > width {
		s.Size = max(least, s.Size*width/w)
	}
	return s
}

// Field is a value under its caption.
type Field struct{ Caption, Value string }

// CaptionBase and valueBase are where the baselines of a field stand in its
// first two lines of the grid.
const CaptionBase, ValueBase = 0.62, 1.44

// ValueLeading is the distance of a value's lines, in millimetres.
func (f *Flow) ValueLeading() float64 { return 0.86 * f.Grid }

// Fields sets captioned values in columns, row by row; empty ones are left out.
// Columns are as wide as their values; where that is too wide, the widest give.
func (f *Flow) Fields(columns int, all ...Field) {
	const gutter = 4.0
	set := slices.DeleteFunc(all, func(one Field) bool { return one.Value == "" })
	widths, total := make([]float64, columns), gutter*float64(columns-1)
	for i, one := range set {
		c := i % columns
		widths[c] = max(widths[c], f.Width(f.Body, one.Value), f.Width(f.Caption, one.Caption))
	}
	for _, w := range widths {
		total += w
	}
	if total > f.W {
		squeeze(widths, slices.Repeat([]float64{(f.W+gutter)/float64(columns) - gutter}, columns), total-f.W)
	} else {
		for i := range widths {
			widths[i] += (f.W - total) / float64(columns)
		}
	}
	if len(set) == 0 {
		return
	}
	f.Begin(page.Element{Role: page.List})
	defer f.Finish()
	for row := range slices.Chunk(set, columns) {
		var values [][]string
		most := 1
		for i, one := range row {
			v := f.Wrap(f.Body, widths[i]+0.01, one.Value)
			values = append(values, v)
			most = max(most, len(v))
		}
		// One line of value under its caption takes two lines of the grid.
		height := Ceil(2*f.Grid+float64(most-1)*f.ValueLeading(), f.Grid/2)
		f.Need(height)
		x := f.X
		for i, one := range row {
			f.Pair(func() { f.Put(x, f.Y+CaptionBase*f.Grid, f.Caption, one.Caption) }, func() {
				for n, line := range values[i] {
					f.Put(x, f.Y+ValueBase*f.Grid+float64(n)*f.ValueLeading(), f.Body, line)
				}
			})
			x += widths[i] + gutter
		}
		f.Lines(height / f.Grid)
	}
}

// Ceil rounds up to a multiple.
func Ceil(v, of float64) float64 {
	n := float64(int(v/of + 0.999))
	return n * of
}

// indent is of the items of a list.
const indent = 6.0

// Listed is a section that is a list, and begins where its first item has room.
func (f *Flow) Listed(name string, texts []string, remark ...string) {
	f.ListedTogether(name, texts, nil, remark...)
}

// ListedTogether is [Flow.Listed], with texts that each stand for so many items: they are
// numbered "1–5", "6".
func (f *Flow) ListedTogether(name string, texts []string, counts []int, remark ...string) {
	first := 1.0
	if len(texts) > 0 {
		first = 1 + float64(len(f.Wrap(f.Body, f.W-indent, texts[0])))
	}
	f.Section(name, first, remark...)
	f.list(texts, counts)
}

// List sets numbered sentences.
func (f *Flow) List(texts []string) { f.list(texts, nil) }

func (f *Flow) list(texts []string, counts []int) {
	numbers, next, indent := make([]string, len(texts)), 1, indent
	for i := range texts {
		from := next
		if next++; i < len(counts) {
			next = from + counts[i]
		}
		if numbers[i] = f.Press.Whole(from); next > from+1 {
			numbers[i] += "–" + f.Press.Whole(next-1)
		}
		indent = max(indent, f.Width(f.Caption, numbers[i])+2)
	}
	f.Begin(page.Element{Role: page.List, Numbered: true})
	defer f.Finish()
	for i, text := range texts {
		lines := f.Wrap(f.Body, f.W-indent, text)
		height := Ceil(f.Grid+float64(len(lines)-1)*f.ValueLeading(), f.Grid/2)
		f.Need(height)
		f.Pair(func() { f.Put(f.X, f.Base(), f.Caption, numbers[i]) }, func() {
			for k, line := range lines {
				f.Put(f.X+indent, f.Base()+float64(k)*f.ValueLeading(), f.Body, line)
			}
		})
		f.Lines(height / f.Grid)
	}
}
