package summary

import (
	"cmp"
	"slices"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/wording"
)

// mostNamed is how many links of one reason are named in the list of what is open, and
// mostLetters how many characters their names have together; the others are counted, and
// stand in the list of every link. fewest is from how many on they share a row.
const (
	mostNamed   = 40
	mostLetters = 480
	fewest      = 3
)

// longList is how many times as wide as the page a list of links is whose advice stands
// below it: beside it, each would have a column too narrow to read.
const longList = 2

// reason is links that are open for the same cause and have the same way out.
type reason struct {
	verdict     judge.Verdict
	cause, next string
	links       []*judge.LinkResult
}

// misses reports whether what is open on a link is a number, that has a margin.
func (o *overview) misses(l *judge.LinkResult, one *judge.Finding) bool {
	return one != nil && l.Measured && one.Shown() == "" && o.numbers(*one) != ""
}

// reasons groups the links that are not a plain pass, the worst verdict first.
func (o *overview) reasons() []*reason {
	type key struct {
		verdict     judge.Verdict
		cause, next string
	}
	var out []*reason
	at := map[key]*reason{}
	for _, l := range o.exceptions() {
		what, next := o.why(l)
		k := key{l.Verdict, what, next}
		cause := what
		if one := worstOpen(l); o.misses(l, one) {
			cause = o.words.Say("open.margins")
			if one.Margin.Sign() < 0 {
				cause = o.words.Say("open.excess")
			}
			k.cause = cause
		}
		if at[k] == nil {
			at[k] = &reason{verdict: l.Verdict, cause: cause, next: next}
			out = append(out, at[k])
		}
		at[k].links = append(at[k].links, l)
	}
	return out
}

// open lists what stands in the way of a job that conforms: links with the same
// reason and the same way out in one row, from three on.
func (o *overview) open(f *layout.Flow) {
	rows := o.openAsWhole(f)
	for _, r := range o.reasons() {
		if len(r.links) < fewest {
			for _, l := range r.links {
				what, next := o.why(l)
				rows = append(rows, o.openRow(f, 1, l.Link.ID, r.verdict, what, next))
			}
			continue
		}
		n, who, what, next := len(r.links), wording.Unbroken(o.words.Count("links", len(r.links))), o.together(r), r.next
		if next == "" || f.Width(f.Body, what) < longList*f.W {
			rows = append(rows, o.openRow(f, n, who, r.verdict, what, next))
			continue
		}
		below := o.openRow(f, n, "", r.verdict, next, "")
		below[1].Text = ""
		rows = append(rows, o.openRow(f, n, who, r.verdict, what, ""), below)
	}
	if len(rows) == 0 {
		return
	}
	f.Tabled(o.words.Say("open.title"), []layout.Column{{Wrap: true}, {}, {Wrap: true, Runs: true}, {Wrap: true}}, rows)
}

// verdictOf is the verdict of so many links: one link fails, several fail.
func (o *overview) verdictOf(n int, v judge.Verdict) string {
	if n > 1 {
		return o.words.Say("open.several." + v.String())
	}
	return o.words.Say("open." + v.String())
}

func (o *overview) openRow(f *layout.Flow, n int, who string, v judge.Verdict, what, next string) []layout.Cell {
	style := f.Strong
	if !v.Certifiable() {
		style = page.Style(f.Alarm())
	}
	return []layout.Cell{{Text: who, Style: f.Strong}, {Text: o.verdictOf(n, v), Style: style}, {Text: what, Style: f.Body}, {Text: next, Style: f.Body}}
}

// together says of several links in one text what is open: those that miss by most
// first, each with its margin where it has one.
func (o *overview) together(r *reason) string {
	w := o.words
	links := slices.Clone(r.links)
	worst := make(map[*judge.LinkResult]*judge.Finding, len(links))
	for _, l := range links {
		worst[l] = worstOpen(l)
	}
	numbers := func(l *judge.LinkResult) bool { return o.misses(l, worst[l]) }
	slices.SortStableFunc(links, func(a, b *judge.LinkResult) int {
		switch p, q := numbers(a), numbers(b); {
		case p && q:
			return cmp.Compare(worst[a].Margin.Sub(*worst[b].Margin).Sign(), 0)
		case p:
			return -1
		case q:
			return 1
		}
		return 0
	})
	var ids, names []string
	for _, l := range links[:min(len(links), mostNamed)] {
		ids = append(ids, l.Link.ID)
	}
	for _, l := range links[:fitting(ids, 0)] {
		name := wording.Unbroken(l.Link.ID)
		if numbers(l) {
			one := worst[l]
			name += "\u00A0" + w.Fixed(one.Margin.Abs(), o.placesOf(*one))
		}
		names = append(names, name)
	}
	list := strings.Join(names, ", ")
	if more := len(links) - len(names); more > 0 {
		list = w.Say("open.more", "list", list, "n", w.Whole(more))
	}
	if strings.HasSuffix(r.cause, "?") {
		return w.Say("open.asked", "question", r.cause, "links", list)
	}
	return w.Say("open.together", "cause", r.cause, "links", list)
}

// fitting is how many of the first names have at most mostLetters characters together,
// each with so many more between it and the next; one at the least.
func fitting(names []string, between int) int {
	letters := 0
	for i, name := range names {
		if letters += len([]rune(name)) + between; letters > mostLetters && i > 0 {
			return i
		}
	}
	return len(names)
}
