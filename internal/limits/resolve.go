package limits

import (
	"fmt"

	"spanseal/internal/quantity"
)

// Addend is one term worked out: Value.Number × Amount = Product.
type Addend struct {
	Value      *Value
	Amount     quantity.Decimal
	AmountUnit quantity.Unit
	Product    quantity.Decimal
	Ratio      int // of splitters, 8 of 1:8; else 0
}

// Label names what the addend is of: its value, and of splitters the ratio.
func (a *Addend) Label() string {
	if a.Ratio > 0 {
		return fmt.Sprintf("%s_%d", a.Value.Group, a.Ratio)
	}
	return a.Value.Group
}

// Sum is a limit worked out for one situation.
type Sum struct {
	Addends []Addend
	Total   quantity.Decimal
}

// Add works out terms. Terms that use the same value are counted together, and
// those with an amount of zero are left out. Where a rate that is needed has no
// fitting row, its name is returned and the sum is of no use.
func (s *Set) Add(terms []Term, at *Situation) (sum Sum, missing string) {
	sum.Addends = make([]Addend, 0, len(terms))
next:
	for _, t := range terms {
		if t.Amount == EachSplitter {
			if missing := s.splitters(&sum, &t, at); missing != "" {
				return Sum{}, missing
			}
			continue
		}
		amount, unit := at.Amount(t.Amount)
		if amount.IsZero() && t.Amount != LengthKm {
			continue
		}
		v := s.pick(t.Rates, at)
		if v == nil {
			return Sum{}, t.Rates[0]
		}
		if t.Less {
			amount = amount.Neg()
		}
		product := v.Number.Mul(amount)
		sum.Total = sum.Total.Add(product)
		for i := range sum.Addends {
			if a := &sum.Addends[i]; a.Value == v && a.AmountUnit == unit {
				a.Amount, a.Product = a.Amount.Add(amount), a.Product.Add(product)
				continue next
			}
		}
		sum.Addends = append(sum.Addends, Addend{Value: v, Amount: amount, AmountUnit: unit, Product: product})
	}
	return sum, ""
}

// splitters adds a term for each ratio of splitters on the way.
func (s *Set) splitters(sum *Sum, t *Term, at *Situation) (missing string) {
	for i, n := range at.Splitters {
		if n == 0 {
			continue
		}
		one := *at
		one.Ratio = 2 << i
		v := s.pick(t.Rates, &one)
		if v == nil {
			return t.Rates[0]
		}
		amount := quantity.Int(int(n))
		product := v.Number.Mul(amount)
		sum.Total = sum.Total.Add(product)
		sum.Addends = append(sum.Addends, Addend{Value: v, Amount: amount, AmountUnit: quantity.One, Product: product, Ratio: one.Ratio})
	}
	return ""
}

// pick returns the value of the first rate that has a fitting row. The set's
// own figures go before those of its base, whatever the rate: an owner's figure
// for a connection also holds for one that the base treats apart.
func (s *Set) pick(rates []string, at *Situation) *Value {
	for level := s; level != nil; level = level.Base {
		for _, rate := range rates {
			if v := s.Value(rate, at); v != nil && (v.Set == level.ID || level.Base == nil) {
				return v
			}
		}
	}
	return nil
}
