// Package diag says what is wrong, where, what was expected and how to fix it.
//
// A [Problem] is one fault at one [Place]. Rooms collect problems in a [List]
// and go on reading, so that a person sees every fault at once; nothing is
// printed until all input is read. The list is then sorted by place, the same
// fault in many rows is folded after three, and written in one form:
//
//	readings/otdr-day2.csv:14:11: error: "0,3S" is not a number [not-a-number]
//	     |
//	  14 | A-17;1310;0,3S;AB
//	     |           ^~~~ want digits with at most one decimal comma, such as 0,35
//	     = column 3 is loss_db (heading at line 9); decimal comma, because the delimiter is ";"
//	     = job.yaml:22:24: the mapping says that column "Loss" is loss_db
//	     |
//	  22 |     columns: {loss_db: Loss}
//	     |                        ^~~~
//	     = fix: leave the row out under ignore_rows, and give the right one in a new file
//
// Other places that have a share in the fault follow with their own lines, once
// for all rows of it; so does one patch to paste. The first line is clickable in
// editors and terminals. The caret stands under the cell by display width, so
// accents and wide characters do not move it.
package diag

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
	"golang.org/x/text/width"

	"spanseal/internal/source"
)

// Severity is how much a problem weighs.
type Severity int

const (
	// Error refuses the input: nothing is judged or written.
	Error Severity = iota
	// Question asks the person to look; work goes on.
	Question
	// Note tells what was concluded from the bytes.
	Note
)

func (s Severity) String() string {
	return [...]string{"error", "question", "note"}[s]
}

// MarshalText writes the severity's word.
func (s Severity) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// Place is where a problem lies. File alone is the file as a whole; Cell is
// set for spreadsheets (such as "Sheet1!B7") instead of Line and Column.
type Place struct {
	File   string `json:"file"`
	Line   int    `json:"line,omitempty"`   // from one
	Column int    `json:"column,omitempty"` // from one, in characters
	Cell   string `json:"cell,omitempty"`
	// Excerpt is the line's text (or the cell's), Width the number of
	// characters the carets cover from Column on (at least one is drawn).
	Excerpt string `json:"excerpt,omitempty"`
	// From is how many characters of a very long line stand before the excerpt.
	From  int `json:"from,omitempty"`
	Width int `json:"width,omitempty"`
}

// At makes a Place of a span of a file.
func At(f *source.File, s source.Span) Place {
	n := utf8.RuneCount(f.Text[max(0, min(s.Start, len(f.Text))):max(0, min(s.End, len(f.Text)))])
	return AtLine(f, f.Position(s.Start), n)
}

// AtLine makes a Place of a position and a width in characters.
func AtLine(f *source.File, p source.Position, width int) Place {
	excerpt, from := window(f.Line(p.Line), p.Column)
	return Place{File: f.Name, Line: p.Line, Column: p.Column, Excerpt: excerpt, From: from, Width: width}
}

// longest is how many characters of a line a place keeps: a foreign file may
// hold lines of megabytes, and thousands of faults in each.
const longest = 1000

// window cuts the surroundings of a column out of a very long line.
func window(line string, column int) (excerpt string, from int) {
	n := utf8.RuneCountInString(line)
	if n <= longest {
		return line, 0
	}
	from = min(max(0, column-longest/2), n-longest)
	start := skip(line, from)
	return strings.Clone(line[start : start+skip(line[start:], longest)]), from
}

// skip returns how many bytes the first n characters take.
func skip(s string, n int) int {
	at := 0
	for ; n > 0 && at < len(s); n-- {
		_, size := utf8.DecodeRuneInString(s[at:])
		at += size
	}
	return at
}

// String is the clickable part, such as "links.csv:3:7".
func (p Place) String() string {
	switch {
	case p.Cell != "":
		return p.File + ":" + p.Cell
	case p.Line == 0:
		return p.File
	case p.Column == 0:
		return p.File + ":" + strconv.Itoa(p.Line)
	}
	return p.File + ":" + strconv.Itoa(p.Line) + ":" + strconv.Itoa(p.Column)
}

