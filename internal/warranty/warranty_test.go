package warranty

import (
	"slices"
	"testing"
	"time"

	"spanseal/internal/record"
	"spanseal/internal/statement"
)

func day(y int, m time.Month, d int) record.Date { return record.NewDate(y, m, d) }

// TestClaimed: the last day is in, the day after is out. Windows of 5 days from discovery
// and of 60 days from test to registration are those that warranties state; days were
// counted on a calendar.
func TestClaimed(t *testing.T) {
	w := &record.Warranty{Months: 240, DiscoverMonths: 12, ReportDays: 5, RetainYears: 10}
	done := day(2026, 11, 18)
	for _, c := range []struct {
		name                 string
		discovered, reported record.Date
		compared             record.Date
		want                 []string // code and window
	}{
		{"the last days", day(2027, 11, 18), day(2027, 11, 23), day(2036, 11, 18), []string{"term in", "discovery in", "reporting in", "retention in"}},
		{"a day later each", day(2027, 11, 19), day(2027, 11, 25), day(2036, 11, 19), []string{"term in", "discovery out", "reporting out", "retention out"}},
		{"after the term", day(2046, 11, 19), day(2046, 11, 20), day(2046, 11, 20), []string{"term out", "discovery out", "reporting in", "retention out"}},
		{"over a leap day", day(2028, 2, 27), day(2028, 3, 3), day(2028, 3, 4), []string{"term in", "discovery out", "reporting in", "retention in"}},
		{"nobody says", record.Date{}, record.Date{}, day(2027, 1, 1), []string{"not-discovered", "retention in"}},
		{"not reported", day(2027, 1, 1), record.Date{}, day(2027, 1, 1), []string{"term in", "discovery in", "not-reported", "retention in"}},
	} {
		var got []string
		for _, s := range Claimed(w, done, ClaimDays{c.discovered, c.reported, c.compared}) {
			text := s.Code[len("retest.warranty."):]
			if word, ok := s.Args[len(s.Args)-1].(statement.Word); ok {
				text += " " + word.Code
			}
			got = append(got, text)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
	if Claimed(nil, done, ClaimDays{}) != nil || Job(&record.Job{WarrantyMonths: 12}, done) != nil {
		t.Error("something is said of a warranty without windows")
	}
}
