package chance_test

import (
	"testing"

	"spanseal/internal/chance"
)

// TestEnough: the sizes of samples of which 0 to 4 may be out and that still show
// 95 % with 95 % confidence are those of Wilks (1941, 1942) as they are used for
// one-sided tolerance limits: 59, 93, 124, 153 and 181; for 99 % of none 299
// (recalled). The first follow from 0.95^59 = 0.0485 and 0.99^299 = 0.0495.
func TestEnough(t *testing.T) {
	for over, want := range []int{59, 93, 124, 153, 181} {
		if got := chance.Enough(over, 0.95); got != want {
			t.Errorf("%d out: %d, want %d", over, got, want)
		}
	}
	if got := chance.Enough(0, 0.99); got != 299 {
		t.Errorf("99 %%: %d", got)
	}
}
