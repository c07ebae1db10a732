package truth

import (
	"errors"
	"fmt"
	"math/big"
	"slices"
	"strings"
)

// lead is what the sentences that lead a paper are held against: the model, and
// the findings of the record, each of which is recomputed by itself.
type lead struct {
	j        *job
	is       *issued
	l        *link // nil: the summary
	findings []*said
	verdict  string
}

// leads are the checkers of leading sentences.
var leads map[string]func(c *lead, s *said) error

func init() { leads = leadCheckers() } // some look up others

// spliceWays are the directions in which the splice of a reading was measured, of the
// readings that count.
func spliceWays(counting []*reading, of *reading) map[string]bool {
	ways := map[string]bool{}
	for _, r := range counting {
		if r.Quantity == of.Quantity && r.Event == of.Event && r.NM == of.NM {
			ways[r.Way] = true
		}
	}
	return ways
}

func leadCheckers() map[string]func(c *lead, s *said) error {
	return map[string]func(c *lead, s *said) error{
		"lead.measured":    measured(func(c *lead, s *said, first, last string) bool { return first == "" }),
		"lead.measured-on": measured(func(c *lead, s *said, first, last string) bool { return first == last && s.text("day") == first }),
		"lead.measured-days": measured(func(c *lead, s *said, first, last string) bool {
			return first < last && s.text("first") == first && s.text("last") == last
		}),
		"lead.superseded": func(c *lead, s *said) error {
			over, n := 0, 0
			counting := c.j.counting(c.l.ID)
			for i := range c.j.Readings {
				r := &c.j.Readings[i]
				if r.Link != c.l.ID || slices.Contains(counting, r) {
					continue
				}
				n++
				if slices.ContainsFunc(c.j.sets(c.l), func(by *set) bool {
					_, limit := c.j.bounds(by, c.l, r.Quantity, r.NM)
					if r.Quantity == "splice_loss" && (len(spliceWays(counting, r)) != 1 || !c.j.oneWay(c.l)) {
						return false // the limit binds the mean of both directions
					}
					return limit != nil && rat(r.Value).Cmp(limit) > 0 && !(by.Application && by.Average && r.Quantity == "insertion_loss")
				}) {
					over++
				}
			}
			return isSo(s.text("link") == c.l.ID && s.whole("n") == n && n > 0 && s.whole("over") == over && s.text("paper") == c.is.links[c.l.ID]["file"])
		},
		"lead.never": func(c *lead, s *said) error {
			return isSo(c.place(s) && !slices.ContainsFunc(c.j.Readings, func(r reading) bool { return r.Link == c.l.ID }))
		},
		"lead.no-loss": func(c *lead, s *said) error {
			return isSo(c.place(s) && len(c.j.losses(c.l.ID)) == 0 && len(c.j.counting(c.l.ID)) > 0)
		},
		"lead.both": func(c *lead, s *said) error { return c.ways(s, "A-B", "B-A") },
		"lead.one":  func(c *lead, s *said) error { return c.ways(s, s.text("way")) },
		"lead.pass": func(c *lead, s *said) error {
			if u := c.unbound(); len(u) > 0 {
				return untrue("no limit binds %v", u)
			}
			return c.passes(s)
		},
		"lead.pass-references": func(c *lead, s *said) error { return leads["lead.pass"](c, s) },
		"lead.pass-bound-references": func(c *lead, s *said) error {
			return leads["lead.pass-bound"](c, s)
		},
		"lead.pass-bound": func(c *lead, s *said) error {
			var said []string
			for _, v := range list(s.Args["unbound"]) {
				m, _ := v.(map[string]any)
				said = append(said, fmt.Sprint(m["quantity"], max(0, wholeOf(m["nm"]))))
			}
			if u := c.unbound(); len(u) == 0 || !sameSet(u, said) {
				return untrue("no limit binds %v", u)
			}
			return c.passes(s)
		},
		"lead.no-uncertainty": func(c *lead, s *said) error {
			n, all := c.without()
			return isSo(n == all && all > 0)
		},
		"lead.some-uncertainty": func(c *lead, s *said) error {
			n, all := c.without()
			if n != s.whole("n") || all != s.whole("all") {
				return untrue("it is %d of %d losses", n, all)
			}
			return nil
		},
		"lead.marginal-u": func(c *lead, s *said) error {
			f, err := c.smallest(s, func(f *said) bool { return f.finding["verdict"] == "marginal" })
			if err != nil {
				return err
			}
			u := new(big.Rat)
			for _, r := range f.cited {
				if v := c.j.uncertainty(r); v != nil && v.Cmp(u) > 0 {
					u = v
				}
			}
			return isSo(rounds(s.text("u"), u) && f.margin().Cmp(u) < 0)
		},
		"lead.marginal-band": func(c *lead, s *said) error {
			f, err := c.smallest(s, func(f *said) bool { return f.finding["verdict"] == "marginal" })
			if err != nil {
				return err
			}
			return isSo(c.j.Marginal != "" && same(s.decimal("band"), rat(c.j.Marginal)) && f.margin().Cmp(rat(c.j.Marginal)) < 0)
		},
		"lead.questions": func(c *lead, s *said) error {
			return c.questions(s)
		},
		"lead.fail-guard": func(c *lead, s *said) error {
			f, err := c.smallest(s, func(f *said) bool { return f.finding["verdict"] == "fail" && loss(f) })
			if err != nil {
				return err
			}
			return isSo(c.verdict == "fail" && f.margin().Sign() >= 0 && c.j.Decision == "guarded" && rounds(s.text("guard"), f.guard(c.j)) &&
				f.margin().Cmp(f.guard(c.j)) < 0 && s.decimal("margin").Cmp(s.decimal("guard")) < 0)
		},
		"lead.fail-other": func(c *lead, s *said) error {
			return isSo(c.verdict == "fail" && !slices.ContainsFunc(c.findings, func(f *said) bool { return f.finding["verdict"] == "fail" && loss(f) }))
		},
		"lead.missing": open(func(code string) bool {
			return strings.HasPrefix(code, "missing-") || code == "not-measured" || code == "not-judged" || strings.HasPrefix(code, "application.loss") || strings.HasPrefix(code, "application.average")
		}),
		"lead.unlimited": open(func(code string) bool {
			return code == "no-limit.which" || strings.HasPrefix(code, "application.no-figure") || code == "application.fibre"
		}),
		"lead.uncertain": open(func(code string) bool { return code == "no-uncertainty" }),
		"lead.unsettled": open(func(code string) bool {
			return code != "no-uncertainty" && code != "no-limit.which" && code != "not-measured" && code != "not-judged" && !strings.HasPrefix(code, "application.") && !strings.HasPrefix(code, "missing-")
		}),
		"lead.not-certified": func(c *lead, s *said) error { return isSo(c.verdict == "fail" || c.verdict == "incomplete") },

		"lead.job": func(c *lead, s *said) error {
			n, of := s.amount("scheduled")
			measured := 0
			for _, l := range c.j.Links {
				if len(c.j.counting(l.ID)) > 0 {
					measured++
				}
			}
			return isSo(n == len(c.j.Links) && of == "link" && s.whole("measured") == measured && s.whole("certified") == c.count("pass", "marginal"))
		},
		"lead.job-references": func(c *lead, s *said) error {
			if n := len(list(s.Args["methods"])); n != len(c.byReference()) || n == 0 {
				return untrue("there are %v", c.byReference())
			}
			return c.within(s)
		},
		"lead.by-reference": func(c *lead, s *said) error {
			return isSo(s.whole("n") > 0 && s.whole("n") == c.byReference()[s.text("reference")])
		},
		"lead.by-several": func(c *lead, s *said) error {
			return isSo(s.whole("n") > 0 && s.whole("n") == c.byReference()["several"])
		},
		"lead.job-sets": func(c *lead, s *said) error { return isSo(len(list(s.Args["sets"])) > 0) },
		"lead.set-all": func(c *lead, s *said) error {
			n, err := c.judgedBy(s)
			if err == nil && n != c.count("pass", "marginal") {
				err = untrue("it judged losses of %d", n)
			}
			return err
		},
		"lead.set-links": func(c *lead, s *said) error {
			n, err := c.judgedBy(s)
			if err == nil && (n != s.whole("n") || n == 0 || s.whole("all") != c.count("pass", "marginal")) {
				err = untrue("it judged losses of %d", n)
			}
			return err
		},
		"lead.job-marginal-u": func(c *lead, s *said) error {
			if n := c.count("marginal"); c.j.Marginal != "" || n != s.whole("n") {
				return untrue("%d are marginal", n)
			}
			return nil
		},
		"lead.job-marginal-band": func(c *lead, s *said) error {
			if n := c.count("marginal"); c.j.Marginal == "" || !same(s.decimal("band"), rat(c.j.Marginal)) || n != s.whole("n") {
				return untrue("%d are marginal", n)
			}
			return nil
		},
		"lead.job-all":        func(c *lead, s *said) error { return isSo(c.count("pass", "marginal") == len(c.j.Links) && !c.whole()) },
		"lead.job-failed":     func(c *lead, s *said) error { return isSo(s.whole("n") > 0 && c.count("fail") == s.whole("n")) },
		"lead.job-incomplete": func(c *lead, s *said) error { return isSo(s.whole("n") > 0 && c.count("incomplete") == s.whole("n")) },
		"lead.job-whole":      func(c *lead, s *said) error { return isSo(c.whole()) },
		"lead.job-questions": func(c *lead, s *said) error {
			return c.questions(s)
		},
		"lead.job-no-questions": func(c *lead, s *said) error {
			if all, _ := c.asked(); len(all) > 0 {
				return untrue("%d are asked, such as %s", len(all), all[0])
			}
			return nil
		},
		"lead.declared":         func(c *lead, s *said) error { return c.declared(s) },
		"lead.declared-undated": func(c *lead, s *said) error { return c.declared(s) },
		"lead.fail-shown":       failed("shown limit", true),
		"lead.fail-low-shown":   failed("shown least", true),
		"lead.fail-outside":     failed("shown both", true),
		"lead.fail-above":       failed("both over", false),
		"lead.fail-below":       failed("both short", false),
		"lead.fail":             failed("limit over", false),
		"lead.fail-low":         failed("least short", false),
		"retested":              func(c *lead, s *said) error { return c.retested(s, false) },
		"retested-shown":        func(c *lead, s *said) error { return c.retested(s, true) },
		"retested-note": func(c *lead, s *said) error {
			return isSo(slices.ContainsFunc(c.j.losses(c.l.ID), func(r *reading) bool {
				return s.text("note") != "" && strings.TrimRight(r.Note, ".") == s.text("note") && slices.ContainsFunc(c.j.Readings, func(o reading) bool {
					return o.Link == r.Link && o.of() == r.of() && o != *r
				})
			}))
		},
	}
}

