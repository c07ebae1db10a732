package load

import (
	"fmt"

	"spanseal/internal/diag"
	"spanseal/internal/jobfile"
	"spanseal/internal/record"
)

// answersAstray tells of answers that stand beside no question, where they stand.
func (j *JudgedJob) answersAstray() *diag.List {
	list := &diag.List{}
	for _, s := range j.Judged.AnswersAstray() {
		list.Add(diag.Problem{Code: s.Code, Place: jobfile.PlacesOf(j.Facts).OfAnswer(s.Answer, s.Link),
			Message: s.Message, Want: s.Want, Fix: s.Fix})
	}
	return list
}

// SaidAfter tells of answers and confirmations that are dated after a day, which is
// called so.
func (j *JudgedJob) SaidAfter(day record.Date, called string) *diag.List {
	list := &diag.List{}
	for i, said := range j.Facts.Job.Answers {
		if said.Day.After(day) {
			list.Add(diag.Problem{Code: "answer-after-issue", Place: jobfile.PlaceOf(j.Facts, fmt.Sprintf("answers[%d].day", i)),
				Message: fmt.Sprintf("the answer is dated %s, after %s, %s", said.Day, called, day),
				Fix:     "correct the day of the answer, or issue on that day or later"})
		}
	}
	for _, c := range j.confirmed {
		if c.On.After(day) {
			list.Add(diag.Problem{Code: "confirmed-after-issue", Place: diag.Place{File: Confirmations},
				Message: fmt.Sprintf("%s was confirmed on %s, after %s, %s", c.Set, c.On, called, day),
				Fix:     "issue on that day or later, or confirm the set again"})
		}
	}
	return list
}
