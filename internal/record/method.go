package record

import (
	"slices"
	"strconv"
	"strings"

	"spanseal/internal/quantity"
)

// Method is how a reading was made. What nobody said is zero; what a link or a file
// says may leave the rest to the job.
type Method struct {
	Reference ReferenceMethod `json:"reference,omitempty"`
	TestCords TestCords       `json:"test_cords,omitempty"`
	Launch    string          `json:"launch,omitempty"`   // [EncircledFlux], or in words
	Stage     Stage           `json:"stage,omitempty"`    // "": that which the papers are of
	Software  string          `json:"software,omitempty"` // of the instrument, with its version
	// GroupIndex is the group index of refraction that the instrument was set to.
	GroupIndex *quantity.Decimal `json:"group_index,omitempty"`
}

// EncircledFlux is the launch of IEC 61280-4-1.
const EncircledFlux = "encircled flux"

// Over lays what is said in a narrower place over what is said in a wider one.
func (m Method) Over(wide Method) Method {
	if m.Reference == "" {
		m.Reference = wide.Reference
	}
	if m.TestCords == "" {
		m.TestCords = wide.TestCords
	}
	if m.Launch == "" {
		m.Launch = wide.Launch
	}
	if m.Stage == "" {
		m.Stage = wide.Stage
	}
	if m.Software == "" {
		m.Software = wide.Software
	}
	if m.GroupIndex == nil {
		m.GroupIndex = wide.GroupIndex
	}
	return m
}

// Key tells methods apart.
func (m Method) Key() string {
	index := ""
	if m.GroupIndex != nil {
		index = m.GroupIndex.String()
	}
	return strings.Join([]string{string(m.Reference), string(m.TestCords), string(m.Stage), index, strconv.Quote(m.Launch), strconv.Quote(m.Software)}, " ")
}

// Method is that of the job, for whatever has none of its own.
func (p *Policy) Method() Method {
	return Method{Reference: p.Reference, TestCords: p.TestCords, Launch: p.Launch, Software: p.Software, GroupIndex: p.GroupIndex}
}

// MethodOf is how a reading was made.
func (p *Policy) MethodOf(r *Reading) Method {
	if r.Method != nil {
		return *r.Method
	}
	return p.Method()
}

// MethodFor is how a link is to be measured, for what no reading says.
func (p *Policy) MethodFor(l *Link) Method {
	if l.Terms != nil && l.Terms.Method != nil {
		return l.Terms.Method.Over(p.Method())
	}
	return p.Method()
}

// Stage is when in the work a reading was made.
type Stage string

const (
	Shipped Stage = "shipped" // by the maker, as the shipping record has it
	OnReel  Stage = "reel"    // as delivered, before placing
	Placed  Stage = "placed"
	Spliced Stage = "spliced"
	Final   Stage = "final"
)

// Stages are in the order of the work.
var Stages = []Stage{Shipped, OnReel, Placed, Spliced, Final}

// StageFor is the stage that the paper of a link is of, and at which it is judged:
// that which the schedule or the job names by its code, else the final one. What they
// say in words of their own is printed and nothing more.
func (j *Job) StageFor(l *Link) Stage {
	for _, text := range []string{l.Stage, j.Stage} {
		if text == "" {
			continue
		}
		if s := Stage(text); slices.Contains(Stages, s) {
			return s
		}
		break
	}
	return Final
}

// Terms are what of one link departs from the job.
type Terms struct {
	Method *Method `json:"method,omitempty"`
	// Witness watched this link being measured.
	Witness string `json:"witness,omitempty"`
	// NotAt are the reasons for which the link need not be measured at a wavelength, nm.
	NotAt map[int]string `json:"exempt_wavelengths,omitempty"`
}

// ExemptAt is the stated reason for not measuring a link at a wavelength.
func (l *Link) ExemptAt(nm int) (reason string, exempt bool) {
	if l.Terms == nil {
		return "", false
	}
	reason, exempt = l.Terms.NotAt[nm]
	return reason, exempt
}

// Witnessed is who watched on which days.
type Witnessed struct {
	Who string `json:"who"`
	// From and To are the first and the last of the days; zero where all are meant.
	From Date `json:"from,omitzero"`
	To   Date `json:"to,omitzero"`
}

// WitnessesOf are those who watched while a link was measured, as job and schedule have
// it and the days of its readings show, and on which of these days; of all, where From
// and To are zero.
func (j *Job) WitnessesOf(l *Link, readings []Reading) (out []Witnessed) {
	if len(readings) == 0 {
		return nil
	}
	for _, who := range []string{l.witness(), j.Witness} {
		if who != "" {
			out = append(out, Witnessed{Who: who})
		}
	}
	for i := range j.Witnesses {
		w, all := Witnessed{Who: j.Witnesses[i].Who}, true
		for k := range readings {
			t := readings[k].Time
			if j.Location != nil && !t.IsZero() && !DayOnly(t) {
				t = t.In(j.Location)
			}
			day := DateOf(t)
			if !j.Witnesses[i].On(day) {
				all = false
				continue
			}
			if w.From.IsZero() || day.Before(w.From) {
				w.From = day
			}
			if day.After(w.To) {
				w.To = day
			}
		}
		if w.From.IsZero() {
			continue
		}
		if all {
			w.From, w.To = Date{}, Date{}
		}
		out = append(out, w)
	}
	return out
}

func (l *Link) witness() string {
	if l.Terms == nil {
		return ""
	}
	return l.Terms.Witness
}

// On reports whether a day is one of them.
func (w *Witnessed) On(day Date) bool {
	return !day.IsZero() && !day.Before(w.From) && (w.To.IsZero() || !day.After(w.To))
}
