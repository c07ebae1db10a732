package summary_test

import (
	"fmt"
	"io/fs"
	"strings"
	"testing"

	"spanseal/internal/certify"
	"spanseal/internal/diag"
	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/summary"
	"spanseal/internal/testset"
	"spanseal/templates"
)

func summaryOf(t *testing.T, set *certify.PaperSet) string {
	t.Helper()
	d, err := summary.New(set)
	if err != nil {
		t.Fatal(err)
	}
	return testset.Said(t, d)
}

// TestOutline: the summary's outline names its sections in order, and under the
// list of links the first of every page.
func TestOutline(t *testing.T) {
	set := testset.New(t, testset.Estate(200), testset.NewSettings())
	d, err := summary.New(set)
	if err != nil {
		t.Fatal(err)
	}
	r := testset.Drawn(t, page.A4, d)
	if len(r.Outlines) < 10 || r.Outlines[0].Title != "Project summary" || r.Outlines[0].Level != 0 || r.Outlines[1].Title != "Open points" || r.Outlines[1].Level != 1 {
		t.Fatalf("%v", r.Outlines)
	}
	list, pages := false, map[int]bool{}
	for i, o := range r.Outlines[1:] {
		if o.Level > r.Outlines[i].Level+1 || o.Page < r.Outlines[i].Page {
			t.Errorf("%v after %v", o, r.Outlines[i])
		}
		if o.Level == 1 {
			list = o.Title == "All links"
		} else if !list || pages[o.Page] {
			t.Errorf("%v is not the first link of a page", o)
		} else {
			pages[o.Page] = true
		}
	}
	if len(pages) < 5 {
		t.Errorf("%d pages of links in the outline", len(pages))
	}
}

// TestCountsOfOneSize: the counts of a large job stand apart, and all have the
// size that the widest needs.
func TestCountsOfOneSize(t *testing.T) {
	set := testset.New(t, testset.Library(), testset.NewSettings())
	set.Judgement.Counts = judge.Counts{Scheduled: 10000, Measured: 10000, Certified: 10000, Marginal: 7}
	d, err := summary.New(set)
	if err != nil {
		t.Fatal(err)
	}
	var counts []page.Mark
	for _, m := range testset.Drawn(t, page.A4, d).Marks {
		if m.Kind == page.TextMark && m.Page == 1 && (m.Text == "10 000" || m.Text == "7" && len(counts) == 3) {
			counts = append(counts, m)
		}
	}
	if len(counts) != 4 {
		t.Fatalf("%d counts: %v", len(counts), counts)
	}
	for i, m := range counts[1:] {
		if before := counts[i]; m.Style.Size != before.Style.Size || m.Box.X < before.Box.X+before.Box.W+4 {
			t.Errorf("%v after %v", m, before)
		}
	}
}

// TestNoPageOfLeftovers: the last page of the demonstration's summary is worth
// turning to.
func TestNoPageOfLeftovers(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	facts, judged := testset.Demonstration(t)
	for set := range testset.Editions(t, facts, judged) {
		language, paper := set.Language(), set.Paper()
		d, err := summary.New(set)
		if err != nil {
			t.Fatal(err)
		}
		r, lowest := testset.Drawn(t, paper, d), 0.0
		for _, m := range r.Marks {
			if m.Kind == page.TextMark && m.Page == r.PageNumber() && m.Box.X >= 50 {
				lowest = max(lowest, m.Box.Y)
			}
		}
		if lowest < paper.Height/3 {
			t.Errorf("on %s in %s: page %d ends at %.0f mm", paper.Name, language, r.PageNumber(), lowest)
		}
	}
}

