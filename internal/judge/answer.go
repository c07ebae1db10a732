package judge

import (
	"iter"
	"sync"

	"spanseal/internal/record"
)

// Answer is what the job says to a question. It is told beside the question, and
// never changes a number or a verdict: only what a check names settles it.
type Answer struct {
	Text string      `json:"text"`
	Who  string      `json:"who"` // by name
	Day  record.Date `json:"day"`
}

// Asks reports whether the finding asks something that can be answered. That a link
// was not measured is no question, and a limit is none either.
func (f *Finding) Asks() bool {
	return f.Kind != KindLimit && !f.Question.IsZero() && f.Code != notMeasured.Code
}

// asking are the findings that ask something, with the link asked about; nil where
// it is the job as a whole.
func (j *Judgement) asking() iter.Seq2[*record.Link, *Finding] {
	return func(yield func(*record.Link, *Finding) bool) {
		for i := range j.Questions {
			if f := &j.Questions[i]; f.Asks() && !yield(nil, f) {
				return
			}
		}
		for _, l := range j.Results() {
			for i := range l.Findings {
				if f := &l.Findings[i]; f.Asks() && !yield(l.Link, f) {
					return
				}
			}
		}
	}
}

// QuestionCounts counts the questions, and those of them that have an answer. A
// question that is asked in the same words of several links counts once, as it is
// printed once, or once for each of the answers that it has on them.
func (j *Judgement) QuestionCounts() (asked, answered int) {
	if j.counted == nil { // of no link
		return 0, 0
	}
	return j.counted()
}

// countedOnce counts when first asked: of a large job it takes as long as writing
// out its results.
func (j *Judgement) countedOnce() func() (int, int) {
	return sync.OnceValues(func() (asked, answered int) {
		type said struct {
			question string
			answer   Answer
		}
		seen := map[said]bool{}
		for _, f := range j.asking() {
			one := said{question: f.Question.Key()}
			if f.Answer != nil {
				one.answer = *f.Answer
			}
			if seen[one] {
				continue
			}
			seen[one] = true
			if asked++; f.Answer != nil {
				answered++
			}
		}
		return asked, answered
	})
}
