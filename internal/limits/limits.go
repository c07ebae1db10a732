// Package limits turns limit-set files into checked limits that remember their
// clause.
//
// # A limit set
//
// One YAML file is one [Set]: what it is called, which standard and edition it
// writes down, its values and its limits.
//
//	id: tia-568.3-e
//	kind: cabling                       # cabling, application, fibre, splice, population, planning, constants
//	title: Optical fibre cabling
//	standard: ANSI/TIA-568.3-E
//	edition: "2022"
//	newer: the edition of 2026          # optional: one that is known to exist
//	values:
//	  cable:
//	    unit: dB/km
//	    clause: 6.3.4, table 1          # of every row that names none itself
//	    provenance: recalled            # read, quoted or recalled
//	    rows:                           # the first row that fits is used
//	      - {value: 0.4, fibre: OS2, wavelength_nm: [1310, 1383, 1550]}
//	  mated_pair: {unit: dB, value: 0.75, provenance: quoted, source: "where it was read"}
//	limits:
//	  - id: link-loss
//	    quantity: insertion_loss
//	    where: {mode: singlemode}       # optional
//	    at_most:
//	      - {rate: cable, amount: length_km}
//	      - {rate: mated_pair, amount: mated_pairs}
//
// A limit is the sum of its terms, each a rate times an amount; the rates are
// values of the set, the amounts a closed list ([Amounts]). A limit with both
// at_most and at_least is a range. Where a term names several rates, the first
// that has a fitting row is used.
//
// A file may extend another set: its own rows are tried before the base's, its
// own limits replace those of the same id. A limit takes the place of others
// wherever it applies itself when it names them:
//
//   - {id: short-link, quantity: insertion_loss, replaces: link-loss, where: {length_m: 0-100}, at_most: 2.0 dB}
//
// Splitters are counted by their ratio, each with the value of a row that names it:
//
//	splitter: {unit: dB, rows: [{value: 11.0, ratio: 8}, {value: 7.6, ratio: 4}]}
//	at_most: [{rate: cable, amount: length_km}, {rate: splitter, amount: splitters}]
//
// Numbers are kept as written.
//
// # Power budget
//
// A limit of loss may be the budget of a transmitter and a receiver instead:
//
//   - id: power-budget
//     quantity: insertion_loss
//     where: {wavelength_nm: 1260-1360}
//     budget: {launch: 3 dBm, sensitivity: -32 dBm, penalties: 1 dB, margin: 3 dB, overload: -8 dBm}
//
// At most launch − sensitivity − penalties − margin may be lost, here 31 dB; at
// least launch_most − overload must be, so that the receiver is not overloaded,
// here 11 dB. launch is the least power that the transmitter launches,
// launch_most the most; without it launch stands for both. penalties, margin and
// overload may be left out. Each is a figure or the name of a value. A power is in
// dBm or in mW, which is turned into dBm with four places.
//
// # Counting
//
// N mated pairs of a link count both ends. The reference method takes 0, 1 or 2
// of the end connections out of the measurement (one-, two-, three-cord; IEC
// 61280-4-1 and -4-2, from memory), so that N, N−1 or N−2 pairs are inside it.
// A spliced-on connector is one mated pair at its face, counted in N, and one
// fusion splice behind it, counted in splices.
package limits

