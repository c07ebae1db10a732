package intake

import (
	"testing"
	"time"

	"spanseal/internal/mapping"
	"spanseal/internal/written"
)

// TestDoubledHour holds the offset of one hour against the rule of the European
// Union: clocks change at 01:00 UTC on the last Sunday of October (Directive
// 2000/84/EC, article 3).
func TestDoubledHour(t *testing.T) {
	dublin, err := time.LoadLocation("Europe/Dublin")
	if err != nil {
		t.Fatal(err)
	}
	at := func(hour, minute int) written.Clock {
		return written.Clock{Year: 2026, Month: 10, Day: 25, Hour: hour, Minute: minute}
	}
	for _, c := range []struct {
		name    string
		wall    written.Clock
		seconds int
		utc     string // "" where there is no instant
	}{
		{"before, whatever is said", at(0, 59), 0, "23:59"},
		{"the first time", at(1, 30), 3600, "00:30"},
		{"the second time", at(1, 30), 0, "01:30"},
		{"after, whatever is said", at(2, 0), 3600, "02:00"},
		{"an offset of elsewhere", at(1, 30), 5 * 3600, ""},
	} {
		a := &assembler{zone: dublin, m: &mapping.Mapping{DoubledHour: time.FixedZone("", c.seconds)}}
		got, err := a.instant(c.wall)
		if text := got.UTC().Format("15:04"); (err != nil) != (c.utc == "") || err == nil && text != c.utc {
			t.Errorf("%s: %s UTC, %v, want %s", c.name, text, err, c.utc)
		}
	}
	if _, err := (&assembler{zone: dublin, m: &mapping.Mapping{}}).instant(at(1, 30)); err != written.ErrTwice {
		t.Errorf("nothing said: %v, want %v", err, written.ErrTwice)
	}
}
