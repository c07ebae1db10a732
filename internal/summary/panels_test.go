package summary_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"spanseal/internal/judge"
	"spanseal/internal/summary"
	"spanseal/internal/testset"
)

// TestPlacesInWords: the map of a large job says how many of its places are drawn
// and why, nothing where all are, and calls none a panel in a job of closures.
func TestPlacesInWords(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	const repeats = 41 // of the library, each with three places
	for language, c := range map[string]struct {
		title, after string
		want         map[int]string // by how many repeats have something open
	}{
		"en": {"Ports", "Questions", map[int]string{repeats: "123 of 123 places have a port that is not a plain pass.",
			2: "6 of 123 places are drawn: those with a port that is not a plain pass.", 0: "None of the 123 places is drawn: every port is a plain pass."}},
		"es": {"Puertos", "Preguntas", map[int]string{repeats: "De 123 lugares, 123 tienen algún puerto",
			2: "Se dibujan 6 de 123 lugares: los que tienen algún puerto con un resultado distinto de conforme.", 0: "No se dibuja ninguno de los 123 lugares: todos los puertos son conformes."}},
	} {
		f := testset.Estate(repeats * len(testset.Library().Links))
		f.Job.Documents.Language = language
		for i := range f.Links {
			l := &f.Links[i]
			l.From, l.To = strings.ReplaceAll(l.From, "panel ", "closure "), strings.ReplaceAll(l.To, "panel ", "closure ")
		}
		for open, want := range c.want {
			set := testset.New(t, f, testset.NewSettings())
			for i := range set.Judgement.Links {
				if l := &set.Judgement.Links[i]; l.Link.ID >= fmt.Sprintf("%03d", open) {
					l.Verdict = judge.Pass
				}
			}
			d, err := summary.New(set)
			if err != nil {
				t.Fatal(err)
			}
			texts := testset.Drawn(t, set.Paper(), d).Texts()
			from, to := slices.Index(texts, c.title), slices.Index(texts, c.after)
			if from < 0 || to < from {
				t.Fatalf("%s: sections at %d and %d", language, from, to)
			}
			said := strings.Join(texts[from:to], " ")
			if !strings.Contains(said, want) {
				t.Errorf("%s, %d open: want %q in %.400q", language, open, want, said)
			}
			if strings.Contains(strings.ToLower(said), "panel") {
				t.Errorf("%s, %d open: there is no panel in this job: %.4000q", language, open, said)
			}
		}
	}
}