// Problem is one fault.
type Problem struct {
	Severity Severity `json:"severity"`
	// Code is a stable kebab-case name of the kind of fault.
	Code  string `json:"code"`
	Place Place  `json:"place"`
	// Message says what is wrong, in one line without a full stop.
	Message string `json:"message"`
	// Want stands behind the carets: what was expected there.
	Want string `json:"want,omitempty"`
	// Because lists how the tool came to read the place this way.
	Because []string `json:"because,omitempty"`
	// Also are other places that have a share in it, such as the line of a
	// mapping by which a cell was read.
	Also []Beside `json:"also,omitempty"`
	// Fix is the way out.
	Fix string `json:"fix,omitempty"`
	// Patch is the way out as a text to paste. Where one fault stands in many
	// rows, the report prints the patches of all as one, instead of each Fix.
	Patch *Patch `json:"patch,omitempty"`
}

// Beside is another place of a problem, and what is said there.
type Beside struct {
	Place Place  `json:"place"`
	What  string `json:"what"`
}

// Patch is lines to paste.
type Patch struct {
	// Intro says where to paste them, and on what condition.
	Intro string `json:"intro"`
	// Head stands once above the lines of all problems, or is "".
	Head string `json:"head,omitempty"`
	Line string `json:"line"`
}

// Error makes a single Problem usable as an error.
func (p *Problem) Error() string {
	return p.Place.String() + ": " + p.Message + " [" + p.Code + "]"
}

// Unsaid is something that a person must still say in a file, or look at: no fault, but
// a draft's way of asking.
type Unsaid struct{ File, Text string }

// List collects problems. The zero List is ready to use. It is not safe for
// concurrent use; packages that read in parallel keep a list each and Join them.
//
// Of each code it keeps the first thousand of a file and counts the rest, since
// a file of 100 MB can have a fault in every row: [List.Sorted] says once for
// the file how many more there are.
type List struct {
	all  []Problem
	kept map[fault]int
	more map[fault]int // those that were only counted
}

// fault is what problems have in common that are counted together.
type fault struct {
	file, code string
	severity   Severity
}

// maxKept is how many problems of one code are kept for each file.
const maxKept = 1000

func (p *Problem) fault() fault { return fault{p.Place.File, p.Code, p.Severity} }

// Add appends problems.
func (l *List) Add(p ...Problem) {
	if l.kept == nil {
		l.kept, l.more = map[fault]int{}, map[fault]int{}
	}
	for i := range p {
		f := p[i].fault()
		if l.kept[f] == maxKept {
			l.more[f]++
			continue
		}
		l.kept[f]++
		l.all = append(l.all, p[i])
	}
}

// Full reports that the next such problem is only counted, so that nothing but
// its severity, code and file need be said.
func (l *List) Full(s Severity, code, file string) bool {
	return l.kept[fault{file, code, s}] == maxKept
}

// Join appends all problems of other lists.
func (l *List) Join(others ...*List) {
	for _, o := range others {
		if o != nil {
			l.Add(o.all...)
			for f, n := range o.more {
				l.more[f] += n
			}
		}
	}
}

// Compact leaves the first of those problems that say the same of one place: a
// fault in what several files share is found with each of them.
func (l *List) Compact() {
	type said struct {
		severity      Severity
		code, message string
		file, cell    string
		line, column  int
	}
	seen := map[said]bool{}
	l.all = slices.DeleteFunc(l.all, func(p Problem) bool {
		k := said{p.Severity, p.Code, p.Message, p.Place.File, p.Place.Cell, p.Place.Line, p.Place.Column}
		again := seen[k]
		seen[k] = true
		return again
	})
}

// Len returns how many problems there are, of any severity.
func (l *List) Len() int { return l.Count(Error) + l.Count(Question) + l.Count(Note) }

// Errors returns how many are errors.
func (l *List) Errors() int { return l.Count(Error) }

// Count returns how many have the severity.
func (l *List) Count(s Severity) int {
	n := 0
	for _, p := range l.all {
		if p.Severity == s {
			n++
		}
	}
	for f, more := range l.more {
		if f.severity == s {
			n += more
		}
	}
	return n
}

