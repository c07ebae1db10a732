package form_test

import (
	"testing"

	"spanseal/internal/form"
)

func TestDecimals(t *testing.T) {
	for _, tt := range []struct {
		v      float64
		places int
		want   string
	}{
		{-0.04, 1, "0.0"}, {-1e-17, 0, "0"}, {-0.05, 2, "-0.05"}, {0, 2, "0.00"}, {-10, 0, "-10"}, {1.25, 1, "1.2"}, {-0.96, 1, "-1.0"},
	} {
		if got := form.Decimals(tt.v, tt.places); got != tt.want {
			t.Errorf("Decimals(%v, %d) = %s, want %s", tt.v, tt.places, got, tt.want)
		}
	}
}
