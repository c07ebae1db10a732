package certify_test

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"

	"spanseal/internal/evidence"
	"spanseal/internal/form"
	"spanseal/internal/record"
	"spanseal/internal/summary"
)

// TestAnswersOnPaper: an answer stands behind its question on the certificate, on the
// sheet of a link that stays open, and on the summary, which counts both; and the
// records have it. Where the question is fatal, the paper says both.
func TestAnswersOnPaper(t *testing.T) {
	for language, c := range map[string]struct{ answer, counts, caption string }{
		"en": {"Answered by A. Quill on 20 Nov 2026: So it is.", "3 questions, 1 answered", "questions, 1 answered"},
		"es": {"Respuesta de A. Quill, 20 nov 2026: So it is.", "3 preguntas, 1 respondida", "preguntas, 1 con respuesta"},
		"de": {"Antwort von A. Quill, 20. Nov. 2026: So it is.", "3 Fragen, 1 beantwortet", "Fragen, 1 beantwortet"},
	} {
		for _, weight := range []string{"note", "fatal"} {
			f := library()
			f.Job.Documents.Language = language
			f.Job.Policy.Questions = map[string]record.Question{"unknown-person": {Weight: weight}}
			for _, code := range evidence.Checks() {
				if code.Code != "unknown-person" {
					f.Job.Policy.Questions[code.Code] = record.Question{Weight: "off"}
				}
			}
			first, second := f.Links[0].ID, f.Links[1].ID
			for i := range f.Readings {
				switch f.Readings[i].Link {
				case first:
					f.Readings[i].Person = "T. Idris"
				case second:
					f.Readings[i].Person = ""
				}
			}
			f.Job.Answers = []record.Answer{{Question: "unknown-person", Links: []string{first}, Text: "So it is.", Who: "A. Quill", Day: record.NewDate(2026, 11, 20)}}
			set := newSet(t, f, options())
			l, _ := set.Judgement.Link(first)
			if l.Verdict.Certifiable() != (weight == "note") {
				t.Fatalf("%s: an answer to a question that is %s: %s", language, weight, l.Verdict)
			}
			text := func(texts []string) string {
				return strings.Join(strings.Fields(strings.ReplaceAll(strings.Join(texts, " "), "\u00a0", " ")), " ")
			}
			if got := text(drawn(t, set.Paper(), paperOf(t, set, l)).Texts()); !strings.Contains(got, c.answer) {
				t.Errorf("%s, %s: the paper does not say %q: %s", language, weight, c.answer, got)
			}
			d, err := summary.New(set)
			if err != nil {
				t.Fatal(err)
			}
			got := text(drawn(t, set.Paper(), d).Texts())
			for _, want := range []string{c.answer, c.counts, c.caption} {
				if !strings.Contains(got, want) {
					t.Errorf("%s, %s: the summary does not say %q: %s", language, weight, want, got)
				}
			}
			for r := range set.ResultLinks() {
				i := slices.IndexFunc(r.Findings, func(f2 form.ResultFinding) bool { return f2.Answer != nil })
				if (i >= 0) != (r.Link == first) {
					t.Errorf("%s has an answer: %v", r.Link, i >= 0)
				}
				if i >= 0 {
					b, err := json.Marshal(r.Findings[i].Answer)
					if err != nil || string(b) != `{"text":"So it is.","who":"A. Quill","day":"2026-11-20"}` {
						t.Errorf("%s, %v", b, err)
					}
				}
			}
		}
	}
}
