package outside

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

// recorded is a test that keeps what it is told, and stops where a test would.
type recorded struct {
	testing.TB
	said string
}

var errStopped = errors.New("stopped")

func (r *recorded) Helper() {}
func (r *recorded) Fatalf(format string, a ...any) {
	r.said = "fails: " + fmt.Sprintf(format, a...)
	panic(errStopped)
}
func (r *recorded) Skipf(format string, a ...any) {
	r.said = "skips: " + fmt.Sprintf(format, a...)
	panic(errStopped)
}

// TestMissing: without a program a test is skipped, but fails with CI set.
func TestMissing(t *testing.T) {
	for _, c := range []struct{ ci, names, want string }{
		{"", "go", ""},
		{"true", "no-such-program go", ""},
		{"", "no-such-program nor-this", "skips: no-such-program is not installed: what it would check is left out"},
		{"true", "no-such-program nor-this", "fails: no-such-program is missing"},
	} {
		t.Setenv("CI", c.ci)
		r := &recorded{TB: t}
		path := ""
		func() {
			defer func() {
				if v := recover(); v != nil && v != errStopped {
					panic(v)
				}
			}()
			path = Program(r, strings.Fields(c.names)...)
		}()
		if r.said != c.want || (path == "") != (c.want != "") {
			t.Errorf("CI=%q, %s: %q, %q", c.ci, c.names, path, r.said)
		}
	}
}

// TestRun: what a program prints is returned, and its failure fails the test.
func TestRun(t *testing.T) {
	if out := Run(t, "go", "env", "GOVERSION"); !strings.HasPrefix(out, "go1.") {
		t.Error(out)
	}
	r := &recorded{TB: t}
	func() {
		defer func() { _ = recover() }()
		Run(r, "go", "no-such-command")
	}()
	if !strings.Contains(r.said, "go no-such-command: exit status 2") || !strings.Contains(r.said, "unknown command") {
		t.Error(r.said)
	}
}
