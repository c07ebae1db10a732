package mapping

import (
	"fmt"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/table"
)

// whatStands tells what the first rows of a table without a heading hold: the
// wrong delimiter makes one cell of each.
func (b *binder) whatStands() []string {
	said := []string{fmt.Sprintf("the first %d rows were searched for names such as link, wavelength_nm, loss_db, and for those of the mapping", table.HeadingSearch)}
	var widest []string
	line := 0
	n := 0
	for r := range b.t.Rows() {
		if n++; n > table.HeadingSearch {
			break
		}
		var texts []string
		for _, c := range r.Cells {
			if c.Text != "" {
				texts = append(texts, c.Text)
			}
		}
		if len(texts) > len(widest) {
			widest, line = nil, r.Number
			for _, t := range texts {
				widest = append(widest, strings.Clone(t))
			}
		}
	}
	if len(widest) == 0 {
		return append(said, "every row is empty")
	}
	for i, t := range widest {
		if r := []rune(t); len(r) > 40 {
			widest[i] = string(r[:40]) + "…"
		}
	}
	shown := strings.Join(diag.First(widest, 12), " | ")
	said = append(said, fmt.Sprintf("%s %d has most, %s: %s", b.t.RowWord(), line, diag.Plural(len(widest), "cell"), shown))
	d, ok := b.t.(*table.Delimited)
	if !ok || len(widest) > 2 {
		return said
	}
	for _, c := range table.Delimiters {
		if n := strings.Count(shown, string(rune(c))); c != d.Delimiter && n > 1 {
			return append(said, fmt.Sprintf("the cells were separated by %s, but %s occurs %d times in that row: is that the delimiter?", table.DelimiterName(rune(d.Delimiter)), table.DelimiterName(rune(c)), n))
		}
	}
	return said
}
