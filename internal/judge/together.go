package judge

import "spanseal/internal/statement"

// together asks what only many links together can show. Questions about the job
// as a whole are returned; those about links join their findings.
func (b *jobJudge) together() []Finding {
	b.identical()
	b.lookAlikes()
	b.polarities()
	var out []Finding
	for _, question := range append(b.sameFiles(), b.copies()...) {
		if f, ok := b.raise(question); ok {
			out = append(out, f)
		}
	}
	return append(out, b.times()...)
}

// askEach raises one question about several links at once.
func (b *jobJudge) askEach(which []int, question statement.Statement) {
	for _, i := range which {
		if f, ok := b.raise(question); ok {
			b.links[i].Findings = append(b.links[i].Findings, f)
		}
	}
}

// linksOf names links of the schedule, the first few of them where they are many.
func (b *jobJudge) linksOf(which []int) statement.Value {
	out := make([]string, len(which))
	for i, k := range which {
		out[i] = b.facts.Links[k].ID
	}
	return statement.Few(out)
}
