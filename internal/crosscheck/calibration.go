package crosscheck

import (
	"time"

	"spanseal/internal/chance"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// intervals asks about instruments in use whose calibration is said to last longer than
// the job allows: to the end of the month in which so many months are over.
func (c *check) intervals() {
	used := map[string]bool{}
	for i := range c.Links {
		for r := range c.All(i) {
			used[r.Instrument], used[r.Source] = true, true
		}
	}
	months := c.Settings["calibration-interval"].Threshold
	for i := range c.Job.Instruments {
		in := &c.Job.Instruments[i]
		if !used[in.ID] || in.Calibrated.IsZero() { // one that is never due is due too late by no day
			continue
		}
		y, m, _ := in.Calibrated.Time().Date() // its day plays no part: half a year from 31 August ends with February
		if in.Due.After(record.NewDate(y, m+time.Month(chance.Float(months))+1, 0)) {
			c.ask(statement.New("calibration-interval", statement.Name(in.ID), statement.Day(in.Calibrated), statement.Day(in.Due), statement.Short(months)))
		}
	}
}
