package retest

import (
	"fmt"
	"slices"

	"spanseal/internal/record"
)

// questions are what a careful reader asks about the new measurement.
func (c *Comparison) questions() []string {
	then, now := &c.Then, &c.Now
	var list []string
	ask := func(format string, args ...any) {
		if text := fmt.Sprintf(format, args...); !slices.Contains(list, text) {
			list = append(list, text)
		}
	}
	if c.copied() && !c.Repeated() {
		ask("Was it measured again? Every loss has the value of then, to the last digit.")
	}
	for i := range now.Readings {
		for j := range then.Readings {
			if r, was := &now.Readings[i], &then.Readings[j]; altered(was, r) {
				ask("Was the reading at %s altered? At the same moment it said %s then, and says %s now.", r.Subject(), was.Value, r.Value)
			}
		}
	}
	was, is := record.Last(then.Readings).Time, record.Last(now.Readings).Time
	switch {
	case is.IsZero():
		ask("On which day was it measured again? The new readings have no time.")
	case record.Latest(is).Before(was):
		those := "those that were certified"
		if !c.Verdict.Certifiable() {
			those = "those on the nonconformance sheet"
		}
		ask("Are these the new readings? They were taken on %s, before %s, on %s.", record.DateOf(is), those, record.DateOf(was))
	}
	for _, r := range now.Readings {
		day := record.DateOf(r.Time)
		if r.Instrument == "" {
			ask("With which instrument was it measured again? None is named.")
		}
		for _, i := range now.Instruments {
			if (i.ID == r.Instrument || i.ID == r.Source) && !i.Due.IsZero() && day.After(i.Due) {
				ask("Was %s calibrated again before %s? Its calibration was due on %s.", i.ID, day, i.Due)
			}
		}
	}
	return list
}
