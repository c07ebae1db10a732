package crosscheck

import (
	"iter"

	"spanseal/internal/chance"
	"spanseal/internal/evidence"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// Input is a job whose readings were sorted: which of a link count, and which not.
type Input struct {
	*record.Facts
	Settings map[string]evidence.Setting // of each question; a weight plays no part

	Counting func(link int) []record.Reading          // those of a link that count
	All      func(link int) iter.Seq[*record.Reading] // and those of other stages, and replaced ones
	Digests  []chance.Digest                          // of the losses of each link

	// Difference is the most that glass loses at the longer wavelength beyond the
	// shorter one, dB/km, or nil.
	Difference func(chance.Wavelengths) *quantity.Decimal
}

// check is a job while it is asked about.
type check struct {
	Input
	instruments map[string]*record.Instrument
	people      map[string]*record.Person
	asked       []statement.Asked
}

// ask asks a question about links, or about the job as a whole where it names none.
func (c *check) ask(question statement.Statement, links ...int) {
	c.asked = append(c.asked, statement.Asked{Links: links, Question: question})
}

// linksOf names links of the schedule, the first few of them where they are many.
func (c *check) linksOf(which []int) statement.Argument {
	out := make([]string, len(which))
	for i, k := range which {
		out[i] = c.Links[k].ID
	}
	return statement.Few(out)
}
