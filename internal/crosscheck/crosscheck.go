// Package crosscheck asks what no link shows by itself, and many beside each other do:
// losses that are all the same, a direction or a wavelength that was copied, names that
// are easily mixed up, strands of a pair that do not agree, an instrument or a person at
// two places at once, a pace of work that nobody keeps up, calibration that is said to
// last too long.
//
// It knows no verdict and no weight: whether a question counts, and how much, is for the
// judge. The order of its questions does not depend on the order of rows.
package crosscheck

import (
	"iter"

	"spanseal/internal/chance"
	"spanseal/internal/evidence"
	"spanseal/internal/polarity"
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

// Questions asks everything that only many links together can show.
func Questions(in Input) []statement.Asked {
	c := &check{Input: in, instruments: map[string]*record.Instrument{}, people: map[string]*record.Person{}}
	for i := range in.Job.Instruments {
		c.instruments[in.Job.Instruments[i].ID] = &in.Job.Instruments[i]
	}
	for i := range in.Job.People {
		c.people[in.Job.People[i].ID] = &in.Job.People[i]
	}
	c.identical()
	c.lookAlikes()
	c.pairs()
	c.asked = append(c.asked, polarity.Questions(in.Facts)...)
	c.sameFiles()
	c.copies()
	c.intervals()
	c.times()
	return c.asked
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
