package judge_test

import (
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"spanseal/internal/evidence"
	"spanseal/internal/judge"
	"spanseal/internal/record"
)

// questions returns the codes of all questions of a job, sorted, each once.
func questions(j *judge.Judgement) []string {
	var out []string
	for _, l := range j.Results() {
		for _, f := range l.Findings {
			if !f.Question.IsZero() {
				out = append(out, f.Code)
			}
		}
	}
	for _, f := range j.Questions {
		out = append(out, f.Code)
	}
	slices.Sort(out)
	return slices.Compact(out)
}

// copies adds n links like the first, named by name, measured minutes apart.
func copies(f *record.Facts, n int, name func(i int) string, apart time.Duration) {
	for i := range n {
		l := f.Links[0]
		l.ID = name(i)
		f.Links = append(f.Links, l)
		for k, r := range f.Readings[:4] {
			r.Link, r.Time = l.ID, r.Time.Add(time.Duration(i+1)*apart)
			r.Value = r.Value.Add(dec("0.01").Mul(dec([]string{"1", "2", "3", "5", "8", "4", "7", "11", "6", "9", "10", "12"}[(i+k)%12])))
			r.Origin.Row += 4 * (i + 1)
			f.Readings = append(f.Readings, r)
		}
	}
}

func letters(i int) string { return "N-" + string(rune('B'+i)) }

// measuredLength schedules a length and adds measured ones; the losses are
// those of the measured glass.
func measuredLength(f *record.Facts, scheduled string, measured ...string) {
	f.Links[0].Length = dec(scheduled)
	for i, m := range measured {
		r := f.Readings[i]
		r.Quantity, r.Value = record.Length, dec(m)
		f.Readings = append(f.Readings, r)
	}
}

// spanOf makes the link one of so many metres of bare glass, with these losses at
// 1310 nm, 1550 nm and, where there is a third, 1625 nm.
func spanOf(f *record.Facts, metres string, losses ...string) {
	l := &f.Links[0]
	l.Length, l.MatedPairs, l.Fibre, l.EndA, l.EndB = dec(metres), 0, "OS2", record.End{}, record.End{}
	f.Job.Policy.Limits = []string{"itu-t-g.652.d"}
	for i := range f.Readings {
		f.Readings[i].Value = dec(losses[i/2])
	}
	if len(losses) > 2 {
		for i, r := range f.Readings[:2] {
			r.WavelengthNM, r.Value, r.Time = 1625, dec(losses[2]), r.Time.Add(time.Duration(10+i)*time.Minute)
			f.Readings = append(f.Readings, r)
		}
	}
}

// multimode makes a dozen links of 200 m of OM3 with about these losses at 850 nm
// and 1300 nm.
func multimode(f *record.Facts, at850, at1300 string) {
	copies(f, 12, letters, 5*time.Minute)
	for i := range f.Links {
		l := &f.Links[i]
		l.Fibre, l.Mode, l.Length = "OM3", record.Multimode, dec("200")
		l.EndA, l.EndB = record.End{}, record.End{}
	}
	for i := range f.Readings {
		r := &f.Readings[i]
		by := dec("0.01").Mul(dec(strconv.Itoa((i*i*i + 3*i) % 13)))
		if r.WavelengthNM == 1310 {
			r.WavelengthNM, r.Value = 850, dec(at850).Add(by)
		} else {
			r.WavelengthNM, r.Value = 1300, dec(at1300).Add(by)
		}
	}
}

// atTwo adds a link that the same person measured with another meter, so much later
// than the first link.
func atTwo(f *record.Facts, later time.Duration) {
	copies(f, 1, letters, later)
	second := f.Job.Instruments[0]
	second.ID = "PM-8"
	f.Job.Instruments = append(f.Job.Instruments, second)
	for i := range f.Readings[4:] {
		f.Readings[4+i].Instrument = "PM-8"
	}
}

