package cli

import (
	"os"
	"testing"

	"spanseal/internal/diag"
	"spanseal/internal/judge"
)

func TestStyle(t *testing.T) {
	plain, colour := style{}, style{colour: true}
	for _, test := range []struct{ name, got, want string }{
		{"plain", plain.bad("error:"), "error:"},
		{"colour", colour.bad("error:"), "\x1b[1;31merror:\x1b[0m"},
		{"nothing to colour", colour.dim(""), ""},
		{"a pass is quiet", plain.verdict(judge.Pass, 6), "pass  "},
		{"anything else is loud without colour too", plain.verdict(judge.Fail, 0), "FAIL"},
		{"padding is not coloured", colour.verdict(judge.Pass, 6), "\x1b[32mpass\x1b[0m  "},
		{"a caret", colour.paint(diag.RoleCaret, "^~~"), "\x1b[1;33m^~~\x1b[0m"},
	} {
		if test.got != test.want {
			t.Errorf("%s: got %q, want %q", test.name, test.got, test.want)
		}
	}
}

// A pipe or a file is no terminal: nothing is coloured there.
func TestStyleForFiles(t *testing.T) {
	f, err := os.Create(t.TempDir() + "/out")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if s := styleFor(f, func(string) string { return "" }); s.colour {
		t.Error("a file is coloured")
	}
}
