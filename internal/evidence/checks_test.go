package evidence_test

import (
	"strings"
	"testing"

	"spanseal/internal/evidence"
)

// TestChecksAreExplained: a check says what it asks and why, what settles it and
// where it comes from, and the unit of its threshold.
func TestChecksAreExplained(t *testing.T) {
	seen := map[string]bool{}
	for _, c := range evidence.Checks() {
		if c.Title == "" || !strings.HasSuffix(c.Asks, "?") || c.Why == "" || c.Settle == "" || c.Source == "" || (c.Threshold == nil) != (c.Unit == "") {
			t.Errorf("%s is not explained", c.Code)
		}
		if seen[c.Code] {
			t.Errorf("%s is there twice", c.Code)
		}
		seen[c.Code] = true
	}
	if len(seen) == 0 {
		t.Error("no checks")
	}
}
