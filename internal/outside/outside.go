// Package outside finds and runs programs of other hands, such as openssl and qpdf, that
// check what we made. Where one is missing its test is skipped with a message; with CI
// set, which promises that all are there, it fails; tests only.
package outside

import (
	"bytes"
	"os"
	"os/exec"
	"strings"
	"testing"
)

// Program is the path of a program, which may have several names.
func Program(t testing.TB, names ...string) string {
	t.Helper()
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if os.Getenv("CI") != "" {
		t.Fatalf("%s is missing", names[0])
	}
	t.Skipf("%s is not installed: what it would check is left out", names[0])
	return ""
}

// Run runs a program, which must succeed, and returns what it printed on standard output.
func Run(t testing.TB, name string, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	c := exec.Command(Program(t, name), args...)
	c.Stdout, c.Stderr = &out, &errs
	if err := c.Run(); err != nil {
		t.Fatalf("%s %s: %v\n%s%s", name, strings.Join(args, " "), err, &out, &errs)
	}
	return out.String()
}
