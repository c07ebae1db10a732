package mapping

import (
	"fmt"
	"strings"
	"testing"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/source"
	"spanseal/internal/strict"
	"spanseal/internal/table"
)

// bound binds a table by an entry of readings, and prints where each reading of a row
// takes what from, or else the codes of the problems.
func bound(t *testing.T, entry, text string) string {
	t.Helper()
	list, m := &diag.List{}, New()
	d := &strict.YAML{File: source.New("job.yaml", []byte(entry)), List: list}
	if entry != "" {
		d.Object(d.Root(), "an entry", m.Keys(d))
	}
	made, _, problem := table.OpenText(source.New("a.csv", []byte(text)), m.Shape())
	if problem != nil {
		t.Fatal(problem)
	}
	h := Bind(made, m, "a.csv", nil, list)
	var out []string
	if h != nil {
		for _, g := range h.Groups {
			var slots []string
			for f := field.Link; f < field.Count; f++ {
				s := &g[f]
				switch {
				case s.Composed != nil:
					slots = append(slots, fmt.Sprintf("%s=%s", f, s.Composed.Text))
				case s.Column >= 0:
					slots = append(slots, strings.TrimSpace(fmt.Sprintf("%s=%d %s", f, s.Column+1, s.Unit)))
				case s.Fixed != "":
					slots = append(slots, fmt.Sprintf("%s:%s", f, s.Fixed))
				}
			}
			out = append(out, strings.Join(slots, ", "))
		}
	}
	for _, p := range list.Sorted() {
		if p.Severity != diag.Note {
			out = append(out, p.Severity.String()+" "+p.Code)
		}
	}
	return strings.Join(out, "; ")
}

// TestBind: a column is bound by the mapping or by its exact name and never by a likeness;
// what is said twice, contradicts its unit or is missing is refused or asked. Columns
// count from one.
func TestBind(t *testing.T) {
	const rows = "\nA-1,1310,A-B,0.35,0.41\n"
	for _, c := range []struct{ name, entry, text, want string }{
		{"by exact names", "", "link,wavelength_nm,direction,loss_db,note" + rows, "link=1, wavelength=2 nm, direction=3, note=5, loss=4 dB"},
		{"by names with units in brackets", "", "Link,Wavelength (nm),Direction,Loss (dB),Length (ft)" + rows, "link=1, wavelength=2 nm, direction=3, loss=4 dB, length=5 ft"},
		{"a likeness binds nothing", "", "link,wavelength_nm,direction,Attenuation,loss_db" + rows, "link=1, wavelength=2 nm, direction=3, loss=5 dB"},
		{"by the mapping", "columns: {link: Strand, loss_db: IL}\n", "Strand,wavelength_nm,direction,IL,x" + rows, "link=1, wavelength=2 nm, direction=3, loss=4 dB"},
		{"the mapping wins over a name", "columns: {loss_db: Corrected}\n", "link,wavelength_nm,direction,loss_db,Corrected" + rows, "link=1, wavelength=2 nm, direction=3, loss=5 dB"},
		{"by numbers", "columns: {link: 1, wavelength_nm: 2, direction: 3, loss_db: 5}\n", "A-1,1310,A-B,0.35,0.41\n", "link=1, wavelength=2 nm, direction=3, loss=5 dB"},
		{"constants", "wavelength_nm: 1310\ndirection: A-B\ncolumns: {link: L}\n", "L,a,b,loss_db,c" + rows, "link=1, wavelength:1310, direction:A-B, loss=4 dB"},
		{"several readings in a row", "columns: {link: L}\neach:\n  - {wavelength_nm: 1310, direction: A-B, loss_db: a}\n  - {wavelength_nm: 1550, direction: A-B, loss_db: b}\n",
			"L,x,y,a,b" + rows, "link=1, wavelength:1310, direction:A-B, loss=4 dB; link=1, wavelength:1550, direction:A-B, loss=5 dB"},
		{"a text of several cells", "columns: {link: \"{Panel}-{Port}\"}\n", "Panel,wavelength_nm,direction,loss_db,Port" + rows, "link={Panel}-{Port}, wavelength=2 nm, direction=3, loss=4 dB"},
		{"a name that is there twice", "", "link,wavelength_nm,direction,loss_db,loss_db" + rows, "error duplicate-heading"},
		{"a column that is not there", "columns: {loss_db: Lost}\n", "link,wavelength_nm,direction,a,b" + rows, "error no-such-column"},
		{"no direction", "", "link,wavelength_nm,x,loss_db,b" + rows, "error missing-column"},
		{"no wavelength", "", "link,x,direction,loss_db,b" + rows, "error missing-column"},
		{"a power mapped as a loss", "columns: {loss_db: \"Loss (dBm)\"}\n", "link,wavelength_nm,direction,Loss (dBm),b" + rows, "error unit-conflict"},
		{"no heading at all", "", "A-1,1310,A-B,0.35,0.41\n", "error no-heading"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := bound(t, c.entry, c.text); got != c.want {
				t.Errorf("%s\nwant %s", got, c.want)
			}
		})
	}
}
