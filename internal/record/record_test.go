package record

import (
	"encoding/json"
	"testing"
	"time"
	_ "time/tzdata"

	"pgregory.net/rapid"

	"spanseal/internal/quantity"
)

func TestDate(t *testing.T) {
	d, err := ParseDate("2028-02-29")
	if err != nil || d.String() != "2028-02-29" {
		t.Fatal(d, err)
	}
	for _, s := range []string{"", "2026-02-29", "2026-2-9", "18.11.2026", "2026-11-18T00:00", "2026-13-01"} {
		if d, err := ParseDate(s); err == nil {
			t.Errorf("%q reads as %s", s, d)
		}
	}
	var none Date
	if !none.IsZero() || none.String() != "" || !none.Before(d) || d.Before(none) || !d.After(none) {
		t.Error("the zero date is not before all others")
	}
	if got := d.AddMonths(12).String(); got != "2029-03-01" { // as package time counts; there is no 29 February
		t.Error(got)
	}
	if got := NewDate(2026, 3, 28).DaysUntil(NewDate(2026, 3, 30)); got != 2 { // over a change of the clocks
		t.Error(got)
	}
	// The day is that of the instant's own zone.
	zone := time.FixedZone("", 10*3600)
	if got := DateOf(time.Date(2026, 11, 18, 3, 0, 0, 0, zone)).String(); got != "2026-11-18" {
		t.Error(got)
	}
	if !DateOf(time.Time{}).IsZero() {
		t.Error("no time has a day")
	}
}

func TestDateProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := NewDate(2000, 1, 1).AddDays(rapid.IntRange(-20_000, 40_000).Draw(t, "day"))
		n := rapid.IntRange(-5000, 5000).Draw(t, "n")
		e := d.AddDays(n)
		if d.DaysUntil(e) != n || e.After(d) != (n > 0) || e.Before(d) != (n < 0) || e.Equal(d) != (n == 0) {
			t.Fatalf("%s and %s are not %d days apart", d, e, n)
		}
		text, err := d.MarshalText()
		var back Date
		if err != nil || back.UnmarshalText(text) != nil || !back.Equal(d) {
			t.Fatalf("%s reads back as %s", text, back)
		}
	})
}

func TestOrigin(t *testing.T) {
	for _, tt := range []struct {
		o    Origin
		want string
	}{
		{Origin{File: "a.csv", Row: 7, Column: 3}, "a.csv row 7"},
		{Origin{File: "a.xlsx", Row: 7, Cell: "S!B7"}, "a.xlsx S!B7"},
		{Origin{File: "job.yaml"}, "job.yaml"},
	} {
		if got := tt.o.Where(); got != tt.want {
			t.Errorf("%q, want %q", got, tt.want)
		}
	}
}

