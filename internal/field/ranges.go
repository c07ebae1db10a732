package field

import "spanseal/internal/quantity"

// What no instrument can have measured, and no link be. These are not limits:
// beyond them a number is a slip of the pen or of the mapping.
const (
	MinWavelength = 600 // nm
	MaxWavelength = 1700
	MaxLoss       = 100 // dB
	MinPower      = -100
	MaxPower      = 40 // dBm
	MaxLength     = 1_000_000
)

// Bounds are those and zero, as decimals.
var Bounds = func() map[int]quantity.Decimal {
	m := map[int]quantity.Decimal{}
	for _, n := range []int{0, MaxLoss, -MaxLoss, MinPower, MaxPower, MaxLength} {
		m[n] = quantity.Int(n)
	}
	return m
}()
