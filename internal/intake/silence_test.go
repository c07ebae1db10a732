package intake

import (
	"testing"
	"time"

	"spanseal/internal/mapping"
	"spanseal/internal/record"
	"spanseal/internal/written"
)

// TestMethodIn reads reference methods as the trade writes them. The names by
// the number of cords are those of IEC 61280-4-1 (recalled); jumper is the word
// of older instruments (common practice).
func TestMethodIn(t *testing.T) {
	for text, want := range map[string]record.ReferenceMethod{
		"1 jumper": record.OneCord, "one-cord": record.OneCord, "One test cord": record.OneCord, "1-jumper reference": record.OneCord,
		"Reference method: 2 jumper": record.TwoCord, "two cord": record.TwoCord, "3 jumpers": record.ThreeCord, "three-test-cord": record.ThreeCord,
		"21 jumpers": "", "cord 2": "", "Method B": "", "": "",
	} {
		if got, ok := methodIn(text); got != want || ok != (want != "") {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
}

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
