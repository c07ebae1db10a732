package summary_test

import (
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"spanseal/internal/judge"
	"spanseal/internal/page"
	"spanseal/internal/summary"
	"spanseal/internal/testset"
)

// TestPopulationOnPaper: a limit of all connections together that is not met
// stands first, with its number, its set and which percentile it is; those that
// are met stand in a table and not among the questions. What is printed
// subtracts.
func TestPopulationOnPaper(t *testing.T) {
	for language, want := range map[string]struct{ whole, figure, row, old string }{
		"en": {"whole job", "percentile 97, connections, 1310 nm, IEC 61755-1 and IEC 61753-1, Attenuation grade B:", "Percentile 97, connections", "Over "},
		"es": {"todo el trabajo", "percentil 97, conexiones, 1310 nm, IEC 61755-1 e IEC 61753-1, grado de atenuación B:", "Percentil 97, conexiones", "Over "},
	} {
		f := testset.Library()
		f.Job.Documents.Language = language
		f.Job.Policy.Limits = []string{"tia-568.3-e", "iec-61755-1-grade-b", "iec-63267-1-grade-cm"}
		f.Links[0].MatedPairs = 1 // and so one single connection, over the limit
		set := testset.ByBook(t, f)
		met := 0
		for _, one := range set.Judgement.Questions {
			if one.Kind == judge.KindLimit && one.Verdict == judge.Pass {
				met++
			}
		}
		if met == 0 || set.Judgement.Conforms() {
			t.Fatal("the fixture shows nothing")
		}
		d, err := summary.New(set)
		if err != nil {
			t.Fatal(err)
		}
		r := testset.Drawn(t, set.Paper(), d)
		texts := strings.Join(r.Texts(), " ")
		for _, s := range []string{want.whole, want.figure, want.row} {
			if !strings.Contains(texts, s) {
				t.Errorf("%s: %q stands nowhere in\n%s", language, s, texts)
			}
		}
		if strings.Contains(texts, want.old) {
			t.Errorf("%s: the limits of the job are among the questions", language)
		}
		for _, head := range []string{"97 %", "M. Okafor", "PM-9", "panel C1"} {
			if !slices.Contains(r.Texts(), head) {
				t.Errorf("%s: %q is in no cell", language, head)
			}
		}
	}
}

// TestWholePlaces: of more places than there is room for, each that is shown is shown at
// all its wavelengths, and the note counts places.
func TestWholePlaces(t *testing.T) {
	set := testset.New(t, testset.Estate(1200), testset.NewSettings())
	d, err := summary.New(set)
	if err != nil {
		t.Fatal(err)
	}
	r := testset.Drawn(t, set.Paper(), d)
	at, rows := false, map[string]int{} // by place
	cells := map[int][]string{}
	var order []int
	for _, m := range r.Marks {
		if m.Kind != page.TextMark || m.Text == "" || m.In == 0 || r.Artifact(m) {
			continue
		}
		if e := r.Elements[m.In-1]; e.Role == page.Cell || e.Role == page.HeaderCell {
			if cells[e.Parent] == nil {
				order = append(order, e.Parent)
			}
			cells[e.Parent] = append(cells[e.Parent], m.Text)
		}
	}
	place, names := "", 0
	for _, row := range order {
		c := cells[row]
		switch {
		case len(c) == 1:
			at = c[0] == "Place"
		case !at:
		case strings.HasPrefix(c[0], "panel"):
			place = c[0]
			names++
			rows[place]++
		case slices.Contains([]string{"850", "1300", "1310", "1550"}, c[0]):
			rows[place]++
		default:
			at = false
		}
	}
	said := regexp.MustCompile(`By place: (\d+) of (\d+) are shown`).FindStringSubmatch(strings.ReplaceAll(strings.Join(r.Texts(), " "), "\u00A0", " "))
	if said == nil || said[1] != fmt.Sprint(names) || names < 6 || names == 24 {
		t.Errorf("%d places, said %q", names, said)
	}
	for place, n := range rows {
		if n != 2 && n != 4 { // a panel of one kind of fibre, or of both
			t.Errorf("%s is shown in %d rows", place, n)
		}
	}
}
