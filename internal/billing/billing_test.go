package billing_test

import (
	"fmt"
	"math/big"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"spanseal/internal/billing"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

func ptr(s string) *quantity.Decimal { d := quantity.Must(s); return &d }

func day(n int) record.Date { return record.NewDate(2026, 11, n) }

// told is a statement as its paper has it: a line for each row, then totals.
func told(s *billing.QuantityStatement) string {
	var b strings.Builder
	sums := func(name string, a billing.Sums) {
		b.WriteString(name + " " + a.Before.Fixed(2) + " " + a.This.Fixed(2) + " " + a.ToDate.Fixed(2) + "\n")
	}
	for _, r := range s.Rows {
		sums(quantity.Int(r.Item+1).String()+": "+quantity.Int(r.Quantity).String()+" x "+r.Rate.String(), r.Amount)
	}
	sums("total", s.Total)
	sums("held", s.Held)
	sums("released", s.Released)
	sums("payable", s.Payable)
	b.WriteString("still held " + s.Balance().Fixed(2) + "\n")
	for _, f := range s.Faults {
		b.WriteString(f.Code + " " + f.Message + "\n")
	}
	return b.String()
}

// TestChain follows one order over six statements. The sums were worked out by hand
// (own arithmetic), as the remarks show.
func TestChain(t *testing.T) {
	pay := record.Pay{Currency: "EUR", Retainage: ptr("10"), Items: []record.PayItem{
		{Line: "1.1", Unit: record.PayStrand, Rate: ptr("18.505")}, {Line: "1.2", Unit: record.PayLump, Rate: ptr("1200")}}}
	half := record.Release{Day: day(20), Percent: ptr("50"), Reason: "provisional acceptance"}
	fifty := record.Release{Day: day(26), Amount: ptr("50.00"), Reason: "papers complete"}
	state := map[string]billing.Standing{}
	for _, c := range []struct {
		name, after string
		change      func()
		accepted    []int
		want        string
	}{
		// 20 x 18.505 = 370.10; 10 % of it is 37.01; 370.10 - 37.01 = 333.09.
		{"r1: 20 of 36", "", func() {}, []int{20, 0}, `
1: 20 x 18.505 0.00 370.10 370.10
2: 0 x 1200 0.00 0.00 0.00
total 0.00 370.10 370.10
held 0.00 37.01 37.01
released 0.00 0.00 0.00
payable 0.00 333.09 333.09
still held 37.01
`},
		// 16 x 19.50 = 312.00, and 1200: 1512.00; 10 % is 151.20. Held then: 37.01 + 151.20 =
		// 188.21, half of it 94.105, so 94.11. 1512.00 - 151.20 + 94.11 = 1454.91.
		{"r2: the rest, another rate, a release", "r1: 20 of 36", func() {
			pay.Items[0].Rate, pay.Releases = ptr("19.50"), []record.Release{half}
		}, []int{36, 1}, `
1: 20 x 18.505 370.10 0.00 370.10
1: 16 x 19.50 0.00 312.00 312.00
2: 1 x 1200 0.00 1200.00 1200.00
total 370.10 1512.00 1882.10
held 37.01 151.20 188.21
released 0.00 94.11 94.11
payable 333.09 1454.91 1788.00
still held 94.10
`},
		// A correction, since r2 was not billed: 15 x 19.50 = 292.50, in all 1492.50; 10 % is
		// 149.25. Half of 37.01 + 149.25 = 186.26 is 93.13. 1492.50 - 149.25 + 93.13 = 1436.38.
		{"r3: one of them fails", "r1: 20 of 36", func() {}, []int{35, 1}, `
1: 20 x 18.505 370.10 0.00 370.10
1: 15 x 19.50 0.00 292.50 292.50
2: 1 x 1200 0.00 1200.00 1200.00
total 370.10 1492.50 1862.60
held 37.01 149.25 186.26
released 0.00 93.13 93.13
payable 333.09 1436.38 1769.47
still held 93.13
`},
		// The rate holds from the first: 20 x (19.50 - 18.505) = 20 x 0.995 = 19.90, and
		// 1 x 19.50: 39.40; 10 % is 3.94. 39.40 - 3.94 + 50.00 = 85.46. What was paid adds up:
		// 333.09 + 1436.38 + 85.46 = 1854.93. Still held: 93.13 + 3.94 - 50.00 = 47.07.
		{"r4: re-rated, a further release", "r3: one of them fails", func() {
			pay.Items[0].Retroactive, pay.Releases = true, []record.Release{fifty, half}
		}, []int{36, 1}, `
1: 20 x 18.505 370.10 0.00 370.10
1: 20 x 0.995 0.00 19.90 19.90
1: 16 x 19.50 292.50 19.50 312.00
2: 1 x 1200 1200.00 0.00 1200.00
total 1862.60 39.40 1902.00
held 186.26 3.94 190.20
released 93.13 50.00 143.13
payable 1769.47 85.46 1854.93
still held 47.07
`},
		// 18 are taken back: 16 x 19.50 = 312.00, then 2 of those re-rated: 2 x 18.505 = 37.01
		// and 2 x 0.995 = 1.99. 351.00 in all; 10 % is 35.10.
		{"r5: 18 taken back", "r4: re-rated, a further release", func() {}, []int{18, 1}, `
1: 18 x 18.505 370.10 -37.01 333.09
1: 18 x 0.995 19.90 -1.99 17.91
1: 0 x 19.50 312.00 -312.00 0.00
2: 1 x 1200 1200.00 0.00 1200.00
total 1902.00 -351.00 1551.00
held 190.20 -35.10 155.10
released 143.13 0.00 143.13
payable 1854.93 -315.90 1539.03
still held 11.97
`},
		// The lump sum is taken back: 10 % of 1200 is 120.00, and only 11.97 are held.
		{"r6: no more is given back than is held", "r5: 18 taken back", func() {}, []int{18, 0}, `
1: 18 x 18.505 333.09 0.00 333.09
1: 18 x 0.995 17.91 0.00 17.91
2: 0 x 1200 1200.00 -1200.00 0.00
total 1551.00 -1200.00 351.00
held 155.10 -11.97 143.13
released 143.13 0.00 143.13
payable 1539.03 -1188.03 351.00
still held 0.00
`},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.change()
			s := billing.Of(&pay, state[c.after], c.accepted)
			if diff := cmp.Diff(strings.TrimPrefix(c.want, "\n"), told(s)); diff != "" {
				t.Error(diff)
			}
			if again := told(billing.Of(&pay, state[c.after], c.accepted)); again != told(s) {
				t.Errorf("a second time:\n%s", again)
			}
			state[c.name] = s.ToDate
		})
	}
}

