// Package specimen invents what is measured and made on a job, so that its papers can
// be seen and approved before testing starts.
//
// [Facts] gives plausible values, alike for every run: losses that grow with length,
// connections and splices, by the job's own instruments and people where there are
// any. [Forms] moves them, once they are judged, so that every form of paper is
// there: a certificate, a marginal one and a nonconformance sheet. None of it is
// evidence of anything; whoever prints it says so on every page.
package specimen

import (
	"slices"
	"strconv"
	"time"

	"spanseal/internal/claim"
	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// forms is how many links show every form of paper: a certificate, one of a
// link that is marginal, and a nonconformance sheet.
const forms = 3

// Facts returns the facts of a job with invented ones in place of what is
// measured and made: plausible, alike for every run, of the given day. They are
// for seeing the form of the papers before testing starts. A job of fewer links
// than there are forms gets invented ones beside its own.
func Facts(facts *record.Facts, day time.Time) *record.Facts {
	f := *facts
	f.Links = slices.Clone(facts.Links)
	f.Readings, f.Terminations, f.Inspections, f.InstrumentFiles, f.Kept, f.Accounts, f.Photos = nil, nil, nil, nil, nil, nil, nil
	for n := 2; len(f.Links) > 0 && len(f.Links) < forms; n++ {
		l := f.Links[0]
		l.ID, l.Pair = l.ID+"-"+strconv.Itoa(n), ""
		if !slices.ContainsFunc(f.Links, func(o record.Link) bool { return o.ID == l.ID }) {
			f.Links = append(f.Links, l)
		}
	}
	v := inventor{Facts: &f, day: time.Date(day.Year(), day.Month(), day.Day(), 8, 30, 0, 0, day.Location())}
	v.meter()
	if people := f.Job.People; len(people) > 0 {
		v.person = people[0].ID
	}
	for n := range f.Links {
		v.terminate(&f.Links[n])
		v.inspect(&f.Links[n])
		v.measure(n)
	}
	if len(f.Links) > 0 {
		v.photograph(f.Links[0].ID)
	}
	f.Accounts = []record.Account{{File: v.origin().File, SHA256: v.origin().SHA256, Rows: len(f.Readings), Used: len(f.Readings)}}
	return &f
}

// Forms moves invented readings once they are judged, so that the set
// shows every form of paper whatever its limits are: the second link is
// marginal, where the job has a band for it, the third fails at its longest
// wavelength, and the others keep their limits. The facts are judged again.
func Forms(facts *record.Facts, judged *judge.Judgement) {
	type subject struct {
		link string
		of   record.Quantity
		nm   int
	}
	rises := map[subject]quantity.Decimal{} // by how much readings become higher
	for n, l := range judged.Results() {
		longest := 0
		for _, one := range claim.LossFindings(l) {
			longest = max(longest, one.WavelengthNM)
		}
		for _, one := range l.Findings {
			if one.Kind != judge.KindLimit || one.Margin == nil || len(one.Readings) == 0 || one.AtLeast() {
				continue
			}
			about := subject{l.Link.ID, one.Readings[0].Quantity, one.WavelengthNM}
			loss := about.of == record.InsertionLoss
			var rise quantity.Decimal
			narrow, ok := inBand(one, facts.Job.Policy.Marginal)
			switch {
			case n == 1 && loss && ok && one.WavelengthNM == l.WorstFinding().WavelengthNM:
				rise = one.Margin.Sub(narrow)
			case n == 2 && loss && one.WavelengthNM == longest:
				rise = one.Margin.Add(quantity.Scaled(35, 2))
			case one.Verdict != judge.Pass:
				rise = one.Margin.Sub(quantity.Scaled(5, 1))
			}
			if least, seen := rises[about]; !seen || rise.Less(least) {
				rises[about] = rise
			}
		}
	}
	for i := range facts.Readings {
		r := &facts.Readings[i]
		r.Value = r.Value.Add(rises[subject{r.Link, r.Quantity, r.WavelengthNM}]).Round(r.Value.Places())
	}
}

// inBand is a margin in the middle of what is marginal: less than the band, and
// not less than the guard that was agreed.
func inBand(f judge.Finding, own *quantity.Decimal) (margin quantity.Decimal, ok bool) {
	band := f.Uncertainty
	if own != nil {
		band = own
	}
	var guard quantity.Decimal
	if f.Guard != nil {
		guard = *f.Guard
	}
	if band == nil || !guard.Less(*band) {
		return margin, false
	}
	return guard.Add(*band).Half(), true
}
