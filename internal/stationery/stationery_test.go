package stationery_test

import (
	"fmt"
	"io/fs"
	"math"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"

	"spanseal/internal/diag"
	"spanseal/internal/page"
	"spanseal/internal/stationery"
	"spanseal/internal/template"
	"spanseal/templates"
)

func read(over string, paper page.PaperSize) (stationery.Labels, *diag.List) {
	problems := &diag.List{}
	own := fstest.MapFS{"documents/labels.yaml": {Data: []byte(over)}}
	return stationery.Read(template.ReadValues(fs.FS(templates.Files), own, "documents/labels.yaml", problems), paper), problems
}

// TestSymbolsFit: whatever labels are taken, a symbol that has room lies on its label with
// four modules of white on each side (ISO/IEC 18004, 5.3.8) and modules of three dots at
// 300 dpi at least; and labels that are taken have room for the smallest symbol.
func TestSymbolsFit(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		mm := func(label string, least, most int) string {
			return fmt.Sprintf("%.1f", float64(rapid.IntRange(least*10, most*10).Draw(t, label))/10)
		}
		width, height := mm("width", 10, 100), mm("height", 5, 60)
		over := fmt.Sprintf("stationery: %s\nform: %s\ncarries: %s\nends: %s\nsymbol: %s\nA4: {columns: 1, rows: 1, width: %s, height: %s}\ntape: {height: %s, length: %s}\n",
			rapid.SampledFrom([]string{"sheet", "tape"}).Draw(t, "stationery"), rapid.SampledFrom([]string{"plain", "flag"}).Draw(t, "form"),
			rapid.SampledFrom([]string{"token", "number"}).Draw(t, "carries"), rapid.SampledFrom([]string{"one", "both"}).Draw(t, "ends"),
			rapid.SampledFrom([]string{"largest", "20", "25.5"}).Draw(t, "symbol"), width, height, height, rapid.SampledFrom([]string{"needed", "60", "120"}).Draw(t, "length"))
		g, problems := read(over, page.A4)
		if problems.Errors() > 0 {
			return
		}
		if g.Tape && g.Width == 0 {
			g = g.Long(30, g.Height)
		}
		if _, ok := g.Side(g.Coarsest()); !ok && g.Room() > g.Least()*float64(g.Coarsest()+8)/float64(g.Coarsest())+stationery.Dot {
			t.Errorf("no room for the coarsest symbol in %.1f mm:\n%s", g.Room(), over)
		}
		for _, n := range []int{21, 25, 45, 57, 89} {
			side, ok := g.Side(n)
			if !ok {
				continue
			}
			white := 4 * side / float64(n)
			across := g.Width
			if g.Flag {
				across = g.Half()
			}
			if side+2*white > math.Min(g.Height, across)+0.011 || side/float64(n) < 3*25.4/300-1e-9 || side < g.Least()-1e-9 {
				t.Errorf("%d modules are %.2f mm wide on a label of %.1f × %.1f mm:\n%s", n, side, across, g.Height, over)
			}
		}
	})
}

// TestLeastIsSaid: the least that a refusal names is enough.
func TestLeastIsSaid(t *testing.T) {
	for _, c := range []struct {
		name, labels string
		good         bool
	}{
		{"a token on less", "A4: {height: 23.4, rows: 1}\n", false},
		{"a token on the least", "A4: {height: 23.6, rows: 1}\n", true},
		{"a number on less", "carries: number\nA4: {height: 10.9, rows: 1}\n", false},
		{"a number on the least", "carries: number\nA4: {height: 11.1, rows: 1}\n", true},
		{"text on the least tape", "carries: nothing\nstationery: tape\ntape: {height: 5}\n", true},
		{"text on less", "carries: nothing\nstationery: tape\ntape: {height: 4.9}\n", false},
		{"a number on tape", "carries: number\nstationery: tape\ntape: {height: 11.1}\n", true},
		{"a token on tape", "stationery: tape\ntape: {height: 23.6}\n", true},
		{"not a number", "stationery: tape\ntape: {height: nan}\n", false},
		{"another word", "carries: link\n", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, problems := read(c.labels, page.A4); (problems.Errors() == 0) != c.good {
				t.Errorf("%v", problems.Sorted())
			}
		})
	}
}
