package intake

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"spanseal/internal/record"
	"spanseal/internal/source"
)

// TestNear holds which near misses are named, and that neighbours are none: a
// suggestion to take A-13 for A-12 would do harm.
func TestNear(t *testing.T) {
	n := newNames([]string{"A-11", "A-12", "B-01", "RR-C1/24", "Lesesaal 3", "loss_db", "wavelength_nm"})
	for name, want := range map[string]string{
		"a-11": "A-11", "A11": "A-11", "A 11": "A-11", "A-011": "A-11", "A–11": "A-11", "A-1l": "A-11", "B-O1": "B-01", "B-1": "B-01",
		"rr c1 24": "RR-C1/24", "RR-C1/024": "RR-C1/24", "Lesesal 3": "Lesesaal 3", "Leseasal 3": "Lesesaal 3", "los_db": "loss_db", "wavelenght_nm": "wavelength_nm",
		"A-13": "", "A-21": "", "A-111": "", "C-11": "A-11", "Lesesaal 4": "", "": "", "zebra": "", "A-11-A-12": "",
	} {
		if got := n.near(name); got != want {
			t.Errorf("near(%q) = %q, want %q", name, got, want)
		}
	}
	n.add("Z-99")
	if got := n.near("z99"); got != "Z-99" {
		t.Errorf("a name added later is not found: %q", got)
	}
}

// TestSlips holds that slips are a distance: none from a name to itself, the
// same both ways, and no more than the letters there are.
func TestSlips(t *testing.T) {
	for _, tt := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"a", "", 1}, {"abc", "abc", 0}, {"abc", "acb", 1}, {"abc", "ab", 1}, {"kitten", "sitting", 3}} {
		if got := slips([]rune(tt.a), []rune(tt.b)); got != tt.want {
			t.Errorf("%q to %q are %d slips, want %d", tt.a, tt.b, got, tt.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		word := rapid.SliceOfN(rapid.SampledFrom([]rune("abc-1")), 0, 12)
		a, b := word.Draw(t, "a"), word.Draw(t, "b")
		d := slips(a, b)
		if slips(a, a) != 0 || d != slips(b, a) || d > max(len(a), len(b)) || (d == 0) != (string(a) == string(b)) {
			t.Fatalf("%q and %q: %d", string(a), string(b), d)
		}
	})
}

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
		p, err := newPattern(tt.pattern)
		if err != nil {
			t.Fatal(err)
		}
		texts, ok := p.match(tt.text)
		if got := fmt.Sprint(texts, ok); got != tt.want {
			t.Errorf("%q on %q gives %s, want %s", tt.pattern, tt.text, got, tt.want)
		}
	}
	for _, bad := range []string{"{lot}", "{loss_db}", "{}"} {
		if _, err := newPattern(bad); err == nil {
			t.Errorf("%q passes", bad)
		}
	}
}

// TestWhichLink holds that a text that fits a pattern in two ways is read in the
// one that names a link, and asked about where both do.
func TestWhichLink(t *testing.T) {
	raw := lines("wavelength_nm,direction,loss_db", "1310,A-B,0.35")
	for _, tt := range []struct {
		links, name, want string
	}{
		{"A_1", "A_1_mo.csv", "A_1 mo"},
		{"A", "A_1_mo.csv", "A 1_mo"},
		{"A A_1", "A_1_mo.csv", "[which-link]"},
		{"A A_1", "A_mo.csv", "A mo"},
		{"B", "A_1_mo.csv", "[unknown-link]"},
	} {
		r := newReader()
		for _, id := range strings.Fields(tt.links) {
			r.take(record.Link{ID: id})
		}
		d := memoryDocument("mapping.yaml", []byte(`file_name: "{link}_{person}.csv"`))
		m := newMapping()
		d.object(d.root(), "mapping.yaml", m.keys(d))
		r.readRaw(source.New("readings/"+tt.name, raw), m)
		got := printProblems(r.list)
		if len(r.facts.Readings) == 1 {
			got += r.facts.Readings[0].Link + " " + r.facts.Readings[0].Person
		}
		if !strings.Contains(got, tt.want) {
			t.Errorf("links %s, file %s: %s, want %s", tt.links, tt.name, got, tt.want)
		}
	}
}
