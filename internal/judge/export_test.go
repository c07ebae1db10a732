package judge

import (
	"spanseal/internal/limits"
	"spanseal/internal/record"
)

// Unpacked judges a job and keeps the result of every link as it was found.
func Unpacked(facts *record.Facts, book *limits.Book) []*LinkResult {
	b := newBench(facts, book)
	b.resolve()
	b.each(make([]Brief, len(facts.Links)))
	b.crowd()
	c := b.clerk()
	var out []*LinkResult
	for k := range facts.Links {
		r := new(LinkResult)
		c.link(k, r)
		r.Findings = append(r.Findings, b.asked[k]...)
		finish(r)
		out = append(out, r)
	}
	return out
}

// Apart is how many readings of a job have something that they share with no
// other.
func Apart(facts *record.Facts) int { return len(shelve(facts).shared) }

// Enough is how many single losses show a share when so many are over the limit.
var Enough = enough
