package limits

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// budget reads a set with one power budget.
func budget(t *testing.T, text string) *Limit {
	t.Helper()
	raw := "id: own\ntitle: t\nowner: o\nedition: e\nprovenance: quoted\nlimits:\n  - {id: power-budget, quantity: insertion_loss, budget: " + text + "}\n"
	b, problems := NewBook(fstest.MapFS{"own.yaml": {Data: []byte(raw)}})
	if problems.Len() > 0 {
		t.Fatal(problems.Sorted())
	}
	s, _ := b.Find("own")
	return &s.Limits[0]
}

// TestPublishedBudgets: the loss that a budget leaves for the fibre, after the
// other losses of the example, is what textbooks print: as a length at so many
// dB/km, or as the dB that remain. Page numbers are those of the books; the
// figures were read in companion notebooks of the books, one of each author.
func TestPublishedBudgets(t *testing.T) {
	for _, c := range []struct{ source, budget, losses, perKm, want string }{
		{"Senior, Optical Fiber Communications, example 12.8 (a), p. 732", "{launch: -3 dBm, sensitivity: -55 dBm, margin: 7 dB}", "2", "0.5", "86"},
		{"the same, (b)", "{launch: -3 dBm, sensitivity: -44 dBm, margin: 7 dB}", "2", "0.5", "64"},
		{"the same, (c), with a dispersion penalty", "{launch: -3 dBm, sensitivity: -44 dBm, penalties: 1.5 dB, margin: 7 dB}", "2", "0.5", "61"},
		{"Senior, example 12.9, p. 734: power margin", "{launch: -10 dBm, sensitivity: -41 dBm}", "0", "", "31"},
		{"the same: excess, with 7 km × 2.6, 6 splices × 0.5, 1 connector × 1.5", "{launch: -10 dBm, sensitivity: -41 dBm, margin: 6 dB}", "22.7", "", "2.3"},
		{"Senior, example 12.13, p. 748: power margin", "{launch: -10 dBm, sensitivity: -25 dBm}", "0", "", "15"},
		{"the same: excess, with 2 km × 3.5, splices 1.4, connectors 1.6", "{launch: -10 dBm, sensitivity: -25 dBm, margin: 4 dB}", "10", "", "1.0"},
		{"Senior, example 3.1, p. 89: 120 µW in, 3 µW out", "{launch: 0.12 mW, sensitivity: 0.003 mW}", "0", "", "16.0"},
		{"Keiser, Optical Fiber Communications, example 3.2, p. 91: 200 µW through 30 km", "{launch: 0.2 mW, sensitivity: -19 dBm}", "0", "0.4", "30"},
		{"Roddy, Electronic Communication, example 20.8.1, p. 799", "{launch: 0 dBm, sensitivity: -57 dBm, margin: 5 dB}", "16.5", "2", "17.75"},
		{"Khare, Fiber Optics and Optoelectronics, example 12.1, p. 299", "{launch: -10 dBm, sensitivity: -42 dBm, margin: 6 dB}", "2", "3", "8.00"},
		{"Khare, example 12.2, p. 305", "{launch: 0 dBm, sensitivity: -25 dBm, margin: 7 dB}", "1.5", "3.5", "4.71"},
		{"Raina, example 10.4, p. 414", "{launch: -2.5 dBm, sensitivity: -45 dBm, margin: 6 dB}", "1", "0.45", "78.89"},
		{"the same, second receiver", "{launch: -2.5 dBm, sensitivity: -35 dBm, margin: 6 dB}", "1", "0.45", "56.67"},
		{"Palais, Fiber Optic Communications, example 5.4", "{launch: 2 dBm, sensitivity: -30 dBm, margin: 4 dB}", "22", "0.5", "12"},
		{"Bagad, example 5.3.3, p. 5-8", "{launch: 5 dBm, sensitivity: -40 dBm}", "35", "", "10"},
		{"the same, second receiver", "{launch: 5 dBm, sensitivity: -32 dBm}", "35", "", "2"},
		{"Selvarajan et al., example 11.1, p. 191: 4 dB for source and detector, one splice less than spans", "{launch: 0 dBm, sensitivity: -30 dBm, margin: 5 dB}", "3.8", "2.1", "10.095"},
	} {
		l := budget(t, c.budget)
		sum, missing := l.Set.Add(l.AtMost, &Situation{})
		if missing != "" || l.AtLeast != nil {
			t.Errorf("%s: no %s", c.source, missing)
			continue
		}
		left, want := sum.Total.Sub(quantity.Must(c.losses)), quantity.Must(c.want)
		half := want.Step().Half() // the book's last digit
		if c.perKm != "" {
			want, half = want.Mul(quantity.Must(c.perKm)), half.Mul(quantity.Must(c.perKm))
		}
		if half.Less(left.Sub(want).Abs()) {
			t.Errorf("%s: %s dB left, the book has %s", c.source, left, want)
		}
	}
}

