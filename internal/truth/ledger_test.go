package truth

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
)

// rule is one limit of a set as its file has it.
type rule struct {
	set          *set
	id, quantity string
}

// rules are the limits of a set, in the order of its file.
func (s *set) rules() (out []rule) {
	if s.Application {
		q := "insertion_loss"
		if s.Average {
			q = "two_way_average"
		}
		out = append(out, rule{s, "channel", q})
		if s.Reach != "" {
			out = append(out, rule{s, "reach", "length"})
		}
		if s.ORL != "" {
			out = append(out, rule{s, "orl", "optical_return_loss"})
		}
	} else {
		out = append(out, rule{s, "loss", "insertion_loss"}, rule{s, "splice", "splice_loss"})
		if s.Mean != "" {
			out = append(out, rule{s, "mean", "group_mean"})
		}
		if s.Percent != "" {
			out = append(out, rule{s, "part", "group_percentile"})
		}
	}
	if len(s.Reflectance) > 0 {
		out = append(out, rule{s, "reflectance", "reflectance"})
	}
	return out
}

// excused is who agreed that what a rule is about need not be measured.
func (j *job) excused(r rule, l *link) *agreed {
	for i := range j.Optional {
		o := &j.Optional[i]
		if (o.Set == "" || o.Set == r.set.ID) && (o.Limit == "" || o.Limit == r.id) && (o.Quantity == "" || o.Quantity == r.quantity) &&
			(len(o.Links) == 0 || slices.Contains(o.Links, l.ID)) {
			return o
		}
	}
	return nil
}

// splicesAt counts the splices that are measured at a wavelength as the job asks:
// both ways, unless one is enough.
func (j *job) splicesAt(l *link, nm int) int {
	ways := map[string]string{}
	for _, r := range j.counting(l.ID) {
		if r.Quantity == "splice_loss" && r.NM == nm {
			ways[r.Event] += r.Way
		}
	}
	n := 0
	for _, w := range ways {
		if w == "" || len(w) == len("A-BB-A") || j.oneWay(l) {
			n++
		}
	}
	return n
}

// connectors counts the ends of the schedule that have one.
func connectors(l *link) (n int) {
	for _, end := range []string{l.EndA, l.EndB} {
		if end != "none" {
			n++
		}
	}
	return n
}

// spliceRecords counts the splices of the span that are on record: as terminations,
// or as readings at one wavelength.
func (j *job) spliceRecords(l *link) int {
	n := len(j.terminationsAt(l, "splice"))
	for _, r := range j.counting(l.ID) {
		if r.Quantity == "splice_loss" {
			n = max(n, j.splicesAt(l, r.NM))
		}
	}
	return n
}

// loosened checks that a loss is within a limit by the schedule, and not by the record
// as which the link is described otherwise.
func (j *job) loosened(s *said, measured, limit *big.Rat, as func(l *link)) error {
	other := *s.link
	as(&other)
	subject, _ := s.Args["subject"].(map[string]any)
	nm := wholeOf(subject["nm"])
	sum := new(big.Rat)
	for _, r := range s.cited {
		if r.Quantity != "insertion_loss" || r.NM != nm || r.Link != s.link.ID {
			return untrue("it rests on another reading")
		}
		sum = add(sum, rat(r.Value))
	}
	if len(s.cited) == 0 || !same(measured, mul(sum, big.NewRat(1, int64(len(s.cited))))) {
		return untrue("the loss is not %v", measured)
	}
	least := new(big.Rat)
	if j.Decision == "guarded" {
		least = s.guard(j)
	}
	for _, by := range j.sets(s.link) {
		was, is := j.allowed(by, s.link, nm), j.allowed(by, &other, nm)
		if was != nil && is != nil && same(is, limit) && sub(was, measured).Cmp(least) >= 0 && sub(is, measured).Cmp(least) < 0 {
			return nil
		}
	}
	return untrue("no set has such a limit")
}

