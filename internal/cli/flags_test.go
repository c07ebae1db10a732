package cli

import "testing"

func TestShardFlag(t *testing.T) {
	env := func(name string) string { return map[string]string{"PBS_ARRAY_INDEX": "7"}[name] }
	for _, test := range []struct {
		text      string
		index, of int // 0: refused
	}{
		{"2/3", 2, 3},
		{"1/1", 1, 1},
		{"/16", 7, 16}, // from the environment
		{"/6", 0, 0},
		{"0/3", 0, 0},
		{"4/3", 0, 0},
		{"3", 0, 0},
		{"", 0, 0},
		{"1/2/3", 0, 0},
	} {
		s := shard{getenv: env}
		err := s.Set(test.text)
		if (err != nil) != (test.of == 0) || s.index != test.index || s.of != test.of {
			t.Errorf("%q gives %d of %d, %v; want %d of %d", test.text, s.index, s.of, err, test.index, test.of)
		}
	}
}

func TestSizeFlag(t *testing.T) {
	for _, test := range []struct {
		text string
		want int // 0: refused
	}{
		{"10MB", 10_000_000}, {"500kB", 500_000}, {"1 mb", 1_000_000},
		{"10", 0}, {"MB", 0}, {"-1MB", 0}, {"1.5MB", 0}, {"", 0},
	} {
		var s size
		if err := s.Set(test.text); (err != nil) != (test.want == 0) || int(s) != test.want {
			t.Errorf("%q gives %d, %v; want %d", test.text, s, err, test.want)
		}
	}
}
