package crosscheck

import (
	"spanseal/internal/chance"
	"spanseal/internal/statement"
)

// identical asks about links whose losses are all the same, where chance does not
// explain it.
func (c *check) identical() {
	for _, which := range chance.Identical(c.Digests, c.Counting, c.Settings["identical-results"].Threshold) {
		c.ask(statement.New("identical-results", c.linksOf(which)), which...)
	}
}

// copies asks whether one direction was copied from the other, one wavelength from
// another, or two wavelengths were swapped, over the whole job.
func (c *check) copies() {
	found := chance.Copies(c.Links, c.Counting, c.Difference)
	if d := found.Directions; d != nil {
		c.ask(statement.New("direction-copied", statement.Count(d.Same), statement.Count(d.Of)))
	}
	for _, w := range found.Wavelengths {
		c.ask(statement.New("wavelength-copied", statement.NM(w.Short), statement.NM(w.Long), statement.Count(w.Same), statement.Count(w.Of)))
	}
	for _, s := range found.Swapped {
		c.ask(statement.New("wavelengths-swapped", statement.NM(s.Short), statement.NM(s.Long), statement.Number{Decimal: chance.Decimal(s.More, 2)}, statement.Count(s.Of)))
	}
}

// sameFiles asks about files of readings that are byte for byte the same.
func (c *check) sameFiles() {
	first := map[string]string{}
	for _, a := range c.Accounts {
		if other, ok := first[a.SHA256]; ok && a.SHA256 != "" {
			c.ask(statement.New("duplicate-rows.file", statement.Name(other), statement.Name(a.File)))
		} else {
			first[a.SHA256] = a.File
		}
	}
}
