package mapping

import (
	"fmt"
	"strings"
	"testing"
)

func TestPattern(t *testing.T) {
	for _, tt := range []struct{ pattern, text, want string }{
		{"Link: {link}", "link:   A-11 ", "[A-11] true"},
		{"Link: {link}", "Link:A-11", "[] false"},
		{"{link}_{direction}.csv", "A_11_A-B.csv", "[A 11_A-B] true"}, // or the other way, see TestWhichLink
		{"Strand {link} ({direction})", "Strand A-11 (A-B)", "[A-11 A-B] true"},
		{"Total *", "Total of 3", "[] true"},
		{"Total *", "Grand total of 3", "[] false"},
		{"export of {link}", "Export of  A-11", "[A-11] true"},
		{"a.c", "abc", "[] false"},
	} {
		p, err := NewPattern(tt.pattern)
		if err != nil {
			t.Fatal(err)
		}
		texts, ok := p.Match(tt.text)
		if got := fmt.Sprint(texts, ok); got != tt.want {
			t.Errorf("%q on %q gives %s, want %s", tt.pattern, tt.text, got, tt.want)
		}
	}
	for _, bad := range []string{"{lot}", "{loss_db}", "{}"} {
		if _, err := NewPattern(bad); err == nil {
			t.Errorf("%q passes", bad)
		}
	}
}

// FuzzPattern holds that any pattern compiles or is refused, and that what it
// captures stands in the text.
func FuzzPattern(f *testing.F) {
	f.Add("Link: {link} ({direction})", "link:   A-11 (A-B)")
	f.Add("*{link}*", "")
	f.Fuzz(func(t *testing.T, pattern, text string) {
		p, err := NewPattern(pattern)
		if err != nil {
			return
		}
		found, ok := p.Match(text)
		if ok && len(found) != len(p.Fields) {
			t.Errorf("%d texts for %d fields", len(found), len(p.Fields))
		}
		for _, s := range found {
			if !strings.Contains(text, s) {
				t.Errorf("%q is not in %q", s, text)
			}
		}
	})
}
