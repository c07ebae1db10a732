package golden

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// recorded is a test that keeps what it is told.
type recorded struct {
	testing.TB
	said []string
}

func (r *recorded) Helper()        {}
func (r *recorded) Error(a ...any) { r.said = append(r.said, fmt.Sprint(a...)) }
func (r *recorded) Errorf(format string, a ...any) {
	r.said = append(r.said, fmt.Sprintf(format, a...))
}

// TestCompare: a difference and a file that is not there fail a test, and -update writes
// a file that then fits.
func TestCompare(t *testing.T) {
	file := filepath.Join(t.TempDir(), "deeper", "file.txt")
	archive := filepath.Join(t.TempDir(), "case.txtar")
	if err := os.WriteFile(archive, []byte("why\n-- given --\na\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	try := func(got string) (said []string) {
		r := &recorded{TB: t}
		Compare(r, file, got)
		given, check := Archive(r, archive, "made")
		if len(given) != 1 || string(given[0].Data) != "a\n" {
			t.Errorf("given: %v", given)
		}
		check(got)
		return r.said
	}
	if said := try("b\n"); len(said) != 2 {
		t.Errorf("without files: %q", said)
	}
	*update = true
	defer func() { *update = false }()
	if said := try("b\n"); len(said) != 0 {
		t.Errorf("while they are written: %q", said)
	}
	*update = false
	if said := try("b\n"); len(said) != 0 {
		t.Errorf("of the same: %q", said)
	}
	if said := try("c\n"); len(said) != 2 || !strings.Contains(said[0], file) || !strings.Contains(said[1], archive) {
		t.Errorf("of another: %q", said)
	}
	if data, err := os.ReadFile(archive); string(data) != "why\n-- given --\na\n-- made --\nb\n" {
		t.Errorf("%q, %v", data, err)
	}
}
