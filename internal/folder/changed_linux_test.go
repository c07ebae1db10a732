package folder

import (
	"testing"

	"spanseal/internal/diag"
	"spanseal/internal/intake/testjobs"
	"spanseal/internal/table"
)

// TestChangedWhileRead reads a file that has more bytes than its size says, as
// one has that grows while it is read.
func TestChangedWhileRead(t *testing.T) {
	list := &diag.List{}
	f, err := Open("/proc/self", list)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if data := f.Read("status", table.MaxText); data != nil || list.Len() != 1 || list.Sorted()[0].Code != "changed-while-read" {
		t.Errorf("%d bytes\n%s", len(data), testjobs.Problems(list))
	}
}
