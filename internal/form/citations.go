package form

import (
	"reflect"
	"slices"

	"spanseal/internal/judge"
	"spanseal/internal/record"
	"spanseal/internal/wording"
)

// RecordFinding is a finding as a record writes it. Findings share workings and
// readings: each is written once and cited by its place, counted from one, as
// rows are.
type RecordFinding struct {
	*judge.Finding
	Working int `json:"working,omitempty"` // in workings
	// Readings are places in readings, counted on through superseded and
	// cited.
	Readings []int `json:"readings,omitempty"`
}

// RecordCarries is an application, with its findings in that form.
type RecordCarries struct {
	*judge.Carries
	Findings []RecordFinding `json:"findings,omitempty"`
}

// cite fills in what rests on the findings of a link.
func (r *Record) cite(l *judge.LinkResult, english *wording.Wording) {
	r.Findings = r.findings(l.Findings, english)
	for i := range l.Carries {
		c := &l.Carries[i]
		r.Carries = append(r.Carries, RecordCarries{c, r.findings(c.Findings, english)})
	}
}

func (r *Record) findings(all []judge.Finding, english *wording.Wording) []RecordFinding {
	out := make([]RecordFinding, len(all))
	for i := range all {
		f := &all[i]
		out[i].Finding = ToldFinding(f, english)
		if f.Working != nil {
			out[i].Working = r.working(f.Working)
		}
		for k := range f.Readings {
			out[i].Readings = append(out[i].Readings, r.reading(&f.Readings[k]))
		}
	}
	return out
}

func (r *Record) working(w *judge.Working) int {
	i := slices.Index(r.Workings, w)
	if i < 0 { // that of another wavelength often says the same
		i = slices.IndexFunc(r.Workings, func(o *judge.Working) bool {
			return o.LimitID == w.LimitID && o.SetID == w.SetID && reflect.DeepEqual(o, w)
		})
	}
	if i < 0 {
		i, r.Workings = len(r.Workings), append(r.Workings, w)
	}
	return i + 1
}

// reading returns the place of a reading, which nearly always is one of the list
// itself and no copy.
func (r *Record) reading(x *record.Reading) int {
	find := func(is func(*record.Reading) bool) (place int, found bool) {
		for _, list := range [][]record.Reading{r.Readings, r.Superseded, r.Cited} {
			for i := range list {
				if place++; is(&list[i]) {
					return place, true
				}
			}
		}
		return place, false
	}
	place, found := find(func(y *record.Reading) bool { return x == y })
	if !found {
		place, found = find(func(y *record.Reading) bool { return *x == *y })
	}
	if !found {
		place, r.Cited = place+1, append(r.Cited, *x)
	}
	return place
}
