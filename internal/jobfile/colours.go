package jobfile

import (
	"gopkg.in/yaml.v3"

	"spanseal/internal/record"
	"spanseal/internal/strict"
)

// mostColours is how many a sequence of the job's own may have.
const mostColours = 144

// readColours reads the id of a table that comes with the program, or the table with the
// number of fibres per tube, or the owner's own title and sequence.
func readColours(d *strict.YAML, n *yaml.Node) *record.Colours {
	c := &record.Colours{}
	if n.Kind == yaml.ScalarNode {
		d.Text("colours", &c.Table)(n)
		return c
	}
	var own []string
	d.Object(n, "colours", strict.Keys{
		"table":           strict.Opt(d.Text("colours.table", &c.Table)),
		"fibres_per_tube": strict.Opt(d.Count("colours.fibres_per_tube", 1, 1000, &c.PerTube)),
		"title":           strict.Opt(d.Text("colours.title", &c.Title)),
		"sequence":        strict.Opt(d.Texts("colours.sequence", &own)),
	})
	switch {
	case c.Table == "" && (c.Title == "" || own == nil):
		d.Fault(n, "missing-key", "colours has neither a table nor the owner's own sequence", "want table: ansi-tia-598, or title and sequence", "")
	case c.Table != "" && (c.Title != "" || own != nil):
		d.Fault(n, "bad-value", "colours has both a table and the owner's own sequence", "want table, or title and sequence", "")
	case len(own) > mostColours:
		d.Fault(n, "bad-value", "the colour sequence is longer than that of any cable", "", "give the colours of one tube, and fibres_per_tube")
	}
	for _, text := range own {
		c.Sequence = append(c.Sequence, record.ParseHue(text))
	}
	return c
}