// TestFaults: each is told by its code.
func TestFaults(t *testing.T) {
	one := []record.PayItem{{Line: "1", Unit: record.PayLink, Rate: ptr("100")}}
	billed := billing.Of(&record.Pay{Retainage: ptr("10"), Items: one, Period: record.Period{From: day(1), To: day(10)},
		Releases: []record.Release{{Day: day(9), Amount: ptr("4.00"), Reason: "first half"}}}, billing.Standing{}, []int{1}).ToDate
	for name, c := range map[string]struct {
		pay  record.Pay
		want string
	}{
		"the day after":                {record.Pay{Period: record.Period{From: day(11), To: day(20)}}, ""},
		"the same day again":           {record.Pay{Period: record.Period{From: day(10), To: day(20)}}, "period-overlaps"},
		"before the one that is there": {record.Pay{Period: record.Period{From: record.NewDate(2026, 10, 1), To: record.NewDate(2026, 10, 31)}}, "period-overlaps"},
		"no period":                    {record.Pay{}, ""},
		"billed, and still listed":     {record.Pay{Releases: []record.Release{{Day: day(9), Amount: ptr("4"), Reason: "x"}}}, ""},
		"billed with another amount":   {record.Pay{Releases: []record.Release{{Day: day(9), Amount: ptr("5"), Reason: "x"}}}, "release-billed"},
		"billed as an amount":          {record.Pay{Releases: []record.Release{{Day: day(9), Percent: ptr("40"), Reason: "x"}}}, "release-billed"},
		"all that is held":             {record.Pay{Releases: []record.Release{{Day: day(12), Amount: ptr("6"), Reason: "x"}}}, ""},
		"a cent more":                  {record.Pay{Releases: []record.Release{{Day: day(12), Amount: ptr("6.01"), Reason: "x"}}}, "release-exceeds"},
		"a second of the rest":         {record.Pay{Releases: []record.Release{{Day: day(13), Percent: ptr("1"), Reason: "x"}, {Day: day(12), Percent: ptr("100"), Reason: "x"}}}, "release-exceeds"},
	} {
		t.Run(name, func(t *testing.T) {
			c.pay.Items = one
			var got []string
			for _, f := range billing.Of(&c.pay, billed, []int{1}).Faults {
				got = append(got, f.Code)
			}
			if strings.Join(got, " ") != c.want {
				t.Errorf("want %q, have %q", c.want, got)
			}
		})
	}
}

