package judge_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// ownersSystems are applications of owners that use what built-in ones do not:
// terms that count, selectors of every sort, means of both directions.
var ownersSystems = []string{`
id: by-length
title: Counts length and pairs
values: {glass: 0.35 dB/km, pair: 0.3 dB}
limits:
  - {id: loss, quantity: insertion_loss, at_most: [{rate: glass, amount: length_km}, {rate: pair, amount: mated_pairs}]}
`, `
id: by-splices
title: Counts splices
values: {splice: 0.2 dB, spliced_end: 0.3 dB}
limits:
  - {id: loss, quantity: insertion_loss, at_most: [{rate: splice, amount: span_splices}, {rate: spliced_end, amount: spliced_ends}]}
`, `
id: by-method
title: Tells methods and cords apart
values:
  most:
    unit: dB
    rows: [{value: 3, reference: one-cord, test_cords: standard}, {value: 2, reference: two-cord}, {value: 1}]
limits:
  - {id: loss, quantity: insertion_loss, at_most: [{rate: most}]}
`, `
id: by-range
title: Tells ranges apart
values:
  most: {unit: dB, rows: [{value: 1, length_m: 0-2000}, {value: 2, splices: 0-3}, {value: 4, length_m: 2000-30000}]}
  least: {unit: dB, rows: [{value: 0.1, mated_pairs: 2-}]}
limits:
  - {id: loss, quantity: insertion_loss, at_most: [{rate: most}], at_least: [{rate: least}]}
`, `
id: by-place
title: Replaces a limit
values: {short: 2 dB, long: 1 dB}
limits:
  - {id: long, quantity: insertion_loss, at_most: [{rate: long}]}
  - {id: short, quantity: insertion_loss, replaces: long, where: {length_m: 0-2000, wavelength_nm: [850, 1310]}, at_most: [{rate: short}]}
`, `
id: by-mean
title: Judges the mean
values: {most: 2 dB}
limits:
  - {id: mean, quantity: two_way_average, where: {wavelength_nm: 1310}, at_most: [{rate: most}]}
`, `
id: by-face
title: Judges faces by polish
count_reflections_above_db: -50
values:
  most: 4 dB
  face: {unit: dB, rows: [{value: 55, polish: APC}, {value: 30, reflections: 0-3}]}
limits:
  - {id: loss, quantity: insertion_loss, at_most: [{rate: most}]}
  - {id: face, quantity: return_loss, at_least: [{rate: face}]}
`}

func withSystems(t testing.TB) *limits.Book {
	t.Helper()
	book := newBook(t)
	for i, text := range ownersSystems {
		report(t, book.Add(source.New(fmt.Sprintf("limits/%d.yaml", i), []byte("kind: application\nowner: Port Ansel Council\nedition: '1'\nprovenance: read\n"+text))))
	}
	return book
}

// TestCarriesByTerms: a limit of 0.35 dB/km and 0.3 dB a pair is worked out for
// each link by its own length, wherever it stands in the schedule; with a
// two-cord reference one of two pairs counts.
func TestCarriesByTerms(t *testing.T) {
	book := withSystems(t)
	for _, c := range []struct {
		method       record.ReferenceMethod
		length, loss string
		want         bool
	}{
		{record.OneCord, "10000", "3.9", true}, {record.OneCord, "9000", "3.9", false}, {record.OneCord, "9000", "3.75", true},
		{record.OneCord, "5000", "3.8", false}, {record.OneCord, "5000", "2.35", true},
		{record.TwoCord, "5000", "2.05", true}, {record.TwoCord, "5000", "2.06", false}, {record.ThreeCord, "5000", "1.75", true},
	} {
		for _, order := range [][]string{{"10000", c.length}, {c.length, "10000"}} {
			f := clean()
			f.Job.Policy.Reference = c.method
			link, readings := f.Links[0], f.Readings
			f.Links, f.Readings = nil, nil
			for i, metres := range order {
				link.ID, link.Length = fmt.Sprint(i), dec(metres)
				f.Links = append(f.Links, link)
				for _, r := range readings {
					r.Link, r.Value = link.ID, dec(c.loss)
					f.Readings = append(f.Readings, r)
				}
			}
			for _, l := range judged(t, f, book).Results() {
				got := slices.ContainsFunc(l.Carries, func(c judge.Carries) bool { return c.ID == "by-length" && c.Within })
				if l.Link.Length.Equal(dec(c.length)) && got != c.want {
					t.Errorf("%s, %v: %s dB over %s m: listed %v, want %v", c.method, order, c.loss, c.length, got, c.want)
				}
			}
		}
	}
}