// byReference counts the measured links by reference method.
func (c *lead) byReference() map[string]int {
	counts := map[string]int{}
	for i := range c.j.Links {
		l := &c.j.Links[i]
		if len(c.j.counting(l.ID)) == 0 {
			continue
		}
		if refs := c.j.references(l); len(refs) > 1 {
			counts["several"]++
		} else {
			counts[refs[0]]++
		}
	}
	return counts
}

func isSo(ok bool) error { return is(ok) }

func loss(f *said) bool {
	return f.finding["kind"] == "limit" && (f.finding["quantity"] == "insertion_loss" || f.finding["quantity"] == "two_way_average")
}

func (c *lead) place(s *said) bool {
	return s.text("link") == c.l.ID && s.text("from") == c.l.From && s.text("to") == c.l.To
}

// measured checks the sentence that says what was measured: the days, and that its
// ways name each wavelength with a loss once.
func measured(so func(c *lead, s *said, first, last string) bool) func(c *lead, s *said) error {
	return func(c *lead, s *said) error {
		first, last := "", ""
		for _, r := range c.j.counting(c.l.ID) {
			if d := day(r.Time); d != "" {
				if first == "" || d < first {
					first = d
				}
				last = max(last, d)
			}
		}
		if !c.place(s) || !so(c, s, first, last) {
			return untrue("it was measured from %s to %s", first, last)
		}
		var said, want []string
		for _, w := range list(s.Args["ways"]) {
			m, _ := w.(map[string]any)
			args, _ := m["args"].(map[string]any)
			for _, nm := range list(args["nm"]) {
				said = append(said, fmt.Sprint(nm))
			}
		}
		for _, r := range c.j.losses(c.l.ID) {
			want = append(want, fmt.Sprint(r.NM))
		}
		if slices.Sort(want); !slices.Equal(slices.Compact(want), slices.Sorted(slices.Values(said))) {
			return untrue("there are losses at %v", want)
		}
		return c.within(s)
	}
}