// TestWithoutRate: what was stated without a rate is in no amount, unless the rate holds
// for it too.
func TestWithoutRate(t *testing.T) {
	pay := record.Pay{Items: []record.PayItem{{Line: "1", Unit: record.PayLink}}}
	before := billing.Of(&pay, billing.Standing{}, []int{3}).ToDate
	pay.Items[0].Rate = ptr("10")
	s := billing.Of(&pay, before, []int{5})
	if s.Total.This.String() != "20.00" || s.Unrated(&pay, 0) != 3 {
		t.Errorf("%s claimed, %d without a rate", s.Total.This, s.Unrated(&pay, 0))
	}
	pay.Items[0].Retroactive = true
	s = billing.Of(&pay, before, []int{5})
	if s.Total.This.String() != "50.00" || s.Unrated(&pay, 0) != 0 {
		t.Errorf("%s claimed, %d without a rate", s.Total.This, s.Unrated(&pay, 0))
	}
}

// cents is a rational rounded to two places, halves away from zero.
func cents(r *big.Rat) *big.Rat {
	x := new(big.Rat).Mul(r, big.NewRat(100, 1))
	n := new(big.Int).Mul(new(big.Int).Abs(x.Num()), big.NewInt(2))
	n.Add(n, x.Denom()).Div(n, new(big.Int).Mul(x.Denom(), big.NewInt(2)))
	if r.Sign() < 0 {
		n.Neg(n)
	}
	return new(big.Rat).SetFrac(n, big.NewInt(100))
}

func rat(d quantity.Decimal) *big.Rat {
	r, _ := new(big.Rat).SetString(d.String())
	return r
}

