package intake

import (
	"strings"
	"testing"

	"spanseal/internal/mapping"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

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
		m := mapping.New()
		d.Object(d.Root(), "mapping.yaml", m.Keys(d))
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
