package judge_test

import (
	"testing"
	"time"

	"spanseal/internal/record"
)

// TestQuestionCounts counts what is printed: the same words of two links once, and
// neither limits nor links that were not measured.
func TestQuestionCounts(t *testing.T) {
	book := builtIn(t)
	f := clean()
	if asked, answered := judged(t, f, book).QuestionCounts(); asked != 0 || answered != 0 {
		t.Errorf("a clean job: %d asked, %d answered", asked, answered)
	}
	f = clean()
	copies(f, 1, letters, time.Minute)
	for i := range f.Readings {
		f.Readings[i].Person = "" // asked of both links in the same words
	}
	f.Links = append(f.Links, record.Link{ID: "never", Fibre: f.Links[0].Fibre, Mode: f.Links[0].Mode, Length: f.Links[0].Length, MatedPairs: 2})
	j := judged(t, f, book)
	if asked, answered := j.QuestionCounts(); asked != 1 || answered != 0 {
		t.Errorf("%d asked, %d answered: %v", asked, answered, questions(j))
	}
}
