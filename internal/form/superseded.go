package form

import (
	"path"

	"spanseal/internal/claim"
	"spanseal/internal/judge"
	"spanseal/internal/statement"
	"spanseal/internal/statistics"
)

// SupersededPath is where the sheet of the readings of a link that were replaced
// belongs, relative to the revision.
func (w *Writer) SupersededPath(l *judge.LinkResult) string {
	return "superseded/" + path.Base(w.PathOf(l))
}

// Replaced are the sentences that lead that sheet.
func (w *Writer) Replaced(l *judge.LinkResult) []statement.Statement {
	over := 0
	for i := range l.Superseded {
		if statistics.MissedLimit(l, &l.Superseded[i]) != nil {
			over++
		}
	}
	return claim.Replaced(l, over, w.PathOf(l))
}

// firstTests are the yields of a job in which something was measured again.
func (w *Writer) firstTests() []statistics.Yield {
	for _, l := range w.Judgement.Results() {
		if len(l.Superseded) > 0 {
			return statistics.Yields(w.Judgement)
		}
	}
	return nil
}
