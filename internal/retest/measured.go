package retest

import (
	"cmp"
	"slices"
	"strings"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// key is what two readings must have in common to be compared.
type key struct {
	quantity   record.Quantity
	wavelength int
	direction  record.Direction
	event      string
}

func keyOf(r *record.Reading) key { return key{r.Quantity, r.WavelengthNM, r.Direction, r.Event} }

// measurement is one value of a side, its uncertainty, and the readings behind it.
type measurement struct {
	value quantity.Decimal
	u     *quantity.Decimal
	of    []*record.Reading // two for an average
}

// measured are the results of a side, two-way averages among them. An average
// has the larger uncertainty of its two readings, as package judge has it.
func measured(s *Side) map[key]measurement {
	all := map[key]measurement{}
	for i := range s.Readings {
		r := &s.Readings[i]
		all[keyOf(r)] = measurement{r.Value, s.uncertainty(r), []*record.Reading{r}}
	}
	for k, one := range all {
		k.direction = opposite(k.direction)
		other, both := all[k]
		if k.quantity != record.InsertionLoss || k.direction != record.BA || !both {
			continue
		}
		if len(differences(s.MethodOf(one.of[0]), s.MethodOf(other.of[0]))) > 0 {
			continue // they hold other connections each, and have no average
		}
		average := measurement{value: one.value.Add(other.value).Half(), of: slices.Concat(one.of, other.of)}
		if one.u != nil && other.u != nil {
			if average.u = one.u; one.u.Less(*other.u) {
				average.u = other.u
			}
		}
		all[key{record.TwoWayAverage, k.wavelength, record.TwoWay, k.event}] = average
	}
	return all
}

func opposite(d record.Direction) record.Direction {
	switch d {
	case record.AB:
		return record.BA
	case record.BA:
		return record.AB
	}
	return d
}

// keysOf are the keys of both sides in the order of a certificate.
func keysOf(sides ...map[key]measurement) []key {
	var keys []key
	for _, s := range sides {
		for k := range s {
			if !slices.Contains(keys, k) {
				keys = append(keys, k)
			}
		}
	}
	quantities := []record.Quantity{record.InsertionLoss, record.TwoWayAverage, record.SpliceLoss, record.Reflectance, record.ReturnLoss, record.OpticalReturnLoss, record.Length}
	ways := []record.Direction{record.AB, record.BA, record.TwoWay, record.NoWay}
	rank := func(k key) int { return max(slices.Index(quantities, k.quantity), 1) } // a mean stands with its losses
	slices.SortFunc(keys, func(a, b key) int {
		return cmp.Or(cmp.Compare(rank(a), rank(b)), cmp.Compare(a.wavelength, b.wavelength),
			cmp.Compare(slices.Index(ways, a.direction), slices.Index(ways, b.direction)), strings.Compare(a.event, b.event))
	})
	return keys
}
