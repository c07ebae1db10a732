package certify

import (
	"time"

	"spanseal/internal/page"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// specimen marks a page at its head and foot, where a set is for approval only.
func (s *Set) specimen(f *flow) {
	if !s.Specimen {
		return
	}
	text := s.words.say("specimen.word") + " · " + s.words.say("specimen.band")
	style := f.shrink(page.Style{Face: page.Bold, Size: f.caption.Size, Ink: f.rust}, 4, f.w-4, text)
	for _, y := range []float64{4, f.Paper().Height - 9} {
		f.Frame(f.x, y, f.w, 5, 0.5, f.rust)
		f.put(f.x+2, y+3.3, style, text)
	}
}

// Specimen returns the facts of a job with invented readings in place of its
// own: plausible, alike for every run, measured on the given day. They are
// for seeing the form of the papers before testing starts.
func Specimen(facts *record.Facts, day time.Time) *record.Facts {
	f := *facts
	f.Readings, f.Terminations, f.Accounts, f.Photos = nil, nil, nil, nil
	meter, source, person := "", "", ""
	if len(f.Job.Instruments) > 0 {
		source, meter = f.Job.Instruments[0].ID, f.Job.Instruments[len(f.Job.Instruments)-1].ID
	}
	if len(f.Job.People) > 0 {
		person = f.Job.People[0].ID
	}
	at := time.Date(day.Year(), day.Month(), day.Day(), 9, 0, 0, 0, day.Location())
	origin := record.Origin{File: "specimen", SHA256: "invented"}
	for n, l := range f.Links {
		for i, nm := range f.Job.Policy.Require.Wavelengths[l.Mode] {
			for k, way := range []record.Direction{record.AB, record.BA} {
				// A loss of 0.2 dB a connection and 0.3 dB/km with a little on top
				// that differs from one reading to the next: invented.
				loss := quantity.Sum(quantity.Scaled(2, 1).Mul(quantity.Int(l.MatedPairs)), quantity.Scaled(3, 1).Mul(quantity.Kilometres(l.Length)),
					quantity.Scaled(int64((n*7+i*5+k*3)%11), 2))
				f.Readings = append(f.Readings, record.Reading{Link: l.ID, Quantity: record.InsertionLoss, WavelengthNM: nm, Direction: way, Value: loss.Round(2),
					Instrument: meter, Source: source, Person: person, Time: at.Add(time.Duration(n*8+i*2+k) * time.Minute), ReferenceTime: at,
					Fate: record.Used, Origin: origin})
			}
		}
	}
	return &f
}
