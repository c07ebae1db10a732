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

// The shapes of a token's payload, in key order. Every byte counts: a symbol of
// a version less has larger modules on the same label, and is made sooner.
type (
	payload struct {
		Certificate string   `cbor:"1,keyasint,omitempty"`
		Revision    uint32   `cbor:"2,keyasint,omitempty"`
		Job         string   `cbor:"3,keyasint"`
		Link        string   `cbor:"4,keyasint,omitempty"`
		Verdict     uint8    `cbor:"5,keyasint"`
		Issued      uint32   `cbor:"6,keyasint"`
		Measured    *int32   `cbor:"7,keyasint,omitempty"`
		Readings    []*int64 `cbor:"8,keyasint,omitempty"`
		Margin      *number  `cbor:"9,keyasint,omitempty"`
		Record      []byte   `cbor:"10,keyasint"`
	}
	number struct {
		_        struct{} `cbor:",toarray"`
		Exponent int8
		Mantissa int64
	}
)

// A wavelength's place in the readings of a payload: the wavelength, the
// exponent, and the mantissas of A-B and B-A, nil where it was not measured.
const perWavelength = 4

// directions in the order in which a token holds their losses.
var directions = []string{"A-B", "B-A"}

// defaultNumber is the certificate number that a token need not spell out.
func defaultNumber(job, link string) string {
	if link == "" {
		return job
	}
	return job + "/" + link
}

func compareReadings(a, b ClaimReading) int {
	return cmp.Or(cmp.Compare(a.WavelengthNM, b.WavelengthNM), cmp.Compare(a.Direction, b.Direction))
}

func payloadOf(c Claim) (*payload, error) {
	p := &payload{Job: c.Job, Link: c.Link, Record: c.Record[:]}
	if c.Certificate == "" {
		return nil, errors.New("certificate: missing")
	}
	if c.Certificate != defaultNumber(c.Job, c.Link) {
		p.Certificate = c.Certificate
	}
	if c.Revision < 1 || c.Revision > 1<<16 {
		return nil, fmt.Errorf("revision %d is out of range", c.Revision)
	}
	if c.Revision > 1 {
		p.Revision = uint32(c.Revision)
	}
	p.Verdict = uint8(slices.Index(Verdicts, c.Verdict) + 1)
	if p.Verdict == 0 {
		return nil, fmt.Errorf("%q is not a verdict", c.Verdict)
	}
	var err error
	if p.Issued, err = dayNumber(c.Issued); err != nil {
		return nil, err
	}
	if c.Measured != "" {
		measured, err := dayNumber(c.Measured)
		if err != nil {
			return nil, err
		}
		before := int32(p.Issued) - int32(measured)
		p.Measured = &before
	}
	for _, r := range c.sorted() {
		if err := p.add(r); err != nil {
			return nil, err
		}
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

// add writes a loss behind those before it, in their order: with that of the
// other direction where both were written with as many places.
func (p *payload) add(r ClaimReading) error {
	n, err := numberOf(r.Loss)
	if err != nil {
		return err
	}
	nm, exponent := int64(r.WavelengthNM), int64(n.Exponent)
	if nm < 1 || nm > maxWavelength {
		return fmt.Errorf("a wavelength of %d nm is out of range", nm)
	}
	switch r.Direction {
	case directions[0]:
		p.Readings = append(p.Readings, &nm, &exponent, &n.Mantissa, nil)
	case directions[1]:
		i := len(p.Readings) - perWavelength
		if i >= 0 && *p.Readings[i] == nm && *p.Readings[i+1] == exponent && p.Readings[i+3] == nil {
			p.Readings[i+3] = &n.Mantissa
		} else {
			p.Readings = append(p.Readings, &nm, &exponent, nil, &n.Mantissa)
		}
	default:
		return fmt.Errorf("%q is not a direction", r.Direction)
	}
	return nil
}

// losses is what the readings say, by wavelength and direction.
func (p *payload) losses() (losses []ClaimReading, err error) {
	for r := range slices.Chunk(p.Readings, perWavelength) {
		if len(r) < perWavelength || r[0] == nil || r[1] == nil {
			return nil, errors.New("a reading is of another shape")
		}
		if *r[0] < 1 || *r[0] > maxWavelength {
			return nil, fmt.Errorf("a wavelength of %d nm is out of range", *r[0])
		}
		if *r[1] > 0 || *r[1] < -MaxPlaces {
			return nil, errors.New("a number is out of range")
		}
		for i, mantissa := range r[2:] {
			if mantissa == nil {
				continue
			}
			loss, err := number{Exponent: int8(*r[1]), Mantissa: *mantissa}.decimal()
			if err != nil {
				return nil, err
			}
			losses = append(losses, ClaimReading{int(*r[0]), directions[i], loss})
		}
	}
	if len(losses) > MaxReadings {
		return nil, fmt.Errorf("%d readings are too many: want at most %d", len(losses), MaxReadings)
	}
	for i := 1; i < len(losses); i++ {
		if compareReadings(losses[i-1], losses[i]) >= 0 {
			return nil, errors.New("readings are out of order or twice there")
		}
	}
	return losses, nil
}

// claim turns a payload into a claim and checks every rule of its fields.
func (p *payload) claim() (c Claim, err error) {
	c = Claim{Certificate: p.Certificate, Revision: max(1, int(p.Revision)), Job: p.Job, Link: p.Link}
	for _, t := range []struct {
		name, text string
		needed     bool
	}{{"certificate", p.Certificate, false}, {"job", p.Job, true}, {"link", p.Link, false}} {
		if err := checkText(t.text, t.needed); err != nil {
			return c, fmt.Errorf("%s: %w", t.name, err)
		}
	}
	switch {
	case c.Revision > 1<<16:
		return c, fmt.Errorf("revision %d is out of range", c.Revision)
	case p.Verdict < 1 || int(p.Verdict) > len(Verdicts):
		return c, fmt.Errorf("verdict %d is unknown", p.Verdict)
	case len(p.Record) != len(c.Record):
		return c, fmt.Errorf("the record's hash is of %d bytes, want %d", len(p.Record), len(c.Record))
	case p.Issued < 1 || p.Issued > maxDay:
		return c, errors.New("a day is out of range")
	}
	if c.Certificate == "" {
		c.Certificate = defaultNumber(p.Job, p.Link)
	}
	c.Verdict, c.Record = Verdicts[p.Verdict-1], [16]byte(p.Record)
	c.Issued = day(p.Issued)
	if p.Measured != nil {
		measured := int64(p.Issued) - int64(*p.Measured)
		if measured < 1 || measured > maxDay {
			return c, errors.New("a day is out of range")
		}
		c.Measured = day(uint32(measured))
	}
	if c.Readings, err = p.losses(); err != nil {
		return c, err
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
