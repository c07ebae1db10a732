package intake

import (
	"fmt"
	"strings"
	"testing"

	"spanseal/internal/record"
	"spanseal/internal/source"
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
		d.Object(d.Root(), "mapping.yaml", m.keys(d))
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
