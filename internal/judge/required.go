package judge

import (
	"fmt"
	"slices"
	"strings"

	"spanseal/internal/record"
)

// required asks for every reading that must be there and is not.
func (d *docket) required() {
	if !d.out.Measured {
		d.want("not-measured", "The link is on the schedule and was not measured: when will it be?", 0, record.NoWay)
		return
	}
	ways := []record.Direction{record.AB, record.BA}
	either := d.policy.Require.Directions == "either" || d.link.Exempt != ""
	for _, nm := range d.policy.Require.Wavelengths[d.link.Mode] {
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

func (d *docket) want(code, text string, nm int, way record.Direction) {
	d.out.Findings = append(d.out.Findings, Finding{
		Kind: KindRequired, Code: code, Verdict: Incomplete, Question: text, WavelengthNM: nm, Direction: way, Probability: -1,
	})
}

func (d *docket) has(nm int, way record.Direction, q record.Quantity) bool {
	return slices.ContainsFunc(d.out.Readings, func(r record.Reading) bool {
		return r.WavelengthNM == nm && r.Direction == way && r.Quantity == q
	})
}

func (d *docket) hasAny(way record.Direction, q record.Quantity) bool {
	return slices.ContainsFunc(d.out.Readings, func(r record.Reading) bool { return r.Direction == way && r.Quantity == q })
}
