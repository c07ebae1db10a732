package limits

import (
	"slices"
	"strings"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// Selector says where a value or a limit applies. What it does not name does
// not matter; what it names must fit.
type Selector struct {
	Fibre       []string // "OS2"; capitals do not matter
	Mode        record.Mode
	Wavelengths []Range // nm
	Connector   []string
	Polish      []string
	TestCords   record.TestCords
	Reference   []record.ReferenceMethod
	Length      *Span // m
	MatedPairs  []Range
	Splices     []Range
	Reflections []Range
	Attempts    []Range // at the splice
	Ratio       []Range // of the splitter, 8 of 1:8; of values only
}

// Range is a closed range of whole numbers.
type Range struct{ Min, Max int }

// Span is a closed range of decimals; a nil end is open.
type Span struct{ Min, Max *quantity.Decimal }

// Situation is what selectors look at and amounts are counted in: a link, how
// it was measured, and for reflectance the end that the light entered.
type Situation struct {
	Fibre        string
	Mode         record.Mode
	WavelengthNM int
	Connector    string
	Polish       string
	TestCords    record.TestCords
	Reference    record.ReferenceMethod
	LengthM      quantity.Decimal
	MatedPairs   int // both ends included
	Splices      int // in the span
	SplicedEnds  int
	Reflections  int // that count; see [Set.CountAbove]
	Attempts     int // on record of the splice at hand; 0: none
	// Splitters counts those on the way by their ratio: see [SplittersOf].
	Splitters Splitters
	Ratio     int // of the splitter at hand; 0: none
}

// Splitters counts the splitters of a link by ratio: 2, 4, 8, 16, 32, 64, 128.
type Splitters [7]uint8

// SplittersOf counts splitters. A ratio that is none of those is left out.
func SplittersOf(ratios []int) (s Splitters) {
	for _, ratio := range ratios {
		for i := range s {
			if ratio == 2<<i {
				s[i]++
			}
		}
	}
	return s
}

// Fits reports whether the situation is one that the selector names.
func (s *Selector) Fits(at *Situation) bool {
	return fitsText(s.Fibre, at.Fibre) &&
		(s.Mode == "" || s.Mode == at.Mode) &&
		fitsRange(s.Wavelengths, at.WavelengthNM) &&
		fitsText(s.Connector, at.Connector) &&
		fitsText(s.Polish, at.Polish) &&
		(s.TestCords == "" || s.TestCords == at.TestCords) &&
		(len(s.Reference) == 0 || slices.Contains(s.Reference, at.Reference)) &&
		s.Length.fits(at.LengthM) &&
		fitsRange(s.MatedPairs, at.MatedPairs) &&
		fitsRange(s.Splices, at.Splices+at.SplicedEnds) &&
		fitsRange(s.Reflections, at.Reflections) &&
		fitsRange(s.Attempts, at.Attempts) &&
		fitsRange(s.Ratio, at.Ratio)
}

func fitsText(want []string, have string) bool {
	if len(want) == 0 {
		return true
	}
	for _, w := range want {
		if strings.EqualFold(w, have) {
			return true
		}
	}
	return false
}

func fitsRange(want []Range, have int) bool {
	if len(want) == 0 {
		return true
	}
	for _, r := range want {
		if r.Min <= have && have <= r.Max {
			return true
		}
	}
	return false
}

func (s *Span) fits(have quantity.Decimal) bool {
	return s == nil ||
		(s.Min == nil || !have.Less(*s.Min)) && (s.Max == nil || !s.Max.Less(have))
}

// Factor is what a rate is multiplied with.
type Factor string

// The closed list of amounts.
const (
	One          Factor = "one"
	LengthKm     Factor = "length_km"
	LengthM      Factor = "length_m"
	MatedPairs   Factor = "mated_pairs"   // inside the measurement
	InnerPairs   Factor = "inner_pairs"   // of them, those not at an end of the link
	EndPairs     Factor = "end_pairs"     // of them, those at an end of the link
	PresentPairs Factor = "present_pairs" // N, whatever the reference method
	AllSplices   Factor = "splices"       // in the span and behind spliced-on ends
	SpanSplices  Factor = "span_splices"
	SplicedEnds  Factor = "spliced_ends"
	EachSplitter Factor = "splitters" // of each ratio, with the value for it
)

// Amounts lists them all.
var Amounts = []Factor{One, LengthKm, LengthM, MatedPairs, InnerPairs, EndPairs, PresentPairs, AllSplices, SpanSplices, SplicedEnds, EachSplitter}

// endsOutside is how many end connections the reference method takes out of
// the measurement. A method that is not given takes out none.
var endsOutside = map[record.ReferenceMethod]int{record.OneCord: 0, record.TwoCord: 1, record.ThreeCord: 2}

// Ends returns how many end connections are inside the measurement.
func (at *Situation) Ends() int {
	return max(0, min(at.MatedPairs, 2)-endsOutside[at.Reference])
}

// Inner returns how many connections lie between the ends.
func (at *Situation) Inner() int { return max(0, at.MatedPairs-2) }

// Amount counts one of the [Amounts], with its unit.
func (at *Situation) Amount(a Factor) (quantity.Decimal, quantity.Unit) {
	switch a {
	case LengthKm:
		return quantity.Kilometres(at.LengthM), quantity.Kilometre
	case LengthM:
		return at.LengthM, quantity.Metre
	case MatedPairs:
		return quantity.Int(at.Inner() + at.Ends()), quantity.One
	case InnerPairs:
		return quantity.Int(at.Inner()), quantity.One
	case EndPairs:
		return quantity.Int(at.Ends()), quantity.One
	case PresentPairs:
		return quantity.Int(at.MatedPairs), quantity.One
	case AllSplices:
		return quantity.Int(at.Splices + at.SplicedEnds), quantity.One
	case SpanSplices:
		return quantity.Int(at.Splices), quantity.One
	case SplicedEnds:
		return quantity.Int(at.SplicedEnds), quantity.One
	case EachSplitter:
		all := 0
		for _, n := range at.Splitters {
			all += int(n)
		}
		return quantity.Int(all), quantity.One
	}
	return quantity.Int(1), quantity.One
}