// became works out from the input files alone what must have become of a rule, and
// the code of the reason.
func (j *job) became(r rule, l *link) (state, reason string) {
	mode := modeOf(l.Fibre)
	required := j.Wavelengths[mode]
	optional := func(judged bool) (string, string) {
		switch {
		case judged && j.excused(r, l) != nil:
			return "judged", "optional.agreed"
		case j.excused(r, l) != nil:
			return "optional", "optional.agreed"
		case (r.quantity == "reflectance" || r.quantity == "optical_return_loss") && j.Reflectance == "optional":
			return "optional", "optional.reflectance"
		}
		return "", ""
	}
	switch r.quantity {
	case "group_mean", "group_percentile":
		return "not_applicable", "unjudged.job"
	case "insertion_loss", "two_way_average":
		for _, x := range j.losses(l.ID) {
			if j.allowed(r.set, l, x.NM) == nil {
				continue
			}
			if r.quantity == "insertion_loss" || bothWays(j.lossesAt(l, x.NM)) {
				return "judged", ""
			}
		}
		about := []string{"singlemode", "multimode"}
		if r.set.Application {
			about = r.set.Modes
		} else if r.set.Only != "" {
			about = []string{r.set.Only}
		}
		if !slices.Contains(about, mode) {
			return "not_applicable", "unjudged.fibre"
		}
		figure := false
		if r.set.Application {
			figure = r.set.Bare || r.set.channel(l.Fibre) != nil
		} else {
			figure = slices.ContainsFunc(required, func(nm int) bool { return r.set.cable(l.Fibre, nm) != nil })
		}
		if !figure {
			return "not_applicable", "unjudged.figure"
		}
		if state, reason := optional(false); state != "" {
			return state, reason
		}
		if r.set.Application && !r.set.any() {
			return "open", "open.unread-at"
		}
		return "open", "open.unread"
	case "length": // that of the schedule, where none was measured
		return "judged", ""
	case "optical_return_loss":
		if find(j.counting(l.ID), func(x *reading) bool { return x.Quantity == r.quantity }) != nil {
			return "judged", ""
		}
		if state, reason := optional(false); state != "" {
			return state, reason
		}
		return "open", "open.unread"
	case "splice_loss":
		judged := slices.ContainsFunc(j.counting(l.ID), func(x *reading) bool { return x.Quantity == "splice_loss" && j.splicesAt(l, x.NM) > 0 })
		if !judged && l.Splices == 0 {
			return "not_applicable", "unjudged.no-splice"
		}
		if slices.ContainsFunc(required, func(nm int) bool { return j.splicesAt(l, nm) < l.Splices }) {
			if state, reason := optional(judged); state != "" {
				return state, reason
			}
			return "open", "open.splices"
		}
		return "judged", ""
	}
	ends := ""
	for _, x := range j.counting(l.ID) {
		if x.Quantity == "reflectance" && r.set.reflectance(mode) != nil && !strings.Contains(ends, x.Way[:1]) {
			ends += x.Way[:1]
		}
	}
	switch {
	case ends == "" && l.Pairs == 0:
		return "not_applicable", "unjudged.no-connection"
	case ends == "" && r.set.reflectance(mode) == nil:
		return "not_applicable", "unjudged.figure"
	case len(ends) == 2, ends != "" && j.oneWay(l), ends != "" && j.Reflectance == "optional" && j.excused(r, l) == nil:
		return "judged", ""
	}
	if state, reason := optional(ends != ""); state != "" {
		return state, reason
	}
	if ends != "" {
		return "open", "open.end"
	}
	return "open", "open.unread"
}