// within checks the statements in an argument.
func (c *lead) within(s *said) error {
	for _, v := range s.Args {
		for _, item := range list(v) {
			m, _ := item.(map[string]any)
			if m == nil || m["code"] == nil || m["code"] == "lead.set-some" { // which passes checks
				continue
			}
			in := &said{Code: m["code"].(string), link: c.l}
			in.Args, _ = m["args"].(map[string]any)
			if err := c.check(in); err != nil {
				return err
			}
		}
	}
	return nil
}

// ways checks that the losses at each of the wavelengths are of just these directions.
func (c *lead) ways(s *said, want ...string) error {
	nms := list(s.Args["nm"])
	for _, nm := range nms {
		var ways []string
		for _, r := range c.j.lossesAt(c.l, wholeOf(nm)) {
			ways = append(ways, r.Way)
		}
		if slices.Sort(ways); !slices.Equal(ways, want) {
			return untrue("at %v nm the directions are %v", nm, ways)
		}
	}
	return isSo(len(nms) > 0)
}

// unbound are the readings that no limit is held against.
func (c *lead) unbound() (out []string) {
	for _, r := range c.j.counting(c.l.ID) {
		bound := r.Quantity == "length"
		for _, f := range c.findings {
			bound = bound || f.finding["kind"] == "limit" && slices.Contains(f.cited, r)
		}
		if what := fmt.Sprint(r.Quantity, r.NM); !bound && !slices.Contains(out, what) {
			out = append(out, what)
		}
	}
	return out
}

