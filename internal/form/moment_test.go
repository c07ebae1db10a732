package form

import (
	"testing"
	"time"

	"spanseal/internal/record"
	"spanseal/internal/wording"
)

// TestNoHourOfOurOwn: an export that gives a day alone never leads to an hour
// on paper or in the results, nor to another day where the job's zone differs.
func TestNoHourOfOurOwn(t *testing.T) {
	s := &Writer{Facts: &record.Facts{}}
	s.Facts.Job.Location = time.FixedZone("", -6*3600)
	for _, tt := range []struct {
		at                    time.Time
		day, hour, inTheTable string
	}{
		{time.Date(2026, 11, 18, 0, 0, 0, 0, time.UTC), "2026-11-18", "", "2026-11-18"},
		{time.Date(2026, 11, 18, 9, 32, 0, 0, time.UTC), "2026-11-18", "03:32", "2026-11-18T09:32:00Z"},
		{time.Time{}, "", "", ""},
	} {
		local := s.Local(tt.at)
		if day, hour, table := record.DateOf(local).String(), wording.Clock(local), moment(tt.at); day != tt.day || hour != tt.hour || table != tt.inTheTable {
			t.Errorf("%v: day %q, hour %q, %q in the table, want %+v", tt.at, day, hour, table, tt)
		}
	}
}
