package quantity

// Packed is a decimal of few digits, or none at all, in eight bytes: for those
// who keep a million. The zero value is none.
type Packed struct {
	n      int32
	places int8
	some   bool
}

// Pack reports whether a decimal, or nil, fits: as a rule one of nine digits does.
func Pack(d *Decimal) (p Packed, ok bool) {
	if d == nil {
		return p, true
	}
	if !d.v.Coeff.IsInt64() {
		return p, false
	}
	n := d.v.Coeff.Int64()
	if d.v.Negative {
		n = -n
	}
	p = Packed{int32(n), int8(-d.v.Exponent), true}
	return p, int64(p.n) == n && int32(p.places) == -d.v.Exponent
}

// Unpack returns the decimal with every digit as written, or nil.
func (p Packed) Unpack() *Decimal {
	if !p.some {
		return nil
	}
	d := Scaled(int64(p.n), int(p.places))
	return &d
}