func sameSet(a, b []string) bool {
	return slices.Equal(slices.Sorted(slices.Values(a)), slices.Sorted(slices.Values(b)))
}

// passes checks the sets that a link is said to pass: each judged a loss at each
// wavelength, or at those that are named, and no reading is out.
func (c *lead) passes(s *said) error {
	var named []string
	for _, v := range list(s.Args["references"]) {
		named = append(named, fmt.Sprint(v))
	}
	if one := s.text("reference"); one != "" {
		named = append(named, one)
	}
	if refs := c.j.references(c.l); c.verdict != "pass" && c.verdict != "marginal" || !sameSet(named, refs) || (len(refs) > 1) != strings.HasSuffix(s.Code, "-references") {
		return untrue("the verdict is %s, the references %v", c.verdict, refs)
	}
	sets := list(s.Args["sets"])
	if len(sets) == 0 {
		return untrue("no set is named")
	}
	for _, v := range sets {
		m, _ := v.(map[string]any)
		only := []any(nil)
		if m["code"] == "lead.set-some" {
			args, _ := m["args"].(map[string]any)
			m, _ = args["set"].(map[string]any)
			if only = list(args["nm"]); only == nil {
				return untrue("no wavelength is named")
			}
			seen("lead.set-some")
		}
		by := c.set(m)
		if by == nil {
			return untrue("no set of %v binds the link", m)
		}
		judged, all := map[int]bool{}, map[int]bool{}
		bound := false
		for _, r := range c.j.losses(c.l.ID) {
			all[r.NM] = true
			if (&said{link: c.l, finding: map[string]any{"quantity": "insertion_loss", "wavelength_nm": r.NM}}).limits(c.j, by) {
				judged[r.NM] = true
			}
		}
		for _, f := range c.findings {
			bound = bound || f.set() == by.ID
		}
		if len(judged) == 0 && bound && !c.lossJudged() {
			continue // no set judged a loss, and this one judged something else
		}
		if only != nil {
			if len(only) != len(judged) || len(judged) == len(all) {
				return untrue("%s judged losses at %v of %v", by.Standard, judged, all)
			}
			for _, nm := range only {
				if !judged[wholeOf(nm)] {
					return untrue("%s judged losses at %v", by.Standard, judged)
				}
			}
		} else if len(judged) == 0 || len(judged) != len(all) && !by.Application {
			return untrue("%s judged losses at %v of %v", by.Standard, judged, all)
		}
	}
	return nil
}

