package archive

import (
	"path/filepath"
	"syscall"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// TestIndexIsAPipe: what somebody laid in the index's place cannot make a
// search wait for ever.
func TestIndexIsAPipe(t *testing.T) {
	dir := harbour(t)
	all := found(t, open(t, dir, Options{NoIndex: true}))
	if err := syscall.Mkfifo(filepath.Join(dir, IndexName), 0o644); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(all, found(t, open(t, dir, Options{}))); diff != "" {
		t.Error(diff)
	}
}
