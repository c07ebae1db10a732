package summary_test

import (
	"fmt"
	"io/fs"
	"regexp"
	"slices"
	"strings"
	"testing"

	"spanseal/internal/certify"
	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/summary"
	"spanseal/internal/testset"
	"spanseal/templates"
)

// TestOpenByReason: the links of a large job that are open for one reason share a row
// and its advice, which stands below a long list and not in a narrow column beside it,
// their plots stand on the first two pages, and of those that the plot
// of margins does not name it says how many they are.
func TestOpenByReason(t *testing.T) {
	for _, language := range []string{"en", "es", "de"} {
		f := testset.Estate(1200)
		f.Job.Documents.Language = language
		set := testset.New(t, f, testset.NewSettings())
		d, err := summary.New(set)
		if err != nil {
			t.Fatal(err)
		}
		r := testset.Drawn(t, set.Paper(), d)
		said := map[string]int{}
		for _, l := range set.Judgement.Results() {
			if l.Verdict == judge.Pass {
				continue
			}
			for _, one := range l.Open() {
				for _, text := range set.Next(one) {
					said[text] = 0
				}
			}
		}
		var first []string
		for n := 1; n <= 2; n++ {
			first = append(first, r.Lines(n)...)
		}
		all := strings.Join(strings.Fields(strings.Join(r.Texts(), " ")), " ")
		for text := range said {
			if n := strings.Count(all, text); n > 2 {
				t.Errorf("%s: the same advice %d times: %s", language, n, text)
			}
		}
		below := 0
		for _, line := range r.Texts() {
			for text := range said {
				if rest := strings.TrimPrefix(text, line); rest != text && len([]rune(line)) > 15 {
					if below++; rest != "" && len([]rune(line)) < 40 {
						t.Errorf("%s: a narrow column: %q", language, line)
					}
				}
			}
		}
		if below == 0 {
			t.Errorf("%s: no advice", language)
		}
		titles := []string{set.Words().Say("dots.title"), set.Words().Say("margins.title_spread"), set.Words().Say("map.title")}
		for _, title := range titles {
			if !slices.ContainsFunc(first, func(l string) bool { return strings.Contains(l, title) }) {
				t.Errorf("%s: %q is not on the first two pages", language, title)
			}
		}
		if more := regexp.MustCompile(`(no room for \d+ more|sin sitio para \d+ más|\d+ weitere passen nicht)`); !more.MatchString(all) {
			t.Errorf("%s: the plot of margins says of no link that its name does not fit", language)
		}
	}
}

// TestEveryFailureNamed: each link that fails is named at its bar, or counted among
// those whose names do not fit.
func TestEveryFailureNamed(t *testing.T) {
	for _, links := range []int{20, 60, 100} {
		f := testset.Estate(links)
		set := testset.New(t, f, testset.NewSettings())
		d, err := summary.New(set)
		if err != nil {
			t.Fatal(err)
		}
		r := testset.Drawn(t, set.Paper(), d)
		texts := r.Texts()
		from := slices.Index(texts, "Margin of every link, smallest first")
		if from < 0 {
			t.Fatal("no plot of margins")
		}
		to := from + slices.IndexFunc(texts[from:], func(s string) bool { return strings.HasPrefix(s, "In dB;") })
		want, named := 0, 0
		for _, l := range set.Judgement.Results() {
			if one := l.WorstFinding(); l.Verdict == judge.Pass || one == nil || one.Margin == nil || one.Shown() != "" {
				continue
			}
			if want++; slices.Contains(texts[from:to], l.Link.ID) {
				named++
			}
		}
		note := strings.Join(texts[to:min(to+4, len(texts))], " ")
		left := 0
		if m := regexp.MustCompile(`(?i)no room for (\d+) more`).FindStringSubmatch(note); m != nil {
			fmt.Sscan(m[1], &left)
		}
		if named+left != want || want == 0 {
			t.Errorf("%d links: %d named and %d more, want %d: %q", links, named, left, want, note)
		}
	}
}

