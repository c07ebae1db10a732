package cli

import (
	"spanseal/internal/diag"
	"spanseal/internal/judge"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
	"spanseal/templates"
)

// words are those of the terminal.
func (a *app) words() *wording.Wording {
	if a.english == nil {
		a.english = wording.Load(templates.Files, nil, "en", new(diag.List)) // our own file is good
	}
	return a.english
}

// says is a statement in English, as a terminal may show it.
func (a *app) says(s statement.Statement) string { return diag.Safe(a.words().State(s)) }

// tries is what to try first about a finding. What a technician changes in the
// job's own files never stands on paper, so it is said here.
func (a *app) tries(f *judge.Finding) []string {
	out := a.words().States(f.Advice)
	switch f.Question.Code {
	case "no-limit.which":
		out = append(out, "Read the notes of the set (spanseal limits show), name the fibre as it does, or add the owner's own figures in a file that extends it.")
	case "not-judged":
		out = append(out, "If it need not be measured, list it under judge.optional in job.yaml, with who agreed to it and why.")
	case "no-uncertainty":
		out = append(out, "Give the instrument its uncertainty_db, or the job one for all.")
	}
	return out
}
