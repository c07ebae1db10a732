package trunk_test

import (
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"spanseal/internal/judge"
	"spanseal/internal/record"
	"spanseal/internal/testset"
	"spanseal/internal/trunk"
)

// What issue would refuse of a trunk, its token or its label, is refused before; what its label has no
// room for is noted.
func TestRehearse(t *testing.T) {
	for _, tt := range []struct {
		name, id, labels string
		code             string
	}{
		{"as it is", "T1", "", ""},
		{"on small labels with the number", "T1", "carries: number\nA4: {width: 38.1, height: 21.2, pitch_x: 40.6, pitch_y: 21.2, columns: 5, rows: 13, left: 4.75, top: 10.7}\n", "label-leaves-out"},
		{"a name that no token holds", strings.Repeat("T", 3000), "", "no-token"},
		{"a name too long for a small label", strings.Repeat("TRUNK-", 40), "carries: number\nA4: {width: 38.1, height: 21.2, pitch_x: 40.6, pitch_y: 21.2, columns: 5, rows: 13, left: 4.75, top: 10.7}\n", "label-too-small"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			f := testset.Library()
			f.Job.Trunks = []record.Trunk{{ID: tt.id, Fibres: 12, Method: "method A", Far: []int{1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12}}}
			for _, l := range testset.Judged(t, f).Results() {
				if l.Verdict == judge.Pass {
					link := slices.IndexFunc(f.Links, func(one record.Link) bool { return one.ID == l.Link.ID })
					f.Links[link].Array = &record.Array{Trunk: tt.id, Position: 1, FarPosition: 1}
					break
				}
			}
			o := testset.NewSettings()
			if tt.labels != "" {
				o.Overrides = fstest.MapFS{"documents/labels.yaml": {Data: []byte(tt.labels)}}
			}
			set := testset.New(t, f, o)
			problems := trunk.Rehearse(set).Sorted()
			switch {
			case tt.code == "" && len(problems) > 0:
				t.Errorf("refused: %v", problems[0].Message)
			case tt.code != "" && (len(problems) == 0 || problems[0].Code != tt.code):
				t.Errorf("%v, want %s", problems, tt.code)
			}
		})
	}
}
