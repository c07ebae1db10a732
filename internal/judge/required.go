package judge

import (
	"fmt"
	"strings"

	"spanseal/internal/record"
)

var notMeasured = Matter{Kind: KindRequired, Code: "not-measured", Question: "The link is on the schedule and its loss was not measured: when will it be?"}

// required asks for every reading that must be there and is not.
func (d *docket) required() {
	wavelengths := d.policy.Require.Wavelengths[d.link.Mode]
	if !d.out.Measured || len(wavelengths) > 0 && !d.has(func(r *record.Reading) bool { return r.Quantity == record.InsertionLoss }) {
		// Not a question of weight: nothing is certified that was not measured.
		d.out.Findings = append(d.out.Findings, Finding{Matter: &notMeasured, Verdict: Incomplete, Probability: -1})
		return
	}
	either := d.oneWay()
	for _, nm := range wavelengths {
		var have [3]bool // A-B, B-A, not stated
		for i := range d.out.Readings {
			if r := &d.out.Readings[i]; r.Quantity == record.InsertionLoss && r.WavelengthNM == nm {
				switch r.Direction {
				case record.AB:
					have[0] = true
				case record.BA:
					have[1] = true
				default:
					have[2] = true
				}
			}
		}
		switch {
		case have == [3]bool{}:
			d.want("missing-wavelength", fmt.Sprintf("No loss was measured at %d nm: when will it be?", nm), nm, record.NoWay)
		case either || have[0] && have[1]:
		case !have[0] && !have[1]:
			d.want("missing-direction", fmt.Sprintf("From which end was the loss at %d nm measured, and when will it be from the other?", nm), nm, record.NoWay)
		case !have[0]:
			d.want("missing-direction", fmt.Sprintf("No loss was measured at %d nm in direction A-B: when will it be?", nm), nm, record.AB)
		default:
			d.want("missing-direction", fmt.Sprintf("No loss was measured at %d nm in direction B-A: when will it be?", nm), nm, record.BA)
		}
	}
	for i := range d.out.Readings {
		r := &d.out.Readings[i]
		if r.Quantity == record.SpliceLoss && r.Direction.From() != "" && !either && !d.hasBothWays(i) {
			d.want("missing-direction", fmt.Sprintf("Splice %s was measured at %d nm from end %s only: when will it be from the other?", r.Event, r.WavelengthNM, r.Direction.From()), r.WavelengthNM, r.Direction)
		}
	}
	if d.policy.Require.Reflectance == "required" {
		for _, way := range []record.Direction{record.AB, record.BA} {
			measured := d.has(func(r *record.Reading) bool { return r.Direction == way && r.Quantity == record.InsertionLoss })
			reflected := d.has(func(r *record.Reading) bool {
				return r.Direction == way && (r.Quantity == record.Reflectance || r.Quantity == record.ReturnLoss)
			})
			if !reflected && (measured || !either) {
				d.want("missing-reflectance", fmt.Sprintf("No reflectance was measured at end %s: when will it be?", way.From()), 0, way)
			}
		}
	}
	if d.link.Exempt != "" {
		d.ask("direction-exempt", "One direction is exempt, for the reason \""+strings.TrimRight(d.link.Exempt, ".")+"\": does the owner agree?")
	}
}

// want raises the question of a reading that is missing.
func (d *docket) want(code, text string, nm int, way record.Direction) {
	if f, ok := d.raise(code, text); ok {
		f.Kind, f.WavelengthNM, f.Direction = KindRequired, nm, way
		d.out.Findings = append(d.out.Findings, f)
	}
}

// has reports whether some reading that counts is as asked.
func (d *docket) has(as func(*record.Reading) bool) bool {
	for i := range d.out.Readings {
		if as(&d.out.Readings[i]) {
			return true
		}
	}
	return false
}
