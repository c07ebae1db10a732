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
	"spanseal/internal/polarity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

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
