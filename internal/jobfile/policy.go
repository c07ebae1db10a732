package jobfile

import (
	"fmt"

	"gopkg.in/yaml.v3"

	"spanseal/internal/field"
	"spanseal/internal/method"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/strict"
)

// policyKeys reads by what the job is judged.
func policyKeys(d *strict.YAML, p *record.Policy) strict.Keys {
	wavelengths := func(m record.Mode) strict.Key {
		return strict.Opt(func(n *yaml.Node) {
			var list []int
			d.Items("wavelengths_nm", func(n *yaml.Node) {
				var v int
				d.Count("wavelength", field.MinWavelength, field.MaxWavelength, &v)(n)
				list = append(list, v)
			})(n)
			p.Require.Wavelengths[m] = list
		})
	}
	decimal := func(to **quantity.Decimal) func(quantity.Decimal) {
		return func(v quantity.Decimal) { *to = &v }
	}
	return strict.Keys{
		"limits":           strict.Must(d.Texts("judge.limits", &p.Limits)),
		"reference":        strict.Must(strict.OneOf(d, "judge.reference", &p.Reference, record.OneCord, record.TwoCord, record.ThreeCord)),
		"test_cords":       strict.Must(strict.OneOf(d, "judge.test_cords", &p.TestCords, record.StandardCords, record.ReferenceCords)),
		"launch":           strict.Opt(methodText(d, "launch", field.Launch, func(m record.Method) { p.Launch = m.Launch })),
		"software":         strict.Opt(methodText(d, "software", field.Software, func(m record.Method) { p.Software = m.Software })),
		"group_index":      strict.Opt(methodText(d, "group_index", field.GroupIndex, func(m record.Method) { p.GroupIndex = m.GroupIndex })),
		"decision":         strict.Opt(strict.OneOf(d, "judge.decision", &p.Decision, "simple", "guarded")),
		"guard_factor":     strict.Opt(d.Number("guard_factor", 0, 10, func(v quantity.Decimal) { p.GuardFactor = v })),
		"retest_change_db": strict.Opt(d.Number("retest_change_db", 0, 10, decimal(&p.RetestChange))),
		"marginal_db":      strict.Opt(d.Number("marginal_db", 0, 10, decimal(&p.Marginal))),
		"uncertainty_db":   strict.Opt(d.Number("uncertainty_db", 0, 10, decimal(&p.Uncertainty))),
		"require": strict.Opt(d.Within("judge.require", strict.Keys{
			"wavelengths_nm": strict.Opt(d.Within("wavelengths_nm", strict.Keys{
				"singlemode": wavelengths(record.Singlemode),
				"multimode":  wavelengths(record.Multimode),
			})),
			"directions":  strict.Opt(strict.OneOf(d, "require.directions", &p.Require.Directions, "both", "either")),
			"reflectance": strict.Opt(strict.OneOf(d, "require.reflectance", &p.Require.Reflectance, "optional", "required")),
			"originals":   strict.Opt(strict.OneOf(d, "require.originals", &p.Require.Originals, "optional", "required")),
			"inspection":  strict.Opt(strict.OneOf(d, "require.inspection", &p.Require.Inspection, "optional", "required")),
		})),
		"optional": strict.Opt(d.Items("judge.optional", func(n *yaml.Node) {
			at := d.At(n)
			v := record.Agreed{Origin: record.Origin{File: at.File, Row: at.Line, Column: at.Column}}
			d.Object(n, "an agreement", strict.Keys{
				"set":      strict.Opt(d.Text("set", &v.Set)),
				"limit":    strict.Opt(d.Text("limit", &v.Limit)),
				"quantity": strict.Opt(strict.OneOf(d, "quantity", &v.Quantity, record.SpliceLoss, record.Reflectance, record.ReturnLoss, record.OpticalReturnLoss, record.TwoWayAverage)),
				"links":    strict.Opt(d.Texts("links", &v.Links)),
				"by":       strict.Must(d.Text("by", &v.By)),
				"reason":   strict.Must(d.Text("reason", &v.Reason)),
			})
			switch {
			case v.Set == "" && v.Quantity == "":
				d.Fault(n, "missing-key", "the agreement names neither a set nor a quantity", "", "say what need not be measured, such as quantity: splice_loss")
			case v.Limit != "" && v.Set == "":
				d.Fault(n, "missing-key", "the agreement names a limit without its set", "", "add set: and the id of the set")
			}
			p.Optional = append(p.Optional, v)
		})),
		"termination": strict.Opt(d.Within("judge.termination", strict.Keys{
			"estimate_db_at_most": strict.Opt(d.Number("estimate_db_at_most", 0, 10, decimal(&p.EstimateAtMost))),
			"end_face_required":   strict.Opt(d.Yes("end_face_required", &p.EndFaceRequired)),
		})),
		"questions": strict.Opt(func(n *yaml.Node) { readQuestions(d, n, p) }),
	}
}

// methodText reads how the readings of the job were made.
func methodText(d *strict.YAML, what string, f field.Field, set func(record.Method)) func(*yaml.Node) {
	return func(n *yaml.Node) {
		s, ok := d.Scalar(n, "judge."+what)
		if !ok {
			return
		}
		var said method.Said
		if want := said.Take(f, s); want != "" {
			d.Fault(n, "unknown-value", fmt.Sprintf("%q is not understood as %s", s, f.Noun()), want, "")
		}
		set(said.Method)
	}
}

// readQuestions reads weights and thresholds of evidence checks. Their codes are
// package judge's to know.
func readQuestions(d *strict.YAML, n *yaml.Node, p *record.Policy) {
	ks := strict.Keys{}
	if n.Kind == yaml.MappingNode {
		p.Questions = map[string]record.Question{}
		for i := 0; i+1 < len(n.Content); i += 2 {
			code := n.Content[i].Value
			ks[code] = strict.Opt(func(n *yaml.Node) {
				var q record.Question
				d.Object(n, "question "+code, strict.Keys{
					"weight":    strict.Opt(strict.OneOf(d, "weight", &q.Weight, "fatal", "note", "off")),
					"threshold": strict.Opt(d.Number("threshold", -1_000_000, 1_000_000, func(v quantity.Decimal) { q.Threshold = &v })),
				})
				p.Questions[code] = q
			})
		}
	}
	d.Object(n, "judge.questions", ks)
}
