package terminal

import (
	"os"
	"testing"

	"spanseal/internal/diag"
)

func TestStyle(t *testing.T) {
	plain, colour := Style{}, Style{Colour: true}
	for _, test := range []struct{ name, got, want string }{
		{"plain", plain.Bad("error:"), "error:"},
		{"colour", colour.Bad("error:"), "\x1b[1;31merror:\x1b[0m"},
		{"nothing to colour", colour.Dim(""), ""},
		{"a caret", colour.Paint(diag.RoleCaret, "^~~"), "\x1b[1;33m^~~\x1b[0m"},
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
	if s := StyleFor(f, func(string) string { return "" }); s.Colour {
		t.Error("a file is coloured")
	}
}
