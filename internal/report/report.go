// Package report prints, for a person, what became of a job, a link, a comparison,
// a verification or a search, which limit sets there are, and what a code means; a
// search and codes for programs too.
//
// A [Printer] writes to the writer that it was given, in English, and in colour if
// its style says so; names from files go through [diag.Safe]. It reads no flag and
// chooses no exit code. Writes that fail are left to the writer, which is buffered
// and tells when it is flushed.
package report

import (
	"io"

	"spanseal/internal/diag"
	"spanseal/internal/judge"
	"spanseal/internal/statement"
	"spanseal/internal/terminal"
	"spanseal/internal/wording"
	"spanseal/templates"
)

// Printer prints to one writer.
type Printer struct {
	w       io.Writer
	style   terminal.Style
	program string // as a person types it

	english *wording.Wording // of statements, once one was said
}

// NewPrinter returns one. The commands that it proposes begin with program.
func NewPrinter(w io.Writer, style terminal.Style, program string) *Printer {
	return &Printer{w: w, style: style, program: program}
}

// Words are those of the terminal.
func (pr *Printer) Words() *wording.Wording {
	if pr.english == nil {
		pr.english = wording.Load(templates.Files, nil, "en", new(diag.List)) // our own file is good
	}
	return pr.english
}

// says is a statement in English, as a terminal may show it.
func (pr *Printer) says(s statement.Statement) string { return diag.Safe(pr.Words().State(s)) }

// tries is what to try first about a finding. What a technician changes in the
// job's own files never stands on paper, so it is said here.
func (pr *Printer) tries(f *judge.Finding) []string {
	out := pr.Words().States(f.Advice)
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