// TestTinyJob: a job of one or two links has no statistics and no plot of what one
// link is compared with, and no port is drawn that no link has.
func TestTinyJob(t *testing.T) {
	for links := 1; links <= 2; links++ {
		set := testset.New(t, tiny(links), testset.NewSettings())
		d, err := summary.New(set)
		if err != nil {
			t.Fatal(err)
		}
		r := testset.Drawn(t, set.Paper(), d)
		if r.PageNumber() > 1 {
			t.Errorf("%d links: %d pages", links, r.PageNumber())
		}
		for _, title := range []string{"Statistics of the losses", "Margin of every link, smallest first"} {
			if slices.Contains(r.Texts(), title) {
				t.Errorf("%d links: %q", links, title)
			}
		}
	}
	set := testset.New(t, tiny(5), testset.NewSettings())
	d, err := summary.New(set)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range testset.Drawn(t, set.Paper(), d).Marks {
		if m.Kind == page.FrameMark && m.Ink == 0x5C636A && m.Box.W < 6 { // as an unused port is drawn
			t.Errorf("a port that no link has: %v", m)
		}
	}
}

// tiny is the first links of the library.
func tiny(links int) *record.Facts {
	f := testset.Library()
	f.Links = f.Links[:links]
	gone := func(id string) bool {
		return !slices.ContainsFunc(f.Links, func(l record.Link) bool { return l.ID == id })
	}
	f.Readings = slices.DeleteFunc(f.Readings, func(r record.Reading) bool { return gone(r.Link) })
	f.Terminations = slices.DeleteFunc(f.Terminations, func(one record.Termination) bool { return gone(one.Link) })
	f.Photos = slices.DeleteFunc(f.Photos, func(p record.Photo) bool { return gone(p.Link) })
	return f
}

// TestSetsByName: what the rail says of limit sets is what people call them.
func TestSetsByName(t *testing.T) {
	facts, judged := testset.Demonstration(t, "iec-61755-1-grade-b")
	for set := range testset.Editions(t, facts, judged) {
		d, err := summary.New(set)
		if err != nil {
			t.Fatal(err)
		}
		texts := strings.Join(testset.Drawn(t, set.Paper(), d).Texts(), " ")
		for _, name := range []string{"10GBASE-LR", "ANSI/TIA-568.3-E", "IEC 61755-1 und IEC 61753-1, Dämpfungsklasse B"} {
			if !strings.Contains(texts, name) {
				t.Errorf("%s is named nowhere", name)
			}
		}
		return
	}
}

// TestLanguageOfParts: a text in another language than the paper's would have to be
// marked (ISO 14289-1, 7.2). Those of limit sets that are built in, which are kept in
// English, are said in the language of the paper instead: titles, standards, editions
// and clauses. On the summary none of these sets leaves an English word.
func TestLanguageOfParts(t *testing.T) {
	english := regexp.MustCompile(`(?i)\b(and|with|the|of|by|from|for|grade|class|cabling|loss|losses|splices?|connections?|connectors|amendments?|figures|values|number|memory|later|formerly|example|fibre|reflectance)\b`)
	sets, err := fs.Sub(templates.Files, "limits")
	if err != nil {
		t.Fatal(err)
	}
	book, problems := limits.NewBook(sets)
	testset.Good(t, problems)
	facts, judged := testset.Demonstration(t)
	judged.Sets = nil
	for _, set := range book.All() {
		judged.Sets = append(judged.Sets, judge.SetUsed{ID: set.ID, Kind: set.Kind, Title: set.Title, Standard: set.Standard, Edition: set.Edition, BuiltIn: true})
	}
	for set := range testset.Editions(t, facts, judged) {
		w, said := set.Words(), 0
		if w.Language == "en" {
			continue
		}
		check := func(what, text string) {
			said++
			if found := english.FindString(strings.ReplaceAll(text, "Fibre Channel", "")); found != "" {
				t.Errorf("%s: %s says %q in %q", w.Language, what, found, text)
			}
		}
		for _, one := range book.All() {
			check(one.ID, set.SetName(one.ID))
			check(one.ID, w.Edition(one.Standard, one.Edition))
			for _, g := range one.Groups {
				for _, v := range g.Rows {
					check(one.ID, w.Citation(v.Clause))
				}
			}
		}
		if said < 200 {
			t.Errorf("%s: %d texts only", w.Language, said)
		}
		d, err := summary.New(set)
		if err != nil {
			t.Fatal(err)
		}
		r, on := testset.Drawn(t, set.Paper(), d), false
		for _, m := range r.Marks {
			if m.Kind != page.TextMark || m.In == 0 {
				continue
			}
			if r.Elements[m.In-1].Role == page.Subheading {
				on = m.Text == w.Say("sets.title")
			} else if on && r.Elements[m.In-1].Role == page.ItemBody { // the ids are labels
				check("the summary", m.Text)
			}
		}
	}
}

