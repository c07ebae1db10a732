package retest

import (
	"slices"

	"spanseal/internal/judge"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/statement"
)

// Format names the form of a comparison for programs.
const Format = "spanseal-comparison/2"

// Outcome is the result of a comparison, and no more than its numbers show.
type Outcome string

const (
	NoChange    Outcome = "no change shown" // all changes are explained by measurement
	Changed     Outcome = "changed"         // one is larger, or beyond the project's tolerance
	OverLimit   Outcome = "over the limit"  // one new reading is out of a limit of then
	Undecided   Outcome = "not decided"     // an uncertainty is missing
	NotCompared Outcome = "not compared"    // nothing is comparable
)

// Comparison is everything found out about one link.
type Comparison struct {
	Format      string        `json:"format"`
	Certificate string        `json:"certificate"`
	Revision    int           `json:"revision"`
	Issued      record.Date   `json:"issued"`
	Verdict     judge.Verdict `json:"verdict"` // then; with Fail and Incomplete it is a nonconformance sheet
	Job         string        `json:"job"`
	Link        record.Link   `json:"link"`
	Outcome     Outcome       `json:"outcome"`
	// Conclusion is what the numbers show, Questions are about the new measurement
	// and never accusations, Advice is what the pattern suggests.
	Conclusion []statement.Statement `json:"conclusion"`
	Questions  []statement.Statement `json:"questions,omitempty"`
	Advice     []statement.Statement `json:"advice,omitempty"`
	// Warranty says which windows of the record the days of a claim are in.
	Warranty  []statement.Statement `json:"warranty,omitempty"`
	Rows      []Row                 `json:"rows"`
	Tolerance *quantity.Decimal     `json:"tolerance_db,omitempty"` // the project's own
	Then      Side                  `json:"then"`
	Now       Side                  `json:"now"`
}

// Row is one quantity at one wavelength in one direction.
type Row struct {
	Quantity     record.Quantity  `json:"quantity"`
	WavelengthNM int              `json:"wavelength_nm,omitempty"`
	Direction    record.Direction `json:"direction,omitempty"`
	Event        string           `json:"event,omitempty"`
	Unit         quantity.Unit    `json:"unit"`

	Then *quantity.Decimal `json:"then,omitempty"`
	Now  *quantity.Decimal `json:"now,omitempty"`
	// NotCompared says why the two are not held against each other, or is zero;
	// what follows is set only where it is.
	NotCompared statement.Statement `json:"not_compared,omitzero"`

	Change          *quantity.Decimal `json:"change,omitempty"` // now − then
	UncertaintyThen *quantity.Decimal `json:"uncertainty_then,omitempty"`
	UncertaintyNow  *quantity.Decimal `json:"uncertainty_now,omitempty"`
	// NormalisedError is |change| / √(U1² + U2²), and Explained is what it is
	// divided by, dB; nil without both uncertainties. Larger: it is above 1.
	NormalisedError *quantity.Decimal `json:"normalised_error,omitempty"`
	Explained       *quantity.Decimal `json:"explained,omitempty"`
	Larger          bool              `json:"larger_than_measurement_explains"`
	BeyondTolerance bool              `json:"beyond_tolerance,omitempty"`
	Limits          []OriginalLimit   `json:"limits,omitempty"`

	places, uncertainty int // digits, as settled
}

// OriginalLimit is a limit of then, and how both readings stand to it.
type OriginalLimit struct {
	Set      string            `json:"set"`
	Standard string            `json:"standard"`
	Edition  string            `json:"edition"`
	SHA256   string            `json:"sha256"` // of the set's file then
	Bound    string            `json:"bound"`
	Limit    quantity.Decimal  `json:"limit"`
	Lower    *quantity.Decimal `json:"lower,omitempty"` // where Bound is "between"
	Margin   quantity.Decimal  `json:"margin"`          // of the new reading; negative: out
	Within   bool              `json:"within"`
	Met      bool              `json:"met_then"` // whether the earlier reading was within
}

// margin of a value: how far it is within the limit, negative where it is out.
func (l *OriginalLimit) margin(value quantity.Decimal) quantity.Decimal {
	if l.Bound == "at_least" {
		return value.Sub(l.Limit)
	}
	m := l.Limit.Sub(value)
	if l.Lower != nil && value.Sub(*l.Lower).Less(m) {
		m = value.Sub(*l.Lower)
	}
	return m
}

func isLoss(q record.Quantity) bool {
	return q == record.InsertionLoss || q == record.TwoWayAverage || q == record.SpliceLoss
}

// ofLink reports whether a quantity is a loss of the whole link.
func ofLink(q record.Quantity) bool { return q == record.InsertionLoss || q == record.TwoWayAverage }

// judgedBy reports whether a finding held the earlier reading against a limit.
func (r *Row) judgedBy(f *judge.Finding) bool {
	return f.Kind == judge.KindLimit && f.Quantity == r.Quantity && f.WavelengthNM == r.WavelengthNM && f.Direction == r.Direction && f.Event == r.Event
}

// Within reports whether the new reading keeps every limit of then.
func (r *Row) Within() bool {
	return !slices.ContainsFunc(r.Limits, func(l OriginalLimit) bool { return !l.Within })
}

// Tightest is the limit with the smallest margin, or nil.
func (r *Row) Tightest() *OriginalLimit {
	var t *OriginalLimit
	for i := range r.Limits {
		if t == nil || r.Limits[i].Margin.Less(t.Margin) {
			t = &r.Limits[i]
		}
	}
	return t
}

// Subject is what a row is about.
func (r *Row) Subject() statement.Subject {
	return statement.Subject{Quantity: r.Quantity, NM: r.WavelengthNM, Way: r.Direction, Event: r.Event}
}

// Told returns the comparison with the text of every statement filled in, as it
// is written for programs.
func (c *Comparison) Told(tell func(statement.Statement) statement.Statement) *Comparison {
	out := *c
	for _, list := range []*[]statement.Statement{&out.Conclusion, &out.Questions, &out.Advice, &out.Warranty} {
		*list = slices.Clone(*list)
		for i, s := range *list {
			(*list)[i] = tell(s)
		}
	}
	out.Rows = slices.Clone(c.Rows)
	for i := range out.Rows {
		if r := &out.Rows[i]; !r.NotCompared.IsZero() {
			r.NotCompared = tell(r.NotCompared)
		}
	}
	return &out
}
