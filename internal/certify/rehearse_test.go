package certify_test

import (
	"errors"
	"strings"
	"testing"
	"testing/fstest"

	"spanseal/internal/certify"
)

// TestRehearsalIsAsLabelsAre: labels are refused beforehand if their making would be, and
// only then. A link without a certificate has no label, so that the longest of names on
// such a one, whose symbol would need 30 mm, keeps no other from its label.
func TestRehearsalIsAsLabelsAre(t *testing.T) {
	facts := library()
	names := map[string]string{}
	for _, l := range judged(t, facts).Results() {
		switch id := l.Link.ID; {
		case !l.Verdict.Certifiable():
			names[id] = id + strings.Repeat("-long", 40)
		case len(names) == 0:
			names[id] = id + strings.Repeat("-long", 10)
		}
	}
	rename := func(name *string) {
		if other, ok := names[*name]; ok {
			*name = other
		}
	}
	for i := range facts.Links {
		rename(&facts.Links[i].ID)
	}
	for i := range facts.Readings {
		rename(&facts.Readings[i].Link)
	}
	facts.Job.Documents.CheckURL = "https://checks.example/" + strings.Repeat("long/", 80)
	j := judged(t, facts)
	const sheet = "A4: {columns: 2, rows: 5, width: 70, pitch_x: 80, pitch_y: 50, height: "
	for _, c := range []struct {
		name, override string
		made           bool
	}{
		{"26 mm, where 26.8 are needed", sheet + "26}", false},
		{"26 mm, for each end", "ends: both\n" + sheet + "26}", false},
		{"28 mm", sheet + "28}", true},
		{"28 mm, for each end", "ends: both\n" + sheet + "28}", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := options()
			o.Overrides = fstest.MapFS{"documents/labels.yaml": {Data: []byte(c.override)}}
			set, problems := o.Set(facts, j)
			if set == nil {
				t.Fatal(problems.Sorted())
			}
			_, err := set.Labels()
			if small := new(certify.LabelError); errors.As(err, &small) == c.made || err != nil && c.made {
				t.Errorf("made: %v", err)
			}
			if said := set.Rehearse().Sorted(); len(said) > 0 == c.made || len(said) > 1 {
				t.Errorf("rehearsed: %v", said)
			}
		})
	}
}
