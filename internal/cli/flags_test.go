package cli

import (
	"errors"
	"strings"
	"testing"

	"spanseal/internal/issue"
)

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

// TestUnflushed: a revision that is in its place is never called not issued,
// whatever becomes of flushing the folder around it.
func TestUnflushed(t *testing.T) {
	for _, test := range []struct {
		name   string
		what   *issue.UnflushedError
		says   string
		status int
	}{
		{"flushed", nil, "", ExitOK},
		{"a share that flushes no folders", &issue.UnflushedError{Dir: "issued", Err: errors.New("invalid argument"), Never: true},
			"note: issued/r1 is on a file system that does not confirm that a new folder is stored, as many shares do not (invalid argument); copy the revision elsewhere before the power may fail\n", ExitOK},
		{"a broken disk", &issue.UnflushedError{Dir: "issued", Err: errors.New("input/output error")},
			"error: issued/r1 is issued, whole and signed, but the system could not confirm that it is stored for good: issued: input/output error\n" +
				"     = fix: verify it, and copy it to another disk; do not issue it again\n", ExitTool},
	} {
		var said strings.Builder
		a := &app{err: &said}
		a.flushed(&issue.Written{Dir: "issued/r1", Unflushed: test.what})
		if said.String() != test.says || a.status != test.status {
			t.Errorf("%s: status %d, %s", test.name, a.status, &said)
		}
	}
}