import (
	"slices"

	"spanseal/internal/diag"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// Provenance says how a value came here.
type Provenance string

const (
	Read     Provenance = "read"     // in the standard or contract itself
	Quoted   Provenance = "quoted"   // on a page that quotes it
	Recalled Provenance = "recalled" // from memory
)

// Kind is what a set is about.
type Kind string

const (
	Cabling     Kind = "cabling"     // a link's allowance by its parts
	Application Kind = "application" // what a transmission system needs
	Fibre       Kind = "fibre"       // fibre alone
	Splices     Kind = "splice"      // splice acceptance
	Population  Kind = "population"  // many connections together
	Planning    Kind = "planning"    // typical figures for a budget; they bind nothing
	Constants   Kind = "constants"   // figures of glass; they bind nothing
)

// Binds reports whether a set of the kind has limits. Of those that have none a
// job may name constants, which questions are asked by; but no job may name
// planning figures, and no set extend them.
func (k Kind) Binds() bool { return k != Planning && k != Constants }

// Set is one limit set. It is not changed after it was parsed.
type Set struct {
	ID       string
	Kind     Kind
	Title    string
	Standard string
	Edition  string
	Newer    string // a newer edition that is known to exist, or ""
	Scope    string
	Owner    string // whose own figures these are, or ""
	Extends  string // id of the base, or ""
	Base     *Set   // nil unless Extends is given and known
	Notes    []string
	// Conflicts say where other standards or editions differ from the figures of
	// this set; those of a base are about the base.
	Conflicts []string
	Groups    []ValueRows // in file order, the base's behind
	Limits    []Limit     // in file order, the base's behind
	// CountAbove is the reflectance, dB, from which on a reflection counts; nil
	// where the set counts none.
	CountAbove *quantity.Decimal

	File    string
	SHA256  string // of the file, lower-case hex
	BuiltIn bool
}

// ValueRows is the rows of one kind of value, such as "cable".
type ValueRows struct {
	Name string
	Unit quantity.Unit
	Rows []*Value
}

// Value is one number of a set.
type Value struct {
	Group      string
	Set        string // id of the set whose file holds it
	Number     quantity.Decimal
	Unit       quantity.Unit
	Where      Selector
	Clause     string
	Provenance Provenance
	Low        bool // of low confidence: check before relying on it
	Source     string
	Line       int // in the set's file
}

// Limit is one rule of a set.
type Limit struct {
	ID       string
	Set      *Set // the set that binds, not its base
	Title    string
	Quantity record.Quantity
	Where    Selector
	// Replaces names limits of the same set and quantity that do not apply where
	// this one does.
	Replaces []string
	// AtMost and AtLeast: at least one of them has terms.
	AtMost, AtLeast []Term
	// Of is what a group_mean or group_percentile is about: insertion_loss (for
	// each connection) or splice_loss.
	Of record.Quantity
	// Percentile is that of a group_percentile, such as 97.
	Percentile quantity.Decimal
	// Listed: what is over the limits that this one replaces is accepted, and listed as
	// out of specification; all that it judges is if it replaces none.
	Listed bool
	// Over says what to do by how much a limit is exceeded, smallest first.
	Over []Band

	place diag.Place
}

// Applies reports whether the limit binds in a situation: it fits, and no other
// that does replaces it.
func (l *Limit) Applies(at *Situation) bool {
	if !l.Where.Fits(at) {
		return false
	}
	for i := range l.Set.Limits {
		if o := &l.Set.Limits[i]; slices.Contains(o.Replaces, l.ID) && o.Where.Fits(at) {
			return false
		}
	}
	return true
}

// Bound returns "at_most", "at_least" or "between".
func (l *Limit) Bound() string {
	switch {
	case l.AtLeast == nil:
		return "at_most"
	case l.AtMost == nil:
		return "at_least"
	}
	return "between"
}

// Term is one addend of a limit: a rate times an amount.
type Term struct {
	Rates  []string // names of groups; the first with a fitting row is used
	Amount Factor
	Less   bool // it is taken off: the amount is counted below nothing
	Power  bool // the rate is an absolute power, in dBm
}

// Band is what a standard says about a limit exceeded by less than Below; the
// last band may be open (Below nil).
type Band struct {
	Below  *quantity.Decimal
	Say    string
	Clause string
}

// Group returns the rows of a name.
func (s *Set) Group(name string) (*ValueRows, bool) {
	for i := range s.Groups {
		if s.Groups[i].Name == name {
			return &s.Groups[i], true
		}
	}
	return nil, false
}

// Value returns the first row of a group that fits, or nil.
func (s *Set) Value(name string, at *Situation) *Value {
	g, ok := s.Group(name)
	if !ok {
		return nil
	}
	for _, v := range g.Rows {
		if v.Where.Fits(at) {
			return v
		}
	}
	return nil
}
