package judge

import (
	"strings"

	"spanseal/internal/record"
	"spanseal/internal/statement"
)

var notMeasured = Matter{Kind: KindRequired, Code: "not-measured", Question: statement.New("not-measured")}

// required asks for every reading that must be there and is not.
func (j *linkJudge) required() {
	wavelengths := j.policy.Require.Wavelengths[j.link.Mode]
	if !j.out.Measured || len(wavelengths) > 0 && !j.has(func(r *record.Reading) bool { return r.Quantity == record.InsertionLoss }) {
		// Not a question of weight: nothing is certified that was not measured.
		j.out.Findings = append(j.out.Findings, Finding{Matter: &notMeasured, Verdict: Incomplete, Probability: -1})
		return
	}
	either := j.oneWay()
	for _, nm := range wavelengths {
		var have [3]bool // A-B, B-A, not stated
		for i := range j.out.Readings {
			if r := &j.out.Readings[i]; r.Quantity == record.InsertionLoss && r.WavelengthNM == nm {
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
		case have == [3]bool{} && j.exemptAt(nm):
		case have == [3]bool{}:
			j.want(statement.New("missing-wavelength", statement.NM(nm)), nm, record.NoWay)
		case either || have[0] && have[1]:
		case !have[0] && !have[1]:
			j.want(statement.New("missing-direction.unstated", statement.NM(nm)), nm, record.NoWay)
		case !have[0]:
			j.want(missingWay(nm, record.AB), nm, record.AB)
		default:
			j.want(missingWay(nm, record.BA), nm, record.BA)
		}
	}
	for i := range j.out.Readings {
		r := &j.out.Readings[i]
		if r.Quantity == record.SpliceLoss && r.Direction.From() != "" && !either && !j.hasBothWays(i) {
			j.want(statement.New("missing-direction.splice", statement.Name(r.Event), statement.NM(r.WavelengthNM), statement.Name(r.Direction.From())), r.WavelengthNM, r.Direction)
		}
	}
	if j.policy.Require.Reflectance == "required" {
		for _, way := range []record.Direction{record.AB, record.BA} {
			measured := j.has(func(r *record.Reading) bool { return r.Direction == way && r.Quantity == record.InsertionLoss })
			reflected := j.has(func(r *record.Reading) bool {
				return r.Direction == way && (r.Quantity == record.Reflectance || r.Quantity == record.ReturnLoss)
			})
			if !reflected && (measured || !either) {
				j.want(statement.New("missing-reflectance", statement.Name(way.From())), 0, way)
			}
		}
	}
	if j.link.Exempt != "" {
		j.ask(statement.New("direction-exempt", statement.Name(strings.TrimRight(j.link.Exempt, "."))))
	}
}

// exemptAt tells of a wavelength at which the link need not be measured, whatever the
// weight of the question: an exemption is never left out.
func (j *linkJudge) exemptAt(nm int) bool {
	reason, exempt := j.link.ExemptAt(nm)
	if exempt {
		f, _ := j.raise(statement.New("wavelength-exempt", statement.NM(nm), statement.Name(strings.TrimRight(reason, "."))))
		j.out.Findings = append(j.out.Findings, f)
	}
	return exempt
}

func missingWay(nm int, way record.Direction) statement.Statement {
	return statement.New("missing-direction.way", statement.NM(nm), statement.Way(way))
}

// want raises the question of a reading that is missing.
func (j *linkJudge) want(question statement.Statement, nm int, way record.Direction) {
	if f, ok := j.raise(question); ok {
		f.Kind, f.WavelengthNM, f.Direction = KindRequired, nm, way
		j.out.Findings = append(j.out.Findings, f)
	}
}

// has reports whether some reading that counts is as asked.
func (j *linkJudge) has(as func(*record.Reading) bool) bool {
	for i := range j.out.Readings {
		if as(&j.out.Readings[i]) {
			return true
		}
	}
	return false
}