// lossJudged reports whether a set that is no application judged a loss.
func (c *lead) lossJudged() bool {
	return slices.ContainsFunc(c.findings, func(f *said) bool { return loss(f) && !c.j.set(f.set()).Application })
}

// set is the one of a standard and edition, of those that bind.
func (c *lead) set(m map[string]any) *set {
	for i := range c.j.Sets {
		by := &c.j.Sets[i]
		if by.Standard == m["standard"] && by.Edition == m["edition"] && (c.l == nil || slices.Contains(c.j.sets(c.l), by)) {
			return by
		}
	}
	return nil
}

// without counts the losses of no known uncertainty, and all that a limit binds.
func (c *lead) without() (n, all int) {
	for _, r := range c.j.losses(c.l.ID) {
		if !slices.ContainsFunc(c.findings, func(f *said) bool { return loss(f) && slices.Contains(f.cited, r) }) {
			continue
		}
		if all++; c.j.uncertainty(r) == nil {
			n++
		}
	}
	return n, all
}

// smallest is the finding that a statement names, which must be that with the
// smallest margin of its kind.
func (c *lead) smallest(s *said, of func(f *said) bool) (*said, error) {
	m, _ := s.Args["subject"].(map[string]any)
	var least, it *said
	for _, f := range c.findings {
		if f.finding["kind"] != "limit" || f.finding["unit"] != "dB" || !of(f) {
			continue
		}
		if least == nil || f.margin().Cmp(least.margin()) < 0 {
			least = f
		}
		if of(f) && f.finding["quantity"] == m["quantity"] && max(0, wholeOf(f.finding["wavelength_nm"])) == max(0, wholeOf(m["nm"])) && (m["way"] == nil || f.finding["direction"] == m["way"]) &&
			(it == nil || f.margin().Cmp(it.margin()) < 0) {
			it = f
		}
	}
	switch {
	case it == nil:
		return nil, untrue("there is no such finding of %v", m)
	case it.margin().Cmp(least.margin()) > 0:
		return nil, untrue("the margin of %v at %v nm, %v, is smaller: %s dB", least.finding["quantity"], least.finding["wavelength_nm"], least.finding["direction"], least.finding["margin"])
	case s.Args["margin"] != nil && !rounds(s.text("margin"), it.margin()):
		return nil, untrue("the margin is %s", it.finding["margin"])
	}
	return it, nil
}

// rounds reports whether a text is a number as it is printed with so many digits:
// rounded half away from zero.
func rounds(text string, exact *big.Rat) bool {
	_, behind, _ := strings.Cut(text, ".")
	return text != "" && exact != nil && same(rat(text), rat(exact.FloatString(len(behind))))
}

// open is that a finding of such a question makes the link incomplete.
func open(of func(code string) bool) func(c *lead, s *said) error {
	return func(c *lead, s *said) error {
		return isSo(c.verdict == "incomplete" && slices.ContainsFunc(c.findings, func(f *said) bool {
			q, _ := f.finding["question"].(map[string]any)
			code, _ := q["code"].(string)
			return f.finding["verdict"] == "incomplete" && of(code)
		}))
	}
}

