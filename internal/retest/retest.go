// Package retest holds new readings against what was certified.
//
// It is pure, like package judge: a certificate's own record and new facts in,
// a [Comparison] out. Everything about the certified side, its limits too, is
// taken from the record that the certificate carries, never from the limit
// sets of today.
//
// A comparison means something only under the earlier conditions. Losses are
// compared where wavelength, direction, reference method and grade of the test
// cords are the same; elsewhere both readings are shown, and the reason why they
// are not compared.
//
// Whether a change is larger than measurement explains is told by the
// normalised error
//
//	En = |x2 − x1| / √(U1² + U2²)
//
// of two results with expanded uncertainties U (ISO 13528:2015, 9.7, and
// ISO/IEC 17043:2010, B.3.1.3, both from memory): above 1 the change is larger,
// up to 1 the two measurements explain it. The comparison is exact: the squares
// are compared as decimals. Without both uncertainties nothing is said about
// it. The formula takes the two measurements to be independent; where the same
// instruments served twice, part of their uncertainty is common, and En is
// smaller than it might be.
//
// # Bounds
//
// A record has at most 16 MB and 250,000 members and elements.
//
// There is no built-in tolerance. Where the project stated one before the
// certificate was issued, it is in the record.
package retest

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"spanseal/internal/bounds"
	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// recordForms are the forms of record.json that are known here; the first wrote
// questions as texts alone. This reading of them is this package's own, so that a
// fault in the writing shows.
var recordForms = []string{"spanseal-record/1", "spanseal-record/2"}

// Certified is the record that a certificate carries.
type Certified struct {
	Format      string        `json:"format"`
	Certificate string        `json:"certificate"`
	Revision    int           `json:"revision"`
	Issued      record.Date   `json:"issued"`
	Specimen    bool          `json:"specimen"`
	Verdict     judge.Verdict `json:"verdict"`
	Job         struct {
		Number     string           `json:"number"`
		Title      string           `json:"title"`
		Site       record.Party     `json:"site"`
		Customer   record.Party     `json:"customer"`
		Contractor record.Party     `json:"contractor"`
		TimeZone   string           `json:"time_zone"`
		Completed  record.Date      `json:"completed"`
		Warranty   *record.Warranty `json:"warranty"`
		Policy     record.Policy    `json:"judge"`
	} `json:"job"`
	Link        record.Link         `json:"link"`
	Findings    []judge.Finding     `json:"findings"` // without their readings
	Readings    []record.Reading    `json:"readings"`
	Instruments []record.Instrument `json:"instruments"`
	People      []record.Person     `json:"people"`
	Sets        []judge.SetUsed     `json:"sets"`
}

// The record of a link has at most so many bytes, and members and elements in
// all. One of 1,000 readings has 700 KB and 40,000.
const (
	maxRecord = 16 << 20
	maxValues = 250_000
)

// ParseRecord reads the record.json of a certificate or nonconformance sheet.
func ParseRecord(data []byte) (*Certified, error) {
	var r struct {
		Certified
		Findings   []cited          `json:"findings"`
		Workings   []judge.Working  `json:"workings"`
		Superseded []record.Reading `json:"superseded"`
		Cited      []record.Reading `json:"cited"`
	}
	if len(data) > maxRecord {
		return nil, fmt.Errorf("the record is not one that can be read: %w", bounds.ErrTooLarge)
	}
	if err := bounds.Unmarshal(data, maxValues, &r); err != nil {
		return nil, fmt.Errorf("the record is not one that can be read: %w", err)
	}
	c := &r.Certified
	readings := len(c.Readings) + len(r.Superseded) + len(r.Cited)
	for i, f := range r.Findings {
		if err := f.resolve(r.Workings, readings); err != nil {
			return nil, fmt.Errorf("finding %d of the record: %w", i+1, err)
		}
		c.Findings = append(c.Findings, f.Finding)
	}
	switch {
	case !slices.Contains(recordForms, c.Format):
		return nil, fmt.Errorf("the record is of the form %q, and only %s are known", c.Format, strings.Join(recordForms, " and "))
	case c.Specimen:
		return nil, errors.New("the record is a specimen: its values are invented")
	case c.Link.ID == "":
		return nil, errors.New("the record names no link")
	}
	return c, nil
}

// cited is a finding that names its working and its readings by their places in
// the record, counted from one. Its readings are not put in: nothing here asks for
// them, and a stranger's record could cite one a million times.
type cited struct {
	judge.Finding
	Working  int   `json:"working"` // 0 where it has none
	Readings []int `json:"readings"`
}

