package statement

import (
	"reflect"
	"testing"
)

// TestApart: the one wavelength of a statement is taken out wherever it stands, and the
// statement itself stays as it is.
func TestApart(t *testing.T) {
	gap := func(nm NM) Statement { return New("gap.value", Name("owner"), Word{"value", "cable"}, Name("OS2"), nm) }
	for name, c := range map[string]struct {
		of, want Statement
		nm       NM
	}{
		"its argument":         {New("missing-wavelength", NM(1550)), New("missing-wavelength", EachNM), 1550},
		"in a list":            {New("no-limit.which", List{gap(1270)}), New("no-limit.which", List{gap(EachNM)}), 1270},
		"the same twice":       {New("no-limit.which", List{gap(1270), gap(1270)}), New("no-limit.which", List{gap(EachNM), gap(EachNM)}), 1270},
		"two":                  {New("no-limit.which", List{gap(1270), gap(1310)}), New("no-limit.which", List{gap(1270), gap(1310)}), 0},
		"two of one statement": {New("wavelength-copied", NM(1310), NM(1550), Count(47), Count(48)), New("wavelength-copied", NM(1310), NM(1550), Count(47), Count(48)), 0},
		"none":                 {New("no-termination", Name("A")), New("no-termination", Name("A")), 0},
	} {
		before := c.of.Key()
		if got, nm := Apart(c.of); !reflect.DeepEqual(got.Args, c.want.Args) && len(got.Args)+len(c.want.Args) > 0 || got.Code != c.want.Code || nm != c.nm {
			t.Errorf("%s: %v, %d", name, got, nm)
		}
		if c.of.Key() != before {
			t.Errorf("%s: the statement was changed", name)
		}
	}
}
