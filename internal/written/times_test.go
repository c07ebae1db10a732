package written

import (
	"fmt"
	"slices"
	"testing"
	"time"
)

// TestTimes compares our reading of ISO times with that of package time, over
// formats that both know.
func TestTimes(t *testing.T) {
	for format, layout := range map[string]string{
		"DD.MM.YYYY HH:mm": "02.01.2006 15:04", "M/D/YYYY h:mm AM": "1/2/2006 3:04 PM", "YYYYMMDD HHmmss": "20060102 150405",
		"DD-MMM-YY HH:mm:ss": "02-Jan-06 15:04:05", "D.M.YYYY H:mm": "2.1.2006 15:04", "YYYY-MM-DDTHH:mm:ssZ": "2006-01-02T15:04:05Z07:00",
	} {
		f, err := NewTimeFormat(format)
		if err != nil {
			t.Fatal(err)
		}
		for i := range 5000 {
			at := time.Date(2001, 1, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(i) * 43 * time.Hour / 7 * 6).Truncate(time.Minute)
			text := at.Format(layout)
			w, err := f.Parse(text, Clock{})
			if err != nil {
				t.Fatalf("%s: %q: %v", format, text, err)
			}
			if got, err := w.In(time.UTC); err != nil || !got.Equal(at) {
				t.Fatalf("%s: %q is %v, %v", format, text, got, err)
			}
		}
	}
}

// TestStoredTimes checks serial numbers of spreadsheets against examples of
// ECMA-376 part 1, 18.17.4.3 (from memory): 2 January 2026 and others by the
// day count since 30 December 1899.
func TestStoredTimes(t *testing.T) {
	day0 := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	for i := 20_000; i < 80_000; i += 97 {
		want := day0.AddDate(0, 0, i)
		w, ok := StoredTime(fmt.Sprint(i), false)
		if got, err := w.In(time.UTC); !ok || err != nil || !got.Equal(want) {
			t.Fatalf("serial %d is %v, want %v", i, got, want)
		}
	}
	for text, want := range map[string]string{"46344.4375": "2026-11-18 10:30:00", "46344.99999999": "2026-11-19 00:00:00", "46344.43815972222": "2026-11-18 10:30:57"} {
		w, ok := StoredTime(text, false)
		if got, err := w.In(time.UTC); !ok || err != nil || got.Format(time.DateTime) != want {
			t.Errorf("serial %s is %v, want %s", text, got, want)
		}
	}
	if w, ok := StoredTime("80000", false); !ok || w.Year != 2119 || w.Month != 1 || w.Day != 11 { // GNU date: 1899-12-30 +80000 days
		t.Errorf("the last serial is %v", w)
	}
	if slices.ContainsFunc([]string{"11", "1310", "0.35", "19999", "80000.5", "80001", "x"}, func(s string) bool { _, ok := StoredTime(s, false); return ok }) {
		t.Error("a small number passes as a time")
	}
}

// FuzzTime holds that a time that reads is one that package time knows, and
// prints back.
func FuzzTime(f *testing.F) {
	f.Add("DD.MM.YYYY HH:mm", "18.11.2026 10:31")
	f.Add("M/D/YY h:mm:ss AM", "11/18/26 1:31:07 pm")
	f.Add("", "2026-11-18T10:31:07.25+05:30")
	loc, err := time.LoadLocation("Europe/Dublin")
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, format, text string) {
		var w Clock
		var err error
		if format == "" {
			w, err = ParseISO(text)
		} else if tf, bad := NewTimeFormat(format); bad == nil {
			w, err = tf.Parse(text, Clock{})
		} else {
			return
		}
		if err != nil {
			return
		}
		at, err := w.In(loc)
		if err != nil {
			return
		}
		if w.dayOnly && (w.Hour != 0 || w.Minute != 0 || w.Second != 0) {
			t.Errorf("%q by %q has an hour and none: %+v", text, format, w)
		}
		if y, m, d := at.Date(); y != w.Year || int(m) != w.Month || d != w.Day || at.Hour() != w.Hour || at.Minute() != w.Minute || at.Second() != w.Second {
			t.Errorf("%q by %q is %+v, but %s", text, format, w, at)
		}
	})
}

// TestTimeZones compares local times around every change of the clocks of
// several years with the time zone database, by way of instants: an instant's
// local time reads back as that instant, unless the hour came twice, and then
// it is asked about.
func TestTimeZones(t *testing.T) {
	for _, name := range []string{"Europe/Dublin", "America/Chicago", "America/St_Johns", "Australia/Lord_Howe", "Asia/Kolkata", "Pacific/Apia", "Africa/Casablanca", "UTC"} {
		loc, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		times := map[string][]time.Time{} // instants by their local time
		start := time.Date(2025, 12, 1, 0, 0, 0, 0, time.UTC)
		for i := range 14 * 30 * 24 * 4 {
			at := start.Add(time.Duration(i) * 15 * time.Minute)
			text := at.In(loc).Format("2006-01-02 15:04")
			times[text] = append(times[text], at)
		}
		twice := 0
		for text, instants := range times {
			w, err := ParseISO(text)
			if err != nil {
				t.Fatal(err)
			}
			got, err := w.In(loc)
			switch {
			case len(instants) == 1 && (err != nil || !got.Equal(instants[0])):
				t.Errorf("%s: %s is %v, %v, want %v", name, text, got, err, instants[0])
			case len(instants) > 1:
				twice++
				if err != ErrTwice {
					t.Errorf("%s: %s came twice, but is read as %v, %v", name, text, got, err)
				}
			}
		}
		skipped := 0
		for local := start; local.Before(start.AddDate(0, 13, 0)); local = local.Add(15 * time.Minute) {
			text := local.Format("2006-01-02 15:04")
			if times[text] != nil || local.Sub(start) < 24*time.Hour {
				continue
			}
			skipped++
			w, err := ParseISO(text)
			if err != nil {
				t.Fatal(err)
			}
			if got, err := w.In(loc); err != ErrSkipped {
				t.Errorf("%s: %s never was, but is read as %v, %v", name, text, got, err)
			}
		}
		if changes := name != "Asia/Kolkata" && name != "UTC" && name != "Pacific/Apia"; changes != (twice > 0) || changes != (skipped > 0) {
			t.Errorf("%s: %d quarters of an hour came twice, %d never", name, twice, skipped)
		}
	}
}

// TestDayBegins holds that a date without an hour is the first moment of its
// day, also where there is no midnight: Egypt put its clocks forward at midnight
// of 26 April 2024 (time zone database).
func TestDayBegins(t *testing.T) {
	cairo, err := time.LoadLocation("Africa/Cairo")
	if err != nil {
		t.Fatal(err)
	}
	f, err := NewTimeFormat("DD.MM.YYYY")
	if err != nil {
		t.Fatal(err)
	}
	a, err1 := ParseISO("2024-04-26")
	b, err2 := f.Parse("26.04.2024", Clock{})
	c, err3 := ParseISO("2024-04-26 00:00")
	if err1 != nil || err2 != nil || err3 != nil {
		t.Fatal(err1, err2, err3)
	}
	for _, w := range []Clock{a, b} {
		if got, err := w.In(cairo); err != nil || got.Format(time.DateTime) != "2024-04-26 01:00:00" {
			t.Errorf("the day begins at %v, %v", got, err)
		}
	}
	if got, err := c.In(cairo); err != ErrSkipped {
		t.Errorf("midnight is %v, %v", got, err)
	}
}
