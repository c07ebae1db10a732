package issue

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/certify"
	"spanseal/internal/judge"
	"spanseal/internal/record"
)

func TestChanges(t *testing.T) {
	const before = `{"pay_items": [{"line": "1.1", "unit": "strand", "fibre": "OS2", "accepted_to_date": 19}], "links": [
		{"link": "A-01", "verdict": "pass", "findings": [{"code": "insertion-loss", "quantity": "insertion_loss", "wavelength_nm": 1310, "direction": "A-B", "set": "s", "measured": "0.70", "limit": "2.22", "verdict": "pass"}]},
		{"link": "A-02", "verdict": "fail", "findings": [{"code": "insertion-loss", "quantity": "insertion_loss", "wavelength_nm": 1310, "direction": "A-B", "set": "s", "measured": "2.70", "limit": "2.22", "verdict": "fail"}]},
		{"link": "A-03", "verdict": "incomplete", "findings": []}]}`
	for _, test := range []struct {
		name, after string
		want        []string
	}{
		{"nothing", before, []string{"no link changed"}},
		{"a retest", `{"links": [
			{"link": "A-01", "verdict": "pass", "findings": [{"code": "insertion-loss", "quantity": "insertion_loss", "wavelength_nm": 1310, "direction": "A-B", "set": "s", "measured": "0.70", "limit": "2.22", "verdict": "pass"}]},
			{"link": "A-02", "verdict": "pass", "findings": [{"code": "insertion-loss", "quantity": "insertion_loss", "wavelength_nm": 1310, "direction": "A-B", "set": "s", "measured": "0.80", "limit": "2.22", "verdict": "pass"}]},
			{"link": "A-03", "verdict": "incomplete", "findings": []}]}`,
			[]string{"A-02: was fail, is pass; other readings"}},
		{"another edition", `{"links": [
			{"link": "A-01", "verdict": "pass", "findings": [{"code": "insertion-loss", "quantity": "insertion_loss", "wavelength_nm": 1310, "direction": "A-B", "set": "t", "measured": "0.70", "limit": "2.22", "verdict": "pass"}]},
			{"link": "A-02", "verdict": "fail", "findings": [{"code": "insertion-loss", "quantity": "insertion_loss", "wavelength_nm": 1310, "direction": "A-B", "set": "s", "measured": "2.70", "limit": "2.25", "verdict": "fail"}]},
			{"link": "A-03", "verdict": "incomplete", "findings": []}]}`,
			[]string{"A-01: other limits", "A-02: other limits"}},
		{"another question", strings.Replace(before, `"verdict": "incomplete", "findings": []`,
			`"verdict": "incomplete", "findings": [{"code": "calibration", "verdict": "incomplete", "question": "Was PM-3 calibrated again?"}]`, 1),
			[]string{"A-03: other questions or verdicts"}},
		{"another schedule", `{"links": [
			{"link": "A-03", "verdict": "incomplete", "findings": []},
			{"link": "A-04", "verdict": "pass", "findings": []},
			{"link": "A-01", "verdict": "pass", "findings": [{"code": "insertion-loss", "quantity": "insertion_loss", "wavelength_nm": 1310, "direction": "A-B", "set": "s", "measured": "0.70", "limit": "2.22", "verdict": "pass"}]}]}`,
			[]string{"A-04: new in the schedule, pass", "A-02: no longer in the schedule, was fail"}},
	} {
		t.Run(test.name, func(t *testing.T) {
			old, err := readOutcomes(strings.NewReader(before))
			if err != nil {
				t.Fatal(err)
			}
			now, err := readOutcomes(strings.NewReader(test.after))
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(test.want, differences(&old, &now)); diff != "" {
				t.Error(diff)
			}
			if diff := cmp.Diff(map[string]judge.Verdict{"A-01": judge.Pass, "A-02": judge.Fail, "A-03": judge.Incomplete}, old.verdicts()); diff != "" {
				t.Error(diff)
			}
			if diff := cmp.Diff([]certify.ResultPayItem{{Line: "1.1", Unit: record.PayStrand, Fibre: "OS2", Accepted: 19}}, old.paid); diff != "" {
				t.Error(diff)
			}
		})
	}
}
