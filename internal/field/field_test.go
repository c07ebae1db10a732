package field

import (
	"testing"

	"spanseal/internal/quantity"
)

// TestFromHeading: a heading binds a field by its exact name, with its unit in the name or
// in brackets, whatever its case and dashes; a unit that the field cannot have, and a word
// that only means the field, bind nothing.
func TestFromHeading(t *testing.T) {
	for _, c := range []struct {
		heading string
		want    InUnit
	}{
		{"loss_db", InUnit{Loss, quantity.DB}},
		{"Loss (dB)", InUnit{Loss, quantity.DB}},
		{"LOSS [db]", InUnit{Loss, quantity.DB}},
		{"loss", InUnit{Loss, ""}},
		{" Insertion Loss (dB) ", InUnit{Loss, quantity.DB}},
		{"loss_per_km", InUnit{}}, // without its unit it would be a loss
		{"loss_db_per_km", InUnit{LossPerKm, quantity.DBPerKm}},
		{"Length (kft)", InUnit{Length, quantity.Kilofoot}},
		{"length-km", InUnit{Length, quantity.Kilometre}},
		{"wavelength_um", InUnit{Wavelength, quantity.Micrometre}},
		{"Wavelength (μm)", InUnit{Wavelength, quantity.Micrometre}}, // the Greek letter
		{"Loss (dBm)", InUnit{}},
		{"loss_db (dBm)", InUnit{}},
		{"Received (dBm)", InUnit{Received, quantity.DBm}},
		{"Reference Method", InUnit{ReferenceMethod, ""}},
		{"Dämpfung (dB)", InUnit{}},
		{"(dB)", InUnit{}},
		{"", InUnit{}},
	} {
		if got := FromHeading(c.heading); got != c.want {
			t.Errorf("%q: %q in %q, want %q in %q", c.heading, got.Field, got.Unit, c.want.Field, c.want.Unit)
		}
	}
}

// TestNames: each field and unit has a name of its own, which as a heading means them.
func TestNames(t *testing.T) {
	seen := map[string]bool{}
	for f := Link; f < Count; f++ {
		all := []InUnit{{Field: f}}
		for _, u := range Units[f] {
			all = append(all, InUnit{f, u})
		}
		for _, one := range all {
			if one.Field == LossPerKm && one.Unit == "" {
				continue // has no name without its unit
			}
			if got := FromHeading(one.Name()); got != one || seen[one.Name()] {
				t.Errorf("%q is %v, want %v; known before: %v", one.Name(), got, one, seen[one.Name()])
			}
			seen[one.Name()] = true
		}
		if f.Measured() && len(Units[f]) == 0 || f.Measured() && f.OfMethod() {
			t.Errorf("%s is measured, in no unit or as a method", f)
		}
	}
	if n := len(seen); n < 35 {
		t.Errorf("%d names only", n)
	}
}

// TestHeadingUnit: units stand in brackets at the end, or alone.
func TestHeadingUnit(t *testing.T) {
	for _, c := range []struct {
		text string
		want quantity.Unit
	}{
		{"Länge [km]", quantity.Kilometre}, {"Loss (dB)", quantity.DB}, {"dBm", quantity.DBm}, {" M ", quantity.Metre}, {"(um)", quantity.Micrometre},
		{"Loss (AB)", ""}, {"Loss dB", ""}, {"Loss (dB) AB", ""}, {"mW", ""}, {"", ""}, {"()", ""},
	} {
		if got, ok := HeadingUnit(c.text); got != c.want || ok != (c.want != "") {
			t.Errorf("%q: %q, %v, want %q", c.text, got, ok, c.want)
		}
	}
}

// TestSameHeading: case, spaces and dashes are nobody's meaning; letters are.
func TestSameHeading(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"Loss-dB", "loss_db", true}, {"  Loss\u00a0dB", "LOSS  dB ", true}, {"Loss", "Losses", false}, {"Loss dB", "LossdB", false}, {"", " ", true},
	} {
		if got := SameHeading(c.a, c.b); got != c.want {
			t.Errorf("%q and %q: %v, want %v", c.a, c.b, got, c.want)
		}
	}
}
