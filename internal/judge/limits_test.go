package judge_test

import (
	"regexp"
	"slices"
	"testing"

	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// TestPlanningBindsNothing: typical figures are those of the page they come
// from (FOA, typical loss values for loss budgets), and no job is judged by them.
func TestPlanningBindsNothing(t *testing.T) {
	book := builtIn(t)
	s, _ := book.Find("planning-typical")
	for _, c := range []struct {
		group string
		at    limits.Situation
		want  string
	}{
		{"cable", limits.Situation{Mode: record.Multimode, WavelengthNM: 850}, "3.0"},
		{"cable", limits.Situation{Mode: record.Multimode, WavelengthNM: 1300}, "0.8"},
		{"cable", limits.Situation{Mode: record.Singlemode, WavelengthNM: 1310}, "0.4"},
		{"cable", limits.Situation{Mode: record.Singlemode, WavelengthNM: 1550}, "0.2"},
		{"mated_pair", limits.Situation{Mode: record.Singlemode}, "0.5"},
		{"mated_pair", limits.Situation{Mode: record.Multimode}, "0.5"},
		{"array_pair", limits.Situation{Mode: record.Multimode}, "0.75"},
		{"splice", limits.Situation{Mode: record.Singlemode}, "0.15"},
		{"splice", limits.Situation{Mode: record.Multimode}, "0.3"},
	} {
		if v := s.Value(c.group, &c.at); v == nil || v.Number.String() != c.want || v.Provenance != limits.Quoted {
			t.Errorf("%s at %+v: %+v, want %s", c.group, c.at, v, c.want)
		}
	}
	for _, id := range []string{"planning-typical"} {
		for name, facts := range map[string]*record.Facts{
			"job":         {Job: record.Job{Policy: record.Policy{Limits: []string{id}}}},
			"link":        {Links: []record.Link{{ID: "A-01", Limits: []string{id}}}},
			"application": {Links: []record.Link{{ID: "A-01", Applications: []string{id}}}},
		} {
			if judged, problems := judge.Judge(facts, book); judged != nil || problems.Sorted()[0].Code != "binds-nothing" {
				t.Errorf("%s, %s: %v", id, name, problems.Sorted())
			}
		}
		problems := book.Add(source.New("own.yaml", []byte("id: own\ntitle: t\nowner: o\nedition: e\nextends: "+id+"\nlimits: [{id: loss, quantity: insertion_loss, at_most: [{rate: cable, amount: length_km}]}]\n")))
		if _, known := book.Find("own"); known || problems.Errors() != 1 || problems.Sorted()[0].Code != "binds-nothing" {
			t.Errorf("a set extends %s: %v", id, problems.Sorted())
		}
	}
}

// TestConflictsAreTrue: where a set says that a figure is "here", it has it: in
// a row that some link is judged by, its own or one taken over.
func TestConflictsAreTrue(t *testing.T) {
	here := regexp.MustCompile(`([0-9]+(?:\.[0-9]+)?) (dB/km|dB|m) here`)
	said := 0
	for _, s := range builtIn(t).All() {
		for _, text := range s.Conflicts {
			for _, m := range here.FindAllStringSubmatch(text, -1) {
				said++
				if !slices.ContainsFunc(reached(s), func(v *limits.Value) bool {
					return string(v.Unit) == m[2] && v.Number.Abs().Equal(dec(m[1]))
				}) {
					t.Errorf("%s says %q, and no link is judged by %s", s.ID, text, m[0])
				}
			}
		}
	}
	if said < 30 {
		t.Errorf("only %d statements", said)
	}
}

// reached lists the values that are the first to fit for what they name.
func reached(s *limits.Set) (out []*limits.Value) {
	for _, g := range s.Groups {
		for _, v := range g.Rows {
			w := v.Where
			for _, fibre := range append(w.Fibre, "") {
				for _, nm := range append(w.Wavelengths, limits.Range{}) {
					at := limits.Situation{Fibre: fibre, Mode: w.Mode, WavelengthNM: nm.Min, TestCords: w.TestCords}
					if len(w.Polish) > 0 {
						at.Polish = w.Polish[0]
					}
					if s.Value(g.Name, &at) == v {
						out = append(out, v)
					}
				}
			}
		}
	}
	return out
}
