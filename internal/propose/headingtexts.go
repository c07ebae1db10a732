package propose

import (
	"strings"

	"spanseal/internal/field"
	"spanseal/internal/table"
	"spanseal/internal/written"
)

// countNamed counts the texts of a row that name a field, a wavelength or a way.
func countNamed(r *table.Row) (n int) {
	for _, c := range r.Cells {
		if named := c.Text != "" && !written.Numeric(c.Text) && field.SenseOf(c.Text).Says(); named {
			n++
		}
	}
	return n
}

// headingTexts are the texts of the best row of a table's first rows.
func headingTexts(t table.Table) (texts []string) {
	n, best := 0, 1
	for r := range t.Rows() {
		if n++; n > table.HeadingSearch {
			break
		}
		if score := countNamed(r); score > best {
			best, texts = score, nil
			for i := range r.Cells {
				texts = append(texts, strings.Clone(r.Cells[i].Text))
			}
		}
	}
	return texts
}

// headingScore is how many names the best row of a table's first rows has.
func headingScore(t table.Table) (best int) {
	n := 0
	for r := range t.Rows() {
		if n++; n > table.HeadingSearch {
			break
		}
		best = max(best, countNamed(r))
	}
	return best
}

// columnScore is how many rows of a table begin with a name and go on with as
// many cells as its widest: what a transposed table has.
func columnScore(t table.Table) (best int) {
	n, widest := 0, 0
	widths := map[int]int{} // of rows that begin with a name
	for r := range t.Rows() {
		if n++; n > table.HeadingSearch {
			break
		}
		filled := 0
		for _, c := range r.Cells {
			if c.Text != "" {
				filled++
			}
		}
		if widest = max(widest, filled); filled < 2 {
			continue
		}
		name := r.Cells[0].Text
		if written.Numeric(name) || countNamed(r) > 1 {
			continue
		}
		if s := field.SenseOf(name); s.Wavelength == 0 && s.Direction == "" && s.Field == field.None {
			continue
		}
		widths[filled]++
	}
	for width, rows := range widths {
		if 2*width >= widest {
			best += rows
		}
	}
	return best
}

func cellsOf(names []string) (cells []table.Cell) {
	for _, n := range names {
		cells = append(cells, table.Cell{Text: n})
	}
	return cells
}
