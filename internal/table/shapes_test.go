package table

import (
	"fmt"
	"strings"
	"testing"

	"spanseal/internal/source"
)

// rowsOf prints rows with their numbers, which stand beside the table or only fill others, and each cell with the line and column at which a
// person finds it.
func rowsOf(t Table) []string {
	var all []string
	for r := range t.Rows() {
		cells := []string{fmt.Sprint(t.RowWord(), " ", r.Number)}
		switch {
		case r.Beside:
			cells[0] += " beside"
		case r.Carries:
			cells[0] += " carries"
		}
		for c := range r.Cells {
			if r.Cells[c].Text == "" {
				cells = append(cells, "")
				continue
			}
			cells = append(cells, fmt.Sprintf("%s (%d:%d)", r.Cells[c].Text, t.RowOf(r, c), t.Column(r, c)))
		}
		all = append(all, strings.Join(cells, " | "))
	}
	return all
}

// TestShapes: the same two readings in each shape of text come out as rows of the same
// cells, each with the place at which it stands in its file.
func TestShapes(t *testing.T) {
	for _, c := range []struct {
		name, file, text string
		shape            Shape
		turn             bool
		want             string
	}{
		{"delimited", "a.csv", "link;loss\nA-1;0,35\nA-2;0,41\n", Shape{Delimiter: ';'}, false, `
line 1 | link (1:1) | loss (1:6)
line 2 | A-1 (2:1) | 0,35 (2:5)
line 3 | A-2 (3:1) | 0,41 (3:5)`},
		{"delimited, with a line feed in a cell", "a.csv", "link,note\nA-1,\"two\nlines\"\nA-2,x\n", Shape{Delimiter: ','}, false, `
line 1 | link (1:1) | note (1:6)
line 2 | A-1 (2:1) | two
lines (2:5)
line 4 | A-2 (4:1) | x (4:5)`},
		{"columns in characters, not bytes", "a.csv", "Prüfling;loss\nÄ-1;0,35\n", Shape{Delimiter: ';'}, false, `
line 1 | Prüfling (1:1) | loss (1:10)
line 2 | Ä-1 (2:1) | 0,35 (2:5)`},
		{"fixed width", "a.txt", "link  loss\nA-1   0.35\nA-2   0.41\n", Shape{FixedWidth: []int{1, 7}}, false, `
line 1 | link (1:1) | loss (1:7)
line 2 | A-1 (2:1) | 0.35 (2:7)
line 3 | A-2 (3:1) | 0.41 (3:7)`},
		{"a report of keys", "a.txt", "made by nobody\nLink: A-1\nLoss: 0.35\n\nLink: A-2\nLoss: 0.41\n", Shape{Report: []string{"Link"}}, false, `
line 1 beside
line 2 | A-1 (2:7) | 0.35 (3:7)
line 5 | A-2 (5:7) | 0.41 (6:7)`},
		{"a report whose wavelength holds for several records", "a.txt", "Wavelength: 1310\nLink: A-1\nLoss: 0.35\nLink: A-2\nLoss: 0.41\n",
			Shape{Report: []string{"Link"}, Filled: []string{"Wavelength"}}, false, `
line 1 carries | 1310 (1:13)
line 2 |  | A-1 (2:7) | 0.35 (3:7)
line 4 |  | A-2 (4:7) | 0.41 (5:7)`},
		{"a list in JSON", "a.json", "{\"day\": \"2026-11-18\",\n \"all\": [\n  {\"link\": \"A-1\", \"loss\": 0.350},\n  {\"loss\": 0.41, \"link\": \"A-2\"}]}", Shape{}, false, `
line 3 | 2026-11-18 (1:9) | A-1 (3:12) | 0.350 (3:27)
line 4 | 2026-11-18 (1:9) | A-2 (4:26) | 0.41 (4:12)`},
		{"readings in columns", "a.csv", "link,A-1,A-2\nloss,0.35,0.41\n", Shape{Delimiter: ','}, true, `
column 1 | link (1:1) | loss (2:1)
column 2 | A-1 (1:6) | 0.35 (2:6)
column 3 | A-2 (1:10) | 0.41 (2:11)`},
		{"readings in columns, one of which ends early", "a.csv", "link,A-1,A-2\nloss,0.35\n", Shape{Delimiter: ','}, true, `
column 1 | link (1:1) | loss (2:1)
column 2 | A-1 (1:6) | 0.35 (2:6)
column 3 | A-2 (1:10) | `},
	} {
		t.Run(c.name, func(t *testing.T) {
			made, _, fault := OpenText(source.New(c.file, []byte(c.text)), c.shape)
			if fault != nil {
				t.Fatal(fault)
			}
			if c.turn {
				if made, fault = Turn(made, c.file); fault != nil {
					t.Fatal(fault)
				}
			}
			for range 2 { // rows may be asked for again
				if got := "\n" + strings.Join(rowsOf(made), "\n"); got != c.want || made.Fault() != nil {
					t.Errorf("%s\nwant %s\n%v", got, c.want, made.Fault())
				}
			}
		})
	}
}