// low reports whether a finding is about the least that is needed.
func (s *said) low(j *job) bool {
	q, _ := s.finding["quantity"].(string)
	low, high := j.bounds(j.set(s.set()), s.link, q, wholeOf(s.finding["wavelength_nm"]))
	return low != nil && same(low, s.number("limit")) && (high == nil || !same(high, low))
}

// failed checks the sentence about the reading that is out by most: that it names the
// limit that is missed, both sides where there are two, and by how much.
func failed(says string, shown bool) func(c *lead, s *said) error {
	return func(c *lead, s *said) error {
		f, err := c.smallest(s, func(f *said) bool { return f.finding["verdict"] == "fail" && loss(f) })
		if err != nil {
			return err
		}
		q, _ := f.finding["quantity"].(string)
		low, high := c.j.bounds(c.j.set(f.set()), c.l, q, wholeOf(f.finding["wavelength_nm"]))
		off := new(big.Rat).Neg(f.margin())
		if c.verdict != "fail" || off.Sign() <= 0 || f.bare() == shown {
			return untrue("no number is out, or it is none")
		}
		if shown && (len(f.cited) != 1 || f.cited[0].Shown != s.text("shown")) || !shown && !rounds(s.text("measured"), f.number("measured")) {
			return untrue("it is %v", f.finding["measured"])
		}
		for _, part := range strings.Fields(says) {
			ok := true
			switch part {
			case "limit":
				ok = low == nil && rounds(s.text("limit"), high)
			case "least":
				ok = high == nil && rounds(s.text("limit"), low)
			case "both":
				ok = low != nil && high != nil && rounds(s.text("least"), low) && rounds(s.text("limit"), high)
			case "over":
				ok = !f.low(c.j) && rounds(s.text("over"), off) && same(sub(s.decimal("measured"), s.decimal("limit")), s.decimal("over"))
			case "short":
				least := "limit"
				if s.Args["least"] != nil {
					least = "least"
				}
				ok = f.low(c.j) && rounds(s.text("short"), off) && same(sub(s.decimal(least), s.decimal("measured")), s.decimal("short"))
			}
			if !ok {
				return untrue("%s: %v to %v is allowed, out by %s", part, low, high, off.FloatString(4))
			}
		}
		return nil
	}
}

// bare reports whether the finding rests on numbers alone.
func (s *said) bare() bool {
	return !slices.ContainsFunc(s.cited, func(r *reading) bool { return r.Shown != "" })
}

// questions checks how many are asked and answered.
func (c *lead) questions(s *said) error {
	all, answered := c.asked()
	if len(all) == 0 || len(all) != s.whole("n") || answered != s.whole("answered") {
		return untrue("%d are asked, and %d are answered", len(all), answered)
	}
	return nil
}

// declared checks what the job says of a file that it changed.
func (c *lead) declared(s *said) error {
	return isSo(slices.ContainsFunc(c.j.Declared, func(d declared) bool {
		return d.File == s.text("file") && c.j.nameOf(d.By) == s.text("by") && d.Because == s.text("because") && d.On == s.text("day") && sum(c.j.file(d.File)) != d.Was
	}))
}

// retested checks that an earlier reading was over a limit that binds the link, and
// that the one that counts is within every limit.
func (c *lead) retested(s *said, shown bool) error {
	m, _ := s.Args["subject"].(map[string]any)
	now := find(c.j.losses(c.l.ID), func(r *reading) bool { return r.NM == wholeOf(m["nm"]) && r.Way == m["way"] })
	if now == nil || now.Shown != "" || !rounds(s.text("now"), rat(now.Value)) {
		return untrue("no such reading counts now")
	}
	for _, f := range c.findings {
		if f.finding["kind"] == "limit" && len(f.cited) == 1 && f.cited[0] == now && f.finding["verdict"] != "pass" && f.finding["verdict"] != "marginal" {
			return untrue("it does not pass now")
		}
	}
	return isSo(slices.ContainsFunc(c.j.Readings, func(r reading) bool {
		if r.Link != c.l.ID || r.of() != now.of() || r == *now || (r.Shown != "") != shown {
			return false
		}
		if then := s.text("then"); shown && r.Shown != then || !shown && !rounds(then, rat(r.Value)) {
			return false
		}
		return slices.ContainsFunc(c.j.sets(c.l), func(by *set) bool {
			_, limit := c.j.bounds(by, c.l, "insertion_loss", now.NM)
			return limit != nil && rat(r.Value).Cmp(limit) > 0 && rounds(s.text("limit"), limit) && !(by.Application && by.Average)
		})
	}))
}

