package report

import (
	"fmt"
	"slices"
	"strings"

	"spanseal/internal/judge"
	"spanseal/internal/load"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/strict"
)

// asks is a finding's question, with the answer that the job gives to it.
func (pr *Printer) asks(f *judge.Finding) string {
	return strings.TrimSpace(pr.says(f.Question) + " " + pr.says(f.Said()))
}

// openAnswer is an answer that is still to be given.
type openAnswer struct {
	code  string
	links []string // none where it is about the job as a whole
	texts []string // of the questions that one answer would be to
}

// openAnswers are the questions without an answer, those of many links that are asked in
// the same words together.
func (pr *Printer) openAnswers(judged *judge.Judgement) (out []*openAnswer) {
	index := map[string]*openAnswer{}
	add := func(link string, findings []judge.Finding) {
		var here []*openAnswer
		for i := range findings {
			f := &findings[i]
			if !f.Asks() || f.Answer != nil {
				continue
			}
			at := slices.IndexFunc(here, func(d *openAnswer) bool { return d.code == f.Question.Code })
			if at < 0 {
				at, here = len(here), append(here, &openAnswer{code: f.Question.Code})
			}
			if text := pr.says(f.Question); !slices.Contains(here[at].texts, text) {
				here[at].texts = append(here[at].texts, text)
			}
		}
		for _, d := range here {
			// The name alone will do where nothing else of the link goes by it.
			name := statement.Question(d.code)
			if !slices.ContainsFunc(findings, func(f judge.Finding) bool {
				return f.Asks() && f.Question.Code != d.code && statement.Question(f.Question.Code) == name
			}) {
				d.code = name
			}
			key := d.code + "\x00" + strings.Join(d.texts, "\x00")
			if link == "" {
				key = "\x00" + key
			}
			if index[key] == nil {
				index[key] = d
				out = append(out, d)
			}
			if link != "" {
				index[key].links = append(index[key].links, link)
			}
		}
	}
	add("", judged.Questions)
	for _, l := range judged.Results() {
		add(l.Link.ID, l.Findings)
	}
	return out
}

// DraftAnswers prints a block for job.yaml, in which only the answers are missing:
// their day is set down as today.
func (pr *Printer) DraftAnswers(j *load.JudgedJob, today record.Date) {
	all := pr.openAnswers(j.Judged)
	if len(all) == 0 {
		fmt.Fprintf(pr.w, "# No question is open.\n")
		return
	}
	if len(j.Facts.Job.Answers) > 0 {
		fmt.Fprintf(pr.w, "# Add these below answers: in job.yaml. Write each text, and who gave the answer.\n")
	} else {
		fmt.Fprintf(pr.w, "# For job.yaml. Write each text, and who gave the answer; leave out what has no answer yet.\nanswers:\n")
	}
	for _, d := range all {
		for _, text := range d.texts {
			fmt.Fprintf(pr.w, "  # %s\n", text)
		}
		fmt.Fprintf(pr.w, "  - question: %s\n", d.code)
		names := make([]string, len(d.links))
		for i, link := range d.links {
			names[i] = strict.QuoteOrNothing(link)
		}
		switch len(names) {
		case 0:
		case 1:
			fmt.Fprintf(pr.w, "    link: %s\n", names[0])
		default:
			fmt.Fprintf(pr.w, "    links: [%s]\n", strings.Join(names, ", "))
		}
		fmt.Fprintf(pr.w, "    text:\n    %s\n    day: %s\n", strings.TrimSpace("who: "+strict.QuoteOrNothing(j.Facts.Job.Sign.As)), today)
	}
}
