package intake

import (
	"cmp"
	"slices"
	"strings"
	"testing"
)

// TestFormulasWithoutValue: cells as several programs write them, after the
// elements of ECMA-376 part 1, 18.3.1.4 (c), 18.3.1.40 (f) and 18.3.1.96 (v).
func TestFormulasWithoutValue(t *testing.T) {
	for _, c := range []struct {
		name, cell string
		all, want  bool
	}{
		{"a number", `<c r="B2"><v>0.3</v></c>`, false, false},
		{"a value", `<c r="B2"><f>A2+1</f><v>0.3</v></c>`, false, false},
		{"none", `<c r="B2"><f>A2+1</f></c>`, false, true},
		{"an empty one", `<c r="B2"><f>A2+1</f><v/></c>`, false, true},
		{"an empty one with an end", `<c r="B2"><f>A2+1</f><v></v></c>`, false, true},
		{"an empty text", `<c r="B2" t="str"><f>IF(A2="","",1)</f><v></v></c>`, false, false},
		{"a text that is missing", `<c r="B2" t="str"><f>A2</f></c>`, false, true},
		{"a shared formula", `<c r="B2"><f t="shared" si="0"/></c>`, false, true},
		{"with a prefix", `<x:c r="B2"><x:f>A2+1</x:f></x:c>`, false, true},
		{"without a place", `<c/><c><f>A2+1</f></c>`, false, true},
		{"a zero to be calculated", `<c r="B2"><f>A2+1</f><v>0</v></c>`, true, true},
		{"a number beside what is to be calculated", `<c r="B2"><v>0</v></c>`, true, false},
		{"cut off", `<c r="B2"><f>A2+1`, false, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := formulasWithoutValue(strings.NewReader(`<sheetData><row r="2">`+c.cell+`</row></sheetData>`), c.all)
			if want := slices.Repeat([]cellAt{{2, 2}}, map[bool]int{true: 1}[c.want]); !slices.Equal(got, want) {
				t.Errorf("%v, want %v", got, want)
			}
		})
	}
}

// FuzzFormulas holds that the cells found are in the order of rows, which
// reading them relies on, whatever the XML of a sheet.
func FuzzFormulas(f *testing.F) {
	f.Add(`<sheetData><row r="2"><c r="B2"><f>A2+1</f></c></row><row r="1"><c><f/><v/></c></row></sheetData>`, true)
	f.Add(`<row r="999999999"><c r="XFD1048576" t="str"><f></f>`, false)
	f.Add(`</c><f><v><c><v>1</c>`, false)
	f.Fuzz(func(t *testing.T, sheet string, all bool) {
		found := formulasWithoutValue(strings.NewReader(sheet), all)
		if !slices.IsSortedFunc(found, func(a, b cellAt) int { return cmp.Compare(a.row, b.row) }) {
			t.Error(found)
		}
	})
}
