package limits

import (
	"testing"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// TestFits: what a selector does not name does not matter, what it names must
// fit, and both ends of a range are inside it.
func TestFits(t *testing.T) {
	metres := func(s string) *quantity.Decimal { d := quantity.Must(s); return &d }
	at := Situation{
		Fibre: "OS2", Mode: record.Singlemode, WavelengthNM: 1310, Connector: "LC", Polish: "UPC", TestCords: record.StandardCords,
		Reference: record.OneCord, LengthM: quantity.Must("100.0"), MatedPairs: 2, Splices: 1, SplicedEnds: 2, Reflections: 2,
	}
	for _, c := range []struct {
		name string
		s    Selector
		want bool
	}{
		{"anything", Selector{}, true},
		{"fibre", Selector{Fibre: []string{"OM4", "os2"}}, true},
		{"another fibre", Selector{Fibre: []string{"OS2a"}}, false},
		{"mode", Selector{Mode: record.Multimode}, false},
		{"wavelength in a range", Selector{Wavelengths: []Range{{850, 850}, {1260, 1310}}}, true},
		{"wavelength at its start", Selector{Wavelengths: []Range{{1310, 1360}}}, true},
		{"wavelength beside it", Selector{Wavelengths: []Range{{1260, 1309}, {1311, 1360}}}, false},
		{"connector", Selector{Connector: []string{"SC"}}, false},
		{"polish", Selector{Polish: []string{"APC"}}, false},
		{"cords", Selector{TestCords: record.ReferenceCords}, false},
		{"reference", Selector{Reference: []record.ReferenceMethod{record.TwoCord, record.ThreeCord}}, false},
		{"length at the end of a span", Selector{Length: &Span{metres("0"), metres("100")}}, true},
		{"length at its start", Selector{Length: &Span{metres("100.00"), metres("300")}}, true},
		{"length beyond it", Selector{Length: &Span{Max: metres("99.9")}}, false},
		{"length below it", Selector{Length: &Span{Min: metres("100.1")}}, false},
		{"length in an open span", Selector{Length: &Span{Min: metres("50")}}, true},
		{"mated pairs", Selector{MatedPairs: []Range{{0, 1}}}, false},
		{"splices count those behind ends", Selector{Splices: []Range{{3, 3}}}, true},
		{"reflections", Selector{Reflections: []Range{{3, 4}}}, false},
		{"all but one", Selector{Fibre: []string{"OS2"}, Mode: record.Singlemode, Polish: []string{"APC"}}, false},
	} {
		if got := c.s.Fits(&at); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// TestAmounts counts every amount of the closed list.
func TestAmounts(t *testing.T) {
	at := Situation{Reference: record.TwoCord, LengthM: quantity.Must("312"), MatedPairs: 4, Splices: 3, SplicedEnds: 1, Splitters: SplittersOf([]int{4, 8, 8, 5})}
	want := map[Factor]string{
		One: "1", LengthKm: "0.312", LengthM: "312", MatedPairs: "3", InnerPairs: "2", EndPairs: "1", PresentPairs: "4",
		AllSplices: "4", SpanSplices: "3", SplicedEnds: "1", EachSplitter: "3",
	}
	for _, a := range Amounts {
		if got, _ := at.Amount(a); got.Short() != want[a] {
			t.Errorf("%s: %s, want %s", a, got.Short(), want[a])
		}
	}
	if len(Amounts) != len(want) {
		t.Error("an amount is not tested")
	}
}

// TestEnds: of the connections at the ends of a link a reference method takes out none,
// one or two, and never more than there are.
func TestEnds(t *testing.T) {
	for method, want := range map[record.ReferenceMethod][4]int{
		record.OneCord: {0, 1, 2, 2}, record.TwoCord: {0, 0, 1, 1}, record.ThreeCord: {0, 0, 0, 0}, "": {0, 1, 2, 2},
	} {
		for pairs, want := range want {
			if got := (&Situation{MatedPairs: pairs, Reference: method}).Ends(); got != want {
				t.Errorf("%q, %d mated pairs: %d ends, want %d", method, pairs, got, want)
			}
		}
	}
}
