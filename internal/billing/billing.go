// Package billing works out what a statement of quantities claims: of each pay item the
// amount to date, what was billed of it before, and the difference, which this statement
// claims; and what is held back of that and released.
//
// # Amounts
//
// What is accepted of an item is kept in parts, one for each rate at which it was
// stated. The amount to date of a part is its quantity times its rate, rounded to two
// places, halves away from zero. What a statement claims is the amount to date less that
// of the statement that was billed last. So every line adds up as printed, across and
// down, and no cent is lost or claimed twice however often an item is billed in parts.
//
// # Rates
//
// A part keeps the rate at which it was billed. A rate that is changed holds for what is
// accepted from then on; only if the item says that it is retroactive is the difference
// of the rates billed for what was billed before, on lines of their own. What is taken
// back, since a link is no longer accepted, is taken back at the rate at which it was
// billed, the last part first.
//
// # Retainage
//
// Of what a statement claims, so many percent are held back, rounded in the same way. A
// statement that takes something back gives back as much of what is held, but never more
// than that. Releases are told apart by their days: one that was billed is not paid
// out again. What is released in percent is a part of all that is held then, this
// statement's part included.
package billing

import (
	"fmt"
	"slices"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// places are those of an amount of money.
const places = 2

// Part is a quantity that was stated at one rate. Rates are that rate, and after it
// those to which it was changed with the difference billed; none: without a rate.
type Part struct {
	Quantity int                `json:"quantity"`
	Rates    []quantity.Decimal `json:"rates,omitempty"`
}

// Released is a release that was paid out.
type Released struct {
	Day     record.Date       `json:"day"`
	Percent *quantity.Decimal `json:"percent,omitempty"` // of what was held
	Amount  quantity.Decimal  `json:"amount"`
	Reason  string            `json:"reason"`
}

// Standing is what statements come to up to one of them.
type Standing struct {
	// Period is that of the statement; zero: it states none.
	Period record.Period `json:"period,omitzero"`
	// Items are the parts of each pay item, in the order of the items.
	Items [][]Part `json:"items"`
	// Held is all that was held back, before releases.
	Held     quantity.Decimal `json:"held"`
	Releases []Released       `json:"releases,omitempty"`
}

// Quantity is how much of an item there is.
func Quantity(parts []Part) (n int) {
	for _, p := range parts {
		n += p.Quantity
	}
	return n
}

// Released is what was paid out of what is held.
func (s *Standing) Released() (sum quantity.Decimal) {
	for _, r := range s.Releases {
		sum = sum.Add(r.Amount)
	}
	return sum
}

// Exact reports that what is held and released are amounts to the cent, as every
// statement makes them.
func (s *Standing) Exact() bool {
	cents := func(d quantity.Decimal) bool { return d.Round(places).Equal(d) }
	return cents(s.Held) && !slices.ContainsFunc(s.Releases, func(r Released) bool { return !cents(r.Amount) })
}

// empty reports that nothing was stated.
func (s *Standing) empty() bool {
	return s.Period.IsZero() && s.Held.IsZero() && s.Releases == nil && !slices.ContainsFunc(s.Items, func(parts []Part) bool { return Quantity(parts) != 0 })
}

// Sums are an amount up to the statement that was billed last, in this one, and up to
// this one. Before and This add up to ToDate.
type Sums struct {
	Before quantity.Decimal `json:"before"`
	This   quantity.Decimal `json:"this"`
	ToDate quantity.Decimal `json:"to_date"`
}

func between(before, toDate quantity.Decimal) Sums {
	return Sums{before.Round(places), toDate.Sub(before).Round(places), toDate.Round(places)} // exact already: zeros get their places
}

func (s Sums) add(o Sums) Sums {
	return Sums{s.Before.Add(o.Before), s.This.Add(o.This), s.ToDate.Add(o.ToDate)}
}

// Row is one line of amounts: a part of an item at its rate, or a difference of rates,
// From one To another, for such a part.
type Row struct {
	Item     int // of the pay items
	Quantity int // to date
	Rate     quantity.Decimal
	From, To *quantity.Decimal
	Amount   Sums
}

// Fault is why a statement cannot be made as the terms have it.
type Fault struct{ Code, Key, Message, Fix string }

// QuantityStatement is what a statement claims.
type QuantityStatement struct {
	Before, ToDate Standing
	Rows           []Row
	// Total is the sum of the rows. Held and Released are positive: Payable is Total
	// less Held, and Released more.
	Total, Held, Released, Payable Sums
	// New are the releases of this statement: the last of ToDate.
	New []Released
	// Clipped is that less than the percentage is given back, since no more is held.
	Clipped bool
	Faults  []Fault
}

// Of makes the statement of an order of which so much is accepted to date, by item.
// The items of the state before are those of the order, in its order; it is not changed.
func Of(pay *record.Pay, before Standing, accepted []int) *QuantityStatement {
	s := &QuantityStatement{Before: before, ToDate: Standing{Period: pay.Period, Held: before.Held, Releases: slices.Clone(before.Releases)}}
	for i := range pay.Items {
		var was []Part
		if i < len(before.Items) {
			was = before.Items[i]
		}
		is := carry(&pay.Items[i], was, accepted[i])
		s.rows(i, was, is)
		s.ToDate.Items = append(s.ToDate.Items, slices.DeleteFunc(is, func(p Part) bool { return p.Quantity == 0 }))
	}
	for _, r := range s.Rows {
		s.Total = s.Total.add(r.Amount)
	}
	s.hold(pay)
	s.release(pay)
	s.Held = between(before.Held, s.ToDate.Held)
	s.Released = between(before.Released(), s.ToDate.Released())
	s.Payable = Sums{payable(s.Total.Before, s.Held.Before, s.Released.Before), payable(s.Total.This, s.Held.This, s.Released.This), payable(s.Total.ToDate, s.Held.ToDate, s.Released.ToDate)}
	if p, last := pay.Period, before.Period; !p.IsZero() && !last.IsZero() && !p.From.After(last.To) {
		s.Faults = append(s.Faults, Fault{Code: "period-overlaps", Key: "pay.period", Message: fmt.Sprintf("the period begins %s, and the statement that was billed last is for %s to %s", p.From, last.From, last.To),
			Fix: "begin the period after that one, or correct pay.billed if another statement was billed last"})
	}
	return s
}

func payable(total, held, released quantity.Decimal) quantity.Decimal {
	return total.Sub(held).Add(released)
}

// Plain reports a statement that follows none, states no period and releases nothing:
// all of it is in the quantities, the rates and the percentage held.
func (s *QuantityStatement) Plain() bool {
	return s.First() && s.ToDate.Period.IsZero()
}

// First reports a statement that follows none and releases nothing: nothing came before
// what it claims.
func (s *QuantityStatement) First() bool { return s.Before.empty() && s.ToDate.Releases == nil }

// Balance is what is still held.
func (s *QuantityStatement) Balance() quantity.Decimal { return s.Held.ToDate.Sub(s.Released.ToDate) }

// Kept are the items of which a part keeps a rate that is not the item's own now.
func (s *QuantityStatement) Kept(pay *record.Pay) (items []int) {
	for i, parts := range s.ToDate.Items {
		rate := pay.Items[i].Rate
		if rate != nil && slices.ContainsFunc(parts, func(p Part) bool { return len(p.Rates) > 0 && !p.Rates[len(p.Rates)-1].Equal(*rate) }) {
			items = append(items, i)
		}
	}
	return items
}

// Unrated is how much of an item with a rate was stated without one.
func (s *QuantityStatement) Unrated(pay *record.Pay, item int) (n int) {
	for _, p := range s.ToDate.Items[item] {
		if len(p.Rates) == 0 && pay.Items[item].Rate != nil {
			n += p.Quantity
		}
	}
	return n
}

// carry are the parts of an item of which so much is accepted now: those before, each in
// its place though nothing may be left of it, and what is new.
func carry(item *record.PayItem, was []Part, accepted int) []Part {
	is := slices.Clone(was)
	more := accepted - Quantity(was)
	for k := len(is) - 1; k >= 0 && more < 0; k-- {
		back := min(is[k].Quantity, -more)
		is[k].Quantity -= back
		more += back
	}
	if item.Retroactive && item.Rate != nil {
		for k, p := range is {
			if n := len(p.Rates); p.Quantity > 0 && (n == 0 || !p.Rates[n-1].Equal(*item.Rate)) {
				is[k].Rates = append(slices.Clone(p.Rates), *item.Rate)
			}
		}
	}
	if more <= 0 && (len(is) > 0 || item.Rate == nil) {
		return is
	}
	var rates []quantity.Decimal
	if item.Rate != nil {
		rates = []quantity.Decimal{*item.Rate}
	}
	if n := len(is) - 1; n >= 0 && slices.EqualFunc(is[n].Rates, rates, quantity.Decimal.Equal) {
		is[n].Quantity += more
		return is
	}
	return append(is, Part{more, rates})
}

// amount is that of a quantity at a rate.
func amount(n int, rate quantity.Decimal) quantity.Decimal {
	return rate.Mul(quantity.Int(n)).Round(places)
}

// rows are the lines of an item, from its parts before and to date.
func (s *QuantityStatement) rows(item int, was, is []Part) {
	for k, p := range is {
		var before Part
		if k < len(was) {
			before = was[k]
		}
		for n, rate := range p.Rates {
			row := Row{Item: item, Quantity: p.Quantity, Rate: rate}
			if n > 0 {
				row.From, row.To = &p.Rates[n-1], &p.Rates[n]
				row.Rate = rate.Sub(p.Rates[n-1])
			}
			then := quantity.Scaled(0, places)
			if n < len(before.Rates) {
				then = amount(before.Quantity, row.Rate)
			}
			row.Amount = between(then, amount(p.Quantity, row.Rate))
			s.Rows = append(s.Rows, row)
		}
	}
}

// hold holds back of what is claimed.
func (s *QuantityStatement) hold(pay *record.Pay) {
	if pay.Retainage == nil {
		return
	}
	held := s.Total.This.Mul(*pay.Retainage).Mul(quantity.Scaled(1, 2)).Round(places)
	if least := s.Before.Released().Sub(s.Before.Held); held.Less(least) {
		held, s.Clipped = least, true
	}
	s.ToDate.Held = s.ToDate.Held.Add(held)
}

// release pays out what was not paid out before, by day.
func (s *QuantityStatement) release(pay *record.Pay) {
	order := make([]int, len(pay.Releases))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return pay.Releases[a].Day.Time().Compare(pay.Releases[b].Day.Time()) })
	for _, i := range order {
		r := &pay.Releases[i]
		fault := func(code, fix, format string, args ...any) {
			s.Faults = append(s.Faults, Fault{code, fmt.Sprintf("pay.releases[%d]", i), fmt.Sprintf(format, args...), fix})
		}
		if k := slices.IndexFunc(s.Before.Releases, func(b Released) bool { return b.Day.Equal(r.Day) }); k >= 0 {
			if !s.Before.Releases[k].is(r) {
				fault("release-billed", "write it as it was billed; for a further release, add one with a day of its own", "the release of %s was billed as %s, and differs here", r.Day, s.Before.Releases[k].says())
			}
			continue
		}
		held := s.ToDate.Held.Sub(s.ToDate.Released())
		if held.Sign() <= 0 {
			fault("release-exceeds", "remove the release, or correct its day: a billed release keeps the day with which it was billed", "nothing is held from which the release of %s could be paid", r.Day)
			continue
		}
		one := Released{Day: r.Day, Percent: r.Percent, Reason: r.Reason}
		switch {
		case r.Percent != nil:
			one.Amount = held.Mul(*r.Percent).Mul(quantity.Scaled(1, 2)).Round(places)
		case r.Amount != nil:
			one.Amount = r.Amount.Round(places)
		}
		if held.Less(one.Amount) {
			fault("release-exceeds", "release at most that much, or percent: 100", "the release of %s is %s, but only %s is held", r.Day, one.Amount, held)
			continue
		}
		s.New = append(s.New, one)
		s.ToDate.Releases = append(s.ToDate.Releases, one)
	}
}

// is reports whether a release is the one that was billed.
func (r *Released) is(now *record.Release) bool {
	if now.Percent != nil {
		return r.Percent != nil && r.Percent.Equal(*now.Percent)
	}
	return r.Percent == nil && now.Amount != nil && now.Amount.Round(places).Equal(r.Amount)
}

// says is the release as the job has it.
func (r *Released) says() string {
	if r.Percent != nil {
		return r.Percent.Short() + " %"
	}
	return r.Amount.Fixed(places)
}
