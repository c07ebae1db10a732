package quantity

import "testing"

func TestPlaces(t *testing.T) {
	for _, test := range []struct {
		name        string
		a, b        string
		tell, agree int
	}{
		{"plain", "0.71", "2.2248", 2, 2},                           // 2.22 − 0.71 = 1.51, and 1.5148 prints 1.51
		{"the difference would not agree", "1.085", "2.2248", 2, 3}, // 2.22 − 1.09 = 1.13, but 1.1398 prints 1.14
		{"two places would hide which is larger", "2.2249", "2.2248", 4, 4},
		{"one more place would not agree either", "1.44451", "1.00549", 2, 4}, // 1.4445 − 1.0055 = 0.4390; with three 1.445 − 1.005 = 0.440, and 0.43902 prints 0.439
		{"a hair beyond", "1.9000000001", "1.9", 10, 10},
		{"equal", "2.22", "2.220", 2, 2},
		{"negative", "-51.3", "-35", 2, 2},
	} {
		t.Run(test.name, func(t *testing.T) {
			a, b := Must(test.a), Must(test.b)
			if got := PlacesToTell(a, b); got != test.tell {
				t.Errorf("PlacesToTell: %d, want %d", got, test.tell)
			}
			if got := PlacesToAgree(a, b); got != test.agree {
				t.Errorf("PlacesToAgree: %d, want %d", got, test.agree)
			}
		})
	}
}