// TestQuestions raises every question of the list, each alone.
func TestQuestions(t *testing.T) {
	each := func(f *record.Facts, change func(r *record.Reading)) {
		for i := range f.Readings {
			change(&f.Readings[i])
		}
	}
	onReel := func(f *record.Facts, reel string, shipped ...string) {
		f.Job.Policy.Questions = map[string]record.Question{"reel-loss": {Weight: "fatal", Threshold: ptr("10")}}
		add := func(stage record.Stage, value string, way record.Direction, fate record.Fate) {
			r := f.Readings[0]
			r.Value, r.Direction, r.Fate, r.Method = dec(value), way, fate, &record.Method{Reference: record.OneCord, TestCords: record.StandardCords, Stage: stage}
			f.Readings = append(f.Readings, r)
		}
		for i, value := range shipped {
			add(record.Shipped, value, []record.Direction{record.BA, record.AB}[i], record.OtherStage)
		}
		add(record.OnReel, reel, record.AB, record.OtherStage)
		add(record.OnReel, "9.99", record.AB, record.Superseded)
	}
	midnight := time.Date(2026, 11, 18, 0, 0, 0, 0, time.UTC)
	cases := []struct {
		code   string
		name   string
		change func(f *record.Facts)
	}{
		{"", "a clean job", func(*record.Facts) {}},
		{"", "a dozen clean links", func(f *record.Facts) { copies(f, 12, letters, 5*time.Minute) }},
		{"not-measured", "no readings", func(f *record.Facts) { f.Readings = nil }},
		{"not-measured", "a length alone", func(f *record.Facts) {
			f.Readings = f.Readings[:1]
			f.Readings[0].Quantity, f.Readings[0].Value = record.Length, dec("312")
		}},
		{"missing-wavelength", "1550 nm is not there", func(f *record.Facts) { f.Readings = f.Readings[:2] }},
		{"missing-direction", "one way at 1550 nm", func(f *record.Facts) { f.Readings = f.Readings[:3] }},
		{"", "one way is enough", func(f *record.Facts) {
			f.Readings = slices.Delete(f.Readings, 1, 2)
			f.Job.Policy.Require.Directions = "either"
		}},
		{"direction-exempt", "one way by exemption", func(f *record.Facts) {
			f.Readings = []record.Reading{f.Readings[0], f.Readings[2]}
			f.Links[0].Exempt = "end B is in a sealed vault"
		}},
		{"wavelength-exempt", "1550 nm by exemption", func(f *record.Facts) {
			f.Readings = f.Readings[:2]
			f.Links[0].Terms = &record.Terms{NotAt: map[int]string{1550: "the source has no laser for it"}}
		}},
		{"", "exempt and measured all the same", func(f *record.Facts) {
			f.Links[0].Terms = &record.Terms{NotAt: map[int]string{1550: "the source has no laser for it"}}
		}},
		{"no-reference-time", "wanted and not there", func(f *record.Facts) {
			f.Job.Policy.Questions = map[string]record.Question{"no-reference-time": {Weight: "fatal"}}
			f.Readings[1].ReferenceTime = time.Time{}
		}},
		{"", "not wanted", func(f *record.Facts) { f.Readings[1].ReferenceTime = time.Time{} }},
		{"no-software", "wanted and not there", func(f *record.Facts) {
			f.Job.Policy.Questions = map[string]record.Question{"no-software": {Weight: "fatal"}}
			f.Readings[1].Method = &record.Method{Software: "4.12"}
		}},
		{"", "one for all", func(f *record.Facts) {
			f.Job.Policy.Questions = map[string]record.Question{"no-software": {Weight: "fatal"}}
			f.Job.Policy.Software = "4.12"
		}},
		{"reel-loss", "more than a tenth above the shipping record", func(f *record.Facts) { onReel(f, "0.782", "0.71") }}, // 0.71 × 1.1 = 0.781
		{"reel-loss", "more than a tenth below it", func(f *record.Facts) { onReel(f, "0.638", "0.71") }},
		{"", "a tenth", func(f *record.Facts) { onReel(f, "0.781", "0.71") }},
		{"", "a tenth below", func(f *record.Facts) { onReel(f, "0.639", "0.71") }},
		{"", "as the record has it in the same direction", func(f *record.Facts) { onReel(f, "0.71", "0.20", "0.71") }},
		{"", "no shipping record", func(f *record.Facts) { onReel(f, "5.00") }},
		{"", "not wanted", func(f *record.Facts) {
			onReel(f, "5.00", "0.71")
			f.Job.Policy.Questions = nil
		}},
		{"missing-reflectance", "reflectance required", func(f *record.Facts) { f.Job.Policy.Require.Reflectance = "required" }},
		{"no-limit", "a fibre that the set does not know", func(f *record.Facts) { f.Links[0].Fibre = "OS7" }},
		{"no-limit", "a further wavelength", func(f *record.Facts) {
			r := f.Readings[0]
			r.WavelengthNM = 1625
			f.Readings = append(f.Readings, r)
		}},
		{"calibration", "the day after it was due", func(f *record.Facts) { f.Job.Instruments[0].Due = record.NewDate(2026, 11, 17) }},
		{"", "the day it was due", func(f *record.Facts) { f.Job.Instruments[0].Due = record.NewDate(2026, 11, 18) }},
		{"calibration", "the day before it was calibrated", func(f *record.Facts) { f.Job.Instruments[0].Calibrated = record.NewDate(2026, 11, 19) }},
		{"calibration", "no dates", func(f *record.Facts) {
			f.Job.Instruments[0].Due, f.Job.Instruments[0].Calibrated = record.Date{}, record.Date{}
		}},
		{"calibration", "the light source", func(f *record.Facts) {
			f.Job.Instruments = append(f.Job.Instruments, record.Instrument{ID: "LS-4", Calibrated: record.NewDate(2024, 3, 3), Due: record.NewDate(2025, 3, 3)})
			each(f, func(r *record.Reading) { r.Source = "LS-4" })
		}},
		{"no-date", "no time", func(f *record.Facts) { f.Readings[2].Time = time.Time{} }},
		{"unknown-instrument", "not on the list", func(f *record.Facts) { f.Readings[0].Instrument = "PM-6" }},
		{"unknown-instrument", "not named", func(f *record.Facts) { f.Readings[0].Instrument = "" }},
		{"unknown-person", "not on the list", func(f *record.Facts) { f.Readings[0].Person = "om" }},
		{"unknown-person", "not named", func(f *record.Facts) { f.Readings[0].Person = "" }},
		{"expired-qualification", "expired", func(f *record.Facts) { f.Job.People[0].ValidUntil = record.NewDate(2026, 11, 17) }},
		{"", "qualified until the day", func(f *record.Facts) { f.Job.People[0].ValidUntil = record.NewDate(2026, 11, 18) }},
		{"", "qualified for good", func(f *record.Facts) { f.Job.People[0].ValidUntil = record.Date{} }},
		{"reference-age", "a day old", func(f *record.Facts) {
			each(f, func(r *record.Reading) { r.ReferenceTime = r.ReferenceTime.Add(-23 * time.Hour) })
		}},
		{"reference-age", "younger than the reading", func(f *record.Facts) { f.Readings[0].ReferenceTime = noon.Add(time.Hour) }},
		{"before-finished", "a splice made later", func(f *record.Facts) {
			f.Terminations = []record.Termination{{Link: "A-12", End: "B", EndFace: record.EndFacePass, Finished: noon.Add(time.Second)}}
		}},
		{"before-finished", "two ends, the first of them made later", func(f *record.Facts) {
			f.Terminations = []record.Termination{{Link: "A-12", End: "A", EndFace: record.EndFacePass, Finished: noon.Add(time.Second)}, {Link: "A-12", End: "B", EndFace: record.EndFacePass, Finished: noon.Add(-time.Hour)}}
		}},
		{"before-finished", "two ends, of one of which nobody knows when", func(f *record.Facts) {
			f.Terminations = []record.Termination{{Link: "A-12", End: "A", EndFace: record.EndFacePass}, {Link: "A-12", End: "B", EndFace: record.EndFacePass, Finished: noon.Add(time.Second)}}
		}},
		{"", "finished as the first reading was taken", func(f *record.Facts) {
			f.Terminations = []record.Termination{{Link: "A-12", End: "B", EndFace: record.EndFacePass, Finished: noon}}
		}},
		{"", "a closure shut as the first reading was taken", func(f *record.Facts) {
			f.Links[0].Splices = 1
			f.Terminations = []record.Termination{{Link: "A-12", Kind: "splice", Shut: noon}}
		}},
		{"before-shut", "two closures, the first of them shut later", func(f *record.Facts) {
			f.Links[0].Splices = 2
			f.Terminations = []record.Termination{{Link: "A-12", Kind: "splice", Shut: noon.Add(time.Second)}, {Link: "A-12", Kind: "splice", Shut: noon.Add(-time.Hour)}}
		}},
		{"before-shut", "a closure shut later", func(f *record.Facts) {
			f.Links[0].Splices = 1
			f.Terminations = []record.Termination{{Link: "A-12", Kind: "splice", Finished: noon.Add(-time.Hour), Shut: noon.Add(time.Second)}}
		}},
		{"", "a closure shut before", func(f *record.Facts) {
			f.Links[0].Splices = 1
			f.Terminations = []record.Termination{{Link: "A-12", Kind: "splice", Finished: noon.Add(-2 * time.Hour), Shut: noon.Add(-time.Hour)}}
		}},
		{"no-date", "a closure shut later, and no time", func(f *record.Facts) {
			f.Links[0].Splices = 1
			each(f, func(r *record.Reading) { r.Time, r.ReferenceTime = time.Time{}, time.Time{} })
			f.Terminations = []record.Termination{{Link: "A-12", Kind: "splice", Shut: noon.Add(time.Second)}}
		}},
		{"", "a closure shut on the day, no clock", func(f *record.Facts) {
			f.Links[0].Splices = 1
			f.Terminations = []record.Termination{{Link: "A-12", Kind: "splice", Shut: midnight}}
		}},
		{"negative-loss", "more than the uncertainty below zero", func(f *record.Facts) {
			f.Links[0].Length = dec("10")
			each(f, func(r *record.Reading) { r.Value = dec("-0.13") })
		}},
		{"", "within the uncertainty of zero", func(f *record.Facts) {
			f.Links[0].Length = dec("10")
			each(f, func(r *record.Reading) { r.Value = dec("-0.12") })
		}},
		{"below-glass", "10 km for 1.3 dB", func(f *record.Facts) {
			f.Links[0].Length = dec("10000")
			each(f, func(r *record.Reading) { r.Value = dec("1.3") })
		}},
		{"bend", "1550 nm above 1310 nm", func(f *record.Facts) { f.Readings[2].Value = dec("1.11") }},
		{"", "no more above than the threshold", func(f *record.Facts) { f.Readings[2].Value = dec("1.10") }},
		{"", "1550 nm above 1310 nm, by another method", func(f *record.Facts) {
			for i := range f.Readings[2:] {
				f.Readings[2+i].Method, f.Readings[2+i].Value = &record.Method{Reference: record.ThreeCord, TestCords: record.StandardCords}, dec("1.40")
			}
			f.Links[0].Splices = 9
		}},
		{"shown", "a bound at 1550 nm, far above 1310 nm", func(f *record.Facts) { f.Readings[2].Value, f.Readings[2].Shown = dec("2.00"), "<2.00" }},
		{"shown", "a bound at 1310 nm, far below 1550 nm", func(f *record.Facts) { f.Readings[0].Value, f.Readings[0].Shown = dec("0.10"), "<0.10" }},
		// Losses of 20 km and 10 km at the nominal figures of G.652.D (recalled): 0.335 dB/km at
		// 1310 nm, 0.195 at 1550, 0.2175 at 1625.
		{"", "20 km of bare glass at 1625 nm", func(f *record.Facts) { spanOf(f, "20000", "6.70", "3.90", "4.35") }},
		{"bend", "20 km of bare glass at 1625 nm, and 1 dB more", func(f *record.Facts) { spanOf(f, "20000", "6.70", "3.90", "5.35") }},
		{"", "10 km at 1550 nm", func(f *record.Facts) { spanOf(f, "10000", "3.35", "1.95") }},
		{"bend", "10 km and 1 dB more at 1550 nm, less than at 1310 nm all the same", func(f *record.Facts) { spanOf(f, "10000", "3.35", "2.95") }},
		{"direction-difference", "0.51 dB", func(f *record.Facts) { f.Readings[1].Value = dec("1.45") }},
		{"", "0.5 dB", func(f *record.Facts) { f.Readings[1].Value = dec("1.44") }},
		{"connection-count", "one connection, two connectors", func(f *record.Facts) {
			f.Links[0].MatedPairs, f.Links[0].EndB.SplicedOn = 1, false
		}},
		{"connection-count", "more spliced-on ends than faces", func(f *record.Facts) { f.Links[0].MatedPairs = 1 }},
		{"connection-count", "three-cord reference, one connection", func(f *record.Facts) {
			f.Job.Policy.Reference = record.ThreeCord
			f.Links[0].MatedPairs, f.Links[0].EndA, f.Links[0].EndB, f.Links[0].Splices = 1, record.End{}, record.End{}, 5
		}},
		{"connection-count", "two-cord reference, no connection", func(f *record.Facts) {
			f.Job.Policy.Reference = record.TwoCord
			f.Links[0].MatedPairs, f.Links[0].EndA, f.Links[0].EndB, f.Links[0].Splices = 0, record.End{}, record.End{}, 5
		}},
		{"", "two-cord reference, one connection", func(f *record.Facts) {
			f.Job.Policy.Reference = record.TwoCord
			f.Links[0].MatedPairs, f.Links[0].EndA, f.Links[0].EndB, f.Links[0].Splices = 1, record.End{}, record.End{}, 5
		}},
		{"", "one-cord reference, no connection", func(f *record.Facts) {
			f.Links[0].MatedPairs, f.Links[0].EndA, f.Links[0].EndB, f.Links[0].Splices = 0, record.End{}, record.End{}, 5
		}},
		{"connection-count", "three-cord reference at one wavelength, one connection", func(f *record.Facts) {
			f.Readings[3].Method = &record.Method{Reference: record.ThreeCord, TestCords: record.StandardCords}
			f.Links[0].MatedPairs, f.Links[0].EndA, f.Links[0].EndB, f.Links[0].Splices = 1, record.End{}, record.End{}, 5
		}},
		{"duplicate-rows", "a row twice", func(f *record.Facts) {
			r := f.Readings[0]
			r.Fate, r.Origin.File = record.Superseded, "readings/again.csv"
			f.Readings = append(f.Readings, r)
		}},
		{"duplicate-rows", "a file twice", func(f *record.Facts) {
			f.Accounts = []record.Account{{File: "readings/a.csv", SHA256: "77"}, {File: "readings/b.csv", SHA256: "77"}}
		}},
		{"identical-results", "three links alike", func(f *record.Facts) {
			copies(f, 2, letters, 5*time.Minute)
			for i := range f.Readings {
				f.Readings[i].Value = f.Readings[i%4].Value
			}
		}},
		{"identical-results", "two links alike at the same minute", func(f *record.Facts) {
			copies(f, 12, letters, 5*time.Minute)
			for i := range 4 {
				f.Readings[len(f.Readings)-4+i].Value, f.Readings[len(f.Readings)-4+i].Time = f.Readings[i].Value, f.Readings[i].Time
			}
		}},
		{"", "fewer links alike than the job asks about", func(f *record.Facts) {
			f.Job.Policy.Questions = map[string]record.Question{"identical-results": {Threshold: ptr("3")}}
			copies(f, 1, letters, 5*time.Minute)
			for i := range f.Readings {
				f.Readings[i].Value = f.Readings[i%4].Value
			}
		}},
		{"direction-copied", "A-B entered for B-A", func(f *record.Facts) {
			copies(f, 12, letters, 5*time.Minute)
			for i := range f.Readings {
				if i%2 == 1 {
					f.Readings[i].Value = f.Readings[i-1].Value
				}
			}
		}},
		{"wavelength-copied", "1310 nm entered for 1550 nm", func(f *record.Facts) {
			copies(f, 12, letters, 5*time.Minute)
			for i := range f.Readings {
				if i%4 >= 2 {
					f.Readings[i].Value = f.Readings[i-2].Value
				}
			}
		}},
		{"", "no more than a step between the directions", func(f *record.Facts) {
			copies(f, 12, letters, 5*time.Minute)
			for i := range f.Readings {
				if i%2 == 1 {
					f.Readings[i].Value = f.Readings[i-1].Value.Add(dec([]string{"0", "0.01", "0", "-0.01"}[i/2%4]))
				}
			}
		}},
		{"", "one decimal", func(f *record.Facts) {
			copies(f, 12, letters, 5*time.Minute)
			for i := range f.Readings {
				f.Readings[i].Value = dec([]string{"0.6", "0.7", "0.8", "0.9", "1.0"}[i/4%5])
			}
			f.Job.Policy.Questions = map[string]record.Question{"identical-results": {Weight: "off"}}
		}},
		{"wavelengths-swapped", "850 nm for 1300 nm", func(f *record.Facts) { multimode(f, "0.40", "0.75") }},
		{"", "850 nm and 1300 nm", func(f *record.Facts) { multimode(f, "0.75", "0.40") }},
		{"calibration-interval", "due in the month after the year", func(f *record.Facts) {
			f.Job.Instruments[0].Calibrated, f.Job.Instruments[0].Due = record.NewDate(2026, 1, 31), record.NewDate(2027, 2, 1)
		}},
		{"", "due at the end of the month in which the year ends", func(f *record.Facts) {
			f.Job.Instruments[0].Calibrated, f.Job.Instruments[0].Due = record.NewDate(2026, 1, 3), record.NewDate(2027, 1, 31)
		}},
		{"", "two years, as the job allows", func(f *record.Facts) {
			f.Job.Policy.Questions = map[string]record.Question{"calibration-interval": {Threshold: ptr("24")}}
			f.Job.Instruments[0].Calibrated, f.Job.Instruments[0].Due = record.NewDate(2026, 1, 3), record.NewDate(2028, 1, 3)
		}},
		{"", "two years, of an instrument that measured nothing", func(f *record.Facts) {
			f.Job.Instruments = append(f.Job.Instruments, record.Instrument{ID: "PM-0", Calibrated: record.NewDate(2026, 1, 3), Due: record.NewDate(2028, 1, 3)})
		}},
		{"two-instruments", "at two links in the same minutes", func(f *record.Facts) { atTwo(f, 0) }},
		{"", "at two links one after the other", func(f *record.Facts) { atTwo(f, 5*time.Minute) }},
		{"", "at both ends of one link", func(f *record.Facts) {
			f.Job.Instruments = append(f.Job.Instruments, f.Job.Instruments[0])
			f.Job.Instruments[1].ID, f.Readings[1].Instrument, f.Readings[3].Instrument = "PM-8", "PM-8", "PM-8"
			each(f, func(r *record.Reading) { r.Time = noon })
		}},
		{"same-moment", "two links at one second", func(f *record.Facts) {
			each(f, func(r *record.Reading) { r.Time = r.Time.Add(7 * time.Second) })
			copies(f, 1, letters, 0)
		}},
		{"", "two fibres at one moment by an instrument with two channels", func(f *record.Facts) {
			f.Job.Instruments[0].Channels = 2
			each(f, func(r *record.Reading) { r.Time = r.Time.Add(7 * time.Second) })
			copies(f, 1, letters, 0)
		}},
		{"same-moment", "three fibres at one moment by an instrument with two channels", func(f *record.Facts) {
			f.Job.Instruments[0].Channels = 2
			each(f, func(r *record.Reading) { r.Time = r.Time.Add(7 * time.Second) })
			copies(f, 2, letters, 0)
		}},
		{"", "twelve fibres at one moment by an instrument with twelve channels", func(f *record.Facts) {
			f.Job.Instruments[0].Channels = 12
			each(f, func(r *record.Reading) { r.Time = r.Time.Add(7 * time.Second) })
			copies(f, 11, letters, 0)
		}},
		{"", "two links visited in turn", func(f *record.Facts) {
			copies(f, 1, letters, 0)
			for i := range 24 {
				r := f.Readings[i%8]
				r.Quantity, r.Value = record.Reflectance, dec("-50")
				f.Readings = append(f.Readings, r)
			}
			for i := range f.Readings { // A-12, N-B, A-12 again, and so on
				f.Readings[i].Time = noon.Add(time.Duration(1+2*(i%4*8+i/4)) * time.Second)
			}
		}},
		{"pace", "eleven links in a minute", func(f *record.Facts) {
			each(f, func(r *record.Reading) { r.Time = noon.Add(time.Second) })
			copies(f, 11, letters, 6*time.Second)
		}},
		{"pace", "eleven links in 90 seconds, the first of them read before as well", func(f *record.Facts) {
			each(f, func(r *record.Reading) { r.Time = noon.Add(time.Second) })
			copies(f, 10, letters, 9*time.Second)
			f.Readings[0].Time = noon.Add(-3 * time.Minute)
		}},
		{"near-miss-names", "a letter for a digit", func(f *record.Facts) { copies(f, 1, func(int) string { return "A-I2" }, 5*time.Minute) }},
		{"near-miss-names", "a leading zero", func(f *record.Facts) { copies(f, 1, func(int) string { return "a-012" }, 5*time.Minute) }},
		{"", "a name that ends in a lone zero", func(f *record.Facts) { copies(f, 1, func(int) string { return "A-0" }, 5*time.Minute) }},
		{"near-miss-names", "a letter before a digit", func(f *record.Facts) {
			copies(f, 2, func(i int) string { return []string{"A-O3", "A-03"}[i] }, 5*time.Minute)
		}},
		{"near-miss-names", "a letter for a digit, in capitals and not", func(f *record.Facts) { copies(f, 1, func(int) string { return "a-I2" }, 5*time.Minute) }},
		{"near-miss-names", "a letter where all others have a digit", func(f *record.Facts) {
			copies(f, 4, func(i int) string { return []string{"A-13", "A-14", "A-15", "A-1O"}[i] }, 5*time.Minute)
		}},
		{"", "a letter that others have too", func(f *record.Facts) {
			copies(f, 6, func(i int) string { return []string{"A-13", "A-14", "A-15", "A-1O", "A-2O", "A-3O"}[i] }, 5*time.Minute)
		}},
		{"", "a three-cord reference", func(f *record.Facts) { f.Job.Policy.Reference = record.ThreeCord; f.Links[0].Splices = 9 }},
		{"array-position", "a position comes out elsewhere", func(f *record.Facts) {
			f.Job.Trunks = []record.Trunk{{ID: "T1", Fibres: 12, Method: "ours", Far: []int{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}}}
			f.Links[0].Array = &record.Array{Trunk: "T1", Position: 1, FarPosition: 2}
		}},
		{"", "a position that nobody tested", func(f *record.Facts) {
			f.Job.Trunks = []record.Trunk{{ID: "T1", Fibres: 12, Method: "ours", Far: []int{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}}}
			f.Links[0].Array = &record.Array{Trunk: "T1", Position: 1}
		}},
		{"colour-code", "another colour than the number's", func(f *record.Facts) {
			f.Job.Colours = &record.Colours{Title: "ours", Sequence: []record.Hue{{Name: "blue"}, {Name: "red"}}}
			f.Links[0].Strand, f.Links[0].Names = "2", &record.Names{Colour: "blue"}
		}},
		{"", "the number's colour", func(f *record.Facts) {
			f.Job.Colours = &record.Colours{Title: "ours", Sequence: []record.Hue{{Name: "blue"}, {Name: "red"}}}
			f.Links[0].Strand, f.Links[0].Names = "2", &record.Names{Colour: "Red"}
		}},
		{"polarity", "paired with itself", func(f *record.Facts) { f.Links[0].Pair, f.Links[0].Polarity = "A-12", "crossed" }},
		{"calibration", "no due date", func(f *record.Facts) { f.Job.Instruments[0].Due = record.Date{} }},
		{"calibration", "no calibration date", func(f *record.Facts) { f.Job.Instruments[0].Calibrated = record.Date{} }},
		{"polarity", "paired with none", func(f *record.Facts) { f.Links[0].Pair = "A-13" }},
		{"polarity", "the other names another", func(f *record.Facts) {
			copies(f, 1, letters, 5*time.Minute)
			f.Links[0].Pair, f.Links[0].Polarity = "N-B", "crossed"
		}},
		{"polarity", "not recorded", func(f *record.Facts) {
			copies(f, 1, letters, 5*time.Minute)
			f.Links[0].Pair, f.Links[1].Pair = "N-B", "A-12"
		}},
		{"polarity", "the two disagree", func(f *record.Facts) {
			copies(f, 1, letters, 5*time.Minute)
			f.Links[0].Pair, f.Links[1].Pair = "N-B", "A-12"
			f.Links[0].Polarity, f.Links[1].Polarity = "crossed", "straight"
		}},
		{"", "a crossed pair measured at once", func(f *record.Facts) {
			each(f, func(r *record.Reading) { r.Time = r.Time.Add(7 * time.Second) })
			copies(f, 1, letters, 0)
			f.Links[0].Pair, f.Links[1].Pair = "N-B", "A-12"
			f.Links[0].Polarity, f.Links[1].Polarity = "crossed", "crossed"
		}},
		{"end-face", "failed", func(f *record.Facts) {
			f.Terminations = []record.Termination{{Link: "A-12", End: "B", EndFace: record.EndFaceFail, Finished: noon.Add(-time.Hour)}}
		}},
		{"", "failed, cleaned and passed", func(f *record.Facts) {
			f.Terminations = []record.Termination{
				{Link: "A-12", End: "B", EndFace: record.EndFacePass, Finished: noon.Add(-time.Hour)},
				{Link: "A-12", End: "B", EndFace: record.EndFaceFail, Finished: noon.Add(-2 * time.Hour)},
			}
		}},
		{"", "failed and passed in the rows of one day", func(f *record.Facts) {
			f.Terminations = []record.Termination{
				{Link: "A-12", End: "B", EndFace: record.EndFaceFail, Finished: midnight, Origin: record.Origin{Row: 3}},
				{Link: "A-12", End: "B", EndFace: record.EndFacePass, Finished: midnight, Origin: record.Origin{Row: 4}},
			}
		}},
		{"original", "required, and there of one direction", func(f *record.Facts) {
			f.Job.Policy.Require.Originals = "required"
			f.InstrumentFiles = []record.InstrumentFile{{Link: "A-12", Direction: record.AB, File: "traces/A-12_AB.sor"}}
		}},
		{"", "a file of the instrument for all", func(f *record.Facts) {
			f.Job.Policy.Require.Originals = "required"
			f.InstrumentFiles = []record.InstrumentFile{{Link: "A-12", File: "traces/A-12.sor"}}
		}},
		{"inspection", "required of a factory-made face", func(f *record.Facts) {
			f.Job.Policy.Require.Inspection = "required"
			f.Inspections = []record.Inspection{{Link: "A-12", End: "A", Criterion: "IEC 61300-3-35", Edition: "2022", Result: record.EndFacePass, Time: noon}}
		}},
		{"inspection", "its last did not pass", func(f *record.Facts) {
			f.Inspections = []record.Inspection{{Link: "A-12", End: "B", Criterion: "IEC 61300-3-35", Edition: "2022", Result: record.EndFaceFail, Time: noon}}
		}},
		{"inspection", "the termination said that it passed, before", func(f *record.Facts) {
			f.Terminations = []record.Termination{{Link: "A-12", End: "B", EndFace: record.EndFacePass, Finished: noon.Add(-time.Hour)}}
			f.Inspections = []record.Inspection{{Link: "A-12", End: "B", Criterion: "IEC 61300-3-35", Edition: "2022", Result: record.EndFaceFail, Time: noon}}
		}},
		{"", "inspected and passed once it was finished", func(f *record.Facts) {
			f.Job.Policy.EndFaceRequired = true
			f.Terminations = []record.Termination{{Link: "A-12", End: "B", EndFace: record.EndFaceFail, Finished: noon.Add(-time.Hour)}}
			for _, end := range []string{"A", "B"} {
				f.Inspections = append(f.Inspections, record.Inspection{Link: "A-12", End: end, Criterion: "IEC 61300-3-35", Edition: "2022", Result: record.EndFacePass, Time: noon.Add(-time.Minute)})
			}
		}},
		{"end-face", "passed, made again and failed", func(f *record.Facts) {
			f.Terminations = []record.Termination{
				{Link: "A-12", End: "B", EndFace: record.EndFacePass, Finished: noon.Add(-2 * time.Hour)},
				{Link: "A-12", End: "B", EndFace: record.EndFaceFail, Finished: noon.Add(-time.Hour)},
			}
		}},
		{"end-face", "failed, and the other end passed", func(f *record.Facts) {
			f.Terminations = []record.Termination{
				{Link: "A-12", End: "B", EndFace: record.EndFaceFail, Finished: noon.Add(-2 * time.Hour)},
				{Link: "A-12", End: "A", EndFace: record.EndFacePass, Finished: noon.Add(-time.Hour)},
			}
		}},
		{"end-face", "not inspected though required", func(f *record.Facts) {
			f.Job.Policy.EndFaceRequired = true
			f.Terminations = []record.Termination{
				{Link: "A-12", End: "A", EndFace: record.EndFacePass, Finished: noon.Add(-time.Hour)},
				{Link: "A-12", End: "B", EndFace: record.EndFaceNotInspected, Finished: noon.Add(-time.Hour)},
			}
		}},
		{"end-face", "no record though required", func(f *record.Facts) { f.Job.Policy.EndFaceRequired = true }},
		{"no-termination", "no record of the ends that were spliced on", func(f *record.Facts) { f.Job.Policy.EstimateAtMost = ptr("0.1") }},
		{"missing-direction", "a splice from one end", func(f *record.Facts) {
			r := f.Readings[2]
			r.Quantity, r.Event, r.Value = record.SpliceLoss, "S1", dec("0.4")
			f.Readings = append(f.Readings, r)
		}},
		{"splice-count", "fewer splices on record than in the schedule", func(f *record.Facts) {
			f.Links[0].Splices = 5
			f.Terminations = []record.Termination{{Link: "A-12", Kind: "splice", EndFace: record.EndFacePass}}
		}},
		{"splice-count", "a splice where the schedule has none", func(f *record.Facts) {
			f.Terminations = []record.Termination{{Link: "A-12", Kind: "splice", EndFace: record.EndFacePass}}
		}},
		{"out-of-specification", "a splice within what three attempts allow", func(f *record.Facts) {
			f.Job.Policy.Limits, f.Links[0].Splices = []string{"tia-568.3-e", "splice-carrier"}, 1
			f.Readings = append(f.Readings, splice(1550, record.AB, "S1", "0.15"), splice(1550, record.BA, "S1", "0.15"))
			f.Terminations = []record.Termination{{Link: "A-12", Kind: "splice", Attempts: 3, EndFace: record.EndFacePass}}
		}},
		{"splice-count", "two splices where the schedule has one, at a wavelength at which no loss was measured", func(f *record.Facts) {
			f.Links[0].Splices = 1
			for _, event := range []string{"S1", "S2"} {
				f.Readings = append(f.Readings, splice(1625, record.AB, event, "0.02"), splice(1625, record.BA, event, "0.02"))
			}
		}},
		{"", "one splice, on record by its loss and by its termination", func(f *record.Facts) {
			f.Links[0].Splices = 1
			f.Readings = append(f.Readings, splice(1550, record.AB, "S1", "0.02"), splice(1550, record.BA, "S1", "0.02"))
			f.Terminations = []record.Termination{{Link: "A-12", Kind: "splice", EndFace: record.EndFacePass}}
		}},
		{"splice-count", "two splices by their terminations, one by its loss, where the schedule has one", func(f *record.Facts) {
			f.Links[0].Splices = 1
			f.Readings = append(f.Readings, splice(1550, record.AB, "S1", "0.02"), splice(1550, record.BA, "S1", "0.02"))
			f.Terminations = []record.Termination{{Link: "A-12", Kind: "splice"}, {Link: "A-12", Kind: "splice"}}
		}},
		{"", "no splice on record at all", func(f *record.Facts) { f.Links[0].Splices = 5 }},
		{"connection-count", "two pairs, and a connector at one end", func(f *record.Facts) {
			f.Links[0].EndB = record.End{Text: "none"}
			f.Links[0].Splices = 3
		}},
		{"", "two pairs, and an end of which the schedule says nothing", func(f *record.Facts) { f.Links[0].EndB = record.End{} }},
		{"", "two pairs, and two ends with connectors, one of which has a text too", func(f *record.Facts) { f.Links[0].EndB.Text = "LC, in the vault" }},
		{"", "one pair, and a connector at one end", func(f *record.Facts) { f.Links[0].MatedPairs, f.Links[0].EndB = 1, record.End{Text: "none"} }},
		{"shown", "a loss of which the instrument showed a bound", func(f *record.Facts) { f.Readings[0].Shown = "<0.94" }},
		{"", "three pairs, and a connector at one end", func(f *record.Facts) { f.Links[0].EndB, f.Links[0].MatedPairs = record.End{Text: "none"}, 3 }},
		{"loosened", "the loss fails with the splices on record", func(f *record.Facts) {
			// 0.4 × 1.8 + 0.75 × 2 + 0.3 × 5 = 3.72 dB by the schedule, 2.52 dB by the record.
			f.Links[0].Length, f.Links[0].Splices, f.Links[0].EndA, f.Links[0].EndB = dec("1800"), 5, record.End{}, record.End{}
			each(f, func(r *record.Reading) { r.Value = dec("2.90") })
			f.Terminations = []record.Termination{{Link: "A-12", Kind: "splice", EndFace: record.EndFacePass}}
		}},
		{"loosened", "the loss fails without the pair that no end has", func(f *record.Facts) {
			f.Links[0].EndB, f.Links[0].EndA.SplicedOn = record.End{Text: "none"}, false // 1.62 dB and 0.87 dB
		}},
		{"loosened", "the loss fails over the measured length", func(f *record.Facts) {
			f.Links[0].EndA, f.Links[0].EndB = record.End{}, record.End{}
			each(f, func(r *record.Reading) { r.Value = r.Value.Add(dec("1")) })
			measuredLength(f, "2000", "400") // 2.30 dB and 1.66 dB
		}},
		{"", "a splice from both ends", func(f *record.Facts) {
			f.Links[0].Splices = 1
			r, q := f.Readings[2], f.Readings[3]
			r.Quantity, r.Event, r.Value = record.SpliceLoss, "S1", dec("0.4")
			q.Quantity, q.Event, q.Value = record.SpliceLoss, "S1", dec("-0.3")
			f.Readings = append(f.Readings, r, q)
		}},
		{"", "days alone, no clock", func(f *record.Facts) {
			copies(f, 11, letters, 0)
			each(f, func(r *record.Reading) { r.Time, r.ReferenceTime = midnight, midnight.Add(8*time.Hour) })
			f.Terminations = []record.Termination{{Link: "A-12", End: "B", EndFace: record.EndFacePass, Finished: noon}}
		}},
		{"", "a reference of the day before, no clock", func(f *record.Facts) {
			each(f, func(r *record.Reading) {
				r.Time, r.ReferenceTime = midnight.Add(9*time.Hour), midnight.AddDate(0, 0, -1)
			})
		}},
		{"reference-age", "a reference of two days before, no clock", func(f *record.Facts) {
			each(f, func(r *record.Reading) { r.ReferenceTime = midnight.AddDate(0, 0, -2) })
		}},
		{"reference-age", "a reference of the day after, no clock", func(f *record.Facts) {
			each(f, func(r *record.Reading) { r.ReferenceTime = midnight.AddDate(0, 0, 1) })
		}},
		{"", "a day alone, and a reference of the evening before", func(f *record.Facts) {
			each(f, func(r *record.Reading) { r.Time, r.ReferenceTime = midnight, midnight.Add(-7*time.Hour) })
		}},
		{"reference-age", "a day alone, and a reference of the morning before", func(f *record.Facts) {
			each(f, func(r *record.Reading) { r.Time, r.ReferenceTime = midnight, midnight.Add(-13*time.Hour) })
		}},
		{"", "finished and measured on one day, no clock", func(f *record.Facts) {
			each(f, func(r *record.Reading) { r.Time, r.ReferenceTime = midnight, midnight })
			f.Terminations = []record.Termination{{Link: "A-12", End: "B", EndFace: record.EndFacePass, Finished: midnight}}
		}},
		{"", "finished on the day of measuring, no clock", func(f *record.Facts) {
			f.Terminations = []record.Termination{{Link: "A-12", End: "B", EndFace: record.EndFacePass, Finished: midnight}}
		}},
		{"", "finished on one day in two zones", func(f *record.Facts) {
			each(f, func(r *record.Reading) { r.Time, r.ReferenceTime = midnight, midnight })
			f.Terminations = []record.Termination{{Link: "A-12", End: "B", EndFace: record.EndFacePass, Finished: noon.In(time.FixedZone("", 14*3600))}}
		}},
		{"before-finished", "finished the day after, no clock", func(f *record.Facts) {
			f.Terminations = []record.Termination{{Link: "A-12", End: "B", EndFace: record.EndFacePass, Finished: midnight.AddDate(0, 0, 1)}}
		}},
		{"before-finished", "finished the day after, no clock on either", func(f *record.Facts) {
			each(f, func(r *record.Reading) { r.Time, r.ReferenceTime = midnight, midnight })
			f.Terminations = []record.Termination{{Link: "A-12", End: "B", EndFace: record.EndFacePass, Finished: midnight.AddDate(0, 0, 1)}}
		}},
		{"", "calibrated on the day, no clock", func(f *record.Facts) {
			each(f, func(r *record.Reading) { r.Time, r.ReferenceTime = midnight, midnight })
			f.Job.Instruments[0].Calibrated, f.Job.Instruments[0].Due = record.DateOf(noon), record.DateOf(noon)
		}},
		{"length-difference", "a tenth of the scheduled length", func(f *record.Facts) { measuredLength(f, "1000", "100", "110") }},
		{"length-difference", "just too long", func(f *record.Facts) { measuredLength(f, "1000", "1060.1") }},
		{"length-difference", "just too short", func(f *record.Facts) { measuredLength(f, "1000", "1000", "939.9") }},
		{"length-difference", "the first of two just too short", func(f *record.Facts) { measuredLength(f, "1000", "939.9", "1000") }},
		{"", "as long as five percent and ten metres allow", func(f *record.Facts) { measuredLength(f, "1000", "1060", "940") }},
		{"", "slack on a short link", func(f *record.Facts) { measuredLength(f, "20", "31", "10") }},
		{"", "a threshold of the job's own", func(f *record.Facts) {
			f.Job.Policy.Questions = map[string]record.Question{"length-difference": {Threshold: ptr("20")}}
			measuredLength(f, "1000", "790")
		}},
		{"missing-direction", "no direction is stated", func(f *record.Facts) {
			f.Readings = f.Readings[2:]
			r := f.Readings[0]
			r.WavelengthNM, r.Direction, r.Value = 1310, record.NoWay, dec("0.95")
			f.Readings = append(f.Readings, r)
		}},
		{"", "no direction is stated, and one is enough", func(f *record.Facts) {
			f.Job.Policy.Require.Directions = "either"
			f.Readings = []record.Reading{f.Readings[0], f.Readings[2]}
			each(f, func(r *record.Reading) { r.Direction = record.NoWay })
		}},
		{"application", "judged at a wavelength that is not there", func(f *record.Facts) { f.Links[0].Applications = []string{"10gbase-sr"} }},
	}
	tried := map[string]bool{"expected-orl": true} // has a test of its own
	for _, c := range cases {
		tried[c.code] = true
		t.Run(c.code+"/"+c.name, func(t *testing.T) {
			f := clean()
			c.change(f)
			j := judged(t, f, builtIn(t))
			var want []string
			if c.code != "" {
				want = []string{c.code}
			}
			idle := func(code string) bool { return code == "set-idle" && c.code != code } // beside no-limit
			if got := slices.DeleteFunc(questions(j), idle); !slices.Equal(got, want) {
				t.Fatalf("asked %v, want %v", got, want)
			}
			for _, l := range j.Results() {
				for _, f := range l.Findings {
					if !f.Question.IsZero() && !strings.ContainsAny(said(f.Question), "?") {
						t.Errorf("%q is not a question", said(f.Question))
					}
				}
			}
		})
	}
	for _, c := range evidence.Checks() {
		if !tried[c.Code] {
			t.Errorf("no test raises %s", c.Code)
		}
	}
}

