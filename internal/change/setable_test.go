package change

import "testing"

// TestOtherScripts: a name in a script that papers may have no typeface for is told by
// its codes, and never by question marks.
func TestOtherScripts(t *testing.T) {
	for text, want := range map[string]string{
		"Peñón 7":     "Peñón 7",
		"仓库 7":        "[U+4ED3 U+5E93] 7",
		"рука, hand":  "[U+0440 U+0443 U+043A U+0430], hand",
		"一二三四五六七八九十":  "[U+4E00 U+4E8C U+4E09 U+56DB U+4E94 U+516D U+4E03 U+516B…]",
		"\uFFFD":      "[U+FFFD]",
		"A-12 (link)": "A-12 (link)",
	} {
		if got := setable(text); got != want {
			t.Errorf("%q is told as %q, want %q", text, got, want)
		}
	}
}