// TestLongNamesAreCounted: of links with long names that are open for one reason as
// many are named as a few lines hold, and the others are counted. A reason that is a
// question has no colon behind it.
func TestLongNamesAreCounted(t *testing.T) {
	f := testset.Estate(60)
	for i := range f.Links {
		f.Links[i].ID = fmt.Sprintf("NORTHERN-MOLE-PUMPING-STATION-%03d", i)
	}
	f.Readings, f.Terminations = nil, nil
	set := testset.New(t, f, testset.NewSettings())
	d, err := summary.New(set)
	if err != nil {
		t.Fatal(err)
	}
	lines := testset.Drawn(t, set.Paper(), d).Lines(1)
	all := strings.Join(lines, " ")
	i := strings.Index(all, " more (see All links)")
	n := strings.Count(all[:max(i, 0)], "NORTHERN-MOLE-PUMPING-STATION-")
	if n < 5 || n > 20 {
		t.Errorf("%d of %d long names:\n%s", n, len(f.Links), strings.Join(lines, "\n"))
	}
	if want := fmt.Sprintf("and %d more (see", len(f.Links)-n); !strings.Contains(all, want) || strings.Contains(all, "?:") {
		t.Errorf("no %q, or a colon behind a question:\n%s", want, strings.Join(lines, "\n"))
	}
}

// TestEarlierTextsAreEnglish: a change that an earlier program wrote without a code
// stays in English, and is marked so on a paper in another language; one with a code
// is said in the language of the paper.
func TestEarlierTextsAreEnglish(t *testing.T) {
	const old = "link A-07: fail before, pass now"
	for language, want := range map[string]int{"en": 0, "es": 1, "de": 1} {
		f := testset.Estate(3)
		f.Job.Documents.Language = language
		set := testset.New(t, f, testset.NewSettings())
		set.Revision = 2
		set.History = []certify.HistoryLine{{Number: 1, Issued: record.NewDate(2026, 11, 20), Reason: "uno", Changes: []statement.Statement{{Text: old}, statement.New("change.order")}}}
		d, err := summary.New(set)
		if err != nil {
			t.Fatal(err)
		}
		r := testset.Drawn(t, set.Paper(), d)
		marked, seen, wrong := 0, 0, 0
		for _, m := range r.Marks {
			english := false
			for at := m.In; at > 0; at = r.Elements[at-1].Parent {
				english = english || r.Elements[at-1].Lang == "en"
			}
			switch {
			case strings.Contains(m.Text, old):
				seen++
				if english {
					marked++
				}
			case english && strings.Contains(m.Text, set.Words().State(statement.New("change.order"))):
				wrong++
			}
		}
		if seen != 1 || marked != want || wrong > 0 {
			t.Errorf("%s: the text stands %d times, %d marked, want %d; %d others are marked", language, seen, marked, want, wrong)
		}
	}
}