// counted says of each file how many problems of which codes were only counted.
func (l *List) counted() (list []Problem) {
	faults := slices.SortedFunc(maps.Keys(l.more), func(a, b fault) int {
		return cmp.Or(cmp.Compare(a.file, b.file), cmp.Compare(a.severity, b.severity), cmp.Compare(a.code, b.code))
	})
	for i := 0; i < len(faults); {
		first, n := faults[i], 0
		var each []string
		for ; i < len(faults) && faults[i].file == first.file && faults[i].severity == first.severity; i++ {
			n += l.more[faults[i]]
			each = append(each, fmt.Sprintf("%d %s", l.more[faults[i]], faults[i].code))
		}
		noun := first.severity.String()
		if first.severity == Error {
			noun = "fault"
		}
		if n > 1 {
			noun += "s"
		}
		list = append(list, Problem{Severity: first.severity, Code: "too-many-faults", Place: Place{File: first.file},
			Message: fmt.Sprintf("only counted: %d more %s of this file: %s", n, noun, strings.Join(each, ", ")),
			Fix:     "fix the first ones and run again: many faults usually have one cause"})
	}
	return list
}

// Sorted returns the problems by file, line, column, cell, code and message,
// and for each file those that were only counted as one.
func (l *List) Sorted() []Problem {
	s := append(slices.Clone(l.all), l.counted()...)
	slices.SortStableFunc(s, func(a, b Problem) int {
		return cmp.Or(
			cmp.Compare(a.Place.File, b.Place.File),
			cmp.Compare(a.Place.Line, b.Place.Line),
			compareCells(a.Place.Cell, b.Place.Cell),
			cmp.Compare(a.Place.Column, b.Place.Column),
			cmp.Compare(a.Code, b.Code),
			cmp.Compare(a.Message, b.Message),
		)
	})
	return s
}

// compareCells orders "Sheet!B7" by sheet, row and column.
func compareCells(a, b string) int {
	sa, ra, ca := splitCell(a)
	sb, rb, cb := splitCell(b)
	return cmp.Or(cmp.Compare(sa, sb), cmp.Compare(ra, rb), cmp.Compare(len(ca), len(cb)), cmp.Compare(ca, cb))
}

func splitCell(s string) (sheet string, row int, column string) {
	if i := strings.LastIndexByte(s, '!'); i >= 0 {
		sheet, s = s[:i], s[i+1:]
	}
	i := strings.IndexAny(s, "0123456789")
	if i < 0 {
		return sheet, 0, s
	}
	row, _ = strconv.Atoi(s[i:])
	return sheet, row, s[:i]
}

// foldAfter is how many problems of one kind in one file are printed before
// the rest are counted.
const foldAfter = 3

// varies is what may differ between messages of the same fault: what was found,
// in quotes, and numbers.
var varies = regexp.MustCompile(`"(?:[^"\\]|\\.)*"|[0-9]+`)

// Folded returns the sorted problems with the same fault in one file folded
// after three, and for each kept problem the others that it stands for. A fault
// is the same where the messages differ in no more than quotes and numbers.
func (l *List) Folded() (kept []Problem, more [][]Problem) {
	type kind struct{ file, code, message string }
	seen := map[kind]int{}
	last := map[kind]int{}
	for _, p := range l.Sorted() {
		k := kind{p.Place.File, p.Code, varies.ReplaceAllLiteralString(p.Message, `""`)}
		seen[k]++
		if seen[k] > foldAfter {
			more[last[k]] = append(more[last[k]], p)
			continue
		}
		last[k] = len(kept)
		kept, more = append(kept, p), append(more, nil)
	}
	return kept, more
}

// folded says how many more problems one stands for, and which values they are
// about; others of their code may have been counted only.
func folded(p Problem, more []Problem, others bool) string {
	const named = 8
	rows := "rows"
	if len(more) == 1 {
		rows = "row"
	}
	var values []string
	for _, m := range more {
		if v := varies.FindString(m.Message); strings.HasPrefix(v, `"`) && !strings.Contains(p.Message, v) && !slices.Contains(values, v) {
			values = append(values, v)
		}
	}
	least := ""
	if others {
		least = "at least "
	}
	text := fmt.Sprintf("and %s%d more %s of %s with the same fault", least, len(more), rows, p.Place.File)
	if n := len(values); n > named {
		return fmt.Sprintf("%s: %s and %d others", text, strings.Join(values[:named], ", "), n-named)
	} else if n > 0 {
		return text + ": " + strings.Join(values, ", ")
	}
	return text
}

