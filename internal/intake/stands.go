package intake

import (
	"fmt"
	"strings"

	"spanseal/internal/diag"
)

// whatStands tells what the first rows of a table without a heading hold: the
// wrong delimiter makes one cell of each.
func (b *binder) whatStands() []string {
	said := []string{fmt.Sprintf("the first %d rows were searched for names such as link, wavelength_nm, loss_db, and for those of the mapping", headingSearch)}
	var widest []string
	line := 0
	n := 0
	for r := range b.t.rows() {
		if n++; n > headingSearch {
			break
		}
		var texts []string
		for _, c := range r.cells {
			if c.text != "" {
				texts = append(texts, c.text)
			}
		}
		if len(texts) > len(widest) {
			widest, line = nil, r.number
			for _, t := range texts {
				widest = append(widest, strings.Clone(t))
			}
		}
	}
	if len(widest) == 0 {
		return append(said, "no row holds anything")
	}
	for i, t := range widest {
		if r := []rune(t); len(r) > 40 {
			widest[i] = string(r[:40]) + "…"
		}
	}
	shown := strings.Join(diag.First(widest, 12), " | ")
	said = append(said, fmt.Sprintf("%s %d has most, %s: %s", b.t.line(), line, diag.Plural(len(widest), "cell"), shown))
	d, ok := b.t.(*delimited)
	if !ok || len(widest) > 2 {
		return said
	}
	for _, c := range delimiters {
		if n := strings.Count(shown, string(rune(c))); c != d.delimiter && n > 1 {
			return append(said, fmt.Sprintf("the cells were parted by %s, and %s stands in that row %d times: is that the delimiter?", delimiterName(rune(d.delimiter)), delimiterName(rune(c)), n))
		}
	}
	return said
}
