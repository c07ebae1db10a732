package judge

import (
	"fmt"
	"slices"
	"strings"

	"spanseal/internal/record"
)

var ways = []record.Direction{record.AB, record.BA}

// required asks for every reading that must be there and is not.
func (d *docket) required() {
	wavelengths := d.policy.Require.Wavelengths[d.link.Mode]
	if !d.out.Measured || len(wavelengths) > 0 && !d.hasAny(record.AB, record.InsertionLoss) && !d.hasAny(record.BA, record.InsertionLoss) {
		// Not a question of weight: nothing is certified that was not measured.
		d.out.Findings = append(d.out.Findings, Finding{
			Kind: KindRequired, Code: "not-measured", Verdict: Incomplete, Probability: -1,
			Question: "The link is on the schedule and its loss was not measured: when will it be?",
		})
		return
	}
	either := d.oneWay()
	for _, nm := range wavelengths {
		var missing []record.Direction
		for _, way := range ways {
			if !d.has(nm, way, record.InsertionLoss) {
				missing = append(missing, way)
			}
		}
		switch {
		case len(missing) == len(ways):
			d.want("missing-wavelength", fmt.Sprintf("No loss was measured at %d nm: when will it be?", nm), nm, record.NoWay)
		case len(missing) > 0 && !either:
			d.want("missing-direction", fmt.Sprintf("No loss was measured at %d nm in direction %s: when will it be?", nm, missing[0]), nm, missing[0])
		}
	}
	for i := range d.out.Readings {
		r := &d.out.Readings[i]
		if r.Quantity == record.SpliceLoss && r.Direction.From() != "" && !either && !d.hasBothWays(i) {
			d.want("missing-direction", fmt.Sprintf("Splice %s was measured at %d nm from end %s only: when will it be from the other?", r.Event, r.WavelengthNM, r.Direction.From()), r.WavelengthNM, r.Direction)
		}
	}
	if d.policy.Require.Reflectance == "required" {
		for _, way := range ways {
			if either && !d.hasAny(way, record.InsertionLoss) {
				continue
			}
			if !d.hasAny(way, record.Reflectance) && !d.hasAny(way, record.ReturnLoss) {
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

func (d *docket) has(nm int, way record.Direction, q record.Quantity) bool {
	return slices.ContainsFunc(d.out.Readings, func(r record.Reading) bool {
		return r.WavelengthNM == nm && r.Direction == way && r.Quantity == q
	})
}

func (d *docket) hasAny(way record.Direction, q record.Quantity) bool {
	return slices.ContainsFunc(d.out.Readings, func(r record.Reading) bool { return r.Direction == way && r.Quantity == q })
}