// TestRecomputed holds random orders, each over several statements, against books that
// know nothing of parts: each unit is an entry of its own with the rates that were
// billed for it, on a pile from which the last is taken first.
func TestRecomputed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rates := rapid.SampledFrom([]string{"", "0", "7.25", "18.505", "18.506", "0.333", "1200"})
		pay := record.Pay{Items: make([]record.PayItem, rapid.IntRange(1, 3).Draw(t, "items"))}
		piles := make([][][]string, len(pay.Items)) // per item, per unit, its line and its rates
		lines := 0
		var state billing.Standing
		held, released, total := new(big.Rat), new(big.Rat), new(big.Rat)
		for n := range rapid.IntRange(1, 5).Draw(t, "statements") {
			pay.Retainage = nil
			if p := rapid.SampledFrom([]string{"", "0", "5", "10", "7.5", "100"}).Draw(t, "percent"); p != "" {
				pay.Retainage = ptr(p)
			}
			accepted := make([]int, len(pay.Items))
			sum := new(big.Rat)
			for i := range pay.Items {
				item := &pay.Items[i]
				item.Rate, item.Retroactive = nil, false
				if r := rates.Draw(t, "rate"); r != "" {
					item.Rate, item.Retroactive = ptr(r), rapid.Bool().Draw(t, "retroactive")
				}
				accepted[i] = rapid.IntRange(0, 6).Draw(t, "accepted")
				pile := piles[i]
				pile = pile[:min(len(pile), accepted[i])]
				for k, unit := range pile {
					if item.Retroactive && (len(unit) == 1 || rat(quantity.Must(unit[len(unit)-1])).Cmp(rat(*item.Rate)) != 0) {
						pile[k] = append(append([]string{}, unit...), item.Rate.String())
					}
				}
				for len(pile) < accepted[i] {
					lines++
					unit := []string{fmt.Sprint("line ", lines)}
					if item.Rate != nil {
						unit = append(unit, item.Rate.String())
					}
					if k := len(pile) - 1; k >= 0 && slices.Equal(pile[k][1:], unit[1:]) {
						unit = pile[k] // on the line of the last
					}
					pile = append(pile, unit)
				}
				piles[i] = pile
				for from := 0; from < len(pile); { // a line at a time
					to := from
					for to < len(pile) && pile[to][0] == pile[from][0] {
						to++
					}
					was := new(big.Rat)
					for _, r := range pile[from][1:] {
						step := new(big.Rat).Sub(rat(quantity.Must(r)), was)
						sum.Add(sum, cents(step.Mul(step, big.NewRat(int64(to-from), 1))))
						was = rat(quantity.Must(r))
					}
					from = to
				}
			}
			pay.Releases = nil
			if rapid.Bool().Draw(t, "release") {
				pay.Releases = []record.Release{{Day: day(n + 1), Percent: ptr("33"), Reason: "x"}}
			}
			s := billing.Of(&pay, state, accepted)
			if got := rat(s.Total.ToDate); got.Cmp(sum) != 0 {
				t.Fatalf("to date %s, and it is %s", s.Total.ToDate, sum.FloatString(2))
			}
			claim := new(big.Rat).Sub(sum, total)
			if rat(s.Total.This).Cmp(claim) != 0 || rat(s.Total.Before).Cmp(total) != 0 {
				t.Fatalf("claimed %s after %s, and it is %s after %s", s.Total.This, s.Total.Before, claim.FloatString(2), total.FloatString(2))
			}
			hold := new(big.Rat)
			if pay.Retainage != nil {
				hold = cents(hold.Mul(claim, new(big.Rat).Quo(rat(*pay.Retainage), big.NewRat(100, 1))))
			}
			if left := new(big.Rat).Sub(held, released); new(big.Rat).Add(left, hold).Sign() < 0 {
				hold.Neg(left)
			}
			held, total = new(big.Rat).Add(held, hold), sum
			out := new(big.Rat)
			if left := new(big.Rat).Sub(held, released); pay.Releases != nil && left.Sign() > 0 {
				out = cents(left.Mul(left, big.NewRat(33, 100)))
			}
			released = new(big.Rat).Add(released, out)
			due := new(big.Rat).Add(new(big.Rat).Sub(claim, hold), out)
			for name, c := range map[string]struct {
				got  quantity.Decimal
				want *big.Rat
			}{"held": {s.Held.This, hold}, "held to date": {s.Held.ToDate, held}, "released": {s.Released.This, out}, "released to date": {s.Released.ToDate, released},
				"due": {s.Payable.This, due}, "still held": {s.Balance(), new(big.Rat).Sub(held, released)}} {
				if rat(c.got).Cmp(c.want) != 0 {
					t.Fatalf("%s %s, and it is %s", name, c.got, c.want.FloatString(2))
				}
			}
			for _, a := range append([]billing.Sums{s.Total, s.Held, s.Released, s.Payable}, amounts(s.Rows)...) {
				if !a.Before.Add(a.This).Equal(a.ToDate) {
					t.Fatalf("%v does not add up", a)
				}
			}
			if rapid.Bool().Draw(t, "billed") {
				state = s.ToDate
				continue
			}
			return // one that was not billed is followed by none here
		}
	})
}

func amounts(rows []billing.Row) (all []billing.Sums) {
	for _, r := range rows {
		all = append(all, r.Amount)
	}
	return all
}
