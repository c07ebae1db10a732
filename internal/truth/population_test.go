package truth

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
)

// connectionsAt are the losses at a wavelength of links with one connection inside
// the measurement, in order, and of those with several.
func (j *job) connectionsAt(mode string, nm int) (single, joint []*big.Rat) {
	for i := range j.Links {
		l := &j.Links[i]
		at := j.lossesAt(l, nm)
		if modeOf(l.Fibre) != mode || j.inside(l, nm) == 0 || len(at) == 0 {
			continue
		}
		loss := new(big.Rat)
		if slices.ContainsFunc(at, func(r *reading) bool { return r.Shown != "" }) { // of a bound there is no average
			for i, r := range at {
				if v := rat(r.Value); i == 0 || loss.Cmp(v) < 0 {
					loss = v
				}
			}
		} else {
			for _, r := range at { // both directions are of the same connection
				loss = add(loss, mul(rat(r.Value), big.NewRat(1, int64(len(at)))))
			}
		}
		if j.inside(l, nm) == 1 {
			single = append(single, loss)
		} else {
			joint = append(joint, loss)
		}
	}
	slices.SortFunc(single, (*big.Rat).Cmp)
	return single, joint
}

func overLimit(losses []*big.Rat, limit *big.Rat) (n int) {
	for _, v := range losses {
		if v.Cmp(limit) > 0 {
			n++
		}
	}
	return n
}

// showsShare reports whether n draws, of which some are over, show with 95 % confidence
// that a share is within: the sum of binomial terms, exactly.
func showsShare(n, over int, share *big.Rat) bool {
	if over >= n {
		return false
	}
	outside := sub(big.NewRat(1, 1), share)
	sum := new(big.Rat)
	for k := 0; k <= over; k++ {
		term := new(big.Rat).SetInt(new(big.Int).Binomial(int64(n), int64(k)))
		for range k {
			term = mul(term, outside)
		}
		for range n - k {
			term = mul(term, share)
		}
		sum = add(sum, term)
	}
	return sum.Cmp(big.NewRat(5, 100)) <= 0
}

// fewest is how many draws show a share when so many are over.
func fewest(over int, share *big.Rat) int {
	n := over + 1
	for !showsShare(n, over, share) {
		n++
	}
	return n
}

// groupPercentile recomputes a percentile of single connections, or the highest loss
// of one where all of them are limited.
func (j *job) groupPercentile(f map[string]any) error {
	by := j.set(fmt.Sprint(f["set"]))
	question, _ := f["question"].(map[string]any)
	args, _ := question["args"].(map[string]any)
	if by == nil || by.Percent == "" {
		return untrue("there is no such limit")
	}
	limit, percent := rat(by.PercentMost), rat(by.Percent)
	single, joint := j.connectionsAt(fmt.Sprint(args["mode"]), wholeOf(f["wavelength_nm"]))
	measured := new(big.Rat)
	shown := true
	if by.Percent == "100" {
		for _, v := range joint { // what is within the limit together is so one by one
			if v.Cmp(limit) <= 0 && v.Cmp(measured) > 0 {
				measured = v
			}
		}
		if n := len(single); n > 0 && single[n-1].Cmp(measured) > 0 {
			measured = single[n-1]
		}
		shown = overLimit(joint, limit) == 0
	} else {
		rank := 1 // the least k with k/n ≥ p/100
		for mul(percent, big.NewRat(int64(len(single)), 100)).Cmp(big.NewRat(int64(rank), 1)) > 0 {
			rank++
		}
		if len(single) == 0 {
			return untrue("no loss is of one connection alone")
		}
		measured = single[rank-1]
		shown = showsShare(len(single), overLimit(single, limit), mul(percent, big.NewRat(1, 100)))
	}
	if got := rat(fmt.Sprint(f["measured"])); !same(got, measured) {
		return untrue("it is %s", measured.FloatString(6))
	}
	verdict := "pass"
	if measured.Cmp(limit) > 0 {
		verdict = "fail"
	}
	if f["verdict"] != verdict || verdict == "pass" && !shown {
		return untrue("the verdict is %s, and shown %v", verdict, shown)
	}
	return nil
}