// TestCarriesAsRequired: an application stands in the list of those that a link
// would carry exactly where the link would be within it were it required, in
// whatever order links come.
func TestCarriesAsRequired(t *testing.T) {
	book := withSystems(t)
	var applications []string
	for _, s := range book.All() {
		if s.Kind == limits.Application {
			applications = append(applications, s.ID)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		f := drawn(t)
		f.Job.Policy.Limits = []string{"tia-568.3-e"}
		if rapid.Bool().Draw(t, "no uncertainty") {
			f.Job.Instruments[0].Uncertainty = nil
		}
		l, readings := f.Links[0], f.Readings
		pairs := []int{l.MatedPairs, 2, 11}
		var measured []int // what is measured beside each loss; 0: not even that
		f.Links, f.Readings = nil, nil
		for i := range rapid.IntRange(1, 6).Draw(t, "links") {
			l.ID = fmt.Sprintf("A-%d", i)
			l.Length = quantity.Int(rapid.SampledFrom([]int{100, 500, 2000, 5000, 9000, 10_000, 40_000}).Draw(t, "length"))
			if i == 0 || rapid.Bool().Draw(t, "unlike the last") {
				l.Fibre, l.Mode = "OS2", record.Singlemode
				if rapid.IntRange(0, 3).Draw(t, "fibre") == 0 {
					l.Fibre, l.Mode = "OM4", record.Multimode
				}
				l.MatedPairs = rapid.SampledFrom(pairs).Draw(t, "pairs")
				measured = rapid.SliceOfN(rapid.SampledFrom([]int{0, 1, 1, 1, 1, 2, 2, 3, 3, 4}), 4, 4).Draw(t, "measured")
			}
			if rapid.Bool().Draw(t, "other splices and faces") {
				l.Splices = rapid.SampledFrom([]int{0, 3, 4}).Draw(t, "splices")
				l.EndB.SplicedOn = rapid.Bool().Draw(t, "spliced on")
				l.EndB.Polish = rapid.SampledFrom([]string{"UPC", "APC"}).Draw(t, "polish")
			}
			f.Links = append(f.Links, l)
			for k, r := range readings {
				if measured[k] == 0 {
					continue
				}
				r.Link, r.Value = l.ID, quantity.Scaled(int64(rapid.IntRange(0, 400).Draw(t, "loss")), 2)
				if l.Mode == record.Multimode {
					r.WavelengthNM = map[int]int{1310: 850, 1550: 1300}[r.WavelengthNM]
				}
				f.Readings = append(f.Readings, r)
				switch measured[k] {
				case 1:
					continue
				case 2:
					r.Quantity, r.Value = record.Reflectance, quantity.Int(-rapid.SampledFrom([]int{28, 32, 48, 52, 60}).Draw(t, "reflectance"))
				case 3:
					r.Quantity, r.Value = record.ReturnLoss, quantity.Int(rapid.SampledFrom([]int{28, 32, 48, 52, 60}).Draw(t, "return loss"))
				case 4:
					r.Quantity, r.Value = record.OpticalReturnLoss, quantity.Int(rapid.IntRange(15, 40).Draw(t, "ORL"))
				}
				f.Readings = append(f.Readings, r)
			}
		}
		said := map[string][]string{}
		for _, l := range mustJudge(t, f, book).Results() {
			for _, c := range l.Carries {
				said[l.Link.ID] = append(said[l.Link.ID], c.ID)
			}
		}
		for i := range f.Links {
			f.Links[i].Applications = applications
		}
		for _, l := range mustJudge(t, f, book).Results() {
			for _, c := range l.Carries {
				if listed := slices.Contains(said[l.Link.ID], c.ID); listed != c.Within {
					t.Fatalf("%s of %s, %s m, %d pairs: listed %v, required and within %v: %+v", l.Link.ID, l.Link.Fibre, l.Link.Length, l.Link.MatedPairs, listed, c.Within, c)
				}
			}
		}
	})
}

