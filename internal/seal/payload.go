package seal

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"spanseal/internal/quantity"
)

// The shapes of a token's payload, in key order.
type (
	payload struct {
		Certificate string    `cbor:"1,keyasint"`
		Revision    uint32    `cbor:"2,keyasint"`
		Job         string    `cbor:"3,keyasint"`
		Link        string    `cbor:"4,keyasint,omitempty"`
		Verdict     uint8     `cbor:"5,keyasint"`
		Issued      uint32    `cbor:"6,keyasint"`
		Measured    uint32    `cbor:"7,keyasint,omitempty"`
		Readings    []reading `cbor:"8,keyasint,omitempty"`
		Margin      *number   `cbor:"9,keyasint,omitempty"`
		Record      []byte    `cbor:"10,keyasint"`
	}
	reading struct {
		_          struct{} `cbor:",toarray"`
		Wavelength uint16
		Direction  uint8
		Exponent   int8
		Mantissa   int64
	}
	number struct {
		_        struct{} `cbor:",toarray"`
		Exponent int8
		Mantissa int64
	}
)

// directions by their numbers in a token.
var directions = []string{"A-B", "B-A"}

func compareReadings(a, b ClaimReading) int {
	return cmp.Or(cmp.Compare(a.WavelengthNM, b.WavelengthNM), cmp.Compare(a.Direction, b.Direction))
}

func payloadOf(c Claim) (*payload, error) {
	p := &payload{Certificate: c.Certificate, Job: c.Job, Link: c.Link, Record: c.Record[:]}
	if c.Revision < 1 || c.Revision > 1<<16 {
		return nil, fmt.Errorf("revision %d is out of range", c.Revision)
	}
	p.Revision = uint32(c.Revision)
	p.Verdict = uint8(slices.Index(Verdicts, c.Verdict) + 1)
	if p.Verdict == 0 {
		return nil, fmt.Errorf("%q is not a verdict", c.Verdict)
	}
	var err error
	if p.Issued, err = dayNumber(c.Issued); err != nil {
		return nil, err
	}
	if c.Measured != "" {
		if p.Measured, err = dayNumber(c.Measured); err != nil {
			return nil, err
		}
	}
	for _, r := range c.sorted() {
		n, err := numberOf(r.Loss)
		if err != nil {
			return nil, err
		}
		d := slices.Index(directions, r.Direction)
		if d < 0 {
			return nil, fmt.Errorf("%q is not a direction", r.Direction)
		}
		if r.WavelengthNM < 1 || r.WavelengthNM > maxWavelength {
			return nil, fmt.Errorf("a wavelength of %d nm is out of range", r.WavelengthNM)
		}
		p.Readings = append(p.Readings, reading{Wavelength: uint16(r.WavelengthNM), Direction: uint8(d), Exponent: n.Exponent, Mantissa: n.Mantissa})
	}
	if c.Margin != nil {
		if p.Margin, err = numberOf(*c.Margin); err != nil {
			return nil, err
		}
	}
	_, err = p.claim() // the reader's rules are the writer's
	return p, err
}

const maxWavelength = 9999 // nm

// claim turns a payload into a claim and checks every rule of its fields.
func (p *payload) claim() (Claim, error) {
	c := Claim{Certificate: p.Certificate, Revision: int(p.Revision), Job: p.Job, Link: p.Link}
	for _, t := range []struct {
		name, text string
		needed     bool
	}{{"certificate", p.Certificate, true}, {"job", p.Job, true}, {"link", p.Link, false}} {
		if err := checkText(t.text, t.needed); err != nil {
			return c, fmt.Errorf("%s: %w", t.name, err)
		}
	}
	switch {
	case p.Revision < 1 || p.Revision > 1<<16:
		return c, fmt.Errorf("revision %d is out of range", p.Revision)
	case p.Verdict < 1 || int(p.Verdict) > len(Verdicts):
		return c, fmt.Errorf("verdict %d is unknown", p.Verdict)
	case len(p.Record) != len(c.Record):
		return c, fmt.Errorf("the record's hash is of %d bytes, want %d", len(p.Record), len(c.Record))
	case p.Issued < 1 || p.Issued > maxDay || p.Measured > maxDay:
		return c, errors.New("a day is out of range")
	case len(p.Readings) > MaxReadings:
		return c, fmt.Errorf("%d readings are too many: want at most %d", len(p.Readings), MaxReadings)
	}
	c.Verdict, c.Record = Verdicts[p.Verdict-1], [16]byte(p.Record)
	c.Issued = day(p.Issued)
	if p.Measured > 0 {
		c.Measured = day(p.Measured)
	}
	for i, r := range p.Readings {
		if int(r.Direction) >= len(directions) {
			return c, fmt.Errorf("direction %d is unknown", r.Direction)
		}
		if r.Wavelength < 1 || r.Wavelength > maxWavelength {
			return c, fmt.Errorf("a wavelength of %d nm is out of range", r.Wavelength)
		}
		loss, err := number{Exponent: r.Exponent, Mantissa: r.Mantissa}.decimal()
		if err != nil {
			return c, err
		}
		c.Readings = append(c.Readings, ClaimReading{int(r.Wavelength), directions[r.Direction], loss})
		if i > 0 && compareReadings(c.Readings[i-1], c.Readings[i]) >= 0 {
			return c, errors.New("readings are out of order or twice there")
		}
	}
	if p.Margin != nil {
		margin, err := p.Margin.decimal()
		if err != nil {
			return c, err
		}
		c.Margin = &margin
	}
	return c, nil
}

func checkText(s string, needed bool) error {
	switch {
	case s == "" && needed:
		return errors.New("missing")
	case len(s) > MaxText:
		return fmt.Errorf("%d bytes are too long: want at most %d", len(s), MaxText)
	case !utf8.ValidString(s):
		return errors.New("not UTF-8")
	case strings.ContainsFunc(s, unicode.IsControl):
		return errors.New("holds a control character")
	}
	return nil
}

// maxMantissa is the largest of MaxPlaces digits.
const maxMantissa = 1_000_000_000_000_000_000 - 1

func numberOf(d quantity.Decimal) (*number, error) {
	m, err := strconv.ParseInt(strings.Replace(d.String(), ".", "", 1), 10, 64)
	if err != nil || m > maxMantissa || m < -maxMantissa || d.Places() > MaxPlaces {
		return nil, fmt.Errorf("the number %s has more than %d digits", d, MaxPlaces)
	}
	return &number{Exponent: int8(-d.Places()), Mantissa: m}, nil
}

func (n number) decimal() (quantity.Decimal, error) {
	if n.Exponent > 0 || n.Exponent < -MaxPlaces || n.Mantissa > maxMantissa || n.Mantissa < -maxMantissa {
		return quantity.Decimal{}, errors.New("a number is out of range")
	}
	return quantity.Scaled(n.Mantissa, int(-n.Exponent)), nil
}

// Days are counted from 1970-01-01 (RFC 8943).
const maxDay = 84005 // 2199-12-31

func dayNumber(s string) (uint32, error) {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil || t.Unix() < 86400 || t.Unix() > maxDay*86400 {
		return 0, fmt.Errorf("%q is not a day such as 2026-11-25", s)
	}
	return uint32(t.Unix() / 86400), nil
}

func day(n uint32) string { return time.Unix(int64(n)*86400, 0).UTC().Format(time.DateOnly) }