// TestBudgetTerms: what is taken off is counted below nothing, and a receiver
// that is overloaded sets a least loss.
func TestBudgetTerms(t *testing.T) {
	for text, want := range map[string]string{
		"{launch: 3 dBm, sensitivity: -32 dBm, penalties: 0 dB}":                                       "3×1 -32×-1 0×-1 = 35",
		"{launch: 3 dBm, sensitivity: -32 dBm, penalties: 1 dB, margin: 3 dB}":                         "3×1 -32×-1 1×-1 3×-1 = 31",
		"{launch: 3 dBm, sensitivity: -32 dBm, overload: -8 dBm}":                                      "3×1 -32×-1 = 35, least 3×1 -8×-1 = 11",
		"{launch: 3 dBm, launch_most: 5 dBm, sensitivity: -32 dBm, penalties: 0 dB, overload: -8 dBm}": "3×1 -32×-1 0×-1 = 35, least 5×1 -8×-1 = 13",
		"{launch: 2 mW, sensitivity: 0.001 mW}":                                                        "3.0103×1 -30.0000×-1 = 33.0103",
		"{margin: 0.5 dB, overload: -3 dBm, launch: 0 dBm, sensitivity: -9.5 dBm, launch_most: 1 mW}":  "0×1 -9.5×-1 0.5×-1 = 9.0, least 0.0000×1 -3×-1 = 3",
	} {
		l := budget(t, text)
		line := func(terms []Term) string {
			sum, missing := l.Set.Add(terms, &Situation{})
			if missing != "" {
				t.Fatal(missing)
			}
			var b strings.Builder
			for _, a := range sum.Addends {
				fmt.Fprintf(&b, "%s×%s ", a.Value.Number, a.Amount)
			}
			return b.String() + "= " + sum.Total.String()
		}
		got := line(l.AtMost)
		if l.AtLeast != nil {
			got += ", least " + line(l.AtLeast)
		}
		if trimZeros(got) != trimZeros(want) {
			t.Errorf("%s: %s, want %s", text, got, want)
		}
	}
}

// trimZeros takes off the zeros behind a point, which say how a level was
// rounded.
func trimZeros(s string) string {
	return strings.NewReplacer(".0000", "", "9.0,", "9,").Replace(s)
}

// TestBudgetAtAWavelength: the powers are values like any other, with rows by
// wavelength, and a set that extends the budget changes one of them.
func TestBudgetAtAWavelength(t *testing.T) {
	const text = `id: own
title: Transmitter and receiver of the ring
owner: Port Ansel Council
edition: "2026"
provenance: read
clause: "7"
values:
  launched: {unit: dBm, rows: [{value: -3, wavelength_nm: 1310}, {value: -1, wavelength_nm: 1550}]}
  weakest: {unit: dBm, value: -23}
  ageing: {unit: dB, value: 2}
limits:
  - {id: power-budget, quantity: insertion_loss, budget: {launch: launched, sensitivity: weakest, margin: ageing}}
`
	b, problems := NewBook(fstest.MapFS{"own.yaml": {Data: []byte(text)},
		"further.yaml": {Data: []byte("id: further\ntitle: t\nowner: o\nedition: e\nprovenance: read\nextends: own\nvalues:\n  weakest: {unit: mW, value: 0.01}\n")}})
	if problems.Len() > 0 {
		t.Fatal(problems.Sorted())
	}
	for _, c := range []struct {
		set  string
		nm   int
		want string
	}{{"own", 1310, "18"}, {"own", 1550, "20"}, {"further", 1550, "17"}} {
		s, _ := b.Find(c.set)
		sum, missing := s.Add(s.Limits[0].AtMost, &Situation{Mode: record.Singlemode, WavelengthNM: c.nm})
		if missing != "" || !sum.Total.Equal(quantity.Must(c.want)) {
			t.Errorf("%s at %d nm: %s %s, want %s", c.set, c.nm, sum.Total, missing, c.want)
		}
	}
	if s, _ := b.Find("own"); s != nil {
		if _, missing := s.Add(s.Limits[0].AtMost, &Situation{WavelengthNM: 1625}); missing != "launched" {
			t.Errorf("missing %q at 1625 nm, want the launched power", missing)
		}
	}
}
