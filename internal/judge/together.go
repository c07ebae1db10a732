package judge

import (
	"spanseal/internal/chance"
	"spanseal/internal/polarity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// together asks what only many links together can show. Questions about the job
// as a whole are returned; those about links join their findings.
func (b *jobJudge) together() []Finding {
	b.identical()
	b.lookAlikes()
	b.polarities()
	for _, q := range polarity.Questions(b.facts) {
		b.askEach(q.Links, q.Question)
	}
	var out []Finding
	for _, question := range append(b.sameFiles(), b.copies()...) {
		if f, ok := b.raise(question); ok {
			out = append(out, f)
		}
	}
	return append(append(out, b.intervals()...), b.times()...)
}

// intervals asks about instruments in use whose calibration is said to last longer than
// the job allows: to the end of the month in which so many months are over.
func (b *jobJudge) intervals() []Finding {
	used := map[string]bool{}
	for i := range b.links {
		for r := range b.links[i].everyReading() {
			used[r.Instrument], used[r.Source] = true, true
		}
	}
	months := b.asks["calibration-interval"].Threshold
	var out []Finding
	for i := range b.facts.Job.Instruments {
		in := &b.facts.Job.Instruments[i]
		if !used[in.ID] || in.Calibrated.IsZero() || in.Due.IsZero() {
			continue
		}
		over := in.Calibrated.AddMonths(int(chance.Float(months)))
		y, m, _ := over.Time().Date()
		if !in.Due.After(record.NewDate(y, m+1, 0)) {
			continue
		}
		if f, ok := b.raise(statement.New("calibration-interval", statement.Name(in.ID), statement.Day(in.Calibrated), statement.Day(in.Due), statement.Short(months))); ok {
			out = append(out, f)
		}
	}
	return out
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
