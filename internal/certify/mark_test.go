package certify_test

import (
	"slices"
	"strings"
	"testing"

	"spanseal/internal/judge"
	"spanseal/internal/page"
	"spanseal/internal/record"
)

// TestLowConfidenceIsMarked: a limit that rests on a figure of low confidence is
// marked in the list of what is wrong, on the ladder and among the readings, and
// the mark is explained once at the foot of each.
func TestLowConfidenceIsMarked(t *testing.T) {
	set := newSet(t, library(), options())
	for link, blocks := range map[string][]string{
		"A-07": {"What is wrong", "Loss against its allowance", "Readings"},
		"A-19": {"Loss against its allowance", "Readings"},
	} {
		l, _ := set.Judgement.Link(link)
		for _, f := range l.Findings { // as if its set said so of the cable
			if f.Working == nil {
				continue
			}
			for i := range f.Working.Terms {
				if term := &f.Working.Terms[i]; term.Label == "cable" {
					term.Low = true
				}
			}
		}
		d := paperOf(t, set, l)
		var texts []string // of the main column, from the top down
		for _, m := range drawn(t, page.A4, d).Marks {
			if m.Kind == page.TextMark && m.At.X > 45 {
				texts = append(texts, m.Text)
			}
		}
		var losses []judge.Finding
		for _, f := range l.Findings {
			if f.Quantity == record.InsertionLoss || f.Quantity == record.TwoWayAverage {
				losses = append(losses, f)
			}
		}
		allowed := l.WorstFinding().Limit.Round(judge.PlacesOf(losses)).String()
		for _, name := range blocks {
			at := slices.Index(texts, name)
			if at < 0 {
				t.Fatalf("%s: no %q", link, name)
			}
			block := texts[at+1:]
			for i, text := range block {
				if slices.Contains([]string{"Likely causes and what to do", "Terminations", "Readings", "Loss against its allowance"}, text) {
					block = block[:i]
					break
				}
			}
			marked := 0
			for _, text := range block {
				if text == allowed || text == allowed+" dB" {
					t.Errorf("%s: %s: %q has no mark", link, name, text)
				}
				if text == allowed+"*" || text == allowed+" dB*" {
					marked++
				}
			}
			if marked < 2 {
				t.Errorf("%s: %s: %d marks", link, name, marked)
			}
		}
		if notes := strings.Count(strings.Join(texts, " "), "* low confidence:"); notes != 1 {
			t.Errorf("%s: the mark is explained %d times", link, notes)
		}
	}
}
