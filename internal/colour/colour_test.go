package colour

import (
	"os"
	"testing"

	"spanseal/internal/record"
)

func table(t *testing.T) *Table {
	t.Helper()
	raw, err := os.ReadFile("../../templates/colours/ansi-tia-598.yaml")
	if err != nil {
		t.Fatal(err)
	}
	all, err := Parse(raw)
	if err != nil {
		t.Fatal(err)
	}
	return all
}

// TestPublished: numbers and colours as published. "Fibre 34 of a cable of twelve a tube
// is in tube 3, green" is an example of a page on the code; that it is violet is the
// order of ANSI/TIA-598-D for number 10, quoted on an encyclopedia's page on TIA-598-C.
func TestPublished(t *testing.T) {
	for _, c := range []struct {
		strand, tube string
		per          int
		want         record.Coded
	}{
		{"34", "", 12, record.Coded{Fibre: 10, Colour: record.Hue{Name: "violet"}, Tube: 3, Hue: record.Hue{Name: "green"}}},
		{"1", "", 12, record.Coded{Fibre: 1, Colour: record.Hue{Name: "blue"}, Tube: 1, Hue: record.Hue{Name: "blue"}}},
		{"12", "", 12, record.Coded{Fibre: 12, Colour: record.Hue{Name: "aqua"}, Tube: 1, Hue: record.Hue{Name: "blue"}}},
		{"07", "", 0, record.Coded{Fibre: 7, Colour: record.Hue{Name: "red"}}},
		{"20", "3", 0, record.Coded{Fibre: 20, Colour: record.Hue{Name: "black", Tracer: "yellow"}, Tube: 3, Hue: record.Hue{Name: "green"}}},
	} {
		job := &record.Colours{Table: "ansi-tia-598", PerTube: c.per}
		table(t).Settle(job)
		got, ok := Of(job, &record.Link{Strand: c.strand, Tube: c.tube})
		if !ok || got != c.want {
			t.Errorf("strand %s, tube %q, %d per tube: %+v, want %+v", c.strand, c.tube, c.per, got, c.want)
		}
	}
}

// TestQuestions holds what is asked about the colour that a schedule gives, and what is
// not: the number may be none, the table may end, and colours have many names.
func TestQuestions(t *testing.T) {
	for _, c := range []struct{ name, strand, tube, colour, want string }{
		{"the number's", "7", "", "red", ""},
		{"in German", "7", "", "Rot", ""},
		{"abbreviated, with more beside it", "7", "", "RD (strand)", ""},
		{"with the tracer", "19", "", "red/black", ""},
		{"without the tracer", "19", "", "red", ""},
		{"with another tracer", "19", "", "red, white dashes", "colour-code.strand"},
		{"a tracer where there is none", "7", "", "red/black", "colour-code.strand"},
		{"another", "7", "", "slate", "colour-code.strand"},
		{"one that nobody knows", "7", "", "sky", "colour-code.unknown"},
		{"no number", "A7", "", "slate", ""},
		{"beyond the table", "25", "", "slate", ""},
		{"none given", "7", "", "", ""},
		{"tube by its colour", "7", "blue", "red", ""},
		{"a tube with a name", "7", "north", "red", ""},
	} {
		job := &record.Colours{Table: "ansi-tia-598"}
		table(t).Settle(job)
		got := ""
		for _, q := range Questions(job, &record.Link{Strand: c.strand, Tube: c.tube, Names: &record.Names{Colour: c.colour}}) {
			got += q.Code
		}
		if got != c.want {
			t.Errorf("%s: asks %q, want %q", c.name, got, c.want)
		}
	}
}
