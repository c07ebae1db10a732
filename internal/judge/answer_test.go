package judge_test

import (
	"encoding/json"
	"fmt"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"spanseal/internal/judge"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// TestQuestionCounts counts different questions: the same words of two links are one,
// which needs an answer for each; that a link was not measured is a question too.
func TestQuestionCounts(t *testing.T) {
	book := builtIn(t)
	unnamed := func(answers ...record.Answer) *judge.Judgement {
		f := clean()
		copies(f, 1, letters, time.Minute)
		for i := range f.Readings {
			f.Readings[i].Person = ""
		}
		l := f.Links[0]
		l.ID = "never"
		f.Links = append(f.Links, l)
		f.Job.Answers = answers
		j, problems := judge.Judge(f, book)
		report(t, problems)
		return j
	}
	answer := func(links ...string) record.Answer {
		return record.Answer{Question: "unknown-person", Links: links, Text: "I did.", Who: "mo", Day: record.NewDate(2026, 11, 20)}
	}
	for _, c := range []struct {
		name            string
		answers         []record.Answer
		asked, answered int
	}{
		{"none", nil, 2, 0},
		{"of one of two links", []record.Answer{answer("A-12")}, 2, 0},
		{"of both", []record.Answer{answer("A-12", "N-B")}, 2, 1},
		{"of each", []record.Answer{answer("A-12"), answer("N-B")}, 2, 1},
		{"of the job, which asks nothing", []record.Answer{answer()}, 2, 0},
		{"that the link was never measured", []record.Answer{{Question: "not-measured", Links: []string{"never"}}}, 2, 1},
	} {
		j := unnamed(c.answers...)
		if asked, answered := j.QuestionCounts(); asked != c.asked || answered != c.answered {
			t.Errorf("%s: %d asked, %d answered", c.name, asked, answered)
		}
	}
	f := clean()
	if asked, answered := judged(t, f, book).QuestionCounts(); asked != 0 || answered != 0 {
		t.Errorf("a clean job: %d asked, %d answered", asked, answered)
	}
}

// TestAnswers: an answer finds its question by name or code, and says who gave it.
func TestAnswers(t *testing.T) {
	day := record.NewDate(2026, 11, 20)
	to := func(question string, links ...string) record.Answer {
		return record.Answer{Question: question, Links: links, Text: "So it is.", Who: "mo", Day: day}
	}
	for _, c := range []struct {
		name    string
		answers []record.Answer
		want    []string // what is answered, then what is astray
	}{
		{"by name", []record.Answer{to("calibration", "A-12")}, []string{"calibration.overdue"}},
		{"by code", []record.Answer{to("calibration.overdue", "A-12")}, []string{"calibration.overdue"}},
		{"two questions", []record.Answer{to("calibration", "A-12"), to("unknown-person", "A-12")}, []string{"calibration.overdue", "unknown-person.unlisted"}},
		{"of the job", []record.Answer{to("duplicate-rows.file")}, []string{"duplicate-rows.file"}},
		{"another code of the name", []record.Answer{to("calibration.early", "A-12")}, []string{"0 0 answer-to-nothing"}},
		{"nothing asked", []record.Answer{to("pace")}, []string{"0 -1 answer-to-nothing"}},
		{"another link", []record.Answer{to("bend", "A-12")}, []string{"0 0 answer-to-nothing"}},
		{"a link of a question of the job", []record.Answer{to("duplicate-rows", "A-12")}, []string{"0 0 answer-to-nothing"}},
		{"no link of a question of one", []record.Answer{to("calibration")}, []string{"0 -1 answer-to-nothing"}},
		{"no question", []record.Answer{to("bent", "A-12")}, []string{"0 -1 unknown-question"}},
		{"advice is none", []record.Answer{to("advice.bend", "A-12")}, []string{"0 -1 unknown-question"}},
		{"no code", []record.Answer{to("calibration.late", "A-12")}, []string{"0 -1 unknown-question"}},
		{"twice", []record.Answer{to("calibration", "A-12"), to("calibration.overdue", "A-12")}, []string{"calibration.overdue", "1 0 answered-twice"}},
		{"one link twice", []record.Answer{to("calibration", "A-12", "A-12")}, []string{"calibration.overdue", "0 1 answered-twice"}},
		{"twice of the job", []record.Answer{to("duplicate-rows"), to("duplicate-rows")}, []string{"duplicate-rows.file", "1 -1 answered-twice"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := clean()
			f.Job.Instruments[0].Due = record.NewDate(2026, 11, 2)
			for i := range f.Readings {
				f.Readings[i].Person = "T. Idris"
			}
			f.Accounts = []record.Account{{File: "a.csv", SHA256: "1"}, {File: "b.csv", SHA256: "1"}}
			f.Job.Answers = c.answers
			j, problems := judge.Judge(f, builtIn(t))
			report(t, problems)
			var got []string
			for _, f := range append(j.Questions, j.Result(0).Findings...) {
				if f.Answer == nil {
					continue
				}
				got = append(got, f.Question.Code)
				if *f.Answer != (judge.Reply{Text: "So it is.", Who: "M. Okafor", Day: day}) {
					t.Errorf("%+v", f.Answer)
				}
			}
			for _, s := range j.AnswersAstray() {
				got = append(got, fmt.Sprint(s.Answer, s.Link, " ", s.Code))
				if s.Message == "" || s.Fix == "" {
					t.Errorf("no message or no way out: %+v", s)
				}
			}
			if !slices.Equal(got, c.want) {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

// TestAnswersChangeNothing: with the answers taken away, a judgement is the same to
// the last byte, whatever was asked and answered.
func TestAnswersChangeNothing(t *testing.T) {
	book := builtIn(t)
	given := 0
	rapid.Check(t, func(t *rapid.T) {
		seed := drawn(t)
		copies(seed, 2, letters, time.Duration(rapid.IntRange(0, 60).Draw(t, "apart"))*time.Second)
		for i := range seed.Readings {
			seed.Readings[i].Person = rapid.SampledFrom([]string{"mo", "ti", ""}).Draw(t, "person")
		}
		seed.Job.Instruments[0].Due = record.NewDate(2026, 11, rapid.IntRange(1, 30).Draw(t, "due"))
		seed.Job.Policy.Questions = map[string]record.Question{
			"bend": {Weight: rapid.SampledFrom([]string{"fatal", "note", "off"}).Draw(t, "bend")}, "pace": {Weight: "fatal"},
		}
		again := func() *record.Facts {
			f := *seed
			f.Readings = slices.Clone(seed.Readings)
			return &f
		}
		plain := mustJudge(t, again(), book)
		f := again()
		add := func(link []string, findings []judge.Finding) {
			for i := range findings {
				q := &findings[i]
				if !q.Asks() || !rapid.Bool().Draw(t, "answered") {
					continue
				}
				code := q.Question.Code
				if rapid.Bool().Draw(t, "by name") {
					code = statement.Question(code)
				}
				f.Job.Answers = append(f.Job.Answers, record.Answer{Question: code, Links: link, Text: "Yes.", Who: "mo", Day: record.NewDate(2026, 11, 20)})
			}
		}
		add(nil, plain.Questions)
		for _, l := range plain.Results() {
			add([]string{l.Link.ID}, l.Findings)
		}
		answered, problems := judge.Judge(f, book)
		if problems.Errors() > 0 {
			t.Fatal(problems)
		}
		if len(f.Job.Answers) > 0 {
			if _, n := answered.QuestionCounts(); n > 0 {
				given++
			}
		}
		a, b := strip(t, plain), strip(t, answered)
		if a != b {
			t.Fatalf("answers changed the judgement:\n%s\n%s", a, b)
		}
		for _, s := range answered.AnswersAstray() {
			if s.Code != "answered-twice" {
				t.Fatalf("%+v", s)
			}
		}
	})
	if given == 0 {
		t.Error("no answer was given")
	}
}

// strip is a judgement without answers.
func strip(t *rapid.T, j *judge.Judgement) string {
	b, err := json.Marshal(j)
	if err != nil {
		t.Fatal(err)
	}
	var all any
	if err := json.Unmarshal(b, &all); err != nil {
		t.Fatal(err)
	}
	var walk func(v any)
	walk = func(v any) {
		switch v := v.(type) {
		case map[string]any:
			delete(v, "answer")
			for _, item := range v {
				walk(item)
			}
		case []any:
			for _, item := range v {
				walk(item)
			}
		}
	}
	walk(all)
	out, err := json.Marshal(all)
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}
