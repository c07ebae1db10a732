package report

import (
	"bytes"
	"fmt"
	"strings"

	"spanseal/internal/evidence"
	"spanseal/internal/statement"
)

// Code prints what a code means, and reports whether there is such a code.
func (pr *Printer) Code(code string) bool {
	for _, c := range evidence.Checks() {
		if c.Code != code {
			continue
		}
		weight := "default weight: " + string(c.Weight)
		if c.Threshold != nil {
			weight += fmt.Sprintf(", threshold %s %s", c.Threshold, c.Unit)
		}
		fmt.Fprintf(pr.w, "%s  %s\n\n%s\n\n%s\n\nto settle it: %s\n\n%s; ours, changed in job.yaml under judge.questions.%s\nsource: %s\n",
			pr.style.Strong(c.Code), c.Title, c.Asks, c.Why, c.Settle, weight, c.Code, c.Source)
		pr.explainStatements(statement.Of(c.Code))
		return true
	}
	for _, p := range codePages {
		if p.code == code {
			fmt.Fprintf(pr.w, "%s\n\n%s\n\nto fix it: %s\n", pr.style.Strong(p.code), p.means, p.fix)
			pr.explainStatements(statement.Of(p.code))
			return true
		}
	}
	for _, e := range statement.Codes() {
		if e.Code == code {
			fmt.Fprintf(pr.w, "%s\n", pr.style.Strong(e.Code))
			pr.explainStatements([]statement.CodeRow{e})
			return true
		}
	}
	return false
}

// Codes are the names of all codes.
func Codes() []string {
	var known []string
	for _, c := range evidence.Checks() {
		known = append(known, c.Code)
	}
	for _, p := range codePages {
		known = append(known, p.code)
	}
	for _, e := range statement.Codes() {
		known = append(known, e.Code)
	}
	return known
}

// explainStatements prints what may be said under a code: the sentence of an
// example, its arguments and what must be on record for it.
func (pr *Printer) explainStatements(all []statement.CodeRow) {
	for _, e := range all {
		fmt.Fprintf(pr.w, "\nsaid as %s:\n    %s\n", e.Code, pr.says(statement.New(e.Code, e.Example...)))
		if len(e.Params) > 0 {
			args := make([]string, len(e.Params))
			for i, p := range e.Params {
				args[i] = p.Name + " (" + string(p.Kind) + ")"
			}
			fmt.Fprintf(pr.w, "    arguments: %s\n", strings.Join(args, ", "))
		}
		fmt.Fprintf(pr.w, "    rests on: %s\n", e.Rests)
	}
}

// ListCodes names all codes: the questions first, which a job can weigh.
func (pr *Printer) ListCodes() {
	fmt.Fprintf(pr.w, "%s\n", pr.style.Strong("Questions about evidence, weighed in job.yaml under judge.questions:"))
	listed := map[string]bool{}
	for _, c := range evidence.Checks() {
		fmt.Fprintf(pr.w, "%-24s %s\n", c.Code, c.Title)
		listed[c.Code] = true
	}
	fmt.Fprintf(pr.w, "\n%s\n", pr.style.Strong("Problems of the input, and findings of a link:"))
	for _, p := range codePages {
		sentence, _, _ := strings.Cut(p.means, ". ")
		fmt.Fprintf(pr.w, "%-24s %s\n", p.code, strings.TrimSuffix(sentence, "."))
		listed[p.code] = true
	}
	fmt.Fprintf(pr.w, "\n%s\n", pr.style.Strong("What is said on paper, in records and on the terminal, with an example:"))
	for _, e := range statement.Codes() {
		if !listed[e.Code] {
			fmt.Fprintf(pr.w, "%-28s %s\n", e.Code, pr.says(statement.New(e.Code, e.Example...)))
		}
	}
}

// CodesPage is the table of all that is said, for contributors and for whoever reads
// records by program.
func (pr *Printer) CodesPage() []byte {
	var b bytes.Buffer
	b.WriteString("# What spanseal says\n\nEvery question, advice, change and first sentence is a code with typed arguments. The example is in English; " +
		"a wording file holds one form for each code.\n\n| code | arguments | rests on | example |\n|---|---|---|---|\n")
	cell := strings.NewReplacer("|", "\\|", "\u00a0", " ")
	for _, e := range statement.Codes() {
		args := make([]string, len(e.Params))
		for i, p := range e.Params {
			args[i] = p.Name + ": " + string(p.Kind)
		}
		fmt.Fprintf(&b, "| `%s` | %s | %s | %s |\n", e.Code, strings.Join(args, ", "), cell.Replace(e.Rests), cell.Replace(pr.Words().State(statement.New(e.Code, e.Example...))))
	}
	return b.Bytes()
}
