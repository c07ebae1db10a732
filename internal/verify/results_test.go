package verify

import "testing"

// TestUnquote: only an apostrophe that keeps a text from being run is taken off.
func TestUnquote(t *testing.T) {
	for text, want := range map[string]string{"": "", "'": "'", "'=1+1": "=1+1", "'-": "-", "'n": "'n", "''-": "''-", "A-12": "A-12"} {
		if got := unquote(text); got != want {
			t.Errorf("%q is %q, want %q", text, got, want)
		}
	}
}