// TestLimitsOfTheWholeJob: limits that bind the losses of the job taken together
// certify no link, and no note below the statistics goes on over the page.
func TestLimitsOfTheWholeJob(t *testing.T) {
	facts, judged := testset.Demonstration(t, "iec-61755-1-grade-c", "iec-61755-1-grade-b", "iec-61755-1-grade-d")
	facts.Job.Documents = record.Documents{Paper: "A4", Language: "en"}
	sets, err := fs.Sub(templates.Files, "limits")
	if err != nil {
		t.Fatal(err)
	}
	o := testset.NewSettings()
	var problems *diag.List
	o.Book, problems = limits.NewBook(sets)
	testset.Good(t, problems)
	set, problems := o.Set(facts, judged)
	testset.Good(t, problems)
	d, err := summary.New(set)
	if err != nil {
		t.Fatal(err)
	}
	r := testset.Drawn(t, page.A4, d)
	said := strings.Join(r.Texts(), " ")
	if want := "Losses of certified links were judged against ANSI/TIA-568.3-E (2022)."; !strings.Contains(said, want) || !strings.Contains(said, "Limits of the whole job") {
		t.Errorf("want %q in %.900q", want, said)
	}
	begun, notes := 0, 0
	for _, m := range r.Marks {
		switch {
		case strings.Contains(m.Text, ", including glass and"):
			begun = m.Page
			notes++
		case begun > 0 && strings.HasPrefix(m.Text, "iec-61755") && strings.HasSuffix(m.Text, "."), strings.HasPrefix(m.Text, "be within"):
			if m.Page != begun {
				t.Errorf("a note of page %d goes on: %v", begun, m)
			}
		}
	}
	if notes < 1 {
		t.Errorf("%d notes", notes)
	}
}

// TestNothingMeasured: a summary before the first measurement names no standard
// that anything was certified against.
func TestNothingMeasured(t *testing.T) {
	for language, want := range map[string]string{"en": "The schedule has 27 links. Measured: 0. Certified: 0. 27 links are incomplete.", "es": "El listado tiene 27 enlaces. Medidos: 0. Certificados: 0. 27 enlaces están incompletos."} {
		f := testset.Library()
		f.Readings, f.Job.Documents.Language = nil, language
		set := testset.New(t, f, testset.NewSettings())
		d, err := summary.New(set)
		if err != nil {
			t.Fatal(err)
		}
		if said := strings.Join(testset.Drawn(t, set.Paper(), d).Texts(), " "); !strings.Contains(said, want) {
			t.Errorf("want %q in %.900q", want, said)
		}
	}
}

// TestNothingThatNobodyAsked: without a population set in the job no grade is
// mentioned, and of the four readings of one link there are no statistics.
func TestNothingThatNobodyAsked(t *testing.T) {
	if text := summaryOf(t, testset.ByBook(t, testset.Library())); strings.Contains(text, "iec-61755") || strings.Contains(text, "shown to be within") {
		t.Errorf("the summary speaks of sets that nobody agreed\n%s", text)
	}
	if text := summaryOf(t, testset.New(t, testset.Alone("A-12"), testset.NewSettings())); strings.Contains(text, "Statistics") {
		t.Errorf("statistics of four readings\n%s", text)
	}
}

// TestLongChangeLists: a revision that differs in more than a page holds goes on
// overleaf, under its number, and every change is on paper, above the foot.
func TestLongChangeLists(t *testing.T) {
	o := testset.NewSettings()
	o.Revision, o.Reason = 2, "links that followed"
	for i := range 150 {
		o.Changes = append(o.Changes, statement.Statement{Text: fmt.Sprintf("change %d of a link with a long name, which takes more than one line of the column of changes, for it goes on and on", i)})
	}
	set := testset.New(t, testset.Library(), o)
	d, err := summary.New(set)
	if err != nil {
		t.Fatal(err)
	}
	r := testset.Drawn(t, set.Paper(), d)
	foot := set.Paper().Height - 9 // the least margin
	for _, m := range r.Marks {
		if m.Kind == page.TextMark && m.Box.Y+m.Box.H > foot {
			t.Fatalf("page %d: %q is below the foot", m.Page, m.Text)
		}
	}
	all := strings.Join(r.Texts(), "\n")
	for _, i := range []int{0, 75, 149} {
		if !strings.Contains(all, fmt.Sprintf("change %d of", i)) {
			t.Errorf("change %d is not on paper", i)
		}
	}
	numbers := 0
	for _, m := range r.Marks {
		if m.Kind == page.TextMark && m.Text == "r2" {
			numbers++
		}
	}
	if numbers < 3 {
		t.Errorf("the number of the revision stands %d times, want it on each page of its changes", numbers)
	}
}
