package issue

import (
	"bufio"
	"encoding/json"
	"fmt"
	"hash/maphash"
	"io"
	"os"
	"strings"

	"spanseal/internal/certify"
	"spanseal/internal/judge"
	"spanseal/internal/statement"
)

// outcome is what a results.json says of one link, as far as a reader of the
// next revision wants to know whether it is the same. Of the findings it keeps
// digests only: large jobs have millions.
type outcome struct {
	verdict                string
	readings, limits, asks uint64
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
	Question     asked  `json:"question"`
}

// asked is the English text of a question, in whichever form results.json has it.
type asked string

func (a *asked) UnmarshalJSON(b []byte) error {
	var s statement.Statement
	if err := s.UnmarshalJSON(b); err != nil {
		return err
	}
	*a = asked(s.Text)
	return nil
}

// compare tells a set what differs from the results.json of the revision before,
// one sentence a link, in the order of the new schedule; links that are gone
// come last. It also tells the verdicts of the earlier ones, and what was paid.
func compare(before string, set *certify.Set) error {
	f, err := os.Open(before)
	if err != nil {
		return err
	}
	defer f.Close()
	old, err := readOutcomes(bufio.NewReader(f))
	if err != nil {
		return fmt.Errorf("%s: %w", before, err)
	}
	var now outcomes
	for l := range set.ResultLinks() {
		now.add(l.Link, outcomeOf(&l))
	}
	set.Changes, set.Before, set.Paid = differences(&old, &now), old.verdicts(), old.paid
	return nil
}

// outcomes are those of a whole job, in its order.
type outcomes struct {
	order []string
	of    map[string]outcome
	paid  []certify.ResultPayItem
}

func (o *outcomes) add(link string, is outcome) {
	if o.of == nil {
		o.of = map[string]outcome{}
	}
	o.order = append(o.order, link)
	o.of[link] = is
}

func (o *outcomes) verdicts() map[string]judge.Verdict {
	verdicts := make(map[string]judge.Verdict, len(o.of))
	for id, was := range o.of {
		for _, v := range []judge.Verdict{judge.Pass, judge.Marginal, judge.Incomplete, judge.Fail} {
			if v.String() == was.verdict {
				verdicts[id] = v
			}
		}
	}
	return verdicts
}

// noChange is what is said where every link is as it was.
const noChange = "no link changed"

func differences(old, now *outcomes) (list []string) {
	for _, id := range now.order {
		is := now.of[id]
		if was, ok := old.of[id]; !ok {
			list = append(list, fmt.Sprintf("%s: new in the schedule, %s", id, is.verdict))
		} else if text := change(was, is); text != "" {
			list = append(list, id+": "+text)
		}
	}
	for _, id := range old.order {
		if _, ok := now.of[id]; !ok {
			list = append(list, fmt.Sprintf("%s: no longer in the schedule, was %s", id, old.of[id].verdict))
		}
	}
	if list == nil {
		list = []string{noChange}
	}
	return list
}

// change says how one link differs, or "".
func change(was, is outcome) string {
	var parts []string
	if was.verdict != is.verdict {
		parts = append(parts, fmt.Sprintf("was %s, is %s", was.verdict, is.verdict))
	}
	if was.readings != is.readings {
		parts = append(parts, "other readings")
	}
	if was.limits != is.limits {
		parts = append(parts, "other limits")
	}
	// Other readings bring other questions; that goes without saying.
	if was.readings == is.readings && was.asks != is.asks {
		parts = append(parts, "other questions or verdicts")
	}
	return strings.Join(parts, "; ")
}

// sumUp keeps of a link's findings the parts that a comparison is about, each
// without the findings that have nothing of it.
func sumUp(verdict string, findings []judged) outcome {
	return outcome{
		verdict: verdict,
		readings: digest(findings, func(j judged) judged {
			return judged{Quantity: j.Quantity, WavelengthNM: j.WavelengthNM, Direction: j.Direction, End: j.End, Measured: j.Measured}
		}),
		limits: digest(findings, func(j judged) judged {
			if j.Limit == "" {
				return judged{}
			}
			return judged{Quantity: j.Quantity, WavelengthNM: j.WavelengthNM, Direction: j.Direction, End: j.End, Set: j.Set, Limit: j.Limit}
		}),
		asks: digest(findings, func(j judged) judged { return judged{Code: j.Code, Verdict: j.Verdict, Question: j.Question} }),
	}
}

// seed of this run: digests are never stored.
var seed = maphash.MakeSeed()

func digest(findings []judged, part func(judged) judged) uint64 {
	var h maphash.Hash
	h.SetSeed(seed)
	for _, j := range findings {
		if p := part(j); p != (judged{}) {
			maphash.WriteComparable(&h, p)
		}
	}
	return h.Sum64()
}

// outcomeOf is that of a link of the new revision.
func outcomeOf(l *certify.ResultLink) outcome {
	findings := make([]judged, len(l.Findings))
	for i, f := range l.Findings {
		findings[i] = judged{f.Code, string(f.Quantity), f.WavelengthNM, string(f.Direction), f.End, f.Set,
			written(f.Measured), written(f.Limit), f.Verdict.String(), asked(f.Question.Text)}
	}
	return sumUp(l.Verdict.String(), findings)
}

// written is a number as results.json has it.
func written[Number fmt.Stringer](n *Number) string {
	if n == nil {
		return ""
	}
	return (*n).String()
}

// readOutcomes reads a results.json, link by link.
func readOutcomes(r io.Reader) (all outcomes, err error) {
	d := json.NewDecoder(r)
	if _, err := d.Token(); err != nil {
		return all, err
	}
	for d.More() {
		key, err := d.Token()
		if err != nil {
			return all, err
		}
		if key != "links" {
			var skipped json.RawMessage
			var to any = &skipped
			if key == "pay_items" {
				to = &all.paid
			}
			if err := d.Decode(to); err != nil {
				return all, err
			}
			continue
		}
		if _, err := d.Token(); err != nil {
			return all, err
		}
		for d.More() {
			var l struct {
				Link, Verdict string
				Findings      []judged
			}
			if err := d.Decode(&l); err != nil {
				return all, err
			}
			all.add(l.Link, sumUp(l.Verdict, l.Findings))
		}
		if _, err := d.Token(); err != nil {
			return all, err
		}
	}
	return all, nil
}