// ledger compares the ledger of a record with what must have become of each rule.
func (j *job) ledger(l *link, rec map[string]any, workings []any, verdict string) error {
	judged := map[string]bool{}
	for _, w := range workings {
		w := w.(map[string]any)
		judged[fmt.Sprint(w["set"], "/", w["limit_id"])] = true
	}
	var rules []rule
	for _, s := range j.sets(l) {
		rules = append(rules, s.rules()...)
	}
	entries := list(rec["ledger"])
	if len(entries) != len(rules) {
		return untrue("%d limits bind, and the ledger has %d", len(rules), len(entries))
	}
	for i, r := range rules {
		e := entries[i].(map[string]any)
		name := r.set.ID + "/" + r.id
		if e["set"] != r.set.ID || e["limit"] != r.id || e["quantity"] != r.quantity {
			return untrue("limit %d of the ledger is %v, not %s", i, e, name)
		}
		code := ""
		if m, ok := e["reason"].(map[string]any); ok {
			code, _ = m["code"].(string)
			if err := j.told(&said{link: l, finding: e}, m); err != nil {
				return fmt.Errorf("ledger, %s: %w", name, err)
			}
		}
		if state, reason := j.became(r, l); e["state"] != state || code != reason {
			return untrue("%s is %v %s in the ledger, and %s %s follows", name, e["state"], code, state, reason)
		}
		// Of what is open, a part may have been judged.
		if part := code == "open.splices" || code == "open.end"; (e["state"] == "judged") != judged[name] && !part {
			return untrue("%s is %v, and whether it has a finding is %v", name, e["state"], judged[name])
		}
		if e["state"] == "open" && verdict != "incomplete" && verdict != "fail" {
			return untrue("%s is open, and the verdict is %s", name, verdict)
		}
		seen("ledger " + fmt.Sprint(e["state"]))
	}
	return nil
}

// tallies compares the counts of results.json with the ledgers of all records.
func (j *job) tallies(is *issued) error {
	counts := map[string]map[string]int{}
	add := func(e map[string]any) {
		if m, _ := e["reason"].(map[string]any); m == nil || m["code"] != "unjudged.job" {
			counts[e["set"].(string)][e["state"].(string)]++
		}
	}
	for _, l := range j.Links {
		binds := map[string]bool{}
		for _, e := range list(is.records[l.ID]["ledger"]) {
			e := e.(map[string]any)
			set := e["set"].(string)
			if counts[set] == nil {
				counts[set] = map[string]int{}
			}
			if !binds[set] {
				counts[set]["links"]++
			}
			binds[set] = true
			add(e)
		}
	}
	for _, e := range list(is.results["together"]) {
		e := e.(map[string]any)
		add(e)
		s := j.set(e["set"].(string))
		if s == nil || !slices.Contains(j.Limits, s.Path) || !(e["limit"] == "mean" && s.Mean != "" || e["limit"] == "part" && s.Percent != "") {
			return untrue("no such limit is about the whole job: %v", e)
		}
		found, unshown := false, false
		for _, f := range list(is.results["questions"]) {
			m := f.(map[string]any)
			question, _ := m["question"].(map[string]any)
			args, _ := question["args"].(map[string]any)
			found = found || m["kind"] == "limit" && m["set"] == s.ID && m["quantity"] == e["quantity"]
			unshown = unshown || m["code"] == "not-shown" && e["limit"] == "part" && args["set"] == s.ID
		}
		if judged := e["state"] == "judged"; judged != (found && !unshown) {
			return untrue("%v, and whether it has a finding is %v, one that shows nothing %v", e, found, unshown)
		}
	}
	tallies := list(is.results["ledger"])
	if len(tallies) != len(counts) {
		return untrue("%d sets bind links, and %d are counted", len(counts), len(tallies))
	}
	for _, t := range tallies {
		t := t.(map[string]any)
		for _, name := range []string{"links", "judged", "not_applicable", "optional", "open"} {
			if n := counts[t["set"].(string)][name]; max(0, wholeOf(t[name])) != n {
				return untrue("of set %v, %s is %v, and %d are", t["set"], name, t[name], n)
			}
		}
	}
	return nil
}

// ruleOf is the rule that an entry of the ledger, or a finding of one, is about.
func (s *said) ruleOf(j *job) (r rule, ok bool) {
	for _, by := range j.sets(s.link) {
		for _, r := range by.rules() {
			if by.ID == s.finding["set"] && r.id == s.finding["limit"] {
				return r, true
			}
		}
	}
	return rule{}, false
}