func TestLinkAndReading(t *testing.T) {
	l := Link{Splices: 1, EndA: End{SplicedOn: true}, EndB: End{SplicedOn: true}}
	if l.SplicedEnds() != 2 || l.AllSplices() != 3 {
		t.Error("a spliced-on end adds a splice of its own")
	}
	if (Link{Splices: 1, EndA: End{SplicedOn: true}}).AllSplices() != 2 {
		t.Error("one spliced-on end adds one splice")
	}
	if AB.From() != "A" || BA.From() != "B" || TwoWay.From() != "" {
		t.Error("the end that the light entered")
	}
	for want, r := range map[string]Reading{
		"1310 nm A-B": {WavelengthNM: 1310, Direction: AB}, "": {}, "B-A": {Direction: BA}, "850 nm": {WavelengthNM: 850},
	} {
		if got := r.Subject(); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestLookUp(t *testing.T) {
	j := Job{People: []Person{{ID: "mo"}}, Instruments: []Instrument{{ID: "PM-9"}}, Cables: []Cable{{ID: "C1"}}}
	if p, ok := j.Person("mo"); !ok || p.ID != "mo" {
		t.Error("person")
	}
	if i, ok := j.Instrument("PM-9"); !ok || i.ID != "PM-9" {
		t.Error("instrument")
	}
	if c, ok := j.Cable("C1"); !ok || c.ID != "C1" {
		t.Error("cable")
	}
	_, a := j.Person("x")
	_, b := j.Instrument("")
	_, c := j.Cable("c1")
	if a || b || c {
		t.Error("found what is not there")
	}
}

// TestReadingJSON holds the names under which a reading stands in the record
// that is attached to each certificate.
func TestReadingJSON(t *testing.T) {
	ref := quantity.Must("-4.02")
	r := Reading{
		Link: "A-11", Quantity: InsertionLoss, WavelengthNM: 1310, Direction: AB, Value: quantity.Must("0.810"), Reference: &ref,
		Time: time.Date(2026, 11, 18, 10, 31, 0, 0, time.UTC), Fate: Used, Origin: Origin{File: "readings/a.csv", SHA256: "00", Size: 3, Row: 5, Column: 34},
	}
	got, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	want := `{"link":"A-11","quantity":"insertion_loss","wavelength_nm":1310,"direction":"A-B","value":"0.810","reference_dbm":"-4.02",` +
		`"time":"2026-11-18T10:31:00Z","fate":"used","origin":{"file":"readings/a.csv","sha256":"00","size":3,"row":5,"column":34}}`
	if string(got) != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	var back Reading
	if err := json.Unmarshal(got, &back); err != nil || back.Value.String() != "0.810" {
		t.Error(back, err)
	}
}

// TestDayOnly: a day without an hour is all of the day, also where the clocks
// change at midnight, so that the day begins at one or has 25 hours (IANA time
// zone database: Chile, Cuba, Egypt).
func TestDayOnly(t *testing.T) {
	for _, tt := range []struct {
		zone, at string
		day      bool
		latest   string
	}{
		{"UTC", "2026-11-18T00:00:00Z", true, "2026-11-18T23:59:59.999999999Z"},
		{"UTC", "2026-11-18T00:00:01Z", false, "2026-11-18T00:00:01Z"},
		{"America/Santiago", "2026-09-06T01:00:00-03:00", true, "2026-09-06T23:59:59.999999999-03:00"},
		{"America/Santiago", "2026-09-07T01:00:00-03:00", false, "2026-09-07T01:00:00-03:00"},
		{"America/Havana", "2026-11-01T00:00:00-04:00", true, "2026-11-01T23:59:59.999999999-05:00"},
		{"America/Havana", "2026-11-01T00:00:00-05:00", false, "2026-11-01T00:00:00-05:00"},
		{"Africa/Cairo", "2026-10-29T00:00:00+03:00", true, "2026-10-29T23:59:59.999999999+02:00"},
	} {
		zone, err := time.LoadLocation(tt.zone)
		if err != nil {
			t.Fatal(err)
		}
		at, err := time.Parse(time.RFC3339, tt.at)
		if err != nil {
			t.Fatal(err)
		}
		at = at.In(zone)
		if got := Latest(at).Format(time.RFC3339Nano); DayOnly(at) != tt.day || got != tt.latest {
			t.Errorf("%s in %s: a day %v, until %s, want %v, %s", tt.at, tt.zone, DayOnly(at), got, tt.day, tt.latest)
		}
	}
	if DayOnly(time.Time{}) || !Latest(time.Time{}).IsZero() {
		t.Error("no time at all is no day")
	}
}

func TestLast(t *testing.T) {
	at := func(event string, hour int) Reading {
		r := Reading{Event: event}
		if hour > 0 {
			r.Time = time.Date(2026, 11, 18, hour, 0, 0, 0, time.UTC)
		}
		return r
	}
	for name, c := range map[string]struct {
		readings []Reading
		want     string
	}{
		"none":                       {nil, ""},
		"no time":                    {[]Reading{at("a", 0)}, ""},
		"not the last of the list":   {[]Reading{at("a", 8), at("b", 10), at("c", 9), at("d", 0)}, "b"},
		"several at the same moment": {[]Reading{at("a", 8), at("b", 10), at("c", 10)}, "b"},
	} {
		if got := Last(c.readings); got.Event != c.want {
			t.Errorf("%s: %q, want %q", name, got.Event, c.want)
		}
	}
}