// populationCheckers are those of percentiles that nothing shows.
var populationCheckers = map[string]checker{
	"not-shown.each": func(j *job, s *said) error {
		by, _, joint := j.unshown(s)
		return is(by != nil && by.Percent == "100" && same(s.decimal("limit"), rat(by.PercentMost)) && s.whole("n") > 0 &&
			s.whole("n") == overLimit(joint, rat(by.PercentMost)))
	},
	"not-shown.averages": func(j *job, s *said) error {
		by, single, joint := j.unshown(s)
		return is(by != nil && by.Percent != "100" && len(single) == 0 && len(joint) > 0 && same(s.decimal("percentile"), rat(by.Percent)) &&
			s.whole("least") == fewest(0, mul(rat(by.Percent), big.NewRat(1, 100))))
	},
	"not-shown.few": func(j *job, s *said) error {
		by, single, _ := j.unshown(s)
		if by == nil || by.Percent == "100" {
			return untrue("there is no such limit")
		}
		share, over := mul(rat(by.Percent), big.NewRat(1, 100)), overLimit(single, rat(by.PercentMost))
		return is(len(single) > 0 && s.whole("n") == len(single) && s.whole("over") == over && same(s.decimal("limit"), rat(by.PercentMost)) &&
			same(s.decimal("percentile"), rat(by.Percent)) && !showsShare(len(single), over, share) && s.whole("least") == fewest(over, share))
	},
}

// unshown is the set and the losses that a percentile which nothing shows is about.
func (j *job) unshown(s *said) (by *set, single, joint []*big.Rat) {
	if by = j.set(s.text("set")); by != nil && by.Percent == "" {
		by = nil
	}
	single, joint = j.connectionsAt(s.text("mode"), s.whole("nm"))
	return by, single, joint
}

// notesOnPage checks what a paper says beside the limits of applications: that cords
// share the budget wherever an application is named, how many connections lie outside
// the measurement, and which links are engineered.
// It reads English papers; the forms of other languages have the same codes.
func notesOnPage(j *job, l *link, rec map[string]any, page string) error {
	if j.Lang != "en" {
		return nil
	}
	carried, engineered := false, ""
	for _, c := range list(rec["carries"]) {
		c := c.(map[string]any)
		if c["required"] != true && c["within"] != true {
			continue
		}
		carried = true
		if m := c["engineered_beyond_m"]; m != nil {
			if rat(l.Length).Cmp(rat(fmt.Sprint(m))) <= 0 {
				return untrue("%v is engineered beyond %v m, and the link has %s", c["title"], m, l.Length)
			}
			engineered = fmt.Sprint(c["title"])
		}
	}
	out := map[string]string{}
	for _, ref := range []string{"one-cord", "two-cord", "three-cord"} {
		if slices.Contains(j.references(l), ref) {
			out[ref] = map[int]string{1: "leaves one end connection outside the measurement.", 2: "leaves 2 end connections outside the measurement."}[min(l.Pairs, outside[ref])]
		}
	}
	for _, note := range []struct {
		says string
		so   bool
	}{
		{"Patch cords share this budget.", carried},
		{"The two-cord reference " + out["two-cord"], carried && out["two-cord"] != ""},
		{"The three-cord reference " + out["three-cord"], carried && out["three-cord"] != ""},
		{"outside the measurement. ", carried && out["two-cord"]+out["three-cord"] != ""},
		{"is engineered: these limits alone do not show", engineered != ""},
	} {
		// A sheet of what does not conform leaves them out.
		certificate := rec["verdict"] == "pass" || rec["verdict"] == "marginal"
		if says := strings.Contains(page, note.says); says != note.so && (says || certificate) {
			return untrue("whether the page says %q is %v", note.says, says)
		}
	}
	if strings.Contains(page, "is engineered:") && !strings.Contains(page, engineered) {
		return untrue("the page does not name %s", engineered)
	}
	return nil
}