// TestWeights: the owner decides which questions are fatal.
func TestWeights(t *testing.T) {
	for weight, want := range map[string]judge.Verdict{"": judge.Incomplete, "fatal": judge.Incomplete, "note": judge.Pass, "off": judge.Pass} {
		f := clean()
		f.Job.Instruments[0].Due = record.NewDate(2026, 11, 17)
		f.Job.Policy.Questions = map[string]record.Question{"calibration": {Weight: weight}}
		j := judged(t, f, builtIn(t))
		if got := j.Result(0).Verdict; got != want {
			t.Errorf("weight %q: %v, want %v", weight, got, want)
		}
		if asked := len(questions(j)) > 0; asked == (weight == "off") {
			t.Errorf("weight %q: asked %v", weight, asked)
		}
	}
	f := clean()
	f.Job.Policy.Questions = map[string]record.Question{"bend": {Threshold: ptr("-1")}}
	if got := questions(judged(t, f, builtIn(t))); !slices.Equal(got, []string{"bend"}) {
		t.Errorf("a threshold of the job: asked %v", got)
	}
}

// TestUnknownNames: what the job names and nobody knows is a problem with a way
// out, never a silent pass.
func TestUnknownNames(t *testing.T) {
	f := clean()
	f.Job.Origin.File = "job.yaml"
	f.Job.Policy.Limits = []string{"tia-568.3-f"}
	f.Links[0].Applications = []string{"10gbase-lx"}
	f.Links[0].Origin = record.Origin{File: "links.csv", Row: 2}
	f.Links[0].Limits = []string{"iec-61755-1-grade-b"}
	f.Job.Policy.Questions = map[string]record.Question{"calibraton": {}, "bend": {Weight: "deadly"}}
	j, problems := judge.Judge(f, builtIn(t))
	if j != nil {
		t.Error("judged all the same")
	}
	var got []string
	for _, p := range problems.Sorted() {
		got = append(got, p.Place.String()+": "+p.Message+"; "+p.Fix)
	}
	want := []string{
		`job.yaml: "calibraton" is not an evidence check; did you mean "calibration"?`,
		`job.yaml: limit set "tia-568.3-f" is not known; did you mean "tia-568.3-d"? spanseal limits list names them all`,
		`job.yaml: the weight of "bend" cannot be "deadly"; use fatal, note or off`,
		`links.csv:2: limit set "iec-61755-1-grade-b" is about all connections of a job together, not about one link; name it under judge.limits in job.yaml`,
		`links.csv:2: application "10gbase-lx" is not known; did you mean "10gbase-lr"? spanseal limits list names them all`,
	}
	if !slices.Equal(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}
