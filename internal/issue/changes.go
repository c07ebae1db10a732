package issue

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"spanseal/internal/judge"
)

// outcome is what a results.json says of one link, as far as a reader of the
// next revision wants to know whether it is the same.
type outcome struct {
	Link     string   `json:"link"`
	Verdict  string   `json:"verdict"`
	Findings []judged `json:"findings"`
}

// judged is one finding: a number held against a limit, or a question.
type judged struct {
	Code         string `json:"code"`
	Quantity     string `json:"quantity"`
	WavelengthNM int    `json:"wavelength_nm"`
	Direction    string `json:"direction"`
	End          string `json:"end"`
	Set          string `json:"set"`
	Measured     string `json:"measured"`
	Limit        string `json:"limit"`
	Verdict      string `json:"verdict"`
	Question     string `json:"question"`
}

// changes tells two results apart, one sentence a link, in the order of the
// new schedule; links that are gone come last. It also returns the verdicts
// of the earlier ones.
func changes(before, after []byte) (list []string, verdicts map[string]judge.Verdict, err error) {
	old, gone, err := outcomes(before)
	if err != nil {
		return nil, nil, fmt.Errorf("results.json of the revision before: %w", err)
	}
	now, order, err := outcomes(after)
	if err != nil {
		return nil, nil, err
	}
	for _, id := range order {
		if was, ok := old[id]; !ok {
			list = append(list, fmt.Sprintf("%s: new in the schedule, %s", id, now[id].Verdict))
		} else if text := change(was, now[id]); text != "" {
			list = append(list, id+": "+text)
		}
	}
	for _, id := range gone {
		if _, ok := now[id]; !ok {
			list = append(list, fmt.Sprintf("%s: no longer in the schedule, was %s", id, old[id].Verdict))
		}
	}
	if list == nil {
		list = []string{"no link changed"}
	}
	verdicts = make(map[string]judge.Verdict, len(old))
	for id, was := range old {
		for _, v := range []judge.Verdict{judge.Pass, judge.Marginal, judge.Incomplete, judge.Fail} {
			if v.String() == was.Verdict {
				verdicts[id] = v
			}
		}
	}
	return list, verdicts, nil
}

// change says how one link differs, or "".
func change(was, is outcome) string {
	var parts []string
	if was.Verdict != is.Verdict {
		parts = append(parts, fmt.Sprintf("was %s, is %s", was.Verdict, is.Verdict))
	}
	differs := func(f func(judged) judged) bool {
		return !slices.Equal(project(was.Findings, f), project(is.Findings, f))
	}
	readings := differs(func(j judged) judged {
		return judged{Quantity: j.Quantity, WavelengthNM: j.WavelengthNM, Direction: j.Direction, End: j.End, Measured: j.Measured}
	})
	if readings {
		parts = append(parts, "other readings")
	}
	if differs(func(j judged) judged {
		if j.Limit == "" {
			return judged{}
		}
		return judged{Quantity: j.Quantity, WavelengthNM: j.WavelengthNM, Direction: j.Direction, End: j.End, Set: j.Set, Limit: j.Limit}
	}) {
		parts = append(parts, "other limits")
	}
	// Other readings bring other questions; that goes without saying.
	if !readings && differs(func(j judged) judged { return judged{Code: j.Code, Verdict: j.Verdict, Question: j.Question} }) {
		parts = append(parts, "other questions or verdicts")
	}
	return strings.Join(parts, "; ")
}

// project keeps the part of each finding that a comparison is about; findings
// without that part drop out.
func project(all []judged, f func(judged) judged) []judged {
	var out []judged
	for _, j := range all {
		if p := f(j); p != (judged{}) {
			out = append(out, p)
		}
	}
	return out
}

// outcomes reads a results.json.
func outcomes(data []byte) (byLink map[string]outcome, order []string, err error) {
	var r struct {
		Links []outcome `json:"links"`
	}
	if err := json.Unmarshal(data, &r); err != nil {
		return nil, nil, err
	}
	byLink = make(map[string]outcome, len(r.Links))
	for _, l := range r.Links {
		byLink[l.Link] = l
		order = append(order, l.Link)
	}
	return byLink, order, nil
}
