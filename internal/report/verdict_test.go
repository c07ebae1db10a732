package report

import (
	"testing"

	"spanseal/internal/judge"
	"spanseal/internal/terminal"
)

func TestVerdictWord(t *testing.T) {
	plain, colour := terminal.Style{}, terminal.Style{Colour: true}
	for _, test := range []struct{ name, got, want string }{
		{"a pass is quiet", verdictWord(plain, judge.Pass, 6), "pass  "},
		{"anything else is loud without colour too", verdictWord(plain, judge.Fail, 0), "FAIL"},
		{"padding is not coloured", verdictWord(colour, judge.Pass, 6), "\x1b[32mpass\x1b[0m  "},
	} {
		if test.got != test.want {
			t.Errorf("%s: got %q, want %q", test.name, test.got, test.want)
		}
	}
}