func (f *cited) resolve(workings []judge.Working, readings int) error {
	if f.Matter == nil {
		f.Matter = new(judge.Matter)
	}
	if n := f.Working; n < 0 || n > len(workings) {
		return fmt.Errorf("there is no working %d", n)
	} else if n > 0 {
		f.Finding.Working = &workings[n-1]
	}
	for _, n := range f.Readings {
		if n < 1 || n > readings {
			return fmt.Errorf("there is no reading %d", n)
		}
	}
	return nil
}

// Side is one of two measurements of a link: how it was done and what was read.
type Side struct {
	Reference record.ReferenceMethod `json:"reference"`  // "" where nobody says
	TestCords record.TestCords       `json:"test_cords"` // "" where nobody says
	// Uncertainty is that of a loss reading whose instrument gives none,
	// expanded (k = 2), dB; nil where it is not known.
	Uncertainty *quantity.Decimal   `json:"uncertainty_db,omitempty"`
	Instruments []record.Instrument `json:"instruments,omitempty"`
	People      []record.Person     `json:"people,omitempty"`
	Readings    []record.Reading    `json:"readings"` // those that count
	// Link is how the link is described on this side, nil where it is not.
	Link *record.Link `json:"link,omitempty"`
}

// MethodOf is how a reading was made: its own method, else that of the side.
func (s *Side) MethodOf(r *record.Reading) record.Method {
	m := record.Method{Reference: s.Reference, TestCords: s.TestCords}
	if r.Method != nil {
		return r.Method.Over(m)
	}
	return m
}

// Losses are the methods by which the losses of the side were measured, each once by
// what a comparison asks of it; that of the side where it has none.
func (s *Side) Losses() (out []record.Method) {
	for i := range s.Readings {
		if m := s.MethodOf(&s.Readings[i]); isLoss(s.Readings[i].Quantity) {
			m = record.Method{Reference: m.Reference, TestCords: m.TestCords}
			if !slices.Contains(out, m) {
				out = append(out, m)
			}
		}
	}
	if out == nil {
		out = []record.Method{{Reference: s.Reference, TestCords: s.TestCords}}
	}
	return out
}

// AsCertified gives every new reading that has no method of its own the reference, the
// cords or both of the certified one at its wavelength and in its direction.
func (s *Side) AsCertified(c *Certified, reference, cords bool) {
	side := c.Side()
	of := func(r *record.Reading) record.Method {
		for i := range c.Readings {
			if o := &c.Readings[i]; o.Quantity == r.Quantity && o.WavelengthNM == r.WavelengthNM && o.Direction == r.Direction && o.Event == r.Event {
				return side.MethodOf(o)
			}
		}
		return side.Losses()[0]
	}
	all := side.Losses()[0]
	if reference {
		s.Reference = all.Reference
	}
	if cords {
		s.TestCords = all.TestCords
	}
	if len(side.Losses()) == 1 {
		return
	}
	for i := range s.Readings {
		r := &s.Readings[i]
		then, m := of(r), s.MethodOf(r)
		if said := r.Method; said == nil || said.Reference == "" || said.TestCords == "" {
			if reference && (said == nil || said.Reference == "") {
				m.Reference = then.Reference
			}
			if cords && (said == nil || said.TestCords == "") {
				m.TestCords = then.TestCords
			}
			r.Method = &m
		}
	}
}

// Side is the certified measurement.
func (c *Certified) Side() Side {
	p := &c.Job.Policy
	return Side{Reference: p.Reference, TestCords: p.TestCords, Uncertainty: p.Uncertainty, Instruments: c.Instruments, People: c.People, Readings: c.Readings, Link: &c.Link}
}

// SideOf is the measurement of a link in a job.
func SideOf(f *record.Facts, link string) Side {
	p := &f.Job.Policy
	s := Side{Reference: p.Reference, TestCords: p.TestCords, Uncertainty: p.Uncertainty}
	meters, people := map[string]bool{}, map[string]bool{}
	for _, r := range f.Readings {
		if r.Link == link && r.Fate == record.Used {
			s.Readings = append(s.Readings, r)
			meters[r.Instrument], meters[r.Source], people[r.Person] = true, true, true
		}
	}
	for _, i := range f.Job.Instruments {
		if meters[i.ID] {
			s.Instruments = append(s.Instruments, i)
		}
	}
	for _, p := range f.Job.People {
		if people[p.ID] {
			s.People = append(s.People, p)
		}
	}
	for i := range f.Links {
		if f.Links[i].ID == link {
			s.Link = &f.Links[i]
		}
	}
	return s
}

// uncertainty of a reading, or nil.
func (s *Side) uncertainty(r *record.Reading) *quantity.Decimal {
	if r.Quantity != record.InsertionLoss {
		return nil
	}
	for i := range s.Instruments {
		if s.Instruments[i].ID == r.Instrument && s.Instruments[i].Uncertainty != nil {
			return s.Instruments[i].Uncertainty
		}
	}
	return s.Uncertainty
}
