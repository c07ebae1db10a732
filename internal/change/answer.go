package change

import (
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// answer is what the job says to a question.
type answer struct {
	Text string      `json:"text"`
	Who  string      `json:"who"`
	Day  record.Date `json:"day"`
}

func (a *answer) statement() statement.Statement {
	return statement.New("answer", statement.Name(a.Who), statement.Day(a.Day), statement.Name(a.Text))
}

// reply is a change of an answer: its code, and what stands behind the links.
type reply struct {
	code string
	args []statement.Argument
}

// answered compares the answers to questions by code and arguments. A question that
// is no longer asked takes its answer along; a new one may bring its own.
func answered(old, now []finding) (out []reply) {
	was := map[string]*answer{}
	for _, f := range old {
		if f.Question.Code != "" {
			was[f.Question.Key()] = f.Answer
		}
	}
	seen := map[string]bool{}
	for _, f := range now {
		if f.Question.Code == "" {
			continue
		}
		q := f.Question
		q.Text = "" // its form makes it
		key := q.Key()
		before := was[key]
		switch {
		case seen[key]:
		case before == nil && f.Answer == nil:
		case before == nil:
			out = append(out, reply{"answer-new", []statement.Argument{q, f.Answer.statement()}})
		case f.Answer == nil:
			out = append(out, reply{"answer-gone", []statement.Argument{q, before.statement()}})
		case *before != *f.Answer:
			out = append(out, reply{"answer", []statement.Argument{q, before.statement(), f.Answer.statement()}})
		}
		seen[key] = true
	}
	return out
}
