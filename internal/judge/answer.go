package judge

import (
	"fmt"
	"slices"
	"sync"

	"spanseal/internal/evidence"
	"spanseal/internal/near"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// Reply is what the job says to a question. It is told beside the question, and
// never changes a number or a verdict: only what a check names settles it.
type Reply struct {
	Text string      `json:"text"`
	Who  string      `json:"who"` // by name
	Day  record.Date `json:"day"`
}

// Said is the answer to the finding's question, or says nothing.
func (f *Finding) Said() statement.Statement {
	if f.Answer == nil {
		return statement.Statement{}
	}
	return statement.New("answer", statement.Name(f.Answer.Who), statement.Day(f.Answer.Day), statement.Name(f.Answer.Text))
}

// Asks reports whether the finding asks something that can be answered. What a limit
// finds is no question.
func (f *Finding) Asks() bool { return f.Kind != KindLimit && !f.Question.IsZero() }

// posed tells of different questions whether each has an answer wherever it is asked.
type posed map[string]bool

func (p posed) add(findings []Finding) {
	for i := range findings {
		if f := &findings[i]; f.Asks() {
			answered, before := p[f.Question.Key()]
			p[f.Question.Key()] = f.Answer != nil && (answered || !before)
		}
	}
}

func (p posed) counts() (asked, answered int) {
	for _, has := range p {
		if has {
			answered++
		}
	}
	return len(p), answered
}

// QuestionCounts counts the different questions about the link, and those of them
// that have an answer.
func (l *LinkResult) QuestionCounts() (asked, answered int) {
	p := posed{}
	p.add(l.Findings)
	return p.counts()
}

// QuestionCounts counts the different questions about the job and its links, measured
// or not, and those of them that have an answer wherever they are asked: one that is
// asked of several links in the same words is one, and has to be answered for each
// of them.
func (j *Judgement) QuestionCounts() (asked, answered int) {
	if j.counted == nil { // of no link
		return 0, 0
	}
	return j.counted()
}

// countedOnce counts when first asked: of a large job it takes as long as writing
// out its results.
func (j *Judgement) countedOnce() func() (int, int) {
	return sync.OnceValues(func() (int, int) {
		p := posed{}
		p.add(j.Questions)
		for _, l := range j.Results() {
			p.add(l.Findings)
		}
		return p.counts()
	})
}

// answers are those of a job, by what they are about.
type answers struct {
	asked []record.Answer
	made  []Reply          // of each
	about map[string][]int // which of them by link, "" being the job as a whole
}

// answersOf reads the answers of a job.
func answersOf(job *record.Job) *answers {
	a := &answers{asked: job.Answers, about: map[string][]int{}}
	for i, said := range job.Answers {
		who := said.Who
		if p, ok := job.Person(who); ok {
			who = p.Name
		}
		a.made = append(a.made, Reply{said.Text, who, said.Day})
		for _, link := range aboutOf(&said) {
			a.about[link] = append(a.about[link], i)
		}
	}
	return a
}

// aboutOf is what an answer is about: links, or "" for the job as a whole.
func aboutOf(said *record.Answer) []string {
	if said.Links == nil {
		return []string{""}
	}
	return said.Links
}

// give puts the answers beside the questions about a link, or "" for the job.
func (a *answers) give(link string, findings []Finding) {
	for _, i := range a.about[link] {
		for k := range findings {
			if f := &findings[k]; f.Answer == nil && f.goesBy(a.asked[i].Question) {
				f.Answer = &a.made[i]
			}
		}
	}
}

// goesBy reports whether the finding asks the question of that name or code.
func (f *Finding) goesBy(name string) bool {
	return f.Asks() && (name == f.Question.Code || name == f.Code || name == statement.Question(f.Question.Code))
}

// Astray is an answer that stands beside no question.
type Astray struct {
	Answer int // which of the job's, from zero
	Link   int // which of its links, from zero, or -1 where it is not about one
	Code   string
	// Message, Want and Fix are those of a problem; its place is the caller's to know.
	Message, Want, Fix string
}

// AnswersAstray lists the answers that nothing asks for, that name no question,
// and those to what another answers already, in the order of the job.
func (j *Judgement) AnswersAstray() (out []Astray) {
	a := j.answers
	if a == nil {
		return nil
	}
	at := make(map[string]int, len(j.Links))
	for i := range j.Links {
		at[j.Links[i].Link.ID] = i
	}
	findings := map[string][]Finding{"": j.Questions}
	for i := range a.asked {
		said := &a.asked[i]
		if p, unknown := unknownName(said.Question); unknown {
			out = append(out, Astray{Answer: i, Link: -1, Code: "unknown-question", Message: p.Message, Want: p.Want, Fix: p.Fix})
			continue
		}
		for k, link := range aboutOf(said) {
			if said.Links == nil {
				k = -1
			}
			if _, read := findings[link]; !read {
				if n, ok := at[link]; ok {
					findings[link] = j.Result(n).Findings
				}
			}
			answers, again := false, false
			for n := range findings[link] {
				if f := &findings[link][n]; f.goesBy(said.Question) {
					answers, again = true, again || f.Answer != &a.made[i] // an earlier one was given
				}
			}
			switch {
			case !answers:
				out = append(out, j.toNothing(i, k, link))
			case again || k > slices.Index(said.Links, link):
				out = append(out, Astray{Answer: i, Link: k, Code: "answered-twice",
					Message: fmt.Sprintf("the question %q%s already has an answer", said.Question, ofLink(link)), Fix: "keep one of the answers"})
			}
		}
	}
	return out
}

// ofLink says which link a question is about.
func ofLink(link string) string {
	if link == "" {
		return " about the job as a whole"
	}
	return " about link " + link
}

// toNothing is the fault of an answer to a question that is not asked.
func (j *Judgement) toNothing(i, k int, link string) Astray {
	said := &j.answers.asked[i]
	out := Astray{Answer: i, Link: k, Code: "answer-to-nothing", Message: fmt.Sprintf("the question %q%s is not asked", said.Question, ofLink(link)),
		Fix: "remove the answer, or correct its question or its link"}
	if link != "" {
		if slices.ContainsFunc(j.Questions, func(f Finding) bool { return f.goesBy(said.Question) }) {
			out.Fix = "leave out the link: the question is about the job as a whole"
		}
		return out
	}
	for _, l := range j.Results() {
		if slices.ContainsFunc(l.Findings, func(f Finding) bool { return f.goesBy(said.Question) }) {
			out.Fix = "name the links that it is about, such as link: " + l.Link.ID
			break
		}
	}
	return out
}

// unknownName is the fault of a name that is no question's, if it is none.
func unknownName(name string) (p Astray, unknown bool) {
	var names []string
	for _, c := range evidence.Checks() {
		names = append(names, c.Code)
	}
	names = append(names, "not-measured", "no-limit", "not-shown", "application", "not-judged", "set-idle", "shown")
	if question := statement.Question(name); slices.Contains(names, question) {
		if _, ok := statement.Lookup(name); ok || name == question {
			return p, false
		}
		p.Want = "want " + question
		for _, e := range statement.Of(question) {
			if e.Code != question {
				p.Want += ", " + e.Code
			}
		}
	}
	p.Message = fmt.Sprintf("%q is not a question", name)
	if near := near.Word(name, names); near != "" && p.Want == "" {
		p.Want = fmt.Sprintf("did you mean %q?", near)
	}
	p.Fix = "spanseal explain --code list names the questions"
	return p, true
}
