package crosscheck

import (
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
		if !used[in.ID] || in.Calibrated.IsZero() || in.Due.IsZero() {
			continue
		}
		over := in.Calibrated.AddMonths(int(chance.Float(months)))
		y, m, _ := over.Time().Date()
		if in.Due.After(record.NewDate(y, m+1, 0)) {
			c.ask(statement.New("calibration-interval", statement.Name(in.ID), statement.Day(in.Calibrated), statement.Day(in.Due), statement.Short(months)))
		}
	}
}
