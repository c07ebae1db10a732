package fault_test

import (
	"errors"
	"io"
	"strings"
	"testing"

	"spanseal/internal/fault"
)

func TestGuard(t *testing.T) {
	if err := fault.Guard(func() error { return nil }); err != nil {
		t.Error(err)
	}
	if err := fault.Guard(func() error { return io.EOF }); err != io.EOF {
		t.Error(err)
	}
	err := fault.Guard(func() error {
		var none []int
		return errors.New(string(rune(none[1])))
	})
	var panicked *fault.Error
	if !errors.As(err, &panicked) || !strings.HasPrefix(err.Error(), "a fault of the program: runtime error: index out of range") || !strings.Contains(err.Error(), "TestGuard") {
		t.Errorf("%v", err)
	}
}
