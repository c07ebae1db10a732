package truth

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// trunk is one with array connectors, of a method of ANSI/TIA-568.3.
type trunk struct {
	ID, Method string
	Fibres     int
}

// far is where a position comes out, by what the trade says of the methods (recalled):
// A straight, B and the universal ones flipped, C flipped in pairs.
func (t *trunk) far(position int) int {
	places := map[int]int{8: 12, 12: 12, 16: 16, 24: 24}[t.Fibres]
	switch t.Method {
	case "a":
		return position
	case "c":
		return (position - 1) ^ 1 + 1
	}
	return places + 1 - position
}

func given(n int) string {
	if n == 0 {
		return ""
	}
	return fmt.Sprint(n)
}

// gather makes the first links of some jobs positions of a trunk, tested or not, with
// dice of its own. Some come out in each other's place, or elsewhere.
func gather(n uint64, j *job) {
	d := rand.New(rand.NewPCG(n, 568))
	if d.IntN(4) > 0 {
		return
	}
	t := trunk{"T1", []string{"a", "b", "c", "u1", "u2"}[d.IntN(5)], []int{8, 12, 16, 24}[d.IntN(4)]}
	j.Trunks = []trunk{t}
	for i := range j.Links[:min(len(j.Links), 4)] {
		l := &j.Links[i]
		l.Trunk, l.Position = t.ID, i+1
		if l.Far = t.far(l.Position); d.IntN(5) == 0 {
			l.Far = []int{0, t.far(2), 9}[d.IntN(3)]
		}
	}
	if len(j.Links) > 1 && d.IntN(3) == 0 {
		j.Links[0].Far, j.Links[1].Far = j.Links[1].Far, j.Links[0].Far
	}
}

// between are the link at a position of the trunk that a statement names, or nil.
func (j *job) atPosition(s *said, name string) *link {
	for i := range j.Links {
		if l := &j.Links[i]; l.Trunk == s.text("trunk") && l.Position == s.whole(name) {
			return l
		}
	}
	return nil
}

var arrayCheckers = map[string]checker{
	"array-position.far": func(j *job, s *said) error {
		l := j.atPosition(s, "position")
		return is(l != nil && l == s.link && s.whole("far") == l.Far && l.Far > 0 && s.whole("wanted") == j.Trunks[0].far(l.Position) && s.whole("wanted") != l.Far && s.text("method") == j.Trunks[0].title())
	},
	"array-position.swapped": func(j *job, s *said) error {
		a, b := j.atPosition(s, "position"), j.atPosition(s, "other")
		if a == nil || b == nil || a == b || s.link != a && s.link != b {
			return errNot
		}
		t := &j.Trunks[0]
		return is(s.whole("far") == a.Far && s.whole("other-far") == b.Far && a.Far == t.far(b.Position) && b.Far == t.far(a.Position) && s.text("method") == t.title())
	},
	"array-position.same": func(j *job, s *said) error {
		a, b := j.atPosition(s, "position"), j.atPosition(s, "other")
		return is(a != nil && b != nil && a != b && a.Far == b.Far && a.Far > 0 && s.whole("far") == a.Far && s.link.Far == a.Far)
	},
}

func (t *trunk) title() string {
	return "ANSI/TIA-568.3-E, method " + map[string]string{"a": "A", "b": "B", "c": "C", "u1": "U1", "u2": "U2"}[t.Method]
}

// TestArraysPlanted makes what is asked about positions false; each must be caught.
func TestArraysPlanted(t *testing.T) {
	j := &job{Trunks: []trunk{{"T1", "b", 12}}, Links: []link{{ID: "A", Trunk: "T1", Position: 3, Far: 9}, {ID: "B", Trunk: "T1", Position: 4, Far: 10}, {ID: "C", Trunk: "T1", Position: 5, Far: 1}}}
	for code, args := range map[string]map[string]any{
		"array-position.swapped": {"trunk": "T1", "position": 3, "other": 4, "far": 9, "other-far": 10, "method": "ANSI/TIA-568.3-E, method B"},
		"array-position.far":     {"trunk": "T1", "position": 5, "far": 1, "wanted": 8, "method": "ANSI/TIA-568.3-E, method B"},
	} {
		s := &said{Args: args, link: &j.Links[0]}
		if code == "array-position.far" {
			s.link = &j.Links[2]
		}
		if err := arrayCheckers[code](j, s); err != nil {
			t.Errorf("%s: %v", code, err)
		}
		for name, was := range args {
			if n, ok := was.(int); ok {
				args[name] = n + 1
			} else {
				args[name] = "x"
			}
			if arrayCheckers[code](j, s) == nil {
				t.Errorf("%s: %s %v was not caught", code, name, args[name])
			}
			args[name] = was
		}
	}
}
