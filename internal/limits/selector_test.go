package limits

import (
	"fmt"
	"strings"
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
	at := Situation{Reference: record.TwoCord, LengthM: quantity.Must("312"), MatedPairs: 4, Splices: 3, SplicedEnds: 2, Splitters: SplittersOf([]int{4, 8, 8, 5})}
	want := map[Factor]string{
		One: "1", LengthKm: "0.312", LengthM: "312", MatedPairs: "3", InnerPairs: "2", EndPairs: "1", PresentPairs: "4",
		AllSplices: "5", SpanSplices: "3", SplicedEnds: "2", EachSplitter: "3",
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
			at := &Situation{MatedPairs: pairs, Reference: method}
			if got := at.Ends(); got != want {
				t.Errorf("%q, %d mated pairs: %d ends, want %d", method, pairs, got, want)
			}
			if got, want := at.Inner(), [4]int{0, 0, 0, 1}[pairs]; got != want {
				t.Errorf("%d mated pairs: %d between the ends, want %d", pairs, got, want)
			}
		}
	}
}

// TestAdd: terms that take one value by one unit are one addend; a term of nothing is
// none, but for the glass.
func TestAdd(t *testing.T) {
	rate := func(name, number string) *Value {
		return &Value{Group: name, Set: "own", Number: quantity.Must(number), Unit: quantity.DB}
	}
	s := &Set{ID: "own"}
	for _, v := range []*Value{rate("pair", "0.5"), rate("splice", "0.1"), rate("cable", "0.4"), rate("splitter", "7")} {
		s.Groups = append(s.Groups, ValueRows{Name: v.Group, Rows: []*Value{v}})
	}
	for _, c := range []struct {
		name  string
		at    Situation
		terms []Term
		want  string
	}{
		{"one of each", Situation{MatedPairs: 2, Splices: 3, LengthM: quantity.Int(500)},
			[]Term{{Rates: []string{"pair"}, Amount: MatedPairs}, {Rates: []string{"splice"}, Amount: AllSplices}, {Rates: []string{"cable"}, Amount: LengthKm}},
			"pair×2 splice×3 cable×0.5 = 1.5"},
		{"counted together", Situation{MatedPairs: 3}, []Term{{Rates: []string{"pair"}, Amount: EndPairs}, {Rates: []string{"pair"}, Amount: InnerPairs}}, "pair×3 = 1.5"},
		{"apart by their units", Situation{MatedPairs: 2, LengthM: quantity.Int(2000)},
			[]Term{{Rates: []string{"cable"}, Amount: LengthKm}, {Rates: []string{"cable"}, Amount: EndPairs}}, "cable×2 cable×2 = 1.6"},
		{"taken off", Situation{MatedPairs: 2, Splices: 1},
			[]Term{{Rates: []string{"pair"}, Amount: EndPairs}, {Rates: []string{"splice"}, Amount: AllSplices, Less: true}}, "pair×2 splice×-1 = 0.9"},
		{"nothing of any", Situation{}, []Term{{Rates: []string{"none"}, Amount: MatedPairs}, {Rates: []string{"cable"}, Amount: LengthKm}}, "cable×0 = 0"},
		{"of each ratio", Situation{Splitters: SplittersOf([]int{4, 16, 16})}, []Term{{Rates: []string{"splitter"}, Amount: EachSplitter}}, "splitter×1 of 1:4 splitter×2 of 1:16 = 21"},
		{"no such value", Situation{Splices: 1}, []Term{{Rates: []string{"none", "no"}, Amount: AllSplices}}, "none is missing"},
	} {
		sum, missing := s.Add(c.terms, &c.at)
		var got strings.Builder
		for _, a := range sum.Addends {
			fmt.Fprintf(&got, "%s×%s ", a.Value.Group, a.Amount.Short())
			if a.Ratio != 0 {
				fmt.Fprintf(&got, "of 1:%d ", a.Ratio)
			}
		}
		if got.WriteString("= " + sum.Total.Short()); missing != "" {
			got.Reset()
			got.WriteString(missing + " is missing")
		}
		if got.String() != c.want {
			t.Errorf("%s: %s, want %s", c.name, &got, c.want)
		}
	}
}
