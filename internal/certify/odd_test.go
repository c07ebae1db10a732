package certify_test

import (
	"strings"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"

	"spanseal/internal/certify"
	"spanseal/internal/page"
	"spanseal/internal/pdf"
	"spanseal/internal/record"
)

// TestOddJobs: what a job leaves out leaves no hole on paper and stops nothing.
func TestOddJobs(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	for name, change := range map[string]func(*record.Facts){
		"nothing measured": func(f *record.Facts) { f.Readings, f.Terminations, f.Accounts = nil, nil, nil },
		"one link":         func(f *record.Facts) { f.Links = f.Links[:1] },
		"no parties": func(f *record.Facts) {
			f.Job = record.Job{Number: "1", Policy: f.Job.Policy, Documents: f.Job.Documents, Location: time.UTC}
		},
		"no times": func(f *record.Facts) {
			for i := range f.Readings {
				f.Readings[i].Time, f.Readings[i].ReferenceTime = time.Time{}, time.Time{}
			}
		},
		"no uncertainty":  func(f *record.Facts) { f.Job.Instruments[1].Uncertainty = nil },
		"strangers":       func(f *record.Facts) { f.Job.People, f.Job.Instruments = nil, nil },
		"guarded":         func(f *record.Facts) { f.Job.Policy.Decision = "guarded" },
		"band":            func(f *record.Facts) { f.Job.Policy.Marginal = ptr("0.5") },
		"three cords":     func(f *record.Facts) { f.Job.Policy.Reference = record.ThreeCord },
		"reference grade": func(f *record.Facts) { f.Job.Policy.TestCords = record.ReferenceCords },
		"one direction":   func(f *record.Facts) { f.Job.Policy.Require.Directions = "either"; f.Readings = onlyAB(f.Readings) },
		"exempt": func(f *record.Facts) {
			f.Links[0].Exempt = "the far end is not terminated"
			f.Readings = onlyAB(f.Readings)
		},
		"many splices": func(f *record.Facts) { f.Links[0].Splices, f.Links[1].MatedPairs = 400, 60 },
		"nothing to splice": func(f *record.Facts) {
			for i := range f.Links {
				f.Links[i].EndA.SplicedOn, f.Links[i].EndB.SplicedOn = false, false
			}
		},
		"in feet": func(f *record.Facts) { f.Links[0].LengthText = "1024 ft" },
		"zero loss": func(f *record.Facts) {
			for i := range f.Readings {
				f.Readings[i].Value = dec("0.00")
			}
		},
		"enormous loss":    func(f *record.Facts) { f.Readings[0].Value = dec("61.25") },
		"negative loss":    func(f *record.Facts) { f.Readings[0].Value = dec("-0.31") },
		"half a hundredth": func(f *record.Facts) { f.Readings[0].Value, f.Readings[1].Value = dec("2.2204"), dec("2.22041") },
		"reflectance": func(f *record.Facts) {
			for _, r := range f.Readings[:8] {
				r.Quantity, r.Value = record.Reflectance, dec("-41.7")
				f.Readings = append(f.Readings, r)
				r.Quantity, r.Value, r.Direction = record.OpticalReturnLoss, dec("31.2"), record.AB
				f.Readings = append(f.Readings, r)
			}
		},
		"lengths": func(f *record.Facts) {
			for _, r := range f.Readings[:8] {
				r.Quantity, r.Value, r.WavelengthNM = record.Length, dec("312"), 0
				f.Readings = append(f.Readings, r)
			}
		},
		"no limits": func(f *record.Facts) { f.Job.Policy.Limits = nil },
		"late":      func(f *record.Facts) { f.Job.Deadline = record.NewDate(2026, 11, 20) },
	} {
		t.Run(name, func(t *testing.T) {
			f := library()
			change(f)
			set := newSet(t, f, options())
			for _, d := range papers(t, set) {
				sound(t, set, d)
			}
			if *lookAt != "" {
				press, err := pdf.NewPress(set.Paper(), pdf.Options{Runes: set.Runes()})
				if err != nil {
					t.Fatal(err)
				}
				for _, d := range papers(t, set) {
					write(t, press.Canvas(), d, set.Issued, "odd/"+name)
				}
			}
		})
	}
}

func onlyAB(readings []record.Reading) []record.Reading {
	var out []record.Reading
	for _, r := range readings {
		if r.Direction == record.AB {
			out = append(out, r)
		}
	}
	return out
}

// sound draws a document and reports what lies on something else or leaves the
// paper, and texts that were never filled in.
func sound(t rapid.TB, set *certify.PaperSet, d *certify.Paper) {
	t.Helper()
	r := page.NewRecorder(set.Paper())
	if err := d.Draw(r); err != nil {
		t.Fatal(err)
	}
	faults := append(r.Overlaps(), r.Outside(set.Paper().Sheet())...)
	if set.Language() == "en" {
		faults = append(faults, namesWhatFollows(r)...)
	}
	for _, fault := range faults {
		t.Errorf("%s: %s", d.Path, fault)
	}
	for _, text := range r.Texts() {
		if strings.ContainsAny(text, "{}") || strings.Contains(text, "%!") || strings.Contains(text, "Jan 0001") || strings.Contains(text, "0001-01-01") {
			t.Errorf("%s says %q", d.Path, text)
		}
	}
}

// TestAnyNames: whatever things are called, nothing collides.
func TestAnyNames(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	words := rapid.StringOfN(rapid.RuneFrom([]rune("abcxyzABCXYZ019 -/_.:'éñøßΩЖ")), 0, 60, -1)
	rapid.Check(t, func(t *rapid.T) {
		f := library()
		f.Links = f.Links[6:8]
		j := &f.Job
		for _, s := range []*string{&j.Title, &j.Site.Name, &j.Site.Address, &j.Customer.Name, &j.Customer.Order, &j.Contractor.Name, &j.Contractor.Address,
			&j.Contractor.Licence, &j.Invoice, &j.Stage, &j.Witness, &j.People[0].Name, &j.People[0].Qualification, &j.Instruments[0].Serial, &j.Cables[0].Reel,
			&f.Links[0].From, &f.Links[0].To, &f.Links[0].Tube, &f.Links[0].Strand, &f.Links[0].EndA.Text, &f.Links[0].EndB.Text, &f.Links[0].Pair} {
			*s = strings.TrimSpace(words.Draw(t, "text"))
		}
		f.Links[1].To = strings.TrimSpace(words.Draw(t, "panel")) + " port 3"
		for i := range f.Terminations {
			f.Terminations[i].Lot = words.Draw(t, "lot")
		}
		set := newSet(t, f, options())
		for _, d := range papers(t, set) {
			sound(t, set, d)
		}
	})
}

// TestManyAtOnce: documents are asked for and drawn by many goroutines; run it
// with -race.
func TestManyAtOnce(t *testing.T) {
	set := newSet(t, library(), options())
	press, err := pdf.NewPress(set.Paper(), pdf.Options{Runes: set.Runes()})
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			canvas := press.Canvas()
			for _, d := range papers(t, set) {
				write(t, canvas, d, set.Issued, "")
			}
		})
	}
	wg.Wait()
}
