package intake

import (
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/rogpeppe/go-internal/txtar"

	"spanseal/internal/record"
)

// TestSeriesIsItsLinks: a row of a series gives the links that rows of their own give,
// in the same order, each with the place of the row.
func TestSeriesIsItsLinks(t *testing.T) {
	const heading = "link,cable,strand,from,to,fibre,length_m,mated_pairs,splices,end_a,end_b,label,room,reference,witness,trunk,position,far_position\n"
	read := func(t *testing.T, rows string) []record.Link {
		dir := t.TempDir()
		layOut(t, dir, []txtar.File{
			{Name: "job.yaml+", Data: []byte("\ntrunks: [{id: T1, fibres: 12, polarity: ansi-tia-568.3-b}]\n")},
			{Name: "links.csv", Data: []byte(heading + rows)},
		})
		facts, list := Read(dir, Options{})
		if list.Errors() > 0 {
			t.Fatal(printProblems(list))
		}
		return facts.Links
	}
	const rest = "OS2,312,2,1,factory LC/UPC,pigtail SC/APC"
	for _, c := range []struct {
		name, series string
		row          func(i int) string
		first, n     int
	}{
		{"names alone", "K1-01..K1-24,,,R1,C1," + rest + ",,,,,,,\n", func(i int) string { return fmt.Sprintf("K1-%02d,,,R1,C1,"+rest+",,,,,,,\n", i) }, 1, 24},
		{"strands", "K1-001..K1-288,K1,1..288,R1,C1," + rest + ",,Plant,two-cord,Port Ansel,,,\n", func(i int) string {
			return fmt.Sprintf("K1-%03d,K1,%d,R1,C1,"+rest+",,Plant,two-cord,Port Ansel,,,\n", i, i)
		}, 1, 288},
		{"places and labels", "F7..F12,,,R1/07..R1/12,C1 spare..x," + rest + ",L-107..L-112,,,,,,\n", func(i int) string {
			return fmt.Sprintf("F%d,,,R1/%02d,C1 spare..x,"+rest+",L-1%02d,,,,,,\n", i, i, i)
		}, 7, 6},
		{"positions of a trunk, down at the far end", "M1..M12,,,R1,C1," + rest + ",,,,,T1,1..12,12..1\n", func(i int) string {
			return fmt.Sprintf("M%d,,,R1,C1,"+rest+",,,,,T1,%d,%d\n", i, i, 13-i)
		}, 1, 12},
	} {
		t.Run(c.name, func(t *testing.T) {
			const before, after = "A,,,R1,C1,OM4,88,2,0,none,none,,,,,,,\n", "Z,,,R1,C1,OM4,88,2,0,none,none,,,,,,,\n"
			var rows strings.Builder
			for i := range c.n {
				rows.WriteString(c.row(c.first + i))
			}
			want, got := read(t, before+rows.String()+after), read(t, before+c.series+after)
			for i := range got {
				row := min(max(i+2, 2), 3)
				if i == c.n+1 {
					row = 4
				}
				if got[i].Origin.Row != row {
					t.Errorf("link %s is of row %d, not %d", got[i].ID, got[i].Origin.Row, row)
				}
			}
			for _, links := range [][]record.Link{got, want} {
				for i := range links {
					links[i].Origin = record.Origin{}
				}
			}
			if diff := cmp.Diff(want, got); diff != "" {
				t.Errorf("(-rows +series)\n%s", diff)
			}
		})
	}
}
