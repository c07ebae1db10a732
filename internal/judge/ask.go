package judge

import (
	"iter"

	"spanseal/internal/crosscheck"
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

// crosscheck raises what many links beside each other show. Questions about links join
// their findings; those about the job as a whole are returned.
func (b *jobJudge) crosscheck() (out []Finding) {
	for _, q := range crosscheck.Questions(crosscheck.Input{
		Facts: b.facts, Settings: b.asks, Digests: b.digests, Difference: b.worker().difference,
		Counting: func(link int) []record.Reading { return b.links[link].Readings },
		All:      func(link int) iter.Seq[*record.Reading] { return b.links[link].everyReading() },
	}) {
		if len(q.Links) == 0 {
			if f, ok := b.raise(q.Question); ok {
				out = append(out, f)
			}
		}
		for _, i := range q.Links {
			if f, ok := b.raise(q.Question); ok {
				b.links[i].Findings = append(b.links[i].Findings, f)
			}
		}
	}
	return out
}

// ask raises a question about the link at hand.
func (d *linkJudge) ask(question statement.Statement, readings ...record.Reading) {
	if f, ok := d.raise(question, readings...); ok {
		d.out.Findings = append(d.out.Findings, f)
	}
}