// TestTwoWavelengths: an application that runs at two wavelengths is not shown
// by one (1000BASE-BX10: 1310 and 1490 nm, IEEE 802.3 clause 59; 400GBASE-SR4.2:
// 850 and 910 nm, clause 150; PON: 1310 nm up, 1490 nm down; from memory).
func TestTwoWavelengths(t *testing.T) {
	book := builtIn(t)
	for _, c := range []struct {
		application, fibre string
		nm                 []int
		asks               string // "" where the link carries it
	}{
		{"1000base-bx10", "OS2", []int{1310}, "1000BASE-BX10 is judged by the loss at 1480 to 1580 nm. When will it be measured?"},
		{"1000base-bx10", "OS2", []int{1550}, "1000BASE-BX10 is judged by the loss at 1260 to 1360 nm. When will it be measured?"},
		{"1000base-bx10", "OS2", []int{1310, 1550}, ""},
		{"1000base-bx10", "OS2", []int{1310, 1490}, ""},
		{"100base-bx10", "OS2", []int{1310}, "100BASE-BX10 is judged by the loss at 1480 to 1580 nm. When will it be measured?"},
		{"epon-px10", "OS2", []int{1310}, "1000BASE-PX10 is judged by the loss at 1480 to 1650 nm. When will it be measured?"},
		{"epon-px20", "OS2", []int{1310, 1490}, ""},
		{"gpon-class-b+", "OS2", []int{1310}, "GPON class B+ is judged by the loss at 1480 to 1650 nm. When will it be measured?"},
		{"400gbase-sr4.2", "OM4", []int{850}, "400GBASE-SR4.2 is judged by the loss at 900 to 960 nm. When will it be measured?"},
		{"400gbase-sr4.2", "OM4", []int{850, 910}, ""},
		{"10gbase-lr", "OS2", []int{1310}, ""},
	} {
		f := clean()
		l := &f.Links[0]
		l.Fibre, l.Applications, l.Length = c.fibre, []string{c.application}, dec("100")
		f.Job.Policy.Require.Wavelengths = nil
		if c.fibre == "OM4" {
			l.Mode = record.Multimode
		}
		loss := "1.0"
		if strings.Contains(c.application, "pon") {
			loss = "15"
			f.Job.Policy.Limits = []string{c.application}
		}
		rs := f.Readings[:2]
		f.Readings = nil
		for _, nm := range c.nm {
			for _, r := range rs {
				r.WavelengthNM, r.Value = nm, dec(loss)
				f.Readings = append(f.Readings, r)
			}
		}
		got := judged(t, f, book).Result(0)
		var asks string
		for _, x := range got.Findings {
			if x.Code == "application" {
				asks = said(x.Question)
			}
		}
		if asks != c.asks || got.Carries[0].Open() != (c.asks != "") || got.Carries[0].Within != (c.asks == "") || (got.Verdict == judge.Incomplete) != (c.asks != "") {
			t.Errorf("%s at %d nm: %v, within %v, %q", c.application, c.nm, got.Verdict, got.Carries[0].Within, asks)
		}
	}
}

// TestApplicationNotes: length is said to be judged only where it was, patch cords
// share the budget, and what the limits do not show is told.
func TestApplicationNotes(t *testing.T) {
	book := own(t, "loss-alone.yaml", "id: loss-alone\nkind: application\ntitle: Loss alone\nowner: test\nedition: \"1\"\nprovenance: read\nvalues: {most: 20 dB}\nlimits:\n  - {id: loss, quantity: insertion_loss, where: {wavelength_nm: 1550}, at_most: [{rate: most}]}\n")
	for _, c := range []struct {
		name      string
		reference record.ReferenceMethod
		length    string
		loss      string
		want      string
	}{
		{"one cord, short", record.OneCord, "312", "0.90", "Patch cords share this budget."},
		{"two cords", record.TwoCord, "312", "0.90", "Patch cords share this budget.; The two-cord reference leaves one end connection outside the measurement. Its loss comes on top; it was not measured, so it is not deducted from the limits of applications."},
		{"three cords", record.ThreeCord, "312", "0.90", "Patch cords share this budget.; The three-cord reference leaves 2 end connections outside the measurement. Their loss comes on top; it was not measured, so it is not deducted from the limits of applications."},
		{"as long as is not engineered", record.OneCord, "30000", "9.00", "Patch cords share this budget."},
		{"engineered", record.OneCord, "35000", "9.00", "Patch cords share this budget.; Beyond 30 km, a link for 10GBASE-ER is an engineered link: these limits alone do not show that it works."},
	} {
		f := clean()
		f.Job.Policy.Reference = c.reference
		f.Links[0].Length = dec(c.length)
		for i := range f.Readings {
			f.Readings[i].Value = dec(c.loss)
		}
		if c.loss == "9.00" {
			f.Readings = f.Readings[2:] // at 1550 nm alone
		}
		l := judged(t, f, book).Result(0)
		var got []string
		for _, s := range judge.ApplicationNotes(&f.Job.Policy, l) {
			got = append(got, said(s))
		}
		if text := strings.Join(got, "; "); text != c.want {
			t.Errorf("%s: %q, want %q", c.name, text, c.want)
		}
		for _, a := range l.Carries {
			if a.LengthJudged != (a.ID != "loss-alone") {
				t.Errorf("%s: %s: length judged %v", c.name, a.ID, a.LengthJudged)
			}
		}
		if !slices.ContainsFunc(l.Carries, func(a judge.Carries) bool { return a.ID == "loss-alone" && a.Within }) {
			t.Errorf("%s: not within the loss", c.name)
		}
	}
	if got := judge.ApplicationNotes(&record.Policy{}, &judge.LinkResult{}); got != nil {
		t.Errorf("of no application: %v", got)
	}
}

// TestEngineered: the 40 km systems of IEEE Std 802.3 are engineered beyond 30 km
// (recalled), and no other built-in set is.
func TestEngineered(t *testing.T) {
	for _, set := range builtIn(t).All() {
		v := set.Value("engineered_beyond", &limits.Situation{Mode: record.Singlemode})
		reach := set.Value("reach", &limits.Situation{Mode: record.Singlemode})
		far := set.Standard == "IEEE Std 802.3" && reach != nil && reach.Number.Equal(dec("40000"))
		if far != (v != nil) || v != nil && !v.Number.Equal(dec("30000")) {
			t.Errorf("%s: reach %v, engineered beyond %v", set.ID, reach, v)
		}
	}
}