// asked are the different questions of the link, or of all links and the job, and how
// many of them are answered wherever they are asked.
func (c *lead) asked() (out []string, answered int) {
	open := map[string]bool{}
	add := func(l *link, findings []any) {
		for _, f := range findings {
			f := f.(map[string]any)
			q, _ := f["question"].(map[string]any)
			if f["kind"] == "limit" || q == nil { // a limit that is missed is no question
				continue
			}
			key := fmt.Sprint(q["code"], q["args"])
			if !slices.Contains(out, key) {
				out = append(out, key)
			}
			open[key] = open[key] || c.j.answerTo(l, f) == nil
		}
	}
	for id, l := range c.is.links {
		if c.l == nil || c.l.ID == id {
			add(c.j.link(id), list(l["findings"]))
		}
	}
	if c.l == nil {
		add(nil, list(c.is.results["questions"]))
	}
	for _, key := range out {
		if !open[key] {
			answered++
		}
	}
	return out, answered
}

// count is how many links have one of the verdicts.
func (c *lead) count(verdicts ...string) (n int) {
	for _, l := range c.is.links {
		if slices.Contains(verdicts, l["verdict"].(string)) {
			n++
		}
	}
	return n
}

// whole reports whether something about the job as a whole is open.
func (c *lead) whole() bool {
	return slices.ContainsFunc(list(c.is.results["questions"]), func(f any) bool {
		v := f.(map[string]any)["verdict"]
		return v == "fail" || v == "incomplete"
	})
}

// judgedBy counts the certified links of which the set judged a loss.
func (c *lead) judgedBy(s *said) (n int, err error) {
	m, _ := s.Args["set"].(map[string]any)
	by := c.set(m)
	if by == nil {
		return 0, untrue("no set is %v", m)
	}
	for i := range c.j.Links {
		l := &c.j.Links[i]
		if v := c.is.links[l.ID]["verdict"]; v != "pass" && v != "marginal" || !slices.Contains(c.j.sets(l), by) {
			continue
		}
		if slices.ContainsFunc(c.j.losses(l.ID), func(r *reading) bool {
			return (&said{link: l, finding: map[string]any{"quantity": "insertion_loss", "wavelength_nm": r.NM}}).limits(c.j, by)
		}) {
			n++
		}
	}
	return n, nil
}

// check checks one leading sentence.
func (c *lead) check(s *said) error {
	so := leads[s.Code]
	if so == nil {
		return untrue("no checker of %q", s.Code)
	}
	err := so(c, s)
	if err == nil {
		err = c.within(s)
	}
	if err == nil && s.Text != "" {
		err = sayings(s)
	}
	if err != nil {
		return fmt.Errorf("%s %v %q: %w", s.Code, s.Args, s.Text, err)
	}
	seen(s.Code)
	return nil
}

// all checks the sentences that lead a paper, of which there must be some.
func (c *lead) all(statements []any) error {
	var errs []error
	if len(statements) == 0 {
		errs = append(errs, errors.New("nothing leads the paper"))
	}
	for _, raw := range statements {
		m := raw.(map[string]any)
		s := &said{link: c.l}
		s.Code, _ = m["code"].(string)
		s.Args, _ = m["args"].(map[string]any)
		s.Text, _ = m["text"].(string)
		errs = append(errs, c.check(s))
	}
	return errors.Join(errs...)
}
