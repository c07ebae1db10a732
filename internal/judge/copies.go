package judge

import (
	"spanseal/internal/chance"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// identical asks about links whose losses are all the same, where chance does not
// explain it.
func (b *jobJudge) identical() {
	for _, which := range chance.Identical(b.digests, b.readingsOf, b.asks["identical-results"].Threshold) {
		b.askEach(which, statement.New("identical-results", b.linksOf(which)))
	}
}

// readingsOf are those of a link that count.
func (b *jobJudge) readingsOf(link int) []record.Reading { return b.links[link].Readings }

// copies asks whether one direction was copied from the other, one wavelength from
// another, or two wavelengths were swapped, over the whole job.
func (b *jobJudge) copies() (out []statement.Statement) {
	found := chance.Copies(b.facts.Links, b.readingsOf, b.worker().difference)
	if d := found.Directions; d != nil {
		out = append(out, statement.New("direction-copied", statement.Count(d.Same), statement.Count(d.Of)))
	}
	for _, c := range found.Wavelengths {
		out = append(out, statement.New("wavelength-copied", statement.NM(c.Short), statement.NM(c.Long), statement.Count(c.Same), statement.Count(c.Of)))
	}
	for _, s := range found.Swapped {
		out = append(out, statement.New("wavelengths-swapped", statement.NM(s.Short), statement.NM(s.Long), rounded(s.More, 2), statement.Count(s.Of)))
	}
	return out
}

// sameFiles asks about files of readings that are byte for byte the same.
func (b *jobJudge) sameFiles() []statement.Statement {
	var out []statement.Statement
	first := map[string]string{}
	for _, a := range b.facts.Accounts {
		if other, ok := first[a.SHA256]; ok && a.SHA256 != "" {
			out = append(out, statement.New("duplicate-rows.file", statement.Name(other), statement.Name(a.File)))
		} else {
			first[a.SHA256] = a.File
		}
	}
	return out
}
