package intake

import (
	"os"
	"testing"

	"spanseal/internal/diag"
	"spanseal/internal/table"
)

// TestChangedWhileRead reads a file that has more bytes than its size says, as
// one has that grows while it is read.
func TestChangedWhileRead(t *testing.T) {
	root, err := os.OpenRoot("/proc/self")
	if err != nil {
		t.Fatal(err)
	}
	defer root.Close()
	f := &folder{root: root, list: &diag.List{}}
	if data := f.read("status", table.MaxText); data != nil || f.list.Len() != 1 || f.list.Sorted()[0].Code != "changed-while-read" {
		t.Errorf("%d bytes\n%s", len(data), printProblems(f.list))
	}
}
