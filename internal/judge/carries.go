package judge

import (
	"cmp"
	"slices"
	"strings"

	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// carries says of every application that the link must carry whether it does,
// and lists the others that it would: those that it would be within were they
// required.
func (j *linkJudge) carries(subjects []subject) {
	extremes := j.slots(subjects)
	all := j.trials(extremes)
	within, required := make([]byte, len(all), 256), false
	for i := range all {
		t := &all[i]
		switch {
		case slices.ContainsFunc(j.sets, func(s bound) bool { return s.Set == t.set }):
			required = true
		case t.within(extremes):
			within[i] = 1
			if t.judgesLength(extremes) {
				within[i] |= 2
			}
			if j.engineered(t.set) != nil {
				within[i] |= 4
			}
		}
	}
	// Links that carry the same share one list.
	list, ok := j.lists[string(within)]
	if !ok {
		for i, yes := range within {
			if yes != 0 {
				c := Carries{ID: all[i].set.ID, Title: all[i].set.Title, Within: true, LengthJudged: yes&2 != 0}
				if yes&4 != 0 {
					c.EngineeredBeyond = j.engineered(all[i].set)
				}
				list = append(list, c)
			}
		}
		j.lists[string(within)] = list
	}
	if !required {
		j.out.Carries = list
		return
	}
	j.out.Carries = append(j.mustCarry(all, extremes), list...)
}

// mustCarry judges the applications that the link must carry.
func (j *linkJudge) mustCarry(all []trial, extremes []extreme) (out []Carries) {
	for _, s := range j.sets {
		i := slices.IndexFunc(all, func(t trial) bool { return t.set == s.Set })
		if i < 0 {
			continue
		}
		t := &all[i]
		c := Carries{ID: t.set.ID, Title: t.set.Title, Required: true, Within: t.unmet.IsZero(), LengthJudged: t.judgesLength(extremes), EngineeredBeyond: j.engineered(t.set)}
		if !t.unmet.IsZero() {
			f := Finding{Matter: &Matter{Kind: KindRequired, Code: "application", Question: t.unmet}, Verdict: Incomplete, Probability: -1}
			j.out.Findings = append(j.out.Findings, f)
			c.Findings = append(c.Findings, f)
		}
		for i := range j.out.Findings {
			if f := &j.out.Findings[i]; f.Working != nil && f.Working.SetID == t.set.ID {
				c.Findings = append(c.Findings, *f)
				c.Within = c.Within && f.Verdict.Certifiable()
			}
		}
		out = append(out, c)
	}
	return out
}

// engineeredBeyond names the value of a set beyond which links are engineered.
const engineeredBeyond = "engineered_beyond"

// engineered is the length beyond which links of an application are engineered, where
// the link is longer; else nil.
func (j *linkJudge) engineered(set *limits.Set) *quantity.Decimal {
	v := set.Value(engineeredBeyond, &j.at)
	if v == nil || !v.Number.Less(j.link.Length) {
		return nil
	}
	return &v.Number
}

// ApplicationNotes says what the limits of applications do not: that cords share the
// budget, which connections lie outside the measurement, and which links are
// engineered. It says nothing where no application is named.
func ApplicationNotes(p *record.Policy, l *LinkResult) (out []statement.Statement) {
	var beyond []*quantity.Decimal
	named := map[string]statement.List{}
	carried := false
	for i := range l.Carries {
		c := &l.Carries[i]
		carried = carried || c.Required || c.Within
		if e := c.EngineeredBeyond; e != nil && (c.Required || c.Within) {
			if named[e.Short()] == nil {
				beyond = append(beyond, e)
			}
			named[e.Short()] = append(named[e.Short()], statement.Name(c.Title))
		}
	}
	if !carried {
		return nil
	}
	out = append(out, statement.New("application-note.cords"))
	for _, reference := range References(p, l.Link, l.Readings) {
		if n := l.Link.MatedPairs - Counted(reference, l.Link); n > 0 {
			out = append(out, statement.New("application-note.ends", statement.Count(n), statement.Word{Group: "reference", Code: string(reference)}))
		}
	}
	for _, e := range beyond {
		out = append(out, statement.New("application-note.engineered", named[e.Short()], statement.Short(quantity.Kilometres(*e))))
	}
	return out
}

// slots sorts what there is to judge into slots.
func (j *linkJudge) slots(subjects []subject) []extreme {
	out := j.extremes[:0]
	for i := range subjects {
		s := &subjects[i]
		e := extreme{slot{s.quantity, s.wavelength, endOf(s.quantity, s.direction), s.way}, *s.value, *s.value, false}
		if s.quantity == record.ReturnLoss {
			e.quantity, e.most = record.Reflectance, s.value.Neg()
			e.least = e.most
		}
		if j.policy.Decision == "guarded" {
			if s.u != nil {
				w := j.guardFactor().Mul(*s.u)
				e.least, e.most = e.least.Sub(w), e.most.Add(w)
			}
			e.unsure = s.u == nil && losses[s.quantity]
		}
		k := slices.IndexFunc(out, func(o extreme) bool { return o.slot == e.slot })
		if k < 0 {
			out = append(out, e)
			continue
		}
		o := &out[k]
		if e.least.Less(o.least) {
			o.least = e.least
		}
		if o.most.Less(e.most) {
			o.most = e.most
		}
		o.unsure = o.unsure || e.unsure
	}
	j.extremes = out
	return out
}

// applications lists them by standard and speed, as a person would.
func applications(book *limits.Book) []*limits.Set {
	var out []*limits.Set
	for _, s := range book.All() {
		if s.Kind == limits.Application {
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(x, y *limits.Set) int {
		return cmp.Or(strings.Compare(x.Standard, y.Standard), cmp.Compare(speed(x.Title), speed(y.Title)), strings.Compare(x.Title, y.Title))
	})
	return out
}

// speed reads the rate that a title begins with, in Mbit/s: 100 of 100BASE-FX,
// 25000 of 25GBASE-LR, 16000 of 16GFC. It is 0 where there is none.
func speed(title string) int {
	n, i := 0, 0
	for i < len(title) && title[i] >= '0' && title[i] <= '9' && i < 6 {
		n = 10*n + int(title[i]-'0')
		i++
	}
	if i < len(title) && title[i] == 'G' {
		n *= 1000
	}
	return n
}
