package evidence

import (
	"fmt"
	"slices"

	"spanseal/internal/diag"
	"spanseal/internal/near"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// Setting is the weight and the threshold of a check in a job.
type Setting struct {
	Weight    Weight
	Threshold quantity.Decimal // zero where the check has none
}

// Settings returns the terms of every check, by code, as a job has them, and what is
// wrong with what it says.
func Settings(job *record.Job) (terms map[string]Setting, problems *diag.List) {
	problems = new(diag.List)
	terms = make(map[string]Setting, len(checks))
	for _, c := range checks {
		t := Setting{Weight: c.Weight}
		if c.Threshold != nil {
			t.Threshold = *c.Threshold
		}
		terms[c.Code] = t
	}
	place := diag.Place{File: job.Origin.File}
	for code, said := range job.Policy.Questions {
		if p, unknown := Unknown(code, place); unknown {
			problems.Add(p)
			continue
		}
		t := terms[code]
		switch w := Weight(said.Weight); w {
		case "":
		case Fatal, Note, Off:
			t.Weight = w
		default:
			problems.Add(diag.Problem{Code: "unknown-weight", Place: place, Message: fmt.Sprintf("the weight of %q cannot be %q", code, said.Weight), Fix: "use fatal, note or off"})
		}
		if said.Threshold != nil {
			t.Threshold = *said.Threshold
		}
		terms[code] = t
	}
	return terms, problems
}

// Unknown is the problem of a name under judge.questions that is no
// check, at a place; ok is false where there is one of that name.
func Unknown(code string, at diag.Place) (p diag.Problem, ok bool) {
	names := make([]string, len(checks))
	for i, c := range checks {
		names[i] = c.Code
	}
	if slices.Contains(names, code) {
		return diag.Problem{}, false
	}
	p = diag.Problem{Code: "unknown-question", Place: at, Message: fmt.Sprintf("%q is not an evidence check", code), Fix: "`spanseal explain --code list` lists them all"}
	if near := near.Word(code, names); near != "" {
		p.Fix = fmt.Sprintf("did you mean %q?", near)
	}
	return p, true
}
