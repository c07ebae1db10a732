package trunk_test

import (
	"fmt"
	"regexp"
	"strings"
	"testing"

	"spanseal/internal/page"
	"spanseal/internal/polarity"
	"spanseal/internal/record"
	"spanseal/internal/testset"
	"spanseal/internal/trunk"
)

// TestFaces: of every number of fibres both faces are drawn with each place numbered,
// in each language, and what is seen is said. A swapped pair is told by its heavy lines.
func TestFaces(t *testing.T) {
	for _, fibres := range polarity.Fibres {
		for _, language := range []string{"en", "es", "de"} {
			f := testset.Library()
			f.Job.Documents.Language = language
			places := polarity.FaceOf(fibres).Places
			far := make([]int, places)
			for i := range far {
				far[i] = places - i
			}
			f.Job.Trunks = []record.Trunk{{ID: "T/1", Fibres: fibres, Method: "method B", Far: far}}
			for i := range 4 {
				f.Links[i].Array = &record.Array{Trunk: "T/1", Position: i + 1, FarPosition: places - i}
			}
			f.Links[0].FarPosition, f.Links[1].FarPosition = places-1, places
			set := testset.New(t, f, testset.NewSettings())
			d, err := trunk.Papers(set)[0]()
			if err != nil {
				t.Fatal(err)
			}
			r := testset.Drawn(t, page.A4, d)
			numbers := map[string]int{}
			for _, m := range r.Marks {
				if m.Kind == page.TextMark {
					numbers[m.Text]++
				}
			}
			for place := 1; place <= places; place++ {
				if numbers[fmt.Sprint(place)] < 2 {
					t.Errorf("%d fibres: place %d stands %d times", fibres, place, numbers[fmt.Sprint(place)])
				}
			}
			for i := range 4 { // no caption is so long that it breaks words
				l, _ := set.Judgement.Link(f.Links[i].ID)
				if word := set.Words().Say("open." + l.Verdict.String()); numbers[word] == 0 {
					t.Errorf("%d fibres, %s: %s is not whole", fibres, language, word)
				}
			}
			alts := testset.Figures(t, set, d)
			if !regexp.MustCompile(`\b2\b`).MatchString(strings.Join(alts, " ")) {
				t.Errorf("%d fibres, %s: %v", fibres, language, alts)
			}
			if !strings.HasPrefix(d.Path, "trunks/T_1-") || d.Token == "" || d.Attachments[0].Name != "record.json" {
				t.Errorf("%s, token %q, %v", d.Path, d.Token, d.Attachments)
			}
			labels, err := trunk.Labels(set)
			if err != nil || len(labels) != 0 { // two of its links are open
				t.Errorf("%v, %v", labels, err)
			}
		}
	}
}

// TestOthers: a job without trunks, and a trunk without links, have no paper.
func TestOthers(t *testing.T) {
	f := testset.Library()
	if len(trunk.Papers(testset.New(t, f, testset.NewSettings()))) != 0 {
		t.Error("a paper of no trunk")
	}
	f.Job.Trunks = []record.Trunk{{ID: "T1", Fibres: 12, Method: "ours", Far: make([]int, 12)}}
	if d, err := trunk.Papers(testset.New(t, f, testset.NewSettings()))[0](); d != nil || err != nil {
		t.Errorf("%v, %v", d, err)
	}
}
