package series

import (
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestParse(t *testing.T) {
	for _, c := range []struct {
		name, text string
		n          int
		first      string
		last       string
		why, want  string
	}{
		{name: "padded", text: "K1-01..K1-24", n: 24, first: "K1-01", last: "K1-24"},
		{name: "not padded", text: "K1-8..K1-11", n: 4, first: "K1-8", last: "K1-11"},
		{name: "strands", text: "1..288", n: 288, first: "1", last: "288"},
		{name: "strands padded", text: "001..288", n: 288, first: "001", last: "288"},
		{name: "from nought", text: "0..9", n: 10, first: "0", last: "9"},
		{name: "spaces beside the points", text: "K1-01 .. K1-02", n: 2, first: "K1-01", last: "K1-02"},
		{name: "a name behind the number", text: "R1/01/A..R1/12/A", n: 12, first: "R1/01/A", last: "R1/12/A"},
		{name: "the first of two numbers counts", text: "1-07..3-07", n: 3, first: "1-07", last: "3-07"},
		{name: "letters of another script", text: "Σ-01..Σ-03", n: 3, first: "Σ-01", last: "Σ-03"},
		{name: "short form", text: "K1-01..24", n: 24, first: "K1-01", last: "K1-24"},
		{name: "short form of a place", text: "panel R1 port 1..12", n: 12, first: "panel R1 port 1", last: "panel R1 port 12"},
		{name: "a point before the points", text: "A.1..A.3", n: 3, first: "A.1", last: "A.3"},
		{name: "the most", text: "1..10000", n: 10000, first: "1", last: "10000"},

		{name: "end before start", text: "K1-24..K1-01", why: `"K1-24..K1-01" ends before it begins`, want: "want the lower number first"},
		{name: "other stems", text: "K1-01..L1-24", why: `the two ends of "K1-01..L1-24" are names of different kinds`, want: "want the same name at both ends except for one number, such as K1-01..K1-24"},
		{name: "other case", text: "K1-01..k1-24", why: `the two ends of "K1-01..k1-24" are names of different kinds`, want: "want the same name at both ends except for one number, such as K1-01..K1-24"},
		{name: "short form, other widths", text: "K1-01..144", why: `the numbers of "K1-01..144" have 2 and 3 digits`, want: "want as many digits at both ends, or no leading zeros"},
		{name: "short form, end before start", text: "port 12..1", why: `"port 12..1" ends before it begins`, want: "want the lower number first"},
		{name: "short form behind a letter", text: "R1/01/A..12", why: `the two ends of "R1/01/A..12" are names of different kinds`, want: "want the same name at both ends except for one number, such as K1-01..K1-24"},
		{name: "two counts", text: "K1-01..K2-24", why: `"K1-01..K2-24" counts in two places`, want: "want one number that counts up, such as K1-01..K1-24; give the others their own rows"},
		{name: "other widths", text: "K1-01..K1-144", why: `the numbers of "K1-01..K1-144" have 2 and 3 digits`, want: "want as many digits at both ends, or no leading zeros"},
		{name: "padded at the end only", text: "K1-1..K1-024", why: `the numbers of "K1-1..K1-024" have 1 and 3 digits`, want: "want as many digits at both ends, or no leading zeros"},
		{name: "the same twice", text: "K1-01..K1-01", why: `"K1-01..K1-01" ends where it begins`, want: "want two ends that differ in one number, or the name alone"},
		{name: "three points", text: "K1-01...K1-24", why: `"K1-01...K1-24" has more than two points between its ends`, want: "want K1-01..K1-24"},
		{name: "three ends", text: "1..2..3", why: `the two ends of "1..2..3" are names of different kinds`, want: "want the same name at both ends except for one number, such as K1-01..K1-24"},
		{name: "more than the most", text: "1..10001", why: `"1..10001" stands for 10001 names`, want: "want at most 10000 in one series"},
		{name: "a number too long", text: "1..9999999999", why: `a number of "1..9999999999" has more than nine digits`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if !Meant(c.text) {
				t.Error("not taken for a series")
			}
			s, why, want := Parse(c.text, false)
			if why != c.why || want != c.want {
				t.Fatalf("%q, %q; want %q, %q", why, want, c.why, c.want)
			}
			if why == "" && (s.Len() != c.n || s.At(0) != c.first || s.At(c.n-1) != c.last) {
				t.Errorf("%d names, %s to %s; want %d, %s to %s", s.Len(), s.At(0), s.At(s.Len()-1), c.n, c.first, c.last)
			}
		})
	}
}

// TestNames: a text that is a name stays one.
func TestNames(t *testing.T) {
	for _, name := range []string{"", "..", "A..B", "../x", "K1-01..", "..K1-01", "K1.01", "K1-01.K1-02", "x..7", "7..x", "R1..spare"} {
		if Meant(name) {
			t.Errorf("%q is taken for a series", name)
		}
		if s := One(name); s.Len() != 1 || s.At(0) != name {
			t.Errorf("%q alone is %d names, %q", name, s.Len(), s.At(0))
		}
	}
}

func TestDown(t *testing.T) {
	s, why, _ := Parse("12..1", true)
	if why != "" || s.Len() != 12 || s.At(0) != "12" || s.At(3) != "9" || s.At(11) != "1" {
		t.Errorf("%s %d %s", why, s.Len(), s.At(0))
	}
}

// TestCounts holds that the names of any series are as a loop would write them.
func TestCounts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stem := rapid.StringMatching(`[A-Za-zÄλ/_ .-]{0,4}`).Draw(t, "stem")
		stem = strings.TrimLeft(strings.ReplaceAll(stem, ".", "-"), " ")
		first, n := rapid.IntRange(0, 2000).Draw(t, "first"), rapid.IntRange(2, 300).Draw(t, "n")
		name := func(i int) string { return stem + strconv.Itoa(first+i) }
		if rapid.Bool().Draw(t, "padded") {
			name = func(i int) string { return stem + ("0000" + strconv.Itoa(first+i))[len(strconv.Itoa(first+i)):] }
		}
		s, why, want := Parse(name(0)+mark+name(n-1), false)
		if why != "" || s.Len() != n {
			t.Fatalf("%s; %s; %d names of %d", why, want, s.Len(), n)
		}
		for i := range n {
			if s.At(i) != name(i) {
				t.Fatalf("name %d is %q, not %q", i, s.At(i), name(i))
			}
		}
	})
}

// FuzzParse: no text makes a series of nothing, or of more than may be.
func FuzzParse(f *testing.F) {
	for _, text := range []string{"K1-01..K1-24", "1..2..3", "0..000", "9..1", "..", "1...2", "a1..a", "1..1", ".0..1", "1. .. 2."} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		for _, down := range []bool{false, true} {
			s, why, _ := Parse(text, down)
			if why != "" {
				continue
			}
			if n := s.Len(); n < 2 || n > Most {
				t.Fatalf("%q stands for %d names", text, n)
			}
			first, last := s.At(0), s.At(s.Len()-1)
			if strings.HasSuffix(first, ".") || strings.HasPrefix(last, ".") {
				continue // a point beside the two cannot be told from them
			}
			if again, why, _ := Parse(first+mark+last, down); why != "" || again.Len() != s.Len() {
				t.Fatalf("%q: %s", text, why)
			}
		}
	})
}
