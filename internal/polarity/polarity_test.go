package polarity

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"spanseal/internal/record"
)

func table(t *testing.T, id string) *Table {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("../../templates/polarity", id+".yaml"))
	if err != nil {
		t.Fatal(err)
	}
	got, err := Parse(raw)
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// TestMethods: a few positions of each method as the trade knows them (ANSI/TIA-568.3,
// recalled): type A 1 to 1, type B 1 to 12, type C 1 to 2 and 3 to 4. The universal
// methods have trunks of type B.
func TestMethods(t *testing.T) {
	for id, want := range map[string]string{
		"ansi-tia-568.3-a": "1:1 2:2 12:12", "ansi-tia-568.3-b": "1:12 2:11 12:1", "ansi-tia-568.3-c": "1:2 2:1 11:12",
		"ansi-tia-568.3-u1": "1:12 6:7 12:1", "ansi-tia-568.3-u2": "1:12 6:7 12:1",
	} {
		far := table(t, id).Far[12]
		for one := range strings.FieldsSeq(want) {
			var near, at int
			if _, err := fmt.Sscanf(one, "%d:%d", &near, &at); err != nil {
				t.Fatal(err)
			}
			if far[near-1] != at {
				t.Errorf("%s: %d comes out at %d, want %d", id, near, far[near-1], at)
			}
		}
	}
	// What every method must do: a place that leads there leads back, or a duplex link
	// over two trunks would not be one.
	for _, id := range []string{"a", "b", "c", "u1", "u2"} {
		for n, far := range table(t, "ansi-tia-568.3-"+id).Far {
			for i, at := range far {
				if far[at-1] != i+1 {
					t.Errorf("method %s of %d: %d leads to %d, and that to %d", id, n, i+1, at, far[at-1])
				}
			}
		}
	}
}

// TestFaces: of eight fibres the four outer places on either side are used (recalled).
func TestFaces(t *testing.T) {
	for fibres, want := range map[int]string{8: "1 2 3 4 9 10 11 12", 12: "1 2 3 4 5 6 7 8 9 10 11 12"} {
		var got []string
		for place := range 30 {
			if HasFibre(fibres, place) {
				got = append(got, fmt.Sprint(place))
			}
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%d fibres: %v", fibres, got)
		}
	}
	if HasFibre(16, 17) || !HasFibre(16, 16) || !HasFibre(24, 24) || HasFibre(24, 25) {
		t.Error("sixteen or twenty-four")
	}
}

// TestQuestions tells a swapped pair from a single wrong position.
func TestQuestions(t *testing.T) {
	flipped := table(t, "ansi-tia-568.3-b").Far[12]
	for name, c := range map[string]struct{ measured, want string }{
		"as it should be":       {"1:12 2:11 3:10", ""},
		"not tested":            {"1:0 2:0", ""},
		"a swapped pair":        {"1:11 2:12 3:10", "swapped 0 1"},
		"three in a ring":       {"1:11 2:10 3:12", "far 0 far 1 far 2"},
		"one wrong, one absent": {"1:11 2:0", "far 0"},
		"two at one place":      {"1:12 2:12 3:10", "same 0 1"},
	} {
		f := &record.Facts{Job: record.Job{Trunks: []record.Trunk{{ID: "T1", Fibres: 12, Method: "B", Far: flipped}}}}
		for one := range strings.FieldsSeq(c.measured) {
			a := &record.Array{Trunk: "T1"}
			if _, err := fmt.Sscanf(one, "%d:%d", &a.Position, &a.FarPosition); err != nil {
				t.Fatal(err)
			}
			f.Links = append(f.Links, record.Link{ID: one, Array: a})
		}
		var got []string
		for _, q := range Questions(f) {
			got = append(got, strings.TrimPrefix(q.Question.Code, "array-position."), strings.Trim(fmt.Sprint(q.Links), "[]"))
		}
		if strings.Join(got, " ") != c.want {
			t.Errorf("%s: %v, want %s", name, got, c.want)
		}
	}
	if Whole([]int{1, 1}) || !Whole([]int{2, 1}) || slices.Contains(Fibres, 10) {
		t.Error("whole")
	}
}
