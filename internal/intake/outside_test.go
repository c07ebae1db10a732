package intake

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

// corpusTexts yields the delimited files of the corpus.
func corpusTexts(t testing.TB) map[string][]byte {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(corpus, "*", "*.txtar"))
	if err != nil || len(names) == 0 {
		t.Fatal(err)
	}
	all := map[string][]byte{}
	for _, name := range names {
		for _, f := range archive(t, name).Files {
			base, _, _ := strings.Cut(f.Name, "!")
			if ext := filepath.Ext(base); ext == ".csv" || ext == ".tsv" {
				all[filepath.Base(name)+" "+f.Name] = f.Data
			}
		}
	}
	return all
}

// needs looks a program up. Where it is missing the test is left out, but not
// in continuous integration.
func needs(t *testing.T, programs ...string) string {
	t.Helper()
	for _, p := range programs {
		if path, err := exec.LookPath(p); err == nil {
			return path
		}
	}
	if os.Getenv("CI") != "" {
		t.Fatalf("%s is missing", programs[0])
	}
	t.Skipf("left out: %s is missing", programs[0])
	return ""
}

// TestTimes compares our reading of ISO times with that of package time, over
// formats that both know.
func TestTimes(t *testing.T) {
	for format, layout := range map[string]string{
		"DD.MM.YYYY HH:mm": "02.01.2006 15:04", "M/D/YYYY h:mm AM": "1/2/2006 3:04 PM", "YYYYMMDD HHmmss": "20060102 150405",
		"DD-MMM-YY HH:mm:ss": "02-Jan-06 15:04:05", "D.M.YYYY H:mm": "2.1.2006 15:04", "YYYY-MM-DDTHH:mm:ssZ": "2006-01-02T15:04:05Z07:00",
	} {
		f, err := newTimeFormat(format)
		if err != nil {
			t.Fatal(err)
		}
		for i := range 5000 {
			at := time.Date(2001, 1, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(i) * 43 * time.Hour / 7 * 6).Truncate(time.Minute)
			text := at.Format(layout)
			w, err := f.parse(text, wallTime{})
			if err != nil {
				t.Fatalf("%s: %q: %v", format, text, err)
			}
			if got, err := w.in(time.UTC); err != nil || !got.Equal(at) {
				t.Fatalf("%s: %q is %v, %v", format, text, got, err)
			}
		}
	}
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
			w, err := parseISO(text)
			if err != nil {
				t.Fatal(err)
			}
			got, err := w.in(loc)
			switch {
			case len(instants) == 1 && (err != nil || !got.Equal(instants[0])):
				t.Errorf("%s: %s is %v, %v, want %v", name, text, got, err, instants[0])
			case len(instants) > 1:
				twice++
				if err != errTwice {
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
			w, err := parseISO(text)
			if err != nil {
				t.Fatal(err)
			}
			if got, err := w.in(loc); err != errSkipped {
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
	f, err := newTimeFormat("DD.MM.YYYY")
	if err != nil {
		t.Fatal(err)
	}
	a, err1 := parseISO("2024-04-26")
	b, err2 := f.parse("26.04.2024", wallTime{})
	c, err3 := parseISO("2024-04-26 00:00")
	if err1 != nil || err2 != nil || err3 != nil {
		t.Fatal(err1, err2, err3)
	}
	for _, w := range []wallTime{a, b} {
		if got, err := w.in(cairo); err != nil || got.Format(time.DateTime) != "2024-04-26 01:00:00" {
			t.Errorf("the day begins at %v, %v", got, err)
		}
	}
	if got, err := c.in(cairo); err != errSkipped {
		t.Errorf("midnight is %v, %v", got, err)
	}
}

// officeEntry reads the workbook of office/: merged headings, formulas, dates.
const officeEntry = `
header_line: 2
header_rows: 2
columns: {link: Strang, time: Zeit}
not_measured: ["---"]
each:
  - {wavelength_nm: 1310, direction: A-B, loss_db: 1310 nm A-B}
  - {wavelength_nm: 1310, direction: B-A, loss_db: 1310 nm B-A}
  - {wavelength_nm: 1550, direction: A-B, loss_db: 1550 nm A-B}
  - {wavelength_nm: 1550, direction: B-A, loss_db: 1550 nm B-A}
`

const officeFacts = `A-11 insertion_loss 1310 nm A-B 0.35 used, at 2026-11-18T10:31:07Z [day1.xlsx Lesesaal!C4]
A-11 insertion_loss 1310 nm B-A 0.33 used, at 2026-11-18T10:31:07Z [day1.xlsx Lesesaal!D4]
A-11 insertion_loss 1550 nm A-B 0.1 used, at 2026-11-18T10:31:07Z [day1.xlsx Lesesaal!E4]
A-11 insertion_loss 1550 nm B-A 0.3 used, at 2026-11-18T10:31:07Z [day1.xlsx Lesesaal!F4]
A-12 insertion_loss 1310 nm B-A 1 used, at 2026-11-18T23:59:59Z [day1.xlsx Lesesaal!D5]
A-12 insertion_loss 1550 nm A-B -0.02 used, at 2026-11-18T23:59:59Z [day1.xlsx Lesesaal!E5]
A-12 insertion_loss 1550 nm B-A 0.005 used, at 2026-11-18T23:59:59Z [day1.xlsx Lesesaal!F5]
readings/day1.xlsx: 2 rows, 2 used, 0 superseded, 0 refused, 0 blank
  sheet "Lesesaal", as no other holds anything
  1 cell without a reading, as not_measured of the mapping says
`

func checkOffice(t *testing.T, name string) {
	t.Helper()
	raw, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	facts, list := readMemory(t, "readings/day1.xlsx", raw, officeEntry)
	if got := printFacts(facts, list); got != officeFacts {
		t.Errorf("got\n%s\nwant\n%s", got, officeFacts)
	}
}

// TestOfficeWorkbook reads a workbook that another program wrote: office/day1.xlsx
// is what LibreOffice 7.4 made of office/day1.fods, with
// soffice --headless --convert-to xlsx day1.fods.
func TestOfficeWorkbook(t *testing.T) { checkOffice(t, filepath.Join(corpus, "office", "day1.xlsx")) }

// TestOfficeWorkbookAnew has the installed LibreOffice write it again.
func TestOfficeWorkbookAnew(t *testing.T) {
	office := needs(t, "soffice", "libreoffice")
	dir := t.TempDir()
	cmd := exec.Command(office, "-env:UserInstallation=file://"+filepath.ToSlash(filepath.Join(dir, "profile")), "--headless",
		"--convert-to", "xlsx", "--outdir", dir, filepath.Join(corpus, "office", "day1.fods"))
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	checkOffice(t, filepath.Join(dir, "day1.xlsx"))
}

// TestStoredTimes checks serial numbers of spreadsheets against examples of
// ECMA-376 part 1, 18.17.4.3 (from memory): 2 January 2026 and others by the
// day count since 30 December 1899.
func TestStoredTimes(t *testing.T) {
	day0 := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	for i := 20_000; i < 80_000; i += 97 {
		want := day0.AddDate(0, 0, i)
		w, ok := storedTime(fmt.Sprint(i), false)
		if got, err := w.in(time.UTC); !ok || err != nil || !got.Equal(want) {
			t.Fatalf("serial %d is %v, want %v", i, got, want)
		}
	}
	for text, want := range map[string]string{"46344.4375": "2026-11-18 10:30:00", "46344.99999999": "2026-11-19 00:00:00", "46344.43815972222": "2026-11-18 10:30:57"} {
		w, ok := storedTime(text, false)
		if got, err := w.in(time.UTC); !ok || err != nil || got.Format(time.DateTime) != want {
			t.Errorf("serial %s is %v, want %s", text, got, want)
		}
	}
	if w, ok := storedTime("80000", false); !ok || w.year != 2119 || w.month != 1 || w.day != 11 { // GNU date: 1899-12-30 +80000 days
		t.Errorf("the last serial is %v", w)
	}
	if slices.ContainsFunc([]string{"11", "1310", "0.35", "19999", "80000.5", "80001", "x"}, func(s string) bool { _, ok := storedTime(s, false); return ok }) {
		t.Error("a small number passes as a time")
	}
}
