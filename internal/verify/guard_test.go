package verify

import (
	"errors"
	"io"
	"testing"

	"spanseal/internal/page"
)

// A fault of the program that a hostile file has met is told of that file. In
// a worker a panic would end the program with exit code 2 and a stack trace.
func TestFaultsAreTold(t *testing.T) {
	err := inParallel(4, func(i int) error {
		var none []int
		if i == 2 {
			_ = none[i]
		}
		return nil
	})
	if !errors.Is(err, errFault) {
		t.Errorf("in a worker: %v", err)
	}
	a := page.Attachment{Write: func(io.Writer) error { panic("unpacking") }}
	if _, _, err := read(&a, &recordFile{}); !errors.Is(err, errFault) {
		t.Errorf("while unpacking: %v", err)
	}
	var nobody *Trust // judging a signer fails, as nothing else here can be made to
	if p := nobody.paper("a.pdf", maker{signer: newSigner(t, "R. Lindqvist")}.paper(t, "L-1")); p.State != Unreadable || len(p.Faults) != 1 {
		t.Errorf("in a paper: %s %v", p.State, p.Faults)
	}
}
