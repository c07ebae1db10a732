package judge

import (
	"iter"

	"spanseal/internal/crosscheck"
	"spanseal/internal/evidence"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// raise makes a finding of a question, or reports that it is not asked.
func (j *jobJudge) raise(question statement.Statement, readings ...record.Reading) (Finding, bool) {
	code := statement.Question(question.Code)
	f := Finding{Matter: &Matter{Kind: KindEvidence, Code: code, Question: question}, Probability: -1, Readings: readings}
	switch j.asks[code].Weight {
	case evidence.Off:
		return f, false
	case evidence.Fatal:
		f.Verdict = Incomplete
	}
	return f, true
}

// crosscheck raises what many links beside each other show. Questions about links join
// their findings; those about the job as a whole are returned.
func (j *jobJudge) crosscheck() (out []Finding) {
	for _, q := range crosscheck.Questions(crosscheck.Input{
		Facts: j.facts, Settings: j.asks, Digests: j.digests, Difference: j.worker().difference,
		Counting: func(link int) []record.Reading { return j.links[link].Readings },
		All:      func(link int) iter.Seq[*record.Reading] { return j.links[link].everyReading() },
	}) {
		if len(q.Links) == 0 {
			if f, ok := j.raise(q.Question); ok {
				out = append(out, f)
			}
		}
		for _, i := range q.Links {
			if f, ok := j.raise(q.Question); ok {
				j.links[i].Findings = append(j.links[i].Findings, f)
			}
		}
	}
	return out
}

// ask raises a question about the link at hand.
func (j *linkJudge) ask(question statement.Statement, readings ...record.Reading) {
	if f, ok := j.raise(question, readings...); ok {
		j.out.Findings = append(j.out.Findings, f)
	}
}
