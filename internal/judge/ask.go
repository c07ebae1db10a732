package judge

import (
	"spanseal/internal/evidence"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// raise makes a finding of a question, or reports that it is not asked.
func (b *jobJudge) raise(question statement.Statement, readings ...record.Reading) (Finding, bool) {
	code := statement.Question(question.Code)
	f := Finding{Matter: &Matter{Kind: KindEvidence, Code: code, Question: question}, Probability: -1, Readings: readings}
	switch b.asks[code].Weight {
	case evidence.Off:
		return f, false
	case evidence.Fatal:
		f.Verdict = Incomplete
	}
	return f, true
}

// ask raises a question about the link at hand.
func (d *linkJudge) ask(question statement.Statement, readings ...record.Reading) {
	if f, ok := d.raise(question, readings...); ok {
		d.out.Findings = append(d.out.Findings, f)
	}
}