// because checks that the reason is the one that follows, and what it says beside.
func because(so func(j *job, s *said, r rule) bool) checker {
	return func(j *job, s *said) error {
		r, ok := s.ruleOf(j)
		if !ok {
			return untrue("no such limit binds the link")
		}
		if _, reason := j.became(r, s.link); reason != s.Code {
			return untrue("%s follows", reason)
		}
		return is(so == nil || so(j, s, r))
	}
}

func sameQuantity(j *job, s *said, r rule) bool { return s.text("quantity") == r.quantity }

// notJudged checks the question about a limit that is open.
func notJudged(j *job, s *said) error {
	m, _ := s.Args["reason"].(map[string]any)
	if s.link == nil { // the mean of all connections, of which no loss was measured
		by := j.set(s.text("set"))
		for i := range j.Links {
			l := &j.Links[i]
			for _, r := range j.losses(l.ID) {
				beyond := func(r *reading) bool { return r.Shown != "" }
				if j.inside(l, r.NM) > 0 && !slices.ContainsFunc(j.lossesAt(l, r.NM), beyond) {
					return untrue("losses of %s have connections inside", l.ID)
				}
			}
		}
		return is(by != nil && (by.Mean != "" && s.text("limit") == "mean" || by.Percent != "" && s.text("limit") == "part") && m["code"] == "open.unread")
	}
	in := &said{link: s.link, finding: map[string]any{"set": s.text("set"), "limit": s.text("limit")}}
	in.Code, _ = m["code"].(string)
	in.Args, _ = m["args"].(map[string]any)
	check := ledgerCheckers[in.Code]
	if check == nil || !strings.HasPrefix(in.Code, "open.") {
		return untrue("%q is no reason for it", in.Code)
	}
	return check(j, in)
}

// ledgerCheckers are those of reasons.
var ledgerCheckers = map[string]checker{
	"set-idle": func(j *job, s *said) error {
		n := 0
		for i := range j.Links {
			l := &j.Links[i]
			for _, by := range j.sets(l) {
				if by.ID != s.text("set") {
					continue
				}
				n++
				for _, r := range by.rules() {
					if state, _ := j.became(r, l); state == "judged" {
						return untrue("%s of it is judged on %s", r.id, l.ID)
					}
				}
			}
		}
		links, of := s.amount("links")
		return is(n > 0 && n == links && of == "link" && len(list(s.Args["reasons"])) > 0)
	},
	"open.unread": because(sameQuantity),
	"open.unread-at": because(func(j *job, s *said, r rule) bool {
		nm := list(s.Args["nm"])
		span, _ := append(nm, nil)[0].(map[string]any)
		return sameQuantity(j, s, r) && len(nm) == 1 && wholeOf(span["from"]) == r.set.From && wholeOf(span["to"]) == r.set.To
	}),
	"open.end": because(func(j *job, s *said, r rule) bool {
		return sameQuantity(j, s, r) && find(j.counting(s.link.ID), func(x *reading) bool { return x.Quantity == "reflectance" && x.Way[:1] == s.text("end") }) == nil
	}),
	"open.splices": because(func(j *job, s *said, r rule) bool {
		of, what := s.amount("splices")
		return what == "splice" && of == s.link.Splices && s.whole("n") == j.splicesAt(s.link, s.whole("nm")) && s.whole("n") < of &&
			slices.Contains(j.Wavelengths[modeOf(s.link.Fibre)], s.whole("nm"))
	}),
	"unjudged.fibre":         because(func(j *job, s *said, r rule) bool { return s.text("fibre") == s.link.Fibre }),
	"unjudged.no-splice":     because(nil),
	"unjudged.no-connection": because(nil),
	"unjudged.job":           because(nil),
	"unjudged.figure": because(func(j *job, s *said, r rule) bool {
		value := map[string]string{"loss": "cable", "channel": "channel_loss", "reflectance": "discrete_reflectance"}[r.id]
		return s.text("fibre") == s.link.Fibre && s.text("value") == value
	}),
	"optional.reflectance": because(nil),
	"optional.agreed": because(func(j *job, s *said, r rule) bool {
		o := j.excused(r, s.link)
		return o != nil && s.text("by") == o.By && s.text("reason") == o.Reason
	}),
}