// Paint colours a piece of the report; nil means plain text.
type Paint func(role Tone, text string) string

// Tone is what a painted piece is.
type Tone int

const (
	RoleError Tone = iota
	RoleQuestion
	RoleNote
	RoleCaret
	RoleDim
)

// Write prints the problems in the package's form, folded.
func (l *List) Write(w io.Writer, paint Paint) error {
	kept, more := l.Folded()
	return l.write(w, paint, kept, more)
}

// WriteAll is Write without folding.
func (l *List) WriteAll(w io.Writer, paint Paint) error {
	all := l.Sorted()
	return l.write(w, paint, all, make([][]Problem, len(all)))
}

func (l *List) write(w io.Writer, paint Paint, problems []Problem, more [][]Problem) error {
	if paint == nil {
		paint = func(_ Tone, s string) string { return s }
	}
	var b strings.Builder
	patches := patchesOf(problems, more)
	type share struct{ file, code, place string }
	shown := map[share]bool{} // a place that many faults share is shown with the first
	for i, p := range problems {
		patch := patches[i]
		p.Also = slices.DeleteFunc(slices.Clone(p.Also), func(o Beside) bool {
			s := share{p.Place.File, p.Code, o.Place.String()}
			again := shown[s]
			shown[s] = true
			return again
		})
		if patch != nil {
			p.Fix = ""
		}
		writeOne(&b, p, paint)
		if len(more[i]) > 0 {
			fmt.Fprintf(&b, "     = %s\n", Safe(folded(p, more[i], l.more[p.fault()] > 0)))
		}
		if patch != nil && patch.last == i {
			patch.write(&b)
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// patchBlock is the patches of one fault in many rows.
type patchBlock struct {
	intro, head string
	lines       []string
	has         map[string]bool
	last        int // of the problems printed that it stands for
}

// patchesOf joins the patches of problems of one kind, by problem; nil where one
// problem stands alone, whose Fix says the same.
func patchesOf(problems []Problem, more [][]Problem) map[int]*patchBlock {
	type kind struct{ file, code, intro, head string }
	blocks := map[kind]*patchBlock{}
	of := map[int]*patchBlock{}
	for i, p := range problems {
		for _, q := range append([]Problem{p}, more[i]...) {
			if q.Patch == nil {
				continue
			}
			k := kind{q.Place.File, q.Code, q.Patch.Intro, q.Patch.Head}
			block := blocks[k]
			if block == nil {
				block = &patchBlock{intro: q.Patch.Intro, head: q.Patch.Head, has: map[string]bool{}}
				blocks[k] = block
			}
			if !block.has[q.Patch.Line] {
				block.has[q.Patch.Line] = true
				block.lines = append(block.lines, q.Patch.Line)
			}
			block.last, of[i] = i, block
		}
	}
	for i, block := range of {
		if len(block.lines) == 1 {
			delete(of, i)
		}
	}
	return of
}

// longestPatch is how many lines of a patch are printed.
const longestPatch = 1000

func (p *patchBlock) write(b *strings.Builder) {
	fmt.Fprintf(b, "     = fix: %s\n", Safe(p.intro))
	indent := "       "
	if p.head != "" {
		fmt.Fprintf(b, "%s%s\n", indent, Safe(p.head))
		indent += "  "
	}
	for _, line := range p.lines[:min(len(p.lines), longestPatch)] {
		fmt.Fprintf(b, "%s%s\n", indent, Safe(line))
	}
	if n := len(p.lines) - longestPatch; n > 0 {
		fmt.Fprintf(b, "%s# and %d more\n", indent, n)
	}
}

func writeOne(b *strings.Builder, p Problem, paint Paint) {
	fmt.Fprintf(b, "%s: %s: %s [%s]\n", Safe(p.Place.String()), paint(Tone(p.Severity), p.Severity.String()), Safe(p.Message), p.Code)
	writePlace(b, p.Place, p.Want, paint)
	for _, s := range p.Because {
		fmt.Fprintf(b, "     = %s\n", Safe(s))
	}
	for _, other := range p.Also {
		fmt.Fprintf(b, "     = %s: %s\n", Safe(other.Place.String()), Safe(other.What))
		writePlace(b, other.Place, "", paint)
	}
	if p.Fix != "" {
		fmt.Fprintf(b, "     = fix: %s\n", Safe(p.Fix))
	}
}

// writePlace prints the line of a place with carets under it, and what is
// wanted there.
func writePlace(b *strings.Builder, p Place, want string, paint Paint) {
	if p.Line > 0 && p.Excerpt != "" {
		excerpt, column := clip(p.Excerpt, p.Column-p.From)
		number := strconv.Itoa(p.Line)
		pad := strings.Repeat(" ", max(4, len(number)+2))
		fmt.Fprintf(b, "%s %s\n", pad, paint(RoleDim, "|"))
		fmt.Fprintf(b, "%*s %s %s\n", len(pad), number, paint(RoleDim, "|"), string(excerpt))
		if p.Column > 0 {
			at := min(column-1, len(excerpt))
			to := min(at+max(p.Width, 1), len(excerpt))
			carets := "^" + strings.Repeat("~", max(DisplayWidth(string(excerpt[at:to]))-1, 0))
			line := strings.Repeat(" ", DisplayWidth(string(excerpt[:at]))) + paint(RoleCaret, carets)
			if want != "" {
				line += " " + Safe(want)
			}
			fmt.Fprintf(b, "%s %s %s\n", pad, paint(RoleDim, "|"), line)
		}
	} else if p.Cell != "" && p.Excerpt != "" {
		fmt.Fprintf(b, "     | %s\n", Safe(p.Excerpt))
		if want != "" {
			fmt.Fprintf(b, "     = %s\n", Safe(want))
		}
	} else if want != "" {
		fmt.Fprintf(b, "     = %s\n", Safe(want))
	}
}

// clip makes an excerpt safe and short enough for one terminal line, keeping
// the column in sight.
func clip(line string, column int) ([]rune, int) {
	const keep = 100
	r := []rune(line)
	for i, c := range r {
		r[i] = safeRune(c)
	}
	if len(r) <= keep {
		return r, column
	}
	from := 0
	if column > keep-20 {
		from = min(column-keep/2, len(r)-keep)
		from = max(from, 0)
	}
	to := min(from+keep, len(r))
	out := slices.Clone(r[from:to])
	if from > 0 {
		out[0] = '…'
	}
	if to < len(r) {
		out[len(out)-1] = '…'
	}
	return out, column - from
}

// safeRune keeps terminal escapes, tabs and direction overrides of foreign
// text out of the report.
func safeRune(r rune) rune {
	switch {
	case r == '\t':
		return ' '
	case r < 0x20 || r == 0x7f:
		return 0x2400 + min(r, 0x21) // the control pictures block; 0x7f shows as U+2421
	case r >= 0x80 && r < 0xa0, r >= 0x202a && r <= 0x202e, r >= 0x2066 && r <= 0x2069, r == 0x200e, r == 0x200f, r == 0xfeff:
		return '\ufffd'
	}
	return r
}

// Safe makes foreign text fit to print on a terminal.
func Safe(s string) string { return strings.Map(safeRune, s) }

// DisplayWidth is how many terminal cells a text takes: combining marks none,
// East Asian wide characters two (Unicode Standard Annex 11).
func DisplayWidth(s string) int {
	n := 0
	for _, r := range s {
		switch {
		case norm.NFC.PropertiesString(string(r)).CCC() != 0:
		default:
			switch width.LookupRune(r).Kind() {
			case width.EastAsianWide, width.EastAsianFullwidth:
				n += 2
			default:
				n++
			}
		}
	}
	return n
}

// JSON is the stable form for programs: an array of problems in sorted order,
// not folded.
func (l *List) JSON() ([]byte, error) {
	s := l.Sorted()
	if s == nil {
		s = []Problem{}
	}
	return json.MarshalIndent(s, "", "  ")
}
